package rows

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

// Feed answers what there is, what comes when, and what should be bought.
func Feed(f *Facts, at Place) Page {
	return Page{
		Screen: "feed",
		Lead:   []Line{f.feedLead()},
		Panes: []Pane{
			{Table: f.deliveries(), Least: 3, Rank: 0},
			{Table: f.laneTable(), Least: 3, Rank: 1},
			{Table: f.lots(), Least: 3, Rank: 2},
			{Table: f.pellets(), Least: 3, Rank: 3},
		},
	}
}

func (f *Facts) feedLead() Line {
	coming, late, overdue, hold, yard := quantity.Mass(0), 0, 0, quantity.Mass(0), quantity.Mass(0)
	n := 0
	for _, d := range f.In.Deliveries {
		if !d.Coming() {
			continue
		}
		n, coming = n+1, coming+d.Mass
		switch {
		case d.Overdue(f.today):
			overdue++
		case d.Late:
			late++
		}
	}
	for _, l := range f.In.Lots {
		if l.Hold {
			hold += l.Mass
		} else {
			yard += l.Mass
		}
	}
	l := Line{{fmt.Sprintf("In the yard %s %s; ", f.m.tons(yard).Text, f.m.ton()), Strong},
		{fmt.Sprintf("coming %s %s in %s", f.m.tons(coming).Text, f.m.ton(), plural(n, "delivery")), Plain}}
	l[1].Text = strings.Replace(l[1].Text, "deliverys", "deliveries", 1)
	if overdue > 0 {
		l = append(l, Span{fmt.Sprintf(", ! %d overdue", overdue), Alert})
	}
	if late > 0 {
		l = append(l, Span{fmt.Sprintf(", ! %d late", late), Alert})
	}
	if hold > 0 {
		l = append(l, Span{fmt.Sprintf("; on hold %s %s", f.m.tons(hold).Text, f.m.ton()), Alert})
	}
	return append(append(l, Span{". ", Plain}), f.shortWords()...)
}

// axisWeeks is how many weeks the deliveries' time axis covers: a mark a half week.
const axisWeeks = 12

// axis draws an arrival on a line of half weeks from the plan's start: its spread between a tenth and nine tenths, and its ETA.
func (f *Facts) axis(eta calendar.Day, spread float64) string {
	marks := []rune(strings.Repeat("·", 2*axisWeeks))
	at := func(d float64) int { return int(math.Floor((d - float64(f.Plan.Start.Monday())) * 2 / 7)) }
	z := inventory.ServiceFactor(0.9)
	from, to := at(float64(eta)-z*spread), at(float64(eta)+z*spread)
	for i := max(0, from); i <= min(to, len(marks)-1); i++ {
		marks[i] = '─'
	}
	switch i := at(float64(eta)); {
	case i < 0:
		marks[0] = '«'
	case i >= len(marks):
		marks[len(marks)-1] = '»'
	default:
		marks[i] = '◆'
	}
	return string(marks)
}

// axisHead names the ISO weeks above the axis, every other one.
func (f *Facts) axisHead() string {
	var b strings.Builder
	for i := 0; i < axisWeeks; i += 2 {
		w := week{monday: f.Plan.Start.Monday() + calendar.Day(7*i)}
		b.WriteString(Pad(w.number(), 4, false))
	}
	return b.String()
}

func (f *Facts) deliveries() *Table {
	t := &Table{Name: "deliveries", Title: "Deliveries", None: "nothing on its way", Columns: []Column{
		{Key: "delivery", Head: "Code", Left: true},
		{Key: "material", Head: "material", Left: true},
		{Key: "mass_" + f.m.ton(), Head: f.m.ton()},
		{Key: "status", Head: "status", Left: true, Rank: 1},
		{Key: "eta", Head: "ETA"},
		{Key: "spread_d", Head: "± d", Rank: 4},
		{Key: "planned", Head: "planned", Rank: 3},
		{Key: "axis", Head: f.axisHead(), Left: true, Rank: 2, Drawn: true},
		{Key: "lane", Head: "lane", Left: true, Rank: 5},
		{Key: "note", Head: "note", Left: true, Rank: 6, Flex: true},
	}}
	list := slices.Clone(f.In.Deliveries)
	slices.SortStableFunc(list, func(a, b inventory.Delivery) int {
		if a.Coming() != b.Coming() {
			return truth(b.Coming()) - truth(a.Coming())
		}
		return int(a.ETA) - int(b.ETA)
	})
	for _, d := range list {
		status, tone := word(string(d.Status)), Plain
		planned, axis := f.m.day(max(f.Plan.Start, inventory.PlannedArrival(d, f.In.Plant.ArrivesBy()))), drawn(f.axis(d.ETA, d.Spread), Plain)
		eta := f.m.day(d.ETA)
		switch {
		case !d.Coming():
			tone, planned, axis = Quiet, f.m.day(0), drawn("", Quiet)
		case d.Overdue(f.today):
			status.Text, eta.Tone = "! overdue, "+status.Text, Alert
		case d.Late:
			status.Text, eta.Tone = "! late, "+status.Text, Alert
		}
		t.add(d.Code, word(d.Code).in(tone), word(d.Material).in(tone), f.m.tons(d.Mass).in(tone), status.in(max(tone, eta.Tone)), eta, figure(d.Spread, 0), planned, axis, word(d.Lane), word(d.Note))
	}
	return t
}

// laneTable is a row a lane with what to order by when, at what cost and worth.
func (f *Facts) laneTable() *Table {
	money := f.In.Plant.Currency + "/" + f.m.kg()
	t := &Table{Name: "lanes", Title: f.titled("Lanes"), None: "no lanes in the book", Columns: []Column{
		{Key: "lane", Head: "Lane", Left: true},
		{Key: "material", Head: "material", Left: true, Rank: 2},
		{Key: "for", Head: "for", Left: true},
		{Key: "load_" + f.m.ton(), Head: "load " + f.m.ton(), Rank: 3},
		{Key: "lead_time_d", Head: "lead d", Rank: 2},
		{Key: "order_by", Head: "order by"},
		{Key: "loads", Head: "loads"},
		{Key: "needed", Head: "needed", Rank: 4},
		{Key: "landed_" + f.In.Plant.Currency + "_per_" + f.m.kg(), Head: "landed " + money},
		{Key: "worth_" + f.In.Plant.Currency + "_per_" + f.m.kg(), Head: "worth", Rank: 1},
		{Key: "plan_orders", Head: "in plan", Left: true, Rank: 1},
		{Key: "supplier", Head: "supplier", Left: true, Rank: 6},
		{Key: "entered_lead_time_d", Head: "entered d", Rank: 8},
		{Key: "terms", Head: "how", Left: true, Rank: 7},
	}}
	for _, l := range f.used.Lanes {
		ways := f.waysOn(l.Code)
		for i, o := range ways {
			t.add(wayKey(o), f.laneCells(l, o, i == 0)...)
		}
		if len(ways) == 0 {
			t.add(l.Code, f.laneCells(l, planner.OrderBy{Lane: l.Code, Grade: "", Landed: f.landed(l)}, true)...)
		}
	}
	return t
}

// wayKey is the key of a way's row.
func wayKey(o planner.OrderBy) string { return o.Lane + "/" + o.Grade }

// waysOn is what to order on a lane, by grade.
func (f *Facts) waysOn(lane string) (list []planner.OrderBy) {
	for _, o := range f.Plan.OrderBy {
		if o.Lane == lane {
			list = append(list, o)
		}
	}
	return list
}

// landed is a lane's cost a kilogram of pellets, by the yields that the plan is made with.
func (f *Facts) landed(l inventory.Lane) quantity.MassPrice {
	return inventory.LandedCost(l, f.path(l.Material).Yield)
}

// path is what a kilogram of a material goes through to become pellets.
func (f *Facts) path(material string) yield.Path {
	return yield.Chain{Steps: f.used.Steps, Overrides: f.used.Overrides}.For(material, string(f.mats[material].Form))
}

func (f *Facts) laneCells(l inventory.Lane, o planner.OrderBy, first bool) []Cell {
	by, loads, needed := f.m.day(0), figure(math.NaN(), 0), f.m.day(0)
	if o.Grade != "" {
		by, loads, needed = f.m.day(o.By).in(Strong), count(o.Loads), f.m.day(o.Needed)
		if o.TooLate || o.By < f.today {
			by = Cell{"! too late", Alert, o.By}
		}
	}
	worth := figure(f.m.perKg(quantity.MassPrice(f.worth(l.Material, o.Needed))), 2)
	level := float64(f.In.Plant.ServiceLevel)
	lead, wasLead := estimateCells(l.LeadTime.Quantile(level), f.enteredLane(l.Code).LeadTime.Quantile(level), 0)
	inPlan := Cell{Text: f.bought(l.Code)}
	inPlan.Value = inPlan.Text
	if !first {
		inPlan = Cell{Text: `"`, Value: inPlan.Value, Tone: Quiet}
	}
	return []Cell{word(l.Code), word(l.Material), word(o.Grade), f.m.tons(l.Load), lead, by, loads, needed,
		figure(f.m.perKg(o.Landed), 2), worth, inPlan, word(l.Supplier), wasLead, word(strings.TrimPrefix(o.Terms(), ", "))}
}

// enteredLane is a lane as it was entered.
func (f *Facts) enteredLane(code string) inventory.Lane {
	return f.In.Lanes[slices.IndexFunc(f.In.Lanes, func(l inventory.Lane) bool { return l.Code == code })]
}

// worth is the most that a kilogram of a material is worth in the yard when it is needed, in the plant's currency; NaN if it was not
// worked out. Without a day it is the most that it is ever worth.
func (f *Facts) worth(material string, needed calendar.Day) float64 {
	most := math.NaN()
	t := f.Bucket(needed)
	for _, w := range f.Plan.Worth {
		if w.Of == planner.OfMaterial && w.Code == material && (needed == 0 || w.Bucket == t) {
			most = max(orZero(most), float64(max(w.Value, w.Relaxed)))
		}
	}
	return most
}

// bought is what the plan orders on a lane, the next day first.
func (f *Facts) bought(lane string) string {
	n, sum := 0, 0
	var next planner.Purchase
	for _, p := range f.Plan.Purchases {
		if p.Lane != lane {
			continue
		}
		if n == 0 || p.OrderBy < next.OrderBy {
			next = p
		}
		n, sum = n+1, sum+p.Loads
	}
	switch {
	case n == 0:
		return ""
	case n == 1:
		return fmt.Sprintf("%s: %d", f.m.date(next.OrderBy), next.Loads)
	}
	return fmt.Sprintf("%s: %d of %d", f.m.date(next.OrderBy), next.Loads, sum)
}

func (f *Facts) lots() *Table {
	t := &Table{Name: "lots", Title: "Lots in the yard", None: "no lots in the yard", Columns: []Column{
		{Key: "lot", Head: "Lot", Left: true},
		{Key: "material", Head: "material", Left: true},
		{Key: "mass_" + f.m.ton(), Head: f.m.ton()},
		{Key: "state", Head: "state", Left: true},
		{Key: "received", Head: "received", Rank: 3},
		{Key: "supplier", Head: "supplier", Left: true, Rank: 4},
		{Key: "reason", Head: "reason", Left: true, Rank: 2, Flex: true},
	}}
	for _, l := range f.In.Lots {
		state := word("free")
		if l.Hold {
			state = Cell{"! on hold", Alert, "on hold"}
		}
		t.add(l.Code, word(l.Code), word(l.Material), f.m.tons(l.Mass), state, f.m.day(l.Received), word(l.Supplier), word(l.Reason))
	}
	return t
}

// pellets is a row a grade: in the silo, regrind beside it, and what the plan makes of the next week.
func (f *Facts) pellets() *Table {
	t := &Table{Name: "pellets", Title: "Pellets and regrind", None: "no grades in the book", Columns: []Column{
		{Key: "grade", Head: "Grade", Left: true},
		{Key: "silo_" + f.m.ton(), Head: "silo " + f.m.ton()},
		{Key: "room_" + f.m.ton(), Head: "holds " + f.m.ton(), Rank: 2},
		{Key: "filled", Head: "", Left: true, Rank: 3, Drawn: true},
		{Key: "cover_d", Head: "cover d"},
		{Key: "regrind_" + f.m.ton(), Head: "regrind " + f.m.ton()},
		{Key: "made_next_week_" + f.m.ton(), Head: "made, 7 d", Rank: 1},
		{Key: "used_next_week_" + f.m.ton(), Head: "used, 7 d", Rank: 1},
		{Key: "name", Head: "name", Left: true, Rank: 4},
	}}
	for _, g := range f.In.Grades {
		made, used := quantity.Mass(0), quantity.Mass(0)
		for _, l := range f.Plan.Pellets {
			if s := f.span(l.Bucket); l.Grade == g.Code && s.From < f.Plan.Start+7 {
				part := quantity.Mass(float64(s.Overlap(calendar.Span{From: f.Plan.Start, To: f.Plan.Start + 7}).Days()) / float64(s.Days()))
				made, used = made+l.Made*part, used+l.Used*part
			}
		}
		silo, room, bar := f.silo(g.Code), figure(math.NaN(), 0), ""
		if g.Silo > 0 {
			room, bar = f.m.tons(g.Silo), meter(float64(silo/g.Silo), 10)
		}
		t.add(g.Code, word(g.Code), f.m.tons(silo), room, drawn(bar, Plain), figure(f.coverNow(g.Code), 1), f.m.tons(f.regrind(g.Code)), f.m.tons(made), f.m.tons(used), word(g.Name))
	}
	return t
}

func (f *Facts) regrind(grade string) quantity.Mass {
	for _, s := range f.In.Stock {
		if s.Kind == inventory.RegrindStock && s.Code == grade {
			return s.Mass
		}
	}
	return 0
}
