// Package report writes a plan and its audit as text and as JSON. Text fits a terminal of the given width, says everything
// by word or sign and uses colour only for emphasis. The JSON schemas are described in SCHEMA.md beside this file.
package report

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Options say how text is written. The zero value is 80 columns, no colour, Unicode and metric units.
type Options struct {
	Width int  // columns; 0 = 80, less than 40 = 40
	Color bool // emphasis by terminal escapes; see Colour
	ASCII bool // no character beyond ASCII
	Units quantity.System
}

// Colour reports whether a stream may be coloured: it is a terminal, NO_COLOR is not set (no-color.org) and TERM is not dumb.
func Colour(terminal bool, getenv func(string) string) bool {
	return terminal && getenv("NO_COLOR") == "" && getenv("TERM") != "dumb"
}

const (
	usualWidth = 80
	leastWidth = 40
)

func (o Options) width() int {
	if o.Width == 0 {
		return usualWidth
	}
	return max(o.Width, leastWidth)
}

// style is the emphasis of a line.
type style int

const (
	normal style = iota
	heading
	warning
)

// escapes are the terminal's words for a style: bold, and bold yellow.
var escapes = [...]string{normal: "", heading: "\x1b[1m", warning: "\x1b[1;33m"}

// page gathers lines of text.
type page struct {
	opt  Options
	text strings.Builder
	rows int
}

// add appends a line, cut to the width.
func (p *page) add(s style, format string, args ...any) {
	line := format
	if len(args) > 0 {
		line = fmt.Sprintf(format, args...)
	}
	line = strings.ReplaceAll(line, noBreak, " ")
	line = cut(clean(strings.TrimRight(line, " ")), p.opt.width())
	if p.opt.ASCII {
		line = ascii(line)
	}
	if p.opt.Color && escapes[s] != "" && line != "" {
		line = escapes[s] + line + "\x1b[0m"
	}
	p.text.WriteString(line + "\n")
	p.rows++
}

// noBreak is a blank that wrap does not break at; it is printed as a plain one.
const noBreak = "\u00a0"

// together keeps the words of a number or a name on one line.
func together(words string) string { return strings.ReplaceAll(words, " ", noBreak) }

// wrap appends a sentence over as many lines as it takes.
func (p *page) wrap(s style, sentence string) {
	line := ""
	for _, word := range strings.Split(sentence, " ") {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > p.opt.width() {
			p.add(s, "%s", line)
			line = ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	p.add(s, "%s", line)
}

// table appends a grid.
func (p *page) table(g grid) {
	for i, line := range g.lines(p.opt.width()) {
		s := normal
		if i == 0 {
			s = heading
		}
		p.add(s, "%s", line)
	}
}

func (p *page) writeTo(w io.Writer) error {
	_, err := io.WriteString(w, p.text.String())
	return err
}

// cut shortens a line to a number of characters and marks the cut.
func cut(line string, width int) string {
	if utf8.RuneCountInString(line) <= width {
		return line
	}
	return string([]rune(line)[:width-1]) + "…"
}

// clean drops control characters: names from the book must not steer the terminal.
func clean(line string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == utf8.RuneError {
			return -1
		}
		return r
	}, line)
}

var plainRunes = map[rune]rune{'…': '~', '→': '>', '–': '-', '×': 'x', '³': '3', '▸': '>', '·': '.', '−': '-', '±': '+', '≤': '<', '≈': '~', '÷': '/'}

// ascii writes a line with ASCII characters only, one for one.
func ascii(line string) string {
	return strings.Map(func(r rune) rune {
		if r <= unicode.MaxASCII {
			return r
		}
		if a, ok := plainRunes[r]; ok {
			return a
		}
		return '?'
	}, line)
}

// shortDate is a day such as "18 Jan".
func shortDate(d calendar.Day) string { return d.UTC().Format("2 Jan") }

// weekday is a day such as "Mon 18 Jan".
func weekday(d calendar.Day) string { return d.UTC().Format("Mon 2 Jan") }

// tons is a mass in tonnes or short tons, without the unit.
func (o Options) tons(m quantity.Mass, decimals int) string {
	return quantity.Grouped(quantity.TonUnit(o.Units).FromStored(float64(m)), decimals)
}

func (o Options) tonsUnit() string { return quantity.TonUnit(o.Units).Symbol }

// mass, length and price are numbers in the units of the system, without the unit.
func (o Options) mass(m quantity.Mass) string {
	return quantity.Grouped(o.unit(quantity.KindMass).FromStored(float64(m)), 0)
}

func (o Options) length(l quantity.Length) string {
	return quantity.Grouped(o.unit(quantity.KindLength).FromStored(float64(l)), 0)
}

func (o Options) massPrice(x quantity.MassPrice) string {
	return quantity.Grouped(o.unit(quantity.KindMassPrice).FromStored(float64(x)), 2)
}

func (o Options) unit(k quantity.Kind) quantity.Unit { return quantity.DefaultUnit(k, o.Units) }

func hours(h quantity.Hours) string { return quantity.Grouped(float64(h), 1) }
