package records

import (
	"cmp"
	"maps"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Cause is a part of the gap between metres planned and made.
type Cause struct {
	Name   string          // such as "stops DIE"
	Length quantity.Length // metres gained; below 0 lost
}

// Gap is what a line was to make of a profile in a period, what it made, and why they differ: the causes add up to Made − Planned.
type Gap struct {
	Line, Profile                string
	Planned, Made                quantity.Length
	PlannedScrap, Scrap          quantity.Mass
	PlannedFeed, Feed            quantity.Mass
	PlannedHours, Hours          quantity.Hours // crewed: running, down, set-up
	Run, Down, SetUp             quantity.Hours
	PlannedSetUp, PlannedAllowed quantity.Hours // set-up planned; stops that the plan allows for by its availability
	Causes                       []Cause
}

// Recorded reports whether any run is recorded in the period.
func (a Actuals) Recorded() bool {
	return slices.ContainsFunc(a.Gaps, func(g Gap) bool { return g.Made != 0 || g.Scrap != 0 || g.Hours != 0 })
}

// DayGap is all lines' metres, scrap and pellets of a day.
type DayGap struct {
	Day                 calendar.Day
	Planned, Made       quantity.Length
	PlannedScrap, Scrap quantity.Mass
	PlannedFeed, Feed   quantity.Mass
}

// Actuals is plan against actual over a period.
type Actuals struct {
	Span   calendar.Span
	Gaps   []Gap
	Days   []DayGap
	Causes []Cause // of all, the greatest loss first
}

// cell is what was planned and done of a line and profile.
type cell struct {
	planned, made       float64 // m
	plannedScrap, scrap float64 // kg
	plannedFeed, feed   float64 // kg
	hours, setup        float64 // planned crewed hours of runs, of set-up
	run, didSetUp, down float64
	stops               map[string]float64
}

// Against sets a plan against the records of a period; in is what the plan was made with. Of a bucket that lies partly in the period the
// plan counts by days. Planned metres of a line and profile are hours × availability × metres an hour × quality; made ones likewise, so
// that, one factor after the other, hours given, changeovers, stops by reason, rate and quality explain the gap without a rest.
func Against(in *planner.Input, p *planner.Plan, list []Entry, span calendar.Span) Actuals {
	var parts []Part
	if p != nil {
		parts = []Part{{p, span}}
	}
	return AgainstEach(in, parts, list, span)
}

// Part is the days of a period that a plan counts for.
type Part struct {
	Plan *planner.Plan
	Span calendar.Span
}

// AgainstEach is Against several plans, each for its part of the period.
func AgainstEach(in *planner.Input, parts []Part, list []Entry, span calendar.Span) Actuals {
	a := Actuals{Span: span}
	cells, days := map[[2]string]*cell{}, map[calendar.Day]*DayGap{}
	at := func(line, profile string) *cell {
		k := [2]string{line, profile}
		if cells[k] == nil {
			cells[k] = &cell{stops: map[string]float64{}}
		}
		return cells[k]
	}
	for d := span.From; d < span.To; d++ {
		days[d] = &DayGap{Day: d}
	}
	for _, x := range parts {
		planned(x.Plan, x.Span.Overlap(span), at, days)
	}
	for _, e := range InOrder(list) {
		if r, ok := e.Record.(Run); ok && span.Has(e.Head.Day) {
			at(r.Line, r.Profile).add(e, r)
			d := days[e.Head.Day]
			d.Made += r.Good
			d.Scrap += r.Scrap
			d.Feed += fed(e)
		}
	}
	total := map[string]float64{}
	for _, k := range slices.SortedFunc(maps.Keys(cells), func(x, y [2]string) int { return cmp.Or(cmp.Compare(x[0], y[0]), cmp.Compare(x[1], y[1])) }) {
		g := cells[k].gap(in, k[0], k[1])
		a.Gaps = append(a.Gaps, g)
		for _, c := range g.Causes {
			total[c.Name] += float64(c.Length)
		}
	}
	for d := span.From; d < span.To; d++ {
		a.Days = append(a.Days, *days[d])
	}
	for name, m := range total {
		a.Causes = append(a.Causes, Cause{name, quantity.Length(m)})
	}
	slices.SortFunc(a.Causes, func(x, y Cause) int { return cmp.Or(cmp.Compare(x.Length, y.Length), cmp.Compare(x.Name, y.Name)) })
	return a
}

// planned adds the plan's runs as far as their buckets lie in the period.
func planned(p *planner.Plan, span calendar.Span, at func(string, string) *cell, days map[calendar.Day]*DayGap) {
	for _, r := range p.Runs {
		b := p.Buckets[r.Bucket].Span
		in := b.Overlap(span)
		share := float64(in.Days()) / float64(max(1, b.Days()))
		if share == 0 {
			continue
		}
		c := at(r.Line, r.Profile)
		c.planned += share * float64(r.Length)
		c.plannedScrap += share * float64(r.Scrap)
		c.plannedFeed += share * float64(r.Pellets)
		c.hours += share * float64(r.Hours)
		c.setup += share * float64(r.Setup)
		for d := in.From; d < in.To; d++ {
			n := float64(b.Days())
			days[d].Planned += r.Length / quantity.Length(n)
			days[d].PlannedScrap += r.Scrap / quantity.Mass(n)
			days[d].PlannedFeed += r.Pellets / quantity.Mass(n)
		}
	}
}

// fed is the pellets that an entry took from silos.
func fed(e Entry) (kg quantity.Mass) {
	for _, m := range e.Moves {
		if m.Account == InPellets {
			kg -= MassOf(m.Grams)
		}
	}
	return kg
}

func (c *cell) add(e Entry, r Run) {
	c.made += float64(r.Good)
	c.scrap += float64(r.Scrap)
	c.feed += float64(fed(e))
	c.run += float64(r.Run)
	c.didSetUp += float64(r.SetUp)
	down := float64(r.DownHours())
	c.down += down
	for _, s := range r.Stops {
		c.stops[s.Reason] += float64(s.Hours)
		down -= float64(s.Hours)
	}
	if down > 1e-9 {
		c.stops["no reason given"] += down
	}
}

// gap explains a line and profile. Metres an hour of running and quality planned follow from the line's figures, or from what was done
// where the plan has none.
func (c *cell) gap(in *planner.Input, line, profile string) Gap {
	g := Gap{Line: line, Profile: profile, Planned: quantity.Length(c.planned), Made: quantity.Length(c.made), PlannedScrap: quantity.Mass(c.plannedScrap), Scrap: quantity.Mass(c.scrap),
		PlannedFeed: quantity.Mass(c.plannedFeed), Feed: quantity.Mass(c.feed), PlannedHours: quantity.Hours(c.hours + c.setup),
		Hours: quantity.Hours(c.run + c.down + c.didSetUp), Run: quantity.Hours(c.run), Down: quantity.Hours(c.down), SetUp: quantity.Hours(c.didSetUp), PlannedSetUp: quantity.Hours(c.setup)}
	perMetre, fit := 0.0, lines.Fit{}
	for _, p := range in.Profiles {
		if p.Code == profile {
			perMetre = float64(p.PerMetre)
			for _, f := range in.Fits {
				if f.Line == line && f.Profile == profile {
					fit = f
				}
			}
			break
		}
	}
	gross := c.made
	if perMetre > 0 {
		gross += c.scrap / perMetre
	}
	v, q, up := grossRate(in, profile, fit), float64(fit.Quality), float64(fit.Availability)
	if c.hours > 0 && v*q > 0 {
		up = c.planned / c.hours / (v * q) // as the plan has it
	}
	g.PlannedAllowed = quantity.Hours(c.hours * (1 - up))
	add := func(name string, m float64) {
		if m > 1e-6 || m < -1e-6 {
			g.Causes = append(g.Causes, Cause{name, quantity.Length(m)})
		}
	}
	add("hours given to it", (c.run+c.down+c.didSetUp-c.hours-c.setup)*v*q)
	add("changeovers", (c.setup-c.didSetUp)*v*q)
	for _, r := range slices.Sorted(maps.Keys(c.stops)) {
		add("stops "+r, -c.stops[r]*v*q)
	}
	add("stops the plan allows for", c.hours*(1-up)*v*q)
	add("rate", (gross-c.run*v)*q)
	add("quality", c.made-gross*q)
	return g
}

// grossRate is the metres an hour of running, good or not.
func grossRate(in *planner.Input, profile string, f lines.Fit) float64 {
	f.Availability, f.Quality = 1, 1
	for _, p := range in.Profiles {
		if p.Code == profile {
			return lines.Rate(p, f).GoodMetresPerHour
		}
	}
	return 0
}
