package rows

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Changes answers what would change against the promise.
func Changes(f *Facts, at Place) Page {
	return Page{
		Screen: "changes",
		Lead:   f.changesLead(),
		Panes: []Pane{
			{Table: f.editTable(), Least: 2, Rank: 1},
			{Table: f.sumTable(), Least: 3, Rank: 2},
			{Table: f.changeTable(), Least: 3, Rank: 0},
		},
	}
}

// change is a line's profiles of a bucket, before and now.
type change struct{ was, now string }

// compare finds the buckets of this plan in which a line does something else than in the plan before.
func (f *Facts) compare() map[place]change {
	out := map[place]change{}
	if f.Was == nil || f.Was == f.Plan {
		return out
	}
	at := map[calendar.Span]int{}
	for t, b := range f.Was.Buckets {
		at[b.Span] = t
	}
	was := map[place][]string{}
	for _, r := range f.Was.Runs {
		if r.Length >= leastLength {
			k := place{r.Line, r.Bucket}
			was[k] = append(was[k], r.Profile)
		}
	}
	for _, l := range f.In.Lines {
		for t, b := range f.Plan.Buckets {
			old, ok := at[b.Span]
			if !ok || b.Span.To <= f.today {
				continue
			}
			a, b := profiles(was[place{l.Code, old}]), f.profilesIn(l.Code, t)
			if a != b {
				out[place{l.Code, t}] = change{a, b}
			}
		}
	}
	return out
}

func (f *Facts) profilesIn(line string, t int) string {
	var list []string
	for _, r := range f.runs[place{line, t}] {
		if r.Length >= leastLength {
			list = append(list, r.Profile)
		}
	}
	return profiles(list)
}

func profiles(list []string) string {
	list = slices.Clone(list)
	slices.Sort(list)
	return strings.Join(slices.Compact(list), " ")
}

// Delta is how the plan compares with the one before.
type Delta struct {
	Known     bool
	Cost, Net quantity.Money // of this plan less the one before
	Runs      int            // line and bucket pairs that differ
	Apart     bool           // the plans have no days of the same kind in common: there is no pair to compare
	Late      int            // late orders, this less before
	Metres    quantity.Length
}

// Delta compares the plan with Was.
func (f *Facts) Delta() Delta {
	if f.Was == nil {
		return Delta{}
	}
	d := Delta{Known: true, Cost: f.Plan.Objective - f.Was.Objective, Net: f.Plan.Margin.Net - f.Was.Margin.Net, Runs: len(f.differ)}
	d.Apart = f.Was != f.Plan && !slices.ContainsFunc(f.Plan.Buckets, func(b calendar.Bucket) bool {
		return slices.ContainsFunc(f.Was.Buckets, func(a calendar.Bucket) bool { return a.Span == b.Span && b.Span.To > f.today })
	})
	d.Late = lateOf(f.Plan) - lateOf(f.Was)
	d.Metres = metresOf(f.Plan) - metresOf(f.Was)
	return d
}

func lateOf(p *planner.Plan) (n int) {
	for _, o := range p.Orders {
		if o.DaysLate > 0 || o.Unmet > 0 {
			n++
		}
	}
	return n
}

func metresOf(p *planner.Plan) (sum quantity.Length) {
	for _, r := range p.Runs {
		sum += r.Length
	}
	return sum
}

// signed is a difference with its sign.
func signed(x float64, decimals int) string {
	s := quantity.Grouped(x, decimals)
	if x > 0 && s != quantity.Grouped(0, decimals) {
		return "+" + s
	}
	return s
}

// against names what Was is.
func (f *Facts) against() string {
	switch {
	case f.Was == nil:
		return "no plan before it"
	case f.Ref.Released:
		return "the released plan of " + f.Ref.At.In(f.zone()).Format("2 Jan")
	}
	return "the stored plan, none is released"
}

// Status is the draft in one line, shortest first: the difference against the promise is always in view.
func (f *Facts) Status() Line {
	d := f.Delta()
	if !d.Known {
		return say(Quiet, "No plan is released")
	}
	ref := "released"
	if !f.Ref.Released {
		ref = "stored"
	}
	if f.unplanned() {
		return say(Accent, "Draft not planned yet: the "+ref+" plan is shown")
	}
	if f.Was == f.Plan {
		if f.Ref.Released {
			return say(Quiet, "As released "+f.Ref.At.In(f.zone()).Format("2 Jan 15:04"))
		}
		return say(Quiet, "As stored, not released")
	}
	return Line{{fmt.Sprintf("Against %s: cost %s, %s, late %s", ref, signed(float64(d.Cost), 0), runsDiffer(d), signed(float64(d.Late), 0)), Accent}}
}

// unplanned reports whether there are edits and the plan shown is still the one before all of them.
func (f *Facts) unplanned() bool { return len(f.Edits) > 0 && f.Was != nil && f.Was == f.Plan }

func (f *Facts) changesLead() []Line {
	d := f.Delta()
	n := plural(len(f.Edits), "edit")
	head := Line{{fmt.Sprintf("Draft of %s against %s.", n, f.against()), Strong}}
	if len(f.Edits) == 0 {
		head = Line{{fmt.Sprintf("No edits; compared with %s.", f.against()), Strong}}
		if f.Was == f.Plan && f.Ref.Released {
			head = say(Strong, "No edits; this is the released plan.")
		}
	}
	switch {
	case !d.Known:
		return []Line{head}
	case f.unplanned():
		return []Line{head, say(Plain, "It is not planned yet: what it costs and changes is not known.")}
	}
	return []Line{head, {{fmt.Sprintf("Cost %s %s, margin %s, late orders %s; %s.", signed(float64(d.Cost), 0), f.In.Plant.Currency,
		signed(float64(d.Net), 0), signed(float64(d.Late), 0), runsDiffer(d)), Plain}}}
}

// runsDiffer says in how many cells of the lines' table something else runs.
func runsDiffer(d Delta) string {
	switch {
	case d.Apart:
		return "the days differ"
	case d.Runs == 1:
		return "1 run differs"
	}
	return fmt.Sprintf("%d runs differ", d.Runs)
}

func (f *Facts) editTable() *Table {
	t := &Table{Name: "edits", Title: "Edits of the draft", None: "no edits: this is the book as it stands", Columns: []Column{
		{Key: "n", Head: "no."}, {Key: "edit", Head: "edit", Left: true, Rank: 1, Flex: true}, {Key: "cost_" + f.In.Plant.Currency, Head: "cost " + f.In.Plant.Currency}}}
	for i, e := range f.Edits {
		cost := figure(float64(e.Cost), 0)
		if cost.Value != nil {
			cost.Text = signed(float64(e.Cost), 0)
		}
		t.add(e.Key, count(i+1), toned(e.Text, Accent), cost)
	}
	return t
}

// sumTable sets the two plans' figures side by side.
func (f *Facts) sumTable() *Table {
	t := &Table{Name: "sums", Title: "Then and now", None: "nothing to compare with", Columns: []Column{
		{Key: "what", Head: "what", Left: true}, {Key: "was", Head: "was"}, {Key: "now", Head: "now"}, {Key: "difference", Head: "difference"}}}
	if f.Was == nil {
		return t
	}
	add := func(name string, was, now float64, decimals int) {
		t.add(name, word(name), figure(was, decimals), figure(now, decimals), Cell{signed(now-was, decimals), Accent, now - was})
	}
	c := f.In.Plant.Currency
	add("cost, "+c, float64(f.Was.Objective), float64(f.Plan.Objective), 0)
	add("margin, "+c, float64(f.Was.Margin.Net), float64(f.Plan.Margin.Net), 0)
	add("good "+f.m.metre(), f.m.inMetres(metresOf(f.Was)), f.m.inMetres(metresOf(f.Plan)), 0)
	add("orders late", float64(lateOf(f.Was)), float64(lateOf(f.Plan)), 0)
	add("short in 4 weeks, "+f.m.ton(), f.m.inTons(shortOf(f.Was)), f.m.inTons(shortOf(f.Plan)), 1)
	add("loads ordered", float64(loadsOf(f.Was)), float64(loadsOf(f.Plan)), 0)
	return t
}

func shortOf(p *planner.Plan) (sum quantity.Mass) {
	for _, s := range p.Shortages {
		sum += s.MassIn4Weeks
	}
	return sum
}

func loadsOf(p *planner.Plan) (n int) {
	for _, x := range p.Purchases {
		n += x.Loads
	}
	return n
}

// changeTable is a row a difference: lines by day, loads, orders, short dates, as planner.Diff explains them.
func (f *Facts) changeTable() *Table {
	t := &Table{Name: "changes", Title: "Changes", None: "nothing changes", Columns: []Column{
		{Key: "from", Head: "day"}, {Key: "kind", Head: "", Left: true, Rank: 2}, {Key: "what", Head: "what", Left: true},
		{Key: "was", Head: "was", Left: true}, {Key: "now", Head: "now", Left: true}, {Key: "amount", Head: f.m.metre(), Rank: 1}}}
	if f.Was == nil || f.Was == f.Plan {
		return t
	}
	d := planner.Diff(f.Was, f.Plan)
	add := func(key string, day calendar.Day, kind, what, was, now string, amount Cell) {
		t.add(key, f.m.day(day), word(kind), word(what), word(was), toned(now, Accent), amount)
	}
	none := figure(math.NaN(), 0)
	for i, r := range d.Runs {
		was, now, day := "–", "–", r.From
		if r.From != 0 {
			was = r.FromLine + " " + f.m.date(r.From)
		}
		if r.To != 0 {
			now = r.ToLine + " " + f.m.date(r.To)
			if day == 0 || r.To < day {
				day = r.To
			}
		}
		add(fmt.Sprint("run ", i), day, "run", r.Profile, was, now, f.m.length(r.Length))
	}
	for _, l := range d.Loads {
		add("load "+l.Lane+l.Day.String(), l.Day, "load", l.Lane, plural(l.Was, "load"), plural(l.Is, "load"), none)
	}
	for _, o := range d.Orders {
		add("order "+o.Order, max(o.Was.Due, o.Is.Due), string(o.Fate), o.Order, f.fate(o.Was), f.fate(o.Is), none)
	}
	for _, s := range d.Short {
		first := s.Is
		if first == 0 {
			first = s.Was
		}
		add("short "+s.Grade, first, "short", s.Grade, f.shortWord(s.Was, s.WasMass), f.shortWord(s.Is, s.IsMass), none)
	}
	slices.SortStableFunc(t.Rows, func(a, b Row) int { return compare(a.Cells[0].Value, b.Cells[0].Value) })
	return t
}

// fate is an order's outcome in a word.
func (f *Facts) fate(o planner.OrderResult) string {
	switch {
	case o.Order == "":
		return "–"
	case o.Unmet > 0:
		return "never"
	case o.DaysLate > 0:
		return fmt.Sprintf("%s, %d d late", f.m.date(o.Promise), o.DaysLate)
	}
	return f.m.date(o.Promise)
}

func (f *Facts) shortWord(first calendar.Day, mass quantity.Mass) string {
	if first == 0 {
		return "lasts"
	}
	return fmt.Sprintf("%s, %s %s", f.m.date(first), f.m.tons(mass).Text, f.m.ton())
}

// EditCost is what an edit did to the objective, NaN if that is not known.
func EditCost(before, after *planner.Plan) quantity.Money {
	if before == nil || after == nil {
		return quantity.Money(math.NaN())
	}
	return after.Objective - before.Objective
}
