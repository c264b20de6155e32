package console

import (
	"fmt"

	"feedline/cmd/internal/console/rows"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// linesKeys are the keys of the screen of lines: each starts from the selected line and day or week.
var linesKeys = []binding{
	{keys: []string{"p"}, verb: "pin", help: "pin: the line runs a profile on these days", off: noDays, do: ask("lines", "Pin", pinWords)},
	{keys: []string{"f"}, verb: "forbid", help: "forbid a profile on the line on these days", off: noRunHere, do: ask("lines", "Forbid", forbidWords)},
	{keys: []string{"i"}, verb: "idle", help: "the line stands on these days", off: noDays, do: ask("lines", "Idle", idleWords)},
	{keys: []string{"s"}, verb: "start", help: "start the line: it runs from this day on, with the caution that belongs to it", off: noStart, do: startLine},
	{keys: []string{"d"}, verb: "down", help: "the line is down on these days", off: noDays, do: ask("lines", "Down", downWords)},
	{keys: []string{"b"}, verb: "back", help: "a line that is down or not set up can be started from a day", off: notDown, do: ask("lines", "Back", backWords)},
	{keys: []string{"x"}, verb: "unpin", help: "take the pins off the line on these days", off: noPin, do: unpin},
}

// ask makes a binding that asks for a what-if in words, begun for the user.
func ask(kind, title string, words func(*console, *view) string) func(*console, *view) {
	return func(c *console, v *view) {
		c.prompt(title, words(c, v), func(s string) error { return c.do(kind, s) })
	}
}

// cell is the line and the days that are selected.
type cell struct {
	line lines.Line
	span calendar.Span
	t    int
}

// cell is what is selected on the screen of lines; false if there is none.
func (c *console) cell(v *view) (cell, bool) {
	g := v.grids["floor"]
	if g == nil {
		return cell{}, false
	}
	r, ok := g.row()
	if !ok || len(c.plan().Buckets) == 0 {
		return cell{}, false
	}
	day := c.facts.Today()
	if d, err := calendar.ParseDay(g.column); err == nil {
		day = d
	}
	t := c.facts.Bucket(day)
	for _, l := range c.in().Lines {
		if l.Code == r.Key {
			return cell{l, c.plan().Buckets[t].Span, t}, true
		}
	}
	return cell{}, false
}

func noCell(c *console, v *view) string {
	if _, ok := c.cell(v); !ok {
		return "no line is selected, or nothing is planned"
	}
	return ""
}

// noDays is for what can only be done on days to come.
func noDays(c *console, v *view) string {
	if s := noCell(c, v); s != "" {
		return s
	}
	if x, _ := c.cell(v); x.span.To <= c.facts.Today() {
		return fmt.Sprintf("the days till %s are past", x.span.To-1)
	}
	return ""
}

// days is the cell's days as the words of a what-if have them.
func (x cell) days() string { return fmt.Sprintf("%s..%s", x.span.From, x.span.To-1) }

// profile is what the line runs most in the cell, else what is mounted on it, else the first that it can run.
func (x cell) profile(c *console) string {
	var most planner.Run
	for _, r := range c.plan().Runs {
		if r.Line == x.line.Code && r.Bucket == x.t && (most.Profile == "" || r.Hours > most.Hours) {
			most = r
		}
	}
	switch {
	case most.Profile != "":
		return most.Profile
	case x.line.Mounted != "":
		return x.line.Mounted
	}
	for _, f := range c.in().Fits {
		if f.Line == x.line.Code {
			return f.Profile
		}
	}
	return ""
}

func pinWords(c *console, v *view) string {
	x, _ := c.cell(v)
	return fmt.Sprintf("run %s %s %s", x.line.Code, x.profile(c), x.days())
}

func noRunHere(c *console, v *view) string {
	if s := noDays(c, v); s != "" {
		return s
	}
	x, _ := c.cell(v)
	if x.profile(c) == "" {
		return "the line has no rate for any profile"
	}
	return ""
}

func forbidWords(c *console, v *view) string {
	x, _ := c.cell(v)
	return fmt.Sprintf("forbid %s %s %s", x.line.Code, x.profile(c), x.days())
}

func idleWords(c *console, v *view) string {
	x, _ := c.cell(v)
	return fmt.Sprintf("idle %s %s", x.line.Code, x.days())
}

func downWords(c *console, v *view) string {
	x, _ := c.cell(v)
	return fmt.Sprintf("down %s %s", x.line.Code, x.days())
}

func notDown(c *console, v *view) string {
	if s := noDays(c, v); s != "" {
		return s
	}
	x, _ := c.cell(v)
	if x.line.State == lines.Down || x.line.State == lines.Uncommissioned {
		return ""
	}
	for _, o := range c.in().Calendar.Outages {
		at := c.in().Calendar.At(x.span.From, 0)
		if o.Machine == x.line.Code && !o.From.After(at) && o.To.After(at) {
			return ""
		}
	}
	return x.line.Code + " is neither down nor still to be set up"
}

func backWords(c *console, v *view) string {
	x, _ := c.cell(v)
	return fmt.Sprintf("up %s %s", x.line.Code, x.span.From)
}

// runOn is how many days a line that is started is pinned to run, unless its user says otherwise.
const runOn = 5

func noStart(c *console, v *view) string {
	if s := noDays(c, v); s != "" {
		return s
	}
	x, _ := c.cell(v)
	for _, u := range c.plan().Lines {
		if u.Line == x.line.Code && u.Bucket == x.t && u.On {
			return x.line.Code + " runs then already"
		}
	}
	switch x.line.State {
	case lines.Down:
		if x.span.From < x.line.DownUntil {
			return x.line.Code + " is down; b brings it back"
		}
	case lines.Uncommissioned:
		return x.line.Code + " is not set up; b sets it up from a day"
	}
	return ""
}

// startLine asks for the days to run a line that stands. The caution stands above the words.
func startLine(c *console, v *view) {
	x, _ := c.cell(v)
	days := calendar.Span{From: x.span.From, To: max(x.span.To, x.span.From+runOn)}
	f := c.prompt("Start", fmt.Sprintf("run %s %s..%s", x.line.Code, days.From, days.To-1), func(s string) error { return c.do("lines", s) })
	f.notice = rows.Caution
}

// pinsHere are the codes of the pins that touch the cell.
func pinsHere(c *console, x cell) (codes []string) {
	for _, p := range c.in().Pins {
		if p.Line == x.line.Code && p.From < x.span.To && x.span.From < p.To {
			codes = append(codes, p.Code)
		}
	}
	return codes
}

func noPin(c *console, v *view) string {
	x, ok := c.cell(v)
	if !ok {
		return noCell(c, v)
	}
	if len(pinsHere(c, x)) == 0 {
		return x.line.Code + " has no pin then"
	}
	return ""
}

func unpin(c *console, v *view) {
	x, _ := c.cell(v)
	var edits []planner.Edit
	for _, code := range pinsHere(c, x) {
		edits = append(edits, planner.DropRow(planner.TablePins, code))
	}
	if err := c.edit("lines", fmt.Sprintf("unpin %s %s", x.line.Code, x.days()), edits); err != nil {
		c.warn(err)
	}
}
