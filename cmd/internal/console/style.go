package console

import (
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
	"github.com/rivo/uniseg"

	"feedline/cmd/internal/console/rows"
)

// Look is how the terminal can be written to.
type Look struct {
	Colour bool // else bold, dim and reverse only
	ASCII  bool // the locale is not UTF-8
}

// style is a tone in the terminal's own colours. What it says is in words and signs, too, so red and green are not needed.
func (l Look) style(t rows.Tone) tcell.Style {
	s := tcell.StyleDefault
	switch t {
	case rows.Quiet:
		return s.Dim(true)
	case rows.Strong:
		return s.Bold(true)
	case rows.Alert:
		if l.Colour {
			s = s.Foreground(tcell.ColorOlive) // the terminal's yellow
		}
		return s.Bold(true)
	case rows.Accent:
		if l.Colour {
			return s.Foreground(tcell.ColorTeal) // the terminal's cyan
		}
		return s.Underline(true)
	}
	return s
}

// marked is the style of what is selected: reverse on default colours, with a sign beside it.
func (l Look) marked() tcell.Style { return tcell.StyleDefault.Reverse(true) }

// tview's own widgets use the terminal's colours.
func init() {
	d := tcell.ColorDefault
	tview.Styles = tview.Theme{PrimitiveBackgroundColor: d, ContrastBackgroundColor: d, MoreContrastBackgroundColor: d, BorderColor: d, TitleColor: d,
		GraphicsColor: d, PrimaryTextColor: d, SecondaryTextColor: d, TertiaryTextColor: d, InverseTextColor: d, ContrastSecondaryTextColor: d}
}

// put writes a text from x on, at most to the column end, and returns where it ended. The text is cleaned first.
func put(s tcell.Screen, x, y, end int, text string, style tcell.Style) int {
	for g := uniseg.NewGraphemes(rows.Clean(text)); g.Next(); {
		w := g.Width()
		if w == 0 {
			continue
		}
		if x+w > end {
			break
		}
		r := g.Runes()
		s.SetContent(x, y, r[0], r[1:], style)
		x += w
	}
	return x
}

// line writes a line of spans.
func (l Look) line(s tcell.Screen, x, y, end int, line rows.Line) int {
	for _, span := range line {
		x = put(s, x, y, end, span.Text, l.style(span.Tone))
	}
	return x
}

// toASCII puts an ASCII sign in the place of every other character on the screen.
func toASCII(s tcell.Screen) {
	w, h := s.Size()
	for y := range h {
		for x := 0; x < w; x++ {
			text, style, width := s.Get(x, y)
			if len(text) == 1 && text[0] < 0x80 || text == "" {
				continue
			}
			r, _ := utf8.DecodeRuneInString(text)
			s.SetContent(x, y, rows.ASCII(r), nil, style)
			if width == 2 && x+1 < w {
				s.SetContent(x+1, y, '?', nil, style)
				x++
			}
		}
	}
}
