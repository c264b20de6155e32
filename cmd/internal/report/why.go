package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
)

// Why writes what bounds output week by week, what feed and line hours are worth, and why orders are late.
func Why(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	pg := &page{opt: opt}
	pg.add(heading, "%s: limits and their worth", p.Heading())
	whyOrders(pg, p)
	lineValues(pg, p)
	if len(p.BoundBy) > 0 {
		whyWeeks(pg, in, p)
	}
	for _, m := range p.Missing {
		pg.wrap(warning, "! "+capital(string(m.Answer))+": "+m.Words+".")
	}
	if len(p.BoundBy) == 0 && len(p.Missing) == 0 {
		pg.wrap(normal, "What bounds output and what more of it is worth were not worked out for this plan: plan again.")
	}
	return pg.writeTo(w)
}

func whyOrders(pg *page, p *planner.Plan) {
	late := slices.ContainsFunc(p.Orders, func(o planner.OrderResult) bool { return o.DaysLate > 0 || o.Promise == 0 })
	switch {
	case !late:
		pg.add(normal, "No order is late.")
		return
	case len(p.WhyLate) == 0:
		return // Missing says why
	}
	g := grid{columns: []column{{head: "late order", left: true}, {head: "what makes it late", left: true}}}
	for _, x := range p.WhyLate {
		g.add(x.Order, x.Words)
	}
	pg.table(g)
}

// whyWeeks is a row a bucket: what bounds it, the worth of a kilogram of each grade and of the dearest line hour.
func whyWeeks(pg *page, in *planner.Input, p *planner.Plan) {
	unit := pg.opt.unit(quantity.KindMassPrice)
	g := grid{columns: []column{{head: "bucket", left: true}, {head: "bound by", left: true}}}
	for i, gr := range in.Grades {
		g.columns = append(g.columns, column{head: gr.Code + " " + p.Currency + unit.Symbol, rank: i + 2})
	}
	g.columns = append(g.columns, column{head: "line hour " + p.Currency}, column{head: "line", left: true, rank: 1})
	for t, b := range p.Buckets {
		by := "?"
		if t < len(p.BoundBy) {
			by = boundWord(p.BoundBy[t].By)
		}
		row := []string{b.Label(), by}
		for _, gr := range in.Grades {
			v := worthOf(p, planner.OfPellets, gr.Code, t)
			row = append(row, quantity.Grouped(unit.FromStored(float64(max(v.Value, v.Relaxed))), 2))
		}
		best := planner.Worth{}
		for _, x := range p.Worth {
			if x.Of == planner.OfLineHour && x.Bucket == t && x.Value > best.Value {
				best = x
			}
		}
		g.rows = append(g.rows, append(row, quantity.Grouped(float64(best.Value), 2), best.Code))
	}
	pg.table(g)
	pg.wrap(normal, "Worth of the next "+massWord(pg.opt.Units)+" of pellets or hour of the line: feed by the larger of what it brings with lines and set-ups as planned and, as an estimate, were they free to change.")
}

// lineValues is a row a step that could be taken with a line: what it would bring as feed is, and were feed there.
func lineValues(pg *page, p *planner.Plan) {
	if len(p.LineValues) == 0 {
		return
	}
	g := grid{columns: []column{{head: "line", left: true}, {head: "were it", left: true}, {head: "gain " + p.Currency}, {head: "good " + pg.opt.unit(quantity.KindLength).Symbol, rank: 1}, {head: "late orders", rank: 2},
		{head: "pellets " + pg.opt.tonsUnit(), rank: 3}, {head: "with feed " + p.Currency, rank: 4}, {head: "pellets " + pg.opt.tonsUnit(), rank: 5}}}
	for _, v := range p.LineValues {
		if !v.Can {
			g.add(v.Line, doneWord(v.Do), "can't be", "", "", "", "", "")
			continue
		}
		row := []string{v.Line, doneWord(v.Do), plus(float64(v.Gain), 0), plus(pg.opt.unit(quantity.KindLength).FromStored(float64(v.Length)), 0), plus(float64(v.LateOrders), 0),
			signedText(v.Pellets, pg.opt.tons(max(v.Pellets, -v.Pellets), 1)), "", ""}
		if v.Do != planner.IdleLine {
			row[6], row[7] = plus(float64(v.FedGain), 0), signedText(v.FedPellets, pg.opt.tons(max(v.FedPellets, -v.FedPellets), 1))
		}
		g.add(row...)
	}
	pg.table(g)
	pg.wrap(normal, "What each line would bring over the plan, planned anew with that one thing done: started on the first day it can be, idle throughout, or set up. With feed: were pellets there at what they cost to have.")
}

// doneWord is a step as it would have been done.
func doneWord(s planner.LineStep) string {
	switch s {
	case planner.StartLine:
		return "started"
	case planner.IdleLine:
		return "idle"
	case planner.CommissionLine:
		return "set up"
	}
	return string(s)
}

// plus is a number with its sign, 0 without.
func plus(x float64, decimals int) string {
	s := quantity.Grouped(x, decimals)
	if x > 0 && strings.ContainsAny(s, "123456789") {
		s = "+" + s
	}
	return s
}

// signedText puts x's sign before the text of its amount.
func signedText(x quantity.Mass, text string) string {
	switch {
	case !strings.ContainsAny(text, "123456789"):
		return text
	case x < 0:
		return "-" + text
	}
	return "+" + text
}

func capital(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

func worthOf(p *planner.Plan, of planner.Resource, code string, t int) planner.Worth {
	if i := slices.IndexFunc(p.Worth, func(x planner.Worth) bool { return x.Of == of && x.Code == code && x.Bucket == t }); i >= 0 {
		return p.Worth[i]
	}
	return planner.Worth{}
}

func boundWord(of planner.Resource) string {
	switch of {
	case planner.OfPellets:
		return "feed"
	case planner.OfLineHour:
		return "lines"
	case planner.OfStep:
		return "pelletizing"
	case planner.OfDie:
		return "dies"
	}
	return fmt.Sprint(of)
}

// massWord is the unit that prices of pellets are by.
func massWord(units quantity.System) string {
	if units == quantity.US {
		return "pound"
	}
	return "kilogram"
}
