package console

import "feedline/cmd/internal/console/rows"

// todayKeys are the keys of the screen that says where the plant stands: it only points to where something is done.
var todayKeys = []binding{
	{keys: []string{"Enter"}, verb: "go there", help: "to what the row names, where it is done: lane, line, delivery, lot, pellets", off: noRow, do: goThere},
}

// goThere turns to the screen where the selected row's business is done, and selects what the row names.
func goThere(c *console, v *view) {
	g := v.grid()
	r, _ := g.row()
	spot, _ := c.facts.Leads(g.name, r.Key)
	for i, x := range c.views {
		if x.Name == spot.Screen {
			c.turnTo(i)
			x.show(c.facts)
			x.point(spot)
		}
	}
}

// point gives the keyboard to a table and selects a row of it, which a filter does not keep out of sight.
func (v *view) point(s rows.Spot) {
	g := v.grids[s.Table]
	if g == nil {
		return
	}
	v.focus, g.key = s.Table, s.Row
	if s.Column != "" {
		g.column = s.Column
	}
	if g.full.Filter(g.filter).Index(s.Row) < 0 {
		g.filter = ""
	}
	g.arrange()
}
