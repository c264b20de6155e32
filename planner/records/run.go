package records

import (
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Draw is what was taken of a lot.
type Draw struct {
	Lot  string
	Mass quantity.Mass
}

// Process is a run of a step before extrusion. With a Grade its product is pellets in that grade's silo; without one it stays part
// of its lots, as crushed ingots do.
type Process struct {
	Code       string
	Day        calendar.Day
	Shift      string
	Step       string
	Lots       []Draw
	Regrind    quantity.Mass // own regrind of the grade taken
	Grade      string
	Out        quantity.Mass // product
	FilterLoss quantity.Mass // of what was lost, on the melt filter
	Hours      quantity.Hours
	Note       string
}

// Head is what every record has.
func (r Process) Head() Head { return Head{KindProcess, r.Code, r.Day, r.Note} }

func (r Process) coded(s string) Record { r.Code = s; return r }

// InGrams is all that went in.
func (r Process) InGrams() int64 {
	sum := Grams(r.Regrind)
	for _, d := range r.Lots {
		sum += Grams(d.Mass)
	}
	return sum
}

// Check says what is wrong with the run by itself.
func (r Process) Check() []quantity.Problem {
	var c quantity.Checks
	checkDay(&c, r.Day)
	c.Named("Step", r.Step)
	seen := map[string]bool{}
	for _, d := range r.Lots {
		if d.Lot == "" || seen[d.Lot] {
			c.Add(quantity.Problem{Field: "Lots", Value: `"` + d.Lot + `"`, Allowed: "each lot once, by its code"})
		}
		seen[d.Lot] = true
		c.Positive("Lots", float64(d.Mass), "kg")
	}
	c.NotNegative("Regrind", float64(r.Regrind), "kg")
	c.NotNegative("Out", float64(r.Out), "kg")
	c.NotNegative("FilterLoss", float64(r.FilterLoss), "kg")
	c.NotNegative("Hours", float64(r.Hours), "h")
	if len(c.Problems()) > 0 {
		return c.Problems()
	}
	in, kg := r.InGrams(), func(g int64) string { return MassOf(g).Format(quantity.Metric, 1) }
	switch {
	case in <= 0:
		c.Add(quantity.Problem{Field: "Lots", Value: "nothing", Allowed: "lots with what was taken of each", Remedy: "such as A-2207 1200"})
	case Grams(r.Out)+Grams(r.FilterLoss) > in:
		c.Add(quantity.Problem{Field: "Out", Value: kg(Grams(r.Out)), Allowed: "with the filter's loss no more than went in, " + kg(in),
			Remedy: "weigh both at the same step; what was left in the machine belongs to the run before"})
	case r.Regrind > 0 && r.Grade == "":
		c.Add(quantity.Problem{Field: "Grade", Value: "blank", Allowed: "the grade whose own regrind was taken"})
	}
	return c.Problems()
}

// Stopped is hours that a line stood, and why.
type Stopped struct {
	Reason string
	Hours  quantity.Hours
}

// Run is what a line did of one profile, in a shift as a rule.
type Run struct {
	Code    string
	Day     calendar.Day
	Shift   string
	Line    string
	Profile string
	Good    quantity.Length // good metres
	Scrap   quantity.Mass
	Fed     quantity.Mass  // pellets used, if they were weighed; 0 = good metres at their mass, and scrap
	Run     quantity.Hours // hours that it made product, good or not
	SetUp   quantity.Hours // hours of changeovers and start-ups
	Down    quantity.Hours // hours it stood with its crew; 0 = the sum of the stops
	Stops   []Stopped      // reasons of the down hours
	Note    string
}

// Head is what every record has.
func (r Run) Head() Head { return Head{KindRun, r.Code, r.Day, r.Note} }

func (r Run) coded(s string) Record { r.Code = s; return r }

// DownHours is the hours it stood, set-up not counted.
func (r Run) DownHours() quantity.Hours {
	sum := quantity.Hours(0)
	for _, s := range r.Stops {
		sum += s.Hours
	}
	return max(sum, r.Down)
}

// mostHours is the longest that one run's record may cover: a week.
const mostHours = 168

// Check says what is wrong with the run by itself.
func (r Run) Check() []quantity.Problem {
	var c quantity.Checks
	checkDay(&c, r.Day)
	c.Named("Line", r.Line)
	c.Named("Profile", r.Profile)
	c.NotNegative("Good", float64(r.Good), "m")
	c.NotNegative("Scrap", float64(r.Scrap), "kg")
	c.NotNegative("Fed", float64(r.Fed), "kg")
	c.Within("Run", float64(r.Run), 0, mostHours, "h")
	c.Within("SetUp", float64(r.SetUp), 0, mostHours, "h")
	c.Within("Down", float64(r.Down), 0, mostHours, "h")
	sum := 0.0
	for _, s := range r.Stops {
		c.Positive("Stops", float64(s.Hours), "h")
		sum += float64(s.Hours)
	}
	const minute = 1.0 / 60
	switch {
	case r.Down > 0 && sum > float64(r.Down)+minute:
		c.Add(quantity.Problem{Field: "Down", Value: r.Down.Format(2), Allowed: "the stops' hours, " + quantity.Hours(sum).Format(2) + ", or more"})
	case r.Good > 0 && r.Run == 0:
		c.Add(quantity.Problem{Field: "Run", Value: "0 h", Allowed: "the hours in which the metres were made"})
	case r.Fed > 0 && r.Scrap > r.Fed:
		c.Add(quantity.Problem{Field: "Scrap", Value: r.Scrap.Format(quantity.Metric, 1), Allowed: "no more than was fed, " + r.Fed.Format(quantity.Metric, 1)})
	}
	return c.Problems()
}
