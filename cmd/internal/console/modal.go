package console

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"feedline/cmd/internal/console/rows"
	"feedline/lines/calendar"
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
	options            []string // that PgDn and PgUp go through; anything else may be typed
	day                bool     // PgDn and PgUp go through days
}

// form asks for some fields, one below the other. Enter goes to the next and, on the last one, does it; Esc gives up.
type form struct {
	title   string
	about   rows.Line // what is known of what is entered, below the title
	notice  string    // such as a caution, above the fields
	fields  []field
	at      int
	fault   string
	faulty  string                        // name of the field that the fault is of; "" if of none
	changed func(name string)             // the value of a field is another now; nil: nothing follows
	do      func(map[string]string) error // an error keeps the form open; a *FieldError at its field
	input   *tview.InputField
}

// FieldError is a refusal that a field of the form can be told of.
type FieldError struct {
	Field string
	Err   error
}

func (e *FieldError) Error() string { return e.Err.Error() }
func (e *FieldError) Unwrap() error { return e.Err }

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

// editNamed makes the field of a name the one that is written in, if there is one.
func (f *form) editNamed(name string) {
	if i := f.index(name); i >= 0 {
		f.edit(i)
	}
}

func (f *form) index(name string) int {
	return slices.IndexFunc(f.fields, func(x field) bool { return x.name == name })
}

// field is the one of a name, which must be there.
func (f *form) field(name string) *field { return &f.fields[f.index(name)] }

func (f *form) store() {
	x := &f.fields[f.at]
	if text := f.input.GetText(); text != x.value {
		x.value = text
		if f.changed != nil {
			f.changed(x.name)
		}
	}
}

// pick puts the next of the field's options, or days, in place of what is written.
func (f *form) pick(c *console, by int) {
	x, text := f.fields[f.at], strings.TrimSpace(f.input.GetText())
	switch n := len(x.options); {
	case x.day:
		d, err := calendar.ParseDay(text)
		switch {
		case text == "":
			d = c.facts.Today()
		case err != nil:
			return
		default:
			d += calendar.Day(by)
		}
		text = d.String()
	case n > 0:
		i := slices.Index(x.options, text)
		if i < 0 && by < 0 {
			i = 0
		}
		text = x.options[(i+by+n)%n]
	default:
		return
	}
	f.input.SetText(text)
	f.store()
}

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
	case "PgDn":
		f.pick(c, 1)
	case "PgUp":
		f.pick(c, -1)
	default:
		f.input.InputHandler()(e, func(tview.Primitive) {})
	}
	f.fault = ""
	return false
}

func (f *form) submit(c *console) bool {
	values := map[string]string{}
	for _, x := range f.fields {
		values[x.name] = strings.TrimSpace(x.value)
	}
	if err := f.do(values); err != nil {
		c.warn(err)
		f.fault, f.faulty, c.note = c.note.text, "", note{}
		var at *FieldError
		if errors.As(err, &at) && f.index(at.Field) >= 0 {
			f.faulty = at.Field
			f.editNamed(at.Field)
		}
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
	about := rows.Wrap(f.about, width)
	list = append(list, about[:min(len(about), 3)]...)
	if f.notice != "" {
		list = append(list, rows.Wrap(rows.Line{{Text: f.notice, Tone: rows.Alert}}, width)...)
	}
	if f.faulty == "" {
		list = append(list, f.faultLines(width)...)
	}
	return list
}

func (f *form) faultLines(width int) []rows.Line {
	if f.fault == "" {
		return nil
	}
	return rows.Wrap(rows.Line{{Text: f.fault, Tone: rows.Alert}}, width)
}

// mostFields is how many fields of a form are seen at once; the others come with the one that is written in.
const mostFields = 13

func (f *form) height(width int) int {
	n := len(f.heading(width)) + min(len(f.fields), mostFields) + 1
	if f.faulty != "" {
		n += len(f.faultLines(width))
	}
	return n
}

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
	var fault []rows.Line // stands below its field
	if f.faulty != "" {
		fault = f.faultLines(width)
		fault = fault[:min(len(fault), room-1)]
	}
	seen := min(room-len(fault), len(f.fields))
	from := max(0, min(f.at-seen/2, len(f.fields)-seen))
	for i := from; i < from+seen; i++ {
		f.drawField(c, s, i, x, y, width)
		y++
		if f.fields[i].name == f.faulty {
			for _, l := range fault {
				c.look.line(s, x, y, x+width, l)
				y++
			}
		}
	}
	put(s, x, y, x+width, f.help(len(f.fields)-seen, width), c.look.style(rows.Quiet))
}

// drawField draws a field: its label, what is written in it, its hint if there is room.
func (f *form) drawField(c *console, s tcell.Screen, i, x, y, width int) {
	wide := 0
	for _, d := range f.fields {
		wide = max(wide, rows.Width(d.label))
	}
	d := f.fields[i]
	hint := rows.Clean(d.hint)
	at := put(s, x, y, x+width, rows.Pad(d.label, wide, false)+" ", c.look.style(rows.Strong))
	if i == f.at {
		f.input.SetRect(at, y, max(1, width-at-rows.Width(hint)-1), 1)
		f.input.Draw(s)
	} else {
		put(s, at, y, x+width, d.value, c.look.style(rows.Plain))
	}
	if hint != "" && at+rows.Width(hint)+8 < x+width {
		put(s, x+width-rows.Width(hint), y, x+width, hint, c.look.style(rows.Quiet))
	}
}

// help says the keys of a form in a line as long as there is room for; hidden is how many of its fields are not seen.
func (f *form) help(hidden, width int) string {
	x, more := f.fields[f.at], ""
	if hidden > 0 {
		more = fmt.Sprintf(", %d more fields", hidden)
	}
	var list []string
	switch {
	case len(f.fields) == 1:
		return "Enter does it, Esc gives up"
	case x.day:
		list = []string{"PgDn PgUp other day; Enter next; Ctrl-S records; Up Down" + more + "; Esc gives up", "PgDn PgUp other day; Ctrl-S records"}
	case len(x.options) > 0:
		list = []string{"PgDn PgUp pick; Enter next; Ctrl-S records; Up Down" + more + "; Esc gives up", "PgDn PgUp pick; Ctrl-S records"}
	case hidden > 0:
		list = []string{"Enter next; Ctrl-S records; Up Down" + more + "; Esc gives up", "Ctrl-S records; Up Down" + more}
	default:
		list = []string{"Enter next and, at the end, record; Ctrl-S at once; Up Down; Esc gives up", "Enter next; Ctrl-S records; Up Down"}
	}
	if rows.Width(list[0]) > width {
		return list[1]
	}
	return list[0]
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
	if !h.grid.canMove() {
		return false
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
