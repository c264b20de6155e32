package rows

import (
	"strings"
	"unicode"

	"github.com/rivo/uniseg"
)

// Span is a piece of a line in one tone.
type Span struct {
	Text string
	Tone Tone
}

// Line is a line of text.
type Line []Span

// String is the line's text.
func (l Line) String() string {
	var b strings.Builder
	for _, s := range l {
		b.WriteString(s.Text)
	}
	return b.String()
}

func say(tone Tone, text string) Line { return Line{{text, tone}} }

// Pane is a part of a page: a table, or text drawn to a width and a height.
type Pane struct {
	Table *Table
	Draw  func(width, height int) []Line // for a text; never more lines than the height
	Least int                            // rows below which it is left out; at least 1
	Want  int                            // rows that it makes use of; 0 = all that its table has
	Rank  int                            // of panes that have no room the one with the highest rank goes first
	Drawn bool                           // a picture of other tables: not in JSON
}

// Page is what a screen says: its answer in words, and panes below it.
type Page struct {
	Screen string
	Lead   []Line
	Panes  []Pane
	More   func() []*Table // tables that only the command writes; may be nil
}

// tables are those that the command writes.
func (p Page) tables() (list []*Table) {
	for _, pane := range p.Panes {
		if pane.Table != nil && !pane.Drawn {
			list = append(list, pane.Table)
		}
	}
	if p.More != nil {
		list = append(list, p.More()...)
	}
	return list
}

// Place is where the user stands: the selected row of each table by its key, and the selected column's key.
type Place struct {
	Row    map[string]string
	Column map[string]string
}

func (p Place) row(t *Table) string {
	key := p.Row[t.Name]
	if t.Index(key) < 0 && len(t.Rows) > 0 {
		return t.Rows[0].Key
	}
	return key
}

func (p Place) column(t *Table) string {
	key := orElse(p.Column[t.Name], t.Begin)
	for _, c := range t.Columns[t.Fixed:] {
		if c.Key == key {
			return key
		}
	}
	if len(t.Columns) > t.Fixed {
		return t.Columns[t.Fixed].Key
	}
	return ""
}

// Clean is a text made safe for one line of a terminal: control characters and those that turn the direction of writing or
// have no width of their own are taken out, line breaks become blanks.
func Clean(s string) string {
	if !strings.ContainsFunc(s, unsafe) {
		return s
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case unsafe(r):
			return -1
		}
		return r
	}, s)
}

func unsafe(r rune) bool {
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != '\u200d' && r != '\u200c' || r == unicode.ReplacementChar
}

// Width is the columns of a terminal that a text takes.
func Width(s string) int { return uniseg.StringWidth(s) }

// Cut is a text cut to a width, with an ellipsis if something is left out.
func Cut(s string, width int) string {
	if Width(s) <= width {
		return s
	}
	if width < 1 {
		return ""
	}
	var b strings.Builder
	used := 0
	for g := uniseg.NewGraphemes(s); g.Next(); {
		if used+g.Width() > width-1 {
			break
		}
		used += g.Width()
		b.WriteString(g.Str())
	}
	return b.String() + "…"
}

// Pad is a text of exactly the width, cut or filled with blanks; numbers are pushed to the right.
func Pad(s string, width int, right bool) string {
	s = Cut(s, width)
	fill := strings.Repeat(" ", max(0, width-Width(s)))
	if right {
		return fill + s
	}
	return s + fill
}

// Wrap breaks a line between words so that each is at most as wide as asked; a word that is wider is broken where the line ends, such
// as a text in a script without blanks.
func Wrap(l Line, width int) []Line {
	if width < 1 {
		return nil
	}
	var out []Line
	var now Line
	used := 0
	flush := func() {
		out, now, used = append(out, now), nil, 0
	}
	for _, s := range l {
		for i, word := range strings.Split(s.Text, " ") {
			w := Width(word)
			glue := ""
			if i > 0 {
				glue = " "
			}
			if used > 0 && used+len(glue)+w > width {
				flush()
				glue = ""
			}
			if used == 0 {
				glue = ""
			}
			for w > width {
				part, rest := breakAt(word, width)
				now = append(now, Span{part, s.Tone})
				flush()
				word, w, glue = rest, Width(rest), ""
			}
			now = append(now, Span{glue + word, s.Tone})
			used += len(glue) + Width(word)
		}
	}
	if len(now) > 0 {
		flush()
	}
	return out
}

// breakAt is the beginning of a word that fits a width, at least one sign of it, and the rest; a sign that does not fit is left out.
func breakAt(word string, width int) (string, string) {
	g := uniseg.NewGraphemes(word)
	at, used := 0, 0
	for g.Next() {
		if used+g.Width() > width {
			break
		}
		used += g.Width()
		_, at = g.Positions()
	}
	if at == 0 {
		_, at = g.Positions()
		return "", word[at:]
	}
	return word[:at], word[at:]
}
