package report

import (
	"fmt"
	"io"
	"slices"

	"feedline/inventory/quantity"
	"feedline/planner"
)

// Why writes what bounds output week by week, what feed and line hours are worth, and why orders are late.
func Why(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	pg := &page{opt: opt}
	pg.add(heading, "%s: limits and their worth", p.Heading())
	if len(p.BoundBy) == 0 {
		pg.wrap(normal, "Not worked out: the planner was stopped before, or the plan was made in brief.")
		return pg.writeTo(w)
	}
	whyOrders(pg, p)
	whyWeeks(pg, in, p)
	return pg.writeTo(w)
}

func whyOrders(pg *page, p *planner.Plan) {
	if len(p.WhyLate) == 0 {
		pg.add(normal, "No order is late.")
		return
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
	pg.wrap(normal, "Worth of the next kilogram of pellets or hour of the line: feed by the larger of what it brings with lines and set-ups as planned and, as an estimate, were they free to change.")
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
