package console

import (
	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"feedline/cmd/internal/console/rows"
)

// frame is all of the terminal: the screens' names, the screen shown, the draft against the promise, how good the plan is, and at
// the foot what was said last or the keys.
type frame struct {
	*tview.Box
	c *console
}

// HasFocus makes tview hand all keys to the frame.
func (f *frame) HasFocus() bool { return true }

// Draw draws the frame.
func (f *frame) Draw(s tcell.Screen) {
	_, _, w, h := f.GetRect()
	c, v := f.c, f.c.view()
	if w < 1 || h < 1 {
		return
	}
	s.HideCursor()
	v.show(c.facts)
	if m, ok := c.modal.(fullModal); ok {
		m.draw(c, s, 0, 0, w, h)
		return
	}
	f.tabs(s, w)
	foot := f.foot(w, h)
	state := []rows.Line{c.facts.Status(), c.quality()}
	if h < 16 { // little room: what is being planned goes first, else the difference
		state = state[:1]
		if c.solve != nil {
			state = []rows.Line{c.shortQuality(w)}
		}
	}
	top := h - len(foot) - len(state)
	high := 0
	if m := c.modal; m != nil {
		high = min(m.height(w), max(1, h-2))
		top = h - high - len(state)
	}
	top = max(top, 0)
	v.SetRect(0, 1, w, max(0, top-1))
	if top > 1 {
		v.Draw(s)
	}
	y := top
	for _, l := range state {
		c.look.line(s, 0, y, w, l)
		y++
	}
	if c.modal != nil {
		c.modal.draw(c, s, 0, y, w, high)
		return
	}
	for _, l := range foot {
		c.look.line(s, 0, y, w, l)
		y++
	}
}

// shortQuality is the plan being made beside the difference, for few rows.
func (c *console) shortQuality(int) rows.Line {
	return append(c.quality(), append(rows.Line{{Text: "  "}}, c.facts.Status()...)...)
}

// tabs names the screens, the one shown in reverse and in brackets.
func (f *frame) tabs(s tcell.Screen, w int) {
	long := 0
	for _, v := range f.c.views {
		long += len(v.Title) + 5
	}
	x := 0
	for i, v := range f.c.views {
		text, style := itoa(i+1)+" "+v.Title, f.c.look.style(rows.Plain)
		if i != f.c.at && long > w {
			text = itoa(i + 1)
		}
		if i == f.c.at {
			text, style = "["+text+"]", f.c.look.marked().Bold(true)
		} else {
			text = " " + text + " "
		}
		x = put(s, x, 0, w, text, style)
	}
	plant := f.c.facts.In.Plant.Name
	if n := len(f.c.draft.steps); n > 0 {
		plant = "DRAFT " + itoa(n)
	}
	plant = rows.Clean(plant)
	if room := w - x - 1; room >= 8 {
		plant = rows.Cut(plant, room)
		put(s, w-rows.Width(plant), 0, w, plant, f.c.look.style(rows.Quiet))
	}
}

// foot is what was said last, else the keys.
func (f *frame) foot(w, h int) []rows.Line {
	if n := f.c.note; n.text != "" {
		lines := rows.Wrap(rows.Line{{Text: n.text, Tone: n.tone}}, w)
		return lines[:min(len(lines), max(1, h/4))]
	}
	return []rows.Line{f.c.bar(w)}
}

// bar is the keys of the screen, those that can't be used dim, then the ones of all screens, as many as fit.
func (c *console) bar(w int) rows.Line {
	v := c.view()
	var line rows.Line
	used := 0
	const last = "? keys"
	for _, list := range [][]binding{v.bindings, everywhere} {
		for _, b := range list {
			if b.verb == "" || b.keys[0] == "?" {
				continue
			}
			text := b.keys[0] + " " + b.verb
			if used+len(text)+2+len(last) > w {
				continue
			}
			tone := rows.Plain
			if b.off != nil && b.off(c, v) != "" {
				tone = rows.Quiet
			}
			used += len(text) + 2
			line = append(line, rows.Span{Text: text + "  ", Tone: tone})
		}
	}
	return append(line, rows.Span{Text: last, Tone: rows.Plain})
}
