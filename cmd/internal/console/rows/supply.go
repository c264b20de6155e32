package rows

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Supply answers what the plant makes and earns, what bounds it, and what its idle lines would bring.
func Supply(f *Facts, at Place) Page {
	return Page{
		Screen: "supply",
		Lead:   f.supplyLead(),
		Panes: []Pane{
			{Table: f.stepTable(), Least: 3, Rank: 0},
			{Table: f.outputTable(), Least: 3, Rank: 1},
			{Table: f.moneyTable(), Least: 3, Rank: 2},
			{Table: f.idleTable(), Least: 3, Rank: 3},
		},
	}
}

func (f *Facts) supplyLead() []Line {
	m, c := f.Plan.Margin, f.In.Plant.Currency
	made := quantity.Length(0)
	for _, r := range f.Plan.Runs {
		made += r.Length
	}
	lead := []Line{
		{{fmt.Sprintf("Till %s the plan makes %s %s and earns %s %s", f.m.date(f.end()), quantity.Grouped(f.m.inMetres(made), 0), f.m.metre(), thousands(m.Net), c), Strong},
			{fmt.Sprintf(" = sales %s − feed %s − processes %s.", thousands(m.Sales), thousands(m.Feed), thousands(m.Processes)), Plain}},
		{{"What bounds it: ", Strong}, {f.boundWords() + ".", Plain}},
	}
	return append(lead, f.lacking(planner.AnswerBound)...)
}

// boundWords says in how many weeks what bounds the output.
func (f *Facts) boundWords() string {
	n := map[string]int{}
	var order []string
	for i := range f.weeks {
		b := f.bindsWeek(i)
		if strings.HasPrefix(b, "feed") {
			b = "feed" // of whichever grade: the table names it
		}
		if n[b] == 0 {
			order = append(order, b)
		}
		n[b]++
	}
	slices.SortStableFunc(order, func(a, b string) int { return n[b] - n[a] })
	var parts []string
	for _, b := range order {
		parts = append(parts, fmt.Sprintf("%s in %s", b, plural(n[b], "week")))
	}
	return strings.Join(parts, ", ")
}

// load is how a week's means are used: shares of what there is.
type load struct {
	made, late       quantity.Length
	pellets          quantity.Mass
	lineHours, avail quantity.Hours
	crew             float64 // people on lines ÷ people there are, the most of the week; NaN without a limit
}

// loadOf sums a week up.
func (f *Facts) loadOf(i int) load {
	w := f.weeks[i]
	var l load
	l.crew = math.NaN()
	for t := w.from; t < w.to; t++ {
		people := 0.0
		for _, ln := range f.In.Lines {
			u := f.uses[place{ln.Code, t}]
			if ln.State != lines.Uncommissioned {
				l.avail += u.Available
			}
			l.lineHours += u.Run + u.Setup + u.Startup
			if u.On {
				people += ln.Crew
			}
			for _, r := range f.runs[place{ln.Code, t}] {
				l.made += r.Length
				l.pellets += r.Pellets
			}
		}
		if f.In.Plant.Crew > 0 {
			l.crew = math.Max(people/f.In.Plant.Crew, orZero(l.crew))
		}
	}
	for _, r := range f.Plan.Rack {
		if r.Bucket == w.to-1 {
			l.late += r.Late
		}
	}
	return l
}

func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// full is the share of line hours or people from which they are said to bound a week.
const full = 0.97

// boundBy is the limit with the highest rent of a week's buckets; false if none was worked out. A plan with late orders and no worth
// of anything was stopped before that: demand alone does not bound it.
func (f *Facts) boundBy(w week) (string, bool) {
	if n, _ := f.late(); n > 0 && len(f.Plan.Worth) == 0 {
		return "", false
	}
	rent := map[planner.Resource]quantity.Money{}
	var most planner.Resource
	known := false
	for _, b := range f.Plan.BoundBy {
		if b.Bucket < w.from || b.Bucket >= w.to {
			continue
		}
		known = true
		for _, r := range b.Rents {
			rent[r.Of] += r.Amount
			if most == "" || rent[r.Of] > rent[most] {
				most = r.Of
			}
		}
		if most == "" {
			most = b.By
		}
	}
	return limitWord(most), known
}

// limitWord names a resource as the floor does.
func limitWord(r planner.Resource) string {
	switch r {
	case planner.OfPellets, planner.OfMaterial:
		return "feed"
	case planner.OfLineHour:
		return "lines"
	case planner.OfCrew:
		return "people"
	case planner.OfStep:
		return "pelletizing"
	case planner.OfDie:
		return "dies"
	}
	return string(r)
}

// hungry is the grades of profiles that are late at the end of a week while no more pellets of it are there than are to be kept.
func (f *Facts) hungry(w week) (grades []string) {
	late := map[string]bool{}
	for _, r := range f.Plan.Rack {
		if r.Bucket == w.to-1 && r.Late >= 1 {
			late[f.profiles[r.Profile].Grade] = true
		}
	}
	for _, l := range f.Plan.Pellets {
		if l.Bucket == w.to-1 && late[l.Grade] && l.Closing <= f.grades[l.Grade].StockTarget*1.01+100 {
			grades = append(grades, l.Grade)
		}
	}
	return grades
}

// bindsWeek is what bounds the output of a week: what earns the highest rent in its buckets, as the planner worked it out; in a plan
// made in brief what is used up, and nothing late means that demand does.
func (f *Facts) bindsWeek(i int) string {
	if s, ok := f.boundBy(f.weeks[i]); ok {
		return s
	}
	l := f.loadOf(i)
	switch {
	case l.late < 1:
		return "demand"
	case len(f.hungry(f.weeks[i])) > 0:
		return "feed " + strings.Join(f.hungry(f.weeks[i]), " ")
	case l.crew >= full:
		return "people"
	case l.avail > 0 && l.lineHours >= full*l.avail:
		return "lines"
	}
	return "dies, changeovers"
}

func (f *Facts) outputTable() *Table {
	rank := 5 // of the range: blank without a forecast
	if f.Likely != nil {
		rank = 1
	}
	t := &Table{Name: "output", Title: "Output by week", None: "no weeks in the plan", Columns: []Column{
		{Key: "week", Head: "Week", Left: true},
		{Key: "from", Head: "from", Rank: 4},
		{Key: "good_" + f.m.metre(), Head: "good " + f.m.metre()},
		{Key: "range", Head: "P10–P90", Left: true, Rank: rank, Drawn: true},
		{Key: "pellets_" + f.m.ton(), Head: "pellets " + f.m.ton()},
		{Key: "lines", Head: "lines"},
		{Key: "line_hours_percent", Head: "line h %", Rank: 1},
		{Key: "crew_percent", Head: "crew %", Rank: 2},
		{Key: "late_" + f.m.metre(), Head: "late " + f.m.metre(), Rank: 1},
		{Key: "bounded_by", Head: "bounded by", Left: true},
		{Key: "bar", Head: "", Left: true, Rank: 3, Drawn: true},
	}}
	top := quantity.Length(0)
	loads := make([]load, len(f.weeks))
	for i := range f.weeks {
		loads[i] = f.loadOf(i)
		top = max(top, loads[i].made)
	}
	for i, w := range f.weeks {
		l := loads[i]
		t.add(w.monday.String(), word(w.label()), f.m.day(f.span(w.from).From), f.m.length(l.made), drawn(f.fan(w.monday), Quiet), f.m.tons(l.pellets), count(f.most(w)),
			figure(100*float64(l.lineHours/max(l.avail, 1)), 0), figure(100*l.crew, 0), f.m.length(l.late), word(f.bindsWeek(i)), drawn(meter(float64(l.made/max(top, 1)), 14), Plain))
	}
	return t
}

// fanCells is the width of the range of metres.
const fanCells = 16

// fan is where the metres of the week that begins on monday are likely to lie: dots from what nine in ten samples reach to what one in
// ten does, = at the middle one, │ where the plan is.
func (f *Facts) fan(monday calendar.Day) string {
	if f.Likely == nil {
		return ""
	}
	most := 0.0
	for _, b := range f.Likely.Metres {
		most = max(most, b.P90, b.Plan)
	}
	for t, w := range f.Likely.Weeks {
		if w.Span.From.Monday() != monday || most <= 0 {
			continue
		}
		b := f.Likely.Metres[t]
		bar := []rune(strings.Repeat(" ", fanCells))
		at := func(x float64) int { return min(max(int(math.Round(x/most*(fanCells-1))), 0), fanCells-1) }
		for i := at(b.P10); i <= at(b.P90); i++ {
			bar[i] = '·'
		}
		bar[at(b.P50)] = '='
		bar[at(b.Plan)] = '│'
		return string(bar)
	}
	return ""
}

func (f *Facts) moneyTable() *Table {
	t := &Table{Name: "money", Title: "Money over the plan", Columns: []Column{
		{Key: "item", Head: "Item", Left: true}, {Key: "amount_" + f.In.Plant.Currency, Head: f.In.Plant.Currency}, {Key: "kind", Head: "", Left: true, Rank: 1}}}
	m := f.Plan.Margin
	for _, x := range []planner.Cost{{Name: "sales", Amount: m.Sales}, {Name: "feed", Amount: -m.Feed}, {Name: "processes", Amount: -m.Processes}, {Name: "net", Amount: m.Net}} {
		t.add("margin "+x.Name, word(x.Name), f.m.money(x.Amount), word("margin"))
	}
	for _, x := range f.Plan.Costs {
		t.add("cost "+x.Name, word(x.Name), f.m.money(x.Amount), word("part of the objective"))
	}
	return t
}

// idleLine is what a line that stands would bring with feed for it.
type idleLine struct {
	line          lines.Line
	profile       lines.Profile
	metres        quantity.Length // good, a full day
	pellets       quantity.Mass   // a full day
	earns         quantity.Money  // a full day: sales less feed at its landed cost, crew and energy
	once          quantity.Money  // to start it: set-up, crew and pellets of the start-up
	days          float64         // full days till it has paid; +Inf if it never does
	feed          quantity.Mass   // pellets that it eats till then
	feedCostPerKg quantity.MassPrice
}

// idle works out what a line would bring on the profile that earns most a day. It counts on demand for what it makes and takes
// feed at the cheapest lane's landed cost, else at the materials' book price; the plan's own whole numbers are not in it.
func (f *Facts) idle(l lines.Line) (best idleLine, ok bool) {
	hours := f.fullDay()
	for _, p := range f.In.Profiles {
		r, fits := f.rate(l.Code, p.Code)
		if !fits || r.GoodMetresPerHour <= 0 {
			continue
		}
		price := f.pelletPrice(p.Grade)
		x := idleLine{line: l, profile: p, metres: r.MetresPerDay(hours), feedCostPerKg: price}
		x.pellets = quantity.Mass(float64(r.PelletsPerHour()) * float64(hours))
		crew := float64(f.In.Plant.CrewCost) * l.Crew * float64(hours)
		energy := float64(f.In.Plant.EnergyPrice) * (l.BaseKW*float64(hours) + l.KWhPerKg*float64(x.pellets))
		x.earns = quantity.Money(float64(p.Price)*float64(x.metres) - float64(price)*float64(x.pellets) - crew - energy)
		if !ok || x.earns > best.earns {
			best, ok = x, true
		}
	}
	if !ok {
		return best, false
	}
	s := l.Startup
	best.once = s.Cost + quantity.Money(float64(f.In.Plant.CrewCost)*l.Crew*float64(s.Hours)+float64(best.feedCostPerKg)*float64(s.Scrap)*(1-float64(f.In.Plant.RegrindYield)))
	if l.State == lines.Uncommissioned {
		best.once += l.Commissioning.Cost
	}
	best.days = math.Inf(1)
	if best.earns > 0 {
		best.days = float64(best.once / best.earns)
	}
	best.feed = quantity.Mass(best.days*float64(best.pellets)) + s.Scrap
	return best, true
}

// fullDay is the crewed hours of the longest working day of the first two weeks.
func (f *Facts) fullDay() quantity.Hours {
	most := 0.0
	for d := f.Plan.Start; d < f.Plan.Start+14; d++ {
		most = max(most, f.In.Calendar.OpenHours(d))
	}
	return quantity.Hours(most)
}

// pelletPrice is what a kilogram of a grade's pellets costs: the cheapest blend that the recipe's shares, HIPS and recycled content let
// be, each material at its cheapest lane's landed cost and the steps', else at its book price. Where the recipe can't be filled it is the
// price of what can be.
func (f *Facts) pelletPrice(grade string) quantity.MassPrice {
	type part struct {
		least, most, cost float64
		hips, virgin      bool
	}
	var parts []part
	g := f.grades[grade]
	left, hips, virgin := 1.0, float64(g.MaxHIPS), 1-float64(g.MinRecycled)
	for _, i := range f.In.Ingredients {
		m, ok := f.mats[i.Material]
		if !ok || i.Grade != grade {
			continue
		}
		x := part{float64(i.MinShare), float64(i.MaxShare), float64(f.materialPrice(m)), m.Polymer == "HIPS", m.Source != inventory.PostConsumer && m.Source != inventory.PreConsumer}
		if x.most == 0 {
			x.most = 1
		}
		parts = append(parts, x)
	}
	slices.SortStableFunc(parts, func(a, b part) int { return cmp.Compare(a.cost, b.cost) })
	sum, filled := 0.0, 0.0
	add := func(x part, share float64) {
		share = min(share, left)
		if x.hips {
			share = min(share, hips)
		}
		if x.virgin {
			share = min(share, virgin)
		}
		share = max(share, 0)
		left, filled, sum = left-share, filled+share, sum+share*x.cost
		hips, virgin = hips-share*float64(truth(x.hips)), virgin-share*float64(truth(x.virgin))
	}
	for _, x := range parts {
		add(x, x.least)
	}
	for _, x := range parts {
		add(x, x.most-x.least)
	}
	if filled <= 0 {
		return quantity.MassPrice(math.Inf(1))
	}
	return quantity.MassPrice(sum / filled)
}

// materialPrice is the least that a kilogram of pellets made of a material costs: a lane's landed cost, else the book price, and the steps'.
func (f *Facts) materialPrice(m inventory.Material) quantity.MassPrice {
	path, least := f.path(m.Code), quantity.MassPrice(math.Inf(1))
	for _, l := range f.In.Lanes {
		if l.Material == m.Code {
			least = min(least, f.landed(l))
		}
	}
	if math.IsInf(float64(least), 1) {
		least = m.Price / quantity.MassPrice(path.Yield)
	}
	return least + path.CostPerKg/quantity.MassPrice(path.Yield)
}

// stands reports whether the plan leaves a line off in the coming week.
func (f *Facts) stands(l lines.Line) bool {
	for _, w := range f.weeks {
		if w.to <= f.Bucket(f.today) {
			continue
		}
		for t := w.from; t < w.to; t++ {
			if f.uses[place{l.Code, t}].On {
				return false
			}
		}
		return true
	}
	return false
}

func (f *Facts) idleTable() *Table {
	c := f.In.Plant.Currency
	t := &Table{Name: "idle", Title: f.titled("A full day of an idle line by its rates, were all sold"), None: "no line stands", Columns: []Column{
		{Key: "line", Head: "Line", Left: true},
		{Key: "state", Head: "state", Left: true},
		{Key: "profile", Head: "best on", Left: true},
		{Key: "good_" + f.m.metre() + "_a_day", Head: f.m.metre() + "/day", Rank: 2},
		{Key: "feed_" + f.m.ton() + "_a_day", Head: "pellets " + f.m.ton() + "/d"},
		{Key: "earns_" + c + "_a_day", Head: c + "/day"},
		{Key: "once_" + c, Head: "once " + c, Rank: 1},
		{Key: "break_even_d", Head: "pays in d"},
		{Key: "break_even_feed_" + f.m.ton(), Head: "after " + f.m.ton()},
		{Key: "grade", Head: "grade", Left: true, Rank: 3},
		{Key: "entered_" + f.m.metre() + "_a_day", Head: "entered " + f.m.metre() + "/day", Rank: 4},
	}}
	for _, l := range f.In.Lines {
		if !f.stands(l) {
			continue
		}
		state := f.stateWord(l)
		if l.State == lines.Running {
			state = "stands in plan"
		}
		x, ok := f.idle(l)
		if !ok {
			t.add(l.Code, word(l.Code), word(state), word("no rate"), count(0), count(0), count(0), count(0), figure(math.NaN(), 0), figure(math.NaN(), 0), word(""), Cell{})
			continue
		}
		metres, entered := estimateCells(f.m.inMetres(x.metres), f.m.inMetres(f.enteredRate(l.Code, x.profile.Code).MetresPerDay(f.fullDay())), 0)
		feed, earns := f.m.tons(x.pellets), f.m.money(x.earns)
		if strings.HasPrefix(metres.Text, signEstimate) { // they follow from it
			feed.Text, earns.Text = signEstimate+feed.Text, signEstimate+earns.Text
		}
		t.add(l.Code, word(l.Code), word(state), word(x.profile.Code), metres, feed, earns, f.m.money(x.once),
			figure(x.days, 1), f.m.tons(x.feed), word(x.profile.Grade), entered)
	}
	return t
}
