package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Runs writes the full run list: each line's campaigns day by day, then week by week, with set-ups and starts.
func Runs(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	pg := page{opt: opt}
	length, mass := opt.unit(quantity.KindLength).Symbol, opt.unit(quantity.KindMass).Symbol
	pg.add(heading, "%s: run list", p.Heading())
	for _, ln := range in.Lines {
		g := grid{columns: []column{{head: ln.Code, left: true}, {head: "profile", left: true}, {head: "h", rank: 1}, {head: length}, {head: "set-up h", rank: 2},
			{head: "pellets " + mass, rank: 3}, {head: "scrap " + mass, rank: 4}, {head: "note", left: true}}}
		for _, u := range usesOf(p, ln.Code) {
			addRuns(&g, p, u, opt)
		}
		if len(g.rows) == 0 {
			pg.add(normal, "%s: no run", ln.Code)
			continue
		}
		pg.table(g)
	}
	if slices.ContainsFunc(p.Runs, func(r planner.Run) bool { _, booked := r.SetupHours(); return booked > 0 }) {
		pg.wrap(normal, "Set-ups: what one takes in the order of the list / what is booked for it, the most that it may take.")
	}
	return pg.writeTo(w)
}

// usesOf is a line's buckets in order.
func usesOf(p *planner.Plan, line string) []planner.LineUse {
	var list []planner.LineUse
	for _, u := range p.Lines {
		if u.Line == line {
			list = append(list, u)
		}
	}
	slices.SortFunc(list, func(a, b planner.LineUse) int { return cmp.Compare(a.Bucket, b.Bucket) })
	return list
}

func addRuns(g *grid, p *planner.Plan, u planner.LineUse, opt Options) {
	label := p.Buckets[u.Bucket].Label()
	note := ""
	if u.Started {
		note = fmt.Sprintf("start, %s h", hours(u.Startup))
	}
	for _, r := range p.Runs {
		if r.Line != u.Line || r.Bucket != u.Bucket {
			continue
		}
		setup := ""
		if r.Changeover {
			takes, booked := r.SetupHours()
			if setup = hours(takes); booked > 0 {
				setup += "/" + hours(booked)
			}
			note = join(note, "die on")
		}
		g.add(label, r.Profile, hours(r.Hours), opt.length(r.Length), setup, opt.mass(r.Pellets), opt.mass(r.Scrap), note)
		label, note = "", ""
	}
	if note != "" {
		g.add(label, "", "", "", "", "", "", note)
	}
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}

// Feed writes the feed week by week: pellets by grade, need against have, the yard, and what to order.
func Feed(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	pg := page{opt: opt}
	pg.add(heading, "%s: feed, in %s", p.Heading(), opt.tonsUnit())
	weeks := weeksOf(p)
	for _, g := range in.Grades {
		pg.add(normal, "")
		pg.table(pelletGrid(p, g.Code, weeks, opt))
	}
	pg.add(normal, "")
	pg.table(yardGrid(in, p, weeks, opt))
	pg.add(normal, "")
	purchases(&pg, p)
	pg.add(normal, "")
	orderBy(&pg, in, p)
	return pg.writeTo(w)
}

// pelletGrid is a grade's pellets by week, with need against have on committed supply beside.
func pelletGrid(p *planner.Plan, grade string, weeks []week, opt Options) grid {
	g := grid{columns: []column{{head: grade, left: true}, {head: "made", rank: 2}, {head: "used", rank: 1}, {head: "missing", rank: 4}, {head: "in silo"}, {head: "cover d", rank: 3},
		{head: "regrind", rank: 5}, {head: "| need"}, {head: "have"}, {head: "owed"}}}
	for _, w := range weeks {
		var sum, last planner.PelletLevel
		for _, x := range p.Pellets {
			if x.Grade == grade && w.from <= x.Bucket && x.Bucket < w.to {
				sum.Made, sum.Used, sum.Shortfall = sum.Made+x.Made, sum.Used+x.Used, sum.Shortfall+x.Shortfall
				last = x
			}
		}
		need, have, owed := "-", "-", "-"
		if len(p.NeedHave) > 0 {
			n, h, o := needOf(p, grade, w)
			need, have, owed = opt.tons(n, 1), opt.tons(h, 1), opt.tons(o, 1)
		}
		g.add(w.monday.WeekLabel(), opt.tons(sum.Made, 1), opt.tons(sum.Used, 1), opt.tons(sum.Shortfall, 1), opt.tons(last.Closing, 1), coverWord(last.CoverDays),
			opt.tons(last.RegrindClosing, 1), need, have, owed)
	}
	return g
}

func needOf(p *planner.Plan, grade string, w week) (need, have, owed quantity.Mass) {
	for _, x := range p.NeedHave {
		if x.Grade == grade && w.from <= x.Bucket && x.Bucket < w.to {
			need, have, owed = need+x.Need, have+x.Have, x.Cumulative
		}
	}
	return need, have, owed
}

func coverWord(days float64) string {
	if math.IsInf(days, 1) {
		return "lasts"
	}
	return quantity.Grouped(days, 1)
}

// yardGrid is what lies in the yard at each week's end; the last materials of the book go first where they do not fit.
func yardGrid(in *planner.Input, p *planner.Plan, weeks []week, opt Options) grid {
	g := grid{columns: []column{{head: "yard", left: true}}}
	for i, m := range in.Materials {
		g.columns = append(g.columns, column{head: m.Code, rank: i + 1})
	}
	for _, w := range weeks {
		row := []string{w.monday.WeekLabel()}
		for _, m := range in.Materials {
			kg := quantity.Mass(0)
			for _, y := range p.Yard {
				if y.Material == m.Code && y.Bucket == w.to-1 {
					kg = y.Closing
				}
			}
			row = append(row, opt.tons(kg, 1))
		}
		g.add(row...)
	}
	return g
}

func purchases(pg *page, p *planner.Plan) {
	if len(p.Purchases) == 0 {
		pg.add(normal, "%s", "The plan orders nothing new.")
		return
	}
	list := slices.Clone(p.Purchases)
	slices.SortStableFunc(list, func(a, b planner.Purchase) int {
		return cmp.Or(cmp.Compare(a.OrderBy, b.OrderBy), cmp.Compare(a.Lane, b.Lane))
	})
	g := grid{columns: []column{{head: "the plan orders", left: true}, {head: "lane", left: true}, {head: "loads"}, {head: pg.opt.tonsUnit(), rank: 2}, {head: "arrives", left: true, rank: 1}, {head: p.Currency, rank: 3}}}
	for _, x := range list {
		g.add(weekday(x.OrderBy), x.Lane, fmt.Sprint(x.Loads), pg.opt.tons(x.Mass, 1), weekday(x.Arrives), quantity.Grouped(float64(x.Cost), 0))
	}
	pg.table(g)
}

func orderBy(pg *page, in *planner.Input, p *planner.Plan) {
	if len(p.OrderBy) == 0 {
		return
	}
	price := in.Plant.Currency + pg.opt.unit(quantity.KindMassPrice).Symbol
	g := grid{columns: []column{{head: "grade", left: true}, {head: "order by", left: true}, {head: "lane", left: true}, {head: "loads"}, {head: pg.opt.tonsUnit(), rank: 2},
		{head: "needed", left: true, rank: 1}, {head: price, rank: 3}, {head: "in plan", rank: 4}}}
	for _, o := range p.OrderBy {
		g.add(o.Grade, orderWord(o), laneWord(o), loadsWord(o), pg.opt.tons(o.Mass, 1), weekday(o.Needed), pg.opt.massPrice(o.Landed), yes(o.InPlan))
	}
	pg.table(g)
}

// Orders writes what becomes of each order: those never complete first, then the latest, then by due date.
func Orders(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	pg := page{opt: opt}
	length := opt.unit(quantity.KindLength).Symbol
	pg.add(heading, "%s: orders", p.Heading())
	g := grid{columns: []column{{head: "order", left: true}, {head: "customer", left: true, rank: 5}, {head: "profile", left: true, rank: 1}, {head: length, rank: 3}, {head: "due", left: true, rank: 2},
		{head: "promise", left: true}, {head: "days late"}, {head: "unmet " + length, rank: 4}, {head: "priority", rank: 6}}}
	book := map[string]planner.Order{}
	for _, o := range in.Orders {
		book[o.Code] = o
	}
	list := slices.Clone(p.Orders)
	slices.SortStableFunc(list, func(a, b planner.OrderResult) int {
		return cmp.Or(cmp.Compare(boolInt(b.Promise == 0), boolInt(a.Promise == 0)), cmp.Compare(b.DaysLate, a.DaysLate), cmp.Compare(a.Due, b.Due))
	})
	for _, r := range list {
		late := ""
		if r.DaysLate > 0 {
			late = fmt.Sprintf("! %d", r.DaysLate)
		}
		unmet := ""
		if r.Unmet > 0 {
			unmet = "! " + opt.length(r.Unmet)
		}
		o := book[r.Order]
		g.add(r.Order, o.Customer, r.Profile, opt.length(r.Length), weekday(r.Due), promiseWord(r.Promise), late, unmet, fmt.Sprint(o.Priority))
	}
	pg.table(g)
	return pg.writeTo(w)
}

func promiseWord(d calendar.Day) string {
	if d == 0 {
		return "! none"
	}
	return weekday(d)
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
