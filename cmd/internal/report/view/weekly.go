package view

import (
	"slices"

	"feedline/planner"
)

// NeedHaveWeeks is need against have by grade and week.
func NeedHaveWeeks(in *planner.Input, p *planner.Plan, opt Options) Table {
	m := newMaker(in, p, opt)
	t := m.needHave()
	t.Name, t.Rows = "need-have-weeks", nil
	t.Columns = []Column{words("grade"), words("week"), date("from"), m.tonColumn("need"), m.tonColumn("have"), m.tonColumn("short"), m.tonColumn("owed")}
	for _, g := range in.Grades {
		for _, w := range Weeks(p) {
			var sum planner.NeedHave
			found := false
			for _, x := range p.NeedHave {
				if x.Grade == g.Code && w.Has(x.Bucket) {
					found = true
					sum.Need, sum.Have, sum.Short, sum.Cumulative = sum.Need+x.Need, sum.Have+x.Have, sum.Short+x.Short, x.Cumulative
				}
			}
			if found {
				t.Rows = append(t.Rows, []Cell{text(g.Code), text(w.Label()), day(w.Monday), m.tons(sum.Need), m.tons(sum.Have), m.tons(sum.Short), warned(m.tons(sum.Cumulative), sum.Cumulative > leastShort)})
			}
		}
	}
	return t
}

// PelletWeeks is the silos by grade and week.
func PelletWeeks(in *planner.Input, p *planner.Plan, opt Options) Table {
	m := newMaker(in, p, opt)
	t := m.pellets()
	t.Name, t.Rows, t.Empty = "pellet-weeks", nil, "The plan has no pellets."
	t.Columns = slices.Concat([]Column{words("grade"), words("week"), date("from")}, []Column{m.tonColumn("made"), m.tonColumn("missing"), m.tonColumn("used"), m.tonColumn("closing"),
		{Head: "cover", Unit: "d", Kind: Number, Decimals: 1}, m.tonColumn("own regrind at end")})
	for _, g := range in.Grades {
		for _, w := range Weeks(p) {
			var sum, last planner.PelletLevel
			found := false
			for _, x := range p.Pellets {
				if x.Grade == g.Code && w.Has(x.Bucket) {
					found, last = true, x
					sum.Made, sum.Used, sum.Shortfall = sum.Made+x.Made, sum.Used+x.Used, sum.Shortfall+x.Shortfall
				}
			}
			if found {
				t.Rows = append(t.Rows, []Cell{text(g.Code), text(w.Label()), day(w.Monday), m.tons(sum.Made), warned(m.tons(sum.Shortfall), sum.Shortfall > leastShort), m.tons(sum.Used),
					m.tons(last.Closing), number(last.CoverDays), m.tons(last.RegrindClosing)})
			}
		}
	}
	return t
}

// Readable is the views that are short enough to be read as they are: what to order, shortages, arrivals, orders, money, proof.
func Readable(in *planner.Input, p *planner.Plan, opt Options) []Table {
	m := newMaker(in, p, opt)
	return []Table{m.orderBy(), m.shortages(), m.deliveries(), m.lateOrders(), m.orders(), m.lineValues(), m.boundBy(), m.margin(), m.costs(), m.quality(), m.estimates(), m.watched()}
}
