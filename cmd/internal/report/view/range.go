package view

import (
	"fmt"

	"feedline/inventory/quantity"
	"feedline/planner/forecast"
)

// Range is what a forecast says in a few sentences: metres and margin over the horizon, and what matters most.
func Range(r *forecast.Result, units quantity.System) []Statement {
	thousands := func(x float64) string { return quantity.Grouped(x/1000, 0) }
	unit := quantity.DefaultUnit(quantity.KindLength, units)
	length := func(x float64) string { return thousands(unit.FromStored(x)) }
	list := []Statement{
		{Head: "Margin", Text: fmt.Sprintf("%s %s thousand in nine of ten cases, %s in five, %s in one; the plan says %s.", r.Currency, thousands(r.TotalMargin.P10), thousands(r.TotalMargin.P50),
			thousands(r.TotalMargin.P90), thousands(r.TotalMargin.Plan))},
		{Head: "Output", Text: fmt.Sprintf("%s thousand %s in nine of ten cases, %s in five, %s in one; the plan says %s.", length(r.TotalMetres.P10), unit.Symbol, length(r.TotalMetres.P50), length(r.TotalMetres.P90),
			length(r.TotalMetres.Plan))},
	}
	if len(r.Drivers) > 0 {
		d := r.Drivers[0]
		list = append(list, Statement{Head: "What matters most", Text: fmt.Sprintf("%s %s, rank correlation %+.2f with the margin.", d.Kind, d.Name, d.Margin)})
	}
	return append(list, Statement{Head: "How it was found", Text: fmt.Sprintf("%s samples, re-planned around the plan; seed %d. No load is ordered beyond the plan's, and a sample knows its whole world.", quantity.Grouped(float64(r.Runs), 0), r.Seed)})
}

// Risk is each grade's chance of having run short, in per cent, at the end of every fourth week.
func Risk(r *forecast.Result) Table {
	t := Table{Name: "risk", Title: "Chance of having run short", Note: "By the end of the week: with the plan's loads, and if nothing more is ordered; ± is a standard error.", Empty: "The plan has no need against have.",
		Columns: []Column{words("grade"), words("week"), {Head: "with the plan's loads", Unit: "%", Kind: Number, Decimals: 1}, {Head: "±", Unit: "%", Kind: Number, Decimals: 1},
			{Head: "nothing more ordered", Unit: "%", Kind: Number, Decimals: 1}, {Head: "± then", Unit: "%", Kind: Number, Decimals: 1}}}
	for _, g := range r.Grades {
		for w := range r.Weeks {
			if w%4 != 3 && w != len(r.Weeks)-1 {
				continue
			}
			a, b := g.ByWeek[w], g.Committed[w]
			t.Rows = append(t.Rows, []Cell{text(g.Grade), text(r.Weeks[w].Span.From.Monday().WeekLabel()), warned(number(100*a.P), a.P >= 0.5), number(100 * a.SE), warned(number(100*b.P), b.P >= 0.5), number(100 * b.SE)})
		}
	}
	return t
}
