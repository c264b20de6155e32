package console

import (
	"fmt"

	"feedline/cmd/internal/console/rows"
	"feedline/lines"
)

// supplyKeys are the keys of the owner's screen: what an idle line would bring can be tried.
var supplyKeys = []binding{
	{keys: []string{"s"}, verb: "try line", help: "what if the idle line ran: it is pinned to run, and the draft shows what it does to cost, feed and late orders", off: noIdle, do: tryLine},
}

func (c *console) idleLine(v *view) (lines.Line, bool) {
	if v.focus != "idle" && v.focus != "steps" {
		return lines.Line{}, false
	}
	r, ok := v.grid().row()
	for _, l := range c.in().Lines {
		if ok && l.Code == r.Key {
			return l, true
		}
	}
	return lines.Line{}, false
}

func noIdle(c *console, v *view) string {
	if _, ok := c.idleLine(v); !ok {
		return "no line that stands is selected: Tab goes to the lines"
	}
	return noPlan(c, v)
}

// tryLine pins an idle line for two weeks, from the day that it can run.
func tryLine(c *console, v *view) {
	l, _ := c.idleLine(v)
	words := fmt.Sprintf("run %s %s..%s", l.Code, c.facts.Today(), c.facts.Today()+13)
	switch l.State {
	case lines.Uncommissioned:
		words = fmt.Sprintf("up %s %s", l.Code, c.facts.Today())
	case lines.Down:
		words = fmt.Sprintf("up %s %s", l.Code, max(l.DownUntil, c.facts.Today()))
	}
	f := c.prompt("Try", words, func(s string) error { return c.do("lines", s) })
	f.notice = rows.Caution
}
