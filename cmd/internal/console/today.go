package console

// todayKeys are the keys of the screen that says where the plant stands: it only points to where something is done.
var todayKeys = []binding{
	{keys: []string{"Enter"}, verb: "go there", help: "the screen where it is done: lanes of a grade, what is due", off: noRow, do: goThere},
}

// goThere turns to the screen where the selected row's business is done.
func goThere(c *console, v *view) {
	g := v.grid()
	r, _ := g.row()
	to := "feed"
	if g.name == "due" {
		to = screenOfAction(r.Key)
	}
	for i, x := range c.views {
		if x.Name != to {
			continue
		}
		c.turnTo(i)
		x.show(c.facts)
		if to == "feed" {
			x.focus = "lanes"
			point(x, r.Key)
		}
	}
}

// screenOfAction is where an action is done, by its key.
func screenOfAction(key string) string {
	if len(key) > 5 && key[:5] == "start" {
		return "lines"
	}
	return "feed"
}

// point gives the keyboard to the table of the feed that has the row of an action.
func point(x *view, key string) {
	for _, p := range []struct{ head, table string }{{"delivery ", "deliveries"}, {"lot ", "lots"}} {
		if n := len(p.head); len(key) > n && key[:n] == p.head {
			x.focus = p.table
			x.grids[p.table].key = key[n:]
			x.grids[p.table].arrange()
		}
	}
}
