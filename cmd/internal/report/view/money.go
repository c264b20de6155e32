package view

import (
	"fmt"
	"time"
)

func (m *maker) margin() Table {
	g := m.p.Margin
	t := Table{Name: "margin", Title: "Margin", Note: "Over the horizon; the total is the net margin. Changes in stock are not in it.", Columns: []Column{words("item"), m.moneyColumn("amount").summed(), prose("what it is")}}
	t.Rows = [][]Cell{
		{text("sales"), number(float64(g.Sales)), text("metres shipped: orders at their price, forecast at list price")},
		{text("feed"), number(float64(-g.Feed)), text("material drawn at book price, and what bought loads cost above it")},
		{text("processes"), number(float64(-g.Processes)), text("crushing, pelletizing, energy, crew, changeovers, starts, setting up")},
	}
	return t
}

func (m *maker) costs() Table {
	t := Table{Name: "costs", Title: "The objective", Note: "What the plan minimises, item by item; lower is better. Sales lost and lateness are in it, sales made are not.", Empty: "No cost is known.",
		Columns: []Column{words("item"), m.moneyColumn("amount").summed()}}
	for _, c := range m.p.Costs {
		t.Rows = append(t.Rows, []Cell{text(c.Name), number(float64(c.Amount))})
	}
	return t
}

// quality is how good the plan is proven to be, and how it was made.
func (m *maker) quality() Table {
	p := m.p
	t := Table{Name: "proof", Title: "How good the plan is", Note: "The bound is a proven limit: no plan costs less. The gap is how much a better plan might save, as a share of what this one spends: its cost before what is left at the end is taken off.",
		Columns: []Column{words("item"), {Head: "figure", Kind: Number, Decimals: 2}, words("unit"), prose("remark")}}
	add := func(item string, c Cell, unit, remark string) {
		t.Rows = append(t.Rows, []Cell{text(item), c, text(unit), text(remark)})
	}
	gap := number(100 * p.Gap)
	gap.None = gap.None || !finite(float64(p.Bound))
	add("objective", number(float64(p.Objective)), p.Currency, "")
	add("bound", number(float64(p.Bound)), p.Currency, "")
	add("spent", number(float64(p.Spent())), p.Currency, "the items of the objective above 0")
	add("gap", gap, "%", "(objective − bound) ÷ spent")
	add("search", number(p.Solve.Seconds()), "s", "stopped: "+p.Stop.String())
	add("rows", whole(p.Size.Rows), "", "of the model")
	add("columns", whole(p.Size.Cols), "", fmt.Sprintf("of which %d whole numbers", p.Size.Integers))
	add("made", Cell{None: true}, "", p.Made.Format(time.RFC3339))
	return t
}
