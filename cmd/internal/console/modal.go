package console

import (
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"feedline/cmd/internal/console/rows"
)

// modal has the keyboard in place of the screen until it is done.
type modal interface {
	// key takes a key; true when it is done with.
	key(c *console, e *tcell.EventKey) bool
	height(width int) int
	draw(c *console, s tcell.Screen, x, y, width, height int)
}

// fullModal takes the whole terminal.
type fullModal interface {
	modal
	full()
}

// question asks before something that can't be undone; only y is a yes.
type question struct {
	text string
	yes  func()
}

func (c *console) ask(text string, yes func()) { c.modal = &question{text, yes} }

func (q *question) key(c *console, e *tcell.EventKey) bool {
	c.modal = nil
	if keyName(e) == "y" || keyName(e) == "Y" {
		q.yes()
	} else {
		c.say("No: nothing was done.")
	}
	return true
}

func (q *question) line() rows.Line {
	return rows.Line{{Text: "! " + q.text, Tone: rows.Alert}, {Text: " y/N", Tone: rows.Strong}}
}

func (q *question) height(width int) int { return len(rows.Wrap(q.line(), width)) }

func (q *question) draw(c *console, s tcell.Screen, x, y, width, height int) {
	drawQuestion(c, s, q.line(), x, y, width, height)
}

func drawQuestion(c *console, s tcell.Screen, text rows.Line, x, y, width, height int) {
	lines := rows.Wrap(text, width)
	if len(lines) > height && height > 0 { // the question itself is never cut off
		lines = lines[len(lines)-height:]
	}
	for i, l := range lines {
		c.look.line(s, x, y+i, x+width, l)
	}
}

// field is a field of a form.
type field struct {
	name, label, value string
	hint               string
}

// form asks for some fields, one below the other. Enter goes to the next and, on the last one, does it; Esc gives up.
type form struct {
	title  string
	notice string // such as a caution, above the fields
	fields []field
	at     int
	fault  string
	do     func(map[string]string) error // an error keeps the form open
	input  *tview.InputField
}

// prompt is a form of one field.
func (c *console) prompt(title, value string, do func(string) error) *form {
	f := &form{fields: []field{{name: "text", label: title, value: value}}, do: func(m map[string]string) error { return do(m["text"]) }}
	c.open(f)
	return f
}

func (c *console) open(f *form) {
	f.edit(0)
	c.modal = f
}

// edit makes field i the one that is written in.
func (f *form) edit(i int) {
	f.at = i
	f.input = tview.NewInputField().SetText(f.fields[i].value)
	f.input.SetFieldStyle(tcell.StyleDefault.Underline(true)).SetLabelStyle(tcell.StyleDefault.Bold(true))
	f.input.SetBackgroundColor(tcell.ColorDefault)
	f.input.Focus(func(tview.Primitive) {})
}

func (f *form) store() { f.fields[f.at].value = f.input.GetText() }

func (f *form) key(c *console, e *tcell.EventKey) bool {
	n := len(f.fields)
	switch keyName(e) {
	case "Esc", "Ctrl-C":
		c.say("Given up: nothing was done.")
		return true
	case "Tab", "Down":
		f.store()
		f.edit((f.at + 1) % n)
		return false
	case "Shift-Tab", "Up":
		f.store()
		f.edit((f.at + n - 1) % n)
		return false
	case "Enter":
		f.store()
		if f.at < n-1 {
			f.edit(f.at + 1)
			return false
		}
		return f.submit(c)
	case "Ctrl-S":
		f.store()
		return f.submit(c)
	}
	f.fault = ""
	f.input.InputHandler()(e, func(tview.Primitive) {})
	return false
}

func (f *form) submit(c *console) bool {
	values := map[string]string{}
	for _, x := range f.fields {
		values[x.name] = strings.TrimSpace(x.value)
	}
	if err := f.do(values); err != nil {
		c.warn(err)
		f.fault, c.note = c.note.text, note{}
		return false
	}
	return true
}

// heading is what stands above the fields.
func (f *form) heading(width int) []rows.Line {
	var list []rows.Line
	if f.title != "" {
		list = append(list, rows.Line{{Text: rows.Cut(f.title, width), Tone: rows.Strong}})
	}
	if f.notice != "" {
		list = append(list, rows.Wrap(rows.Line{{Text: f.notice, Tone: rows.Alert}}, width)...)
	}
	if f.fault != "" {
		list = append(list, rows.Wrap(rows.Line{{Text: f.fault, Tone: rows.Alert}}, width)...)
	}
	return list
}

func (f *form) height(width int) int { return len(f.heading(width)) + len(f.fields) + 1 }

func (f *form) draw(c *console, s tcell.Screen, x, y, width, height int) {
	head := f.heading(width)
	room := height - len(head) - 1
	if room < 1 { // a field at least is seen
		head, room = head[:max(0, min(len(head), height-2))], max(1, min(height-1, 1))
	}
	for _, l := range head {
		c.look.line(s, x, y, x+width, l)
		y++
	}
	wide := 0
	for _, d := range f.fields {
		wide = max(wide, rows.Width(d.label))
	}
	from := max(0, min(f.at-room+1, len(f.fields)-room))
	for i := from; i < len(f.fields) && i < from+room; i++ {
		d := f.fields[i]
		at := put(s, x, y, x+width, rows.Pad(d.label, wide, false)+" ", c.look.style(rows.Strong))
		hint := d.hint
		if i == f.at {
			f.input.SetRect(at, y, max(1, width-at-rows.Width(hint)-1), 1)
			f.input.Draw(s)
		} else {
			put(s, at, y, x+width, d.value, c.look.style(rows.Plain))
		}
		if hint != "" && at+rows.Width(hint)+8 < x+width {
			put(s, x+width-rows.Width(hint), y, x+width, hint, c.look.style(rows.Quiet))
		}
		y++
	}
	help := "Enter does it, Esc gives up"
	if len(f.fields) > 1 {
		help = "Enter next and, at the end, record; Ctrl-S at once; Up Down; Esc gives up"
	}
	put(s, x, y, x+width, help, c.look.style(rows.Quiet))
}

// sheet is a page over everything: a table to read.
type sheet struct {
	title string
	grid  *grid
	table func(width int) *rows.Table
	width int // that the table was made for
}

func (h *sheet) full() {}

func (c *console) read(title string, table func(width int) *rows.Table) {
	g := newGrid("read", c.look)
	g.active = true
	g.set(table(80))
	c.modal = &sheet{title, g, table, 80}
}

func (h *sheet) key(c *console, e *tcell.EventKey) bool {
	switch keyName(e) {
	case "Esc", "q", "?", "Enter", "Ctrl-C":
		return true
	}
	h.grid.InputHandler()(e, func(tview.Primitive) {})
	r, _ := h.grid.GetSelection()
	h.grid.pick(r - 1)
	return false
}

func (h *sheet) height(int) int { return 0 }

func (h *sheet) draw(c *console, s tcell.Screen, x, y, width, height int) {
	if h.width != width {
		h.width = width
		h.grid.set(h.table(width))
	}
	put(s, x, y, x+width, h.title, c.look.style(rows.Strong))
	h.grid.SetRect(x, y+1, width, max(0, height-2))
	h.grid.Draw(s)
	put(s, x, y+height-1, x+width, "Esc closes", c.look.style(rows.Quiet))
}
