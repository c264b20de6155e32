package console

import (
	"fmt"
	"io"
	"strings"

	"feedline/cmd/internal/console/rows"
	"feedline/planner"
)

// everywhere is the keys of every screen. It is filled by init: what ? does speaks of it.
var everywhere []binding

func init() {
	everywhere = []binding{
		{keys: []string{"u"}, verb: "undo", help: "undo the last edit; with no edits, the last release made here", do: undo},
		{keys: []string{"U"}, help: "do again what was undone", off: noRedo, do: func(c *console, _ *view) { c.redo() }},
		{keys: []string{"w"}, verb: "what if", help: "a what-if in words, such as: down L4 2027-01-11..2027-01-15; ? in it lists the words", do: whatIf},
		{keys: []string{"r"}, verb: "plan", help: "take the book in as it is now, keep the draft, and plan again", do: replan},
		{keys: []string{"/"}, verb: "filter", help: "only the rows that hold these words", off: noTable, do: filter},
		{keys: []string{"o"}, help: "sort by the next column", off: noTable, do: sortNext},
		{keys: []string{"O"}, help: "turn the order round", off: noTable, do: sortRound},
		{keys: []string{"y"}, help: "copy the row", off: noRow, do: copyRow},
		{keys: []string{"Y"}, help: "copy the table", off: noRow, do: copyTable},
		{keys: []string{"e"}, help: "export the table as CSV", off: noTable, do: export},
		{keys: []string{"Tab"}, help: "the next table of the screen", do: func(c *console, v *view) { v.turn(1) }},
		{keys: []string{"Shift-Tab"}, help: "the table before", do: func(c *console, v *view) { v.turn(-1) }},
		{keys: []string{"1", "2", "3", "4", "5", "6", "7"}, help: "the screen of that number", do: nil},
		{keys: []string{"]"}, help: "the next screen", do: func(c *console, _ *view) { c.turnTo(c.at + 1) }},
		{keys: []string{"["}, help: "the screen before", do: func(c *console, _ *view) { c.turnTo(c.at - 1) }},
		{keys: []string{"Up", "Down", "Left", "Right", "k", "j", "h", "l"}, help: "move", move: true},
		{keys: []string{"PgUp", "PgDn"}, help: "move by a page", move: true},
		{keys: []string{"g", "G", "Home", "End"}, help: "first and last row", move: true},
		{keys: []string{"Enter"}, help: "the row in full, with all its columns", off: noRow, do: open},
		{keys: []string{"Esc"}, help: "all rows again, in the screen's own order", do: clear},
		{keys: []string{"Ctrl-L"}, help: "draw the terminal anew", do: func(c *console, _ *view) { c.repaint = true }},
		{keys: []string{"Ctrl-C"}, help: "stop planning and keep the best plan so far; else leave", do: stopOrLeave},
		{keys: []string{"?"}, verb: "keys", help: "the keys", do: help},
		{keys: []string{"q"}, verb: "quit", help: "leave; asks if there is a draft", do: func(c *console, _ *view) { c.quit() }},
	}
	for i := range everywhere {
		if everywhere[i].keys[0] == "1" {
			everywhere[i].do = func(c *console, _ *view) { c.turnTo(int(c.pressed[0] - '1')) }
		}
	}
}

func noTable(_ *console, v *view) string {
	if v.grid() == nil {
		return "the screen has no table"
	}
	return ""
}

func noRow(c *console, v *view) string {
	if s := noTable(c, v); s != "" {
		return s
	}
	if _, ok := v.grid().row(); !ok {
		return "the table has no row"
	}
	return ""
}

func noRedo(c *console, _ *view) string {
	if len(c.draft.undone) == 0 {
		return "nothing was undone"
	}
	return ""
}

func undo(c *console, _ *view) {
	if !c.canTakeBack() {
		c.undo()
		return
	}
	c.ask("Take the release back? Records and promise become what they were before it.", c.takeBack)
}

func whatIf(c *console, _ *view) {
	c.prompt("What if", "", func(words string) error {
		if words == "" || words == "?" {
			return fmt.Errorf("begin with one of: %s", verbs())
		}
		return c.do("what-if", words)
	})
}

func verbs() string {
	var list []string
	for _, v := range planner.EditVerbs {
		list = append(list, v.Name)
	}
	return strings.Join(list, ", ")
}

func replan(c *console, _ *view) {
	if c.newer != [2]int64{} {
		c.reload()
		return
	}
	c.say("Planning …")
	c.replan()
}

func filter(c *console, v *view) {
	g := v.grid()
	c.prompt("Rows with", g.filter, func(s string) error {
		g.filter = s
		g.arrange()
		return nil
	})
}

func sortNext(c *console, v *view) {
	if by := v.grid().sortNext(); by == "" {
		c.say("Sorted as the screen has it.")
	} else {
		c.say("Sorted by %s.", strings.ReplaceAll(by, "_", " "))
	}
}

func sortRound(c *console, v *view) {
	g := v.grid()
	if g.sortBy == "" {
		g.sortNext()
	}
	g.down = !g.down
	g.arrange()
	c.say("Turned round.")
}

func copyRow(c *console, v *view) {
	r, _ := v.grid().row()
	c.clip(v.grid().shown.Plain(r))
	c.say("Copied: %s", strings.TrimSpace(strings.ReplaceAll(v.grid().shown.Plain(r), "\t", " ")))
}

func copyTable(c *console, v *view) {
	t := v.grid().shown
	c.clip(t.Plain(t.Rows...))
	c.say("Copied: %s.", countOf(len(t.Rows)))
}

func export(c *console, v *view) {
	t := v.grid().shown
	name := strings.ReplaceAll(v.Name+"-"+t.Name, " ", "-") + ".csv"
	path, err := c.need.Export(name, func(w io.Writer) error { return t.CSV(w) })
	if err != nil {
		c.warn(err)
		return
	}
	c.say("Exported %s to %s.", countOf(len(t.Rows)), path)
}

// open shows a row with all its columns.
func open(c *console, v *view) {
	g := v.grid()
	r, _ := g.row()
	columns := g.shown.Columns
	c.read(g.shown.Title, func(width int) *rows.Table {
		var list [][2]rows.Cell
		for i, col := range columns {
			if !col.Drawn {
				list = append(list, [2]rows.Cell{{Text: strings.ReplaceAll(col.Key, "_", " "), Tone: rows.Quiet}, r.Cells[i]})
			}
		}
		return pairs("", rows.Clean(r.Cells[0].Text), list, width)
	})
}

// pairs is a table of two columns whose second is broken into as many rows as it takes.
func pairs(left, right string, list [][2]rows.Cell, width int) *rows.Table {
	t := &rows.Table{Name: "pairs", Columns: []rows.Column{{Key: "left", Head: left, Left: true}, {Key: "right", Head: right, Left: true}}}
	wide := rows.Width(left)
	for _, p := range list {
		wide = max(wide, rows.Width(rows.Clean(p[0].Text)))
	}
	for i, p := range list {
		text := p[0].Text
		lines := rows.Wrap(rows.Line{{Text: p[1].Text}}, max(10, width-wide-4))
		if len(lines) == 0 {
			lines = []rows.Line{nil}
		}
		for j, l := range lines {
			t.Rows = append(t.Rows, rows.Row{Key: fmt.Sprint(i, " ", j), Cells: []rows.Cell{{Text: text, Tone: p[0].Tone}, {Text: l.String(), Tone: p[1].Tone}}})
			text = ""
		}
	}
	return t
}

func clear(c *console, v *view) {
	g := v.grid()
	if g == nil || g.filter == "" && g.sortBy == "" {
		c.say("Nothing to close; q leaves.")
		return
	}
	g.filter, g.sortBy, g.down = "", "", false
	g.arrange()
	c.say("All rows, in the screen's own order.")
}

func stopOrLeave(c *console, _ *view) {
	if !c.halt() {
		c.ask("Leave the console?", c.ui.Stop)
	}
}

func help(c *console, v *view) {
	var pages [][2]rows.Cell
	for _, list := range [][]binding{v.bindings, everywhere} {
		for i, k := range keysOf("", list) {
			does := rows.Cell{Text: k.Does}
			if b := list[i]; b.off != nil && b.off(c, v) != "" {
				does = rows.Cell{Text: k.Does + "; not now: " + b.off(c, v), Tone: rows.Quiet}
			}
			pages = append(pages, [2]rows.Cell{{Text: k.Keys, Tone: rows.Strong}, does})
		}
	}
	c.read("Keys of "+v.Title+", then those of every screen", func(width int) *rows.Table { return pairs("key", "does", pages, width) })
}
