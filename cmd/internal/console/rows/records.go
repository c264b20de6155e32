package rows

import (
	"fmt"
	"math"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Actual is what was recorded of a line's run of a profile on a day.
type Actual struct {
	ID      int64
	Day     calendar.Day
	Line    string
	Profile string
	Good    quantity.Length
	Scrap   quantity.Mass
	Run     quantity.Hours
	Down    quantity.Hours
}

// Records answers what was made, received, shipped and counted, what is still to be entered, and what was entered lately.
func Records(f *Facts, at Place) Page {
	d := f.Yesterday()
	return Page{
		Screen: "records",
		Lead:   f.recordsLead(d),
		Panes: []Pane{
			{Table: f.madeTable(d), Least: 3, Rank: 0},
			{Table: f.receiptTable(), Least: 3, Rank: 1},
			{Table: f.shipmentTable(), Least: 3, Rank: 2},
			{Table: f.countTable(), Least: 3, Rank: 3},
			{Table: f.entryTable(), Least: 3, Rank: 4},
		},
	}
}

// Yesterday is the last working day before today, the day before if there was none for two weeks.
func (f *Facts) Yesterday() calendar.Day {
	for d := f.today - 1; d > f.today-15; d-- {
		if f.In.Calendar.OpenHours(d) > 0 {
			return d
		}
	}
	return f.today - 1
}

// expected is a run that the plan had for a day.
type expected struct {
	line, profile string
	length        quantity.Length
}

// expectedOn is what the plan, else the one before it, else the promise of yesterday, had for a day; for a day before all, the dies that are on
// the lines.
func (f *Facts) expectedOn(d calendar.Day) (list []expected, planned bool) {
	for _, p := range []*Facts{f, f.before(), f.promised()} {
		if p == nil {
			continue
		}
		t, ok := calendar.BucketOf(p.Plan.Buckets, d)
		if !ok {
			continue
		}
		for _, r := range p.Plan.Runs {
			if r.Bucket == t && r.Length >= leastLength {
				list = append(list, expected{r.Line, r.Profile, r.Length / quantity.Length(p.workingDays(t))})
			}
		}
		return list, true
	}
	for _, l := range f.In.Lines {
		if l.Mounted != "" {
			list = append(list, expected{line: l.Code, profile: l.Mounted})
		}
	}
	return list, false
}

// before is the facts of the plan before, enough of them for expectedOn; nil if there is none.
func (f *Facts) before() *Facts {
	if f.Was == nil || f.Was == f.Plan {
		return nil
	}
	return &Facts{In: f.In, Plan: f.Was}
}

// promised is the same of the plan that was the promise of yesterday.
func (f *Facts) promised() *Facts {
	if f.Known.Promised == nil {
		return nil
	}
	return &Facts{In: f.In, Plan: f.Known.Promised}
}

func (f *Facts) recordsLead(d calendar.Day) []Line {
	list, planned := f.expectedOn(d)
	done := 0
	for _, e := range list {
		if _, ok := f.actual(d, e.line, e.profile); ok {
			done++
		}
	}
	l := Line{{fmt.Sprintf("%s: %d of %s recorded.", f.m.weekday(d), done, plural(len(list), "run")), Strong}}
	if done < len(list) {
		l = append(l, Span{" ! Enter what the lines made.", Alert})
	}
	if !planned {
		l = append(l, Span{" The plan does not reach back to that day: the dies now on the lines are listed.", Quiet})
	}
	return []Line{l}
}

func (f *Facts) actual(d calendar.Day, line, profile string) (Actual, bool) {
	sum, ok := Actual{}, false
	for _, a := range f.Known.Actual {
		if a.Day == d && a.Line == line && a.Profile == profile {
			sum.Good, sum.Scrap, sum.Run, sum.Down, sum.ID, ok = sum.Good+a.Good, sum.Scrap+a.Scrap, sum.Run+a.Run, sum.Down+a.Down, a.ID, true
		}
	}
	return sum, ok
}

// madeTable is a row a run expected of a day, and those recorded beside it.
func (f *Facts) madeTable(d calendar.Day) *Table {
	t := &Table{Name: "made", Title: "Made on " + f.m.weekday(d), None: "nothing was planned", Columns: []Column{
		{Key: "line", Head: "Line", Left: true}, {Key: "profile", Head: "profile", Left: true},
		{Key: "planned_" + f.m.metre(), Head: "planned " + f.m.metre(), Rank: 1},
		{Key: "good_" + f.m.metre(), Head: "good " + f.m.metre()},
		{Key: "scrap_" + f.m.kg(), Head: "scrap " + f.m.kg()},
		{Key: "run_h", Head: "hours"}, {Key: "down_h", Head: "down h"},
		{Key: "recorded", Head: "", Left: true},
	}}
	list, planned := f.expectedOn(d)
	seen := map[[2]string]bool{}
	for _, e := range list {
		seen[[2]string{e.line, e.profile}] = true
	}
	for _, a := range f.Known.Actual {
		if k := [2]string{a.Line, a.Profile}; a.Day == d && !seen[k] {
			seen[k] = true
			list = append(list, expected{line: a.Line, profile: a.Profile, length: quantity.Length(math.NaN())})
		}
	}
	for _, e := range list {
		plan := f.m.length(e.length)
		if !planned {
			plan = figure(math.NaN(), 0)
		}
		row := []Cell{word(e.line), word(e.profile), plan}
		if a, ok := f.actual(d, e.line, e.profile); ok {
			row = append(row, f.m.length(a.Good), f.m.kgs(a.Scrap), figure(float64(a.Run), 1), figure(float64(a.Down), 1), word("recorded"))
		} else {
			none := figure(math.NaN(), 0)
			row = append(row, none, none, none, none, Cell{"! to enter", Alert, "to enter"})
		}
		t.add(e.line+"/"+e.profile, row...)
	}
	return t
}

// receiptTable is the deliveries that may be received: due within three days or late.
func (f *Facts) receiptTable() *Table {
	t := &Table{Name: "receipts", Title: "To receive", None: "nothing is due in the next three days", Columns: []Column{
		{Key: "delivery", Head: "Delivery", Left: true}, {Key: "material", Head: "material", Left: true}, {Key: "mass_" + f.m.kg(), Head: f.m.kg()},
		{Key: "eta", Head: "ETA"}, {Key: "status", Head: "status", Left: true, Rank: 1}}}
	for _, d := range f.In.Deliveries {
		if d.Coming() && d.ETA <= f.today+3 {
			t.add(d.Code, word(d.Code), word(d.Material), f.m.kgs(d.Mass), f.m.day(d.ETA), word(string(d.Status)))
		}
	}
	return t
}

// countTable is what the book has in stock, to be counted.
func (f *Facts) countTable() *Table {
	t := &Table{Name: "counts", Title: "Stock in the book", None: "no grades or profiles", Columns: []Column{
		{Key: "kind", Head: "what", Left: true}, {Key: "code", Head: "code", Left: true}, {Key: "amount", Head: "in the book"}, {Key: "unit", Head: "", Left: true}}}
	for _, g := range f.In.Grades {
		t.add("pellets "+g.Code, word("pellets"), word(g.Code), f.m.kgs(f.silo(g.Code)), word(f.m.kg()))
		t.add("regrind "+g.Code, word("regrind"), word(g.Code), f.m.kgs(f.regrind(g.Code)), word(f.m.kg()))
	}
	for _, l := range f.In.Lots {
		t.add("lot "+l.Code, word("lot"), word(l.Code), f.m.kgs(l.Mass), word(f.m.kg()))
	}
	for _, p := range f.In.Profiles {
		t.add("profile "+p.Code, word("profile"), word(p.Code), f.m.length(f.Rack(p.Code)), word(f.m.metre()))
	}
	return t
}
