package rows

import (
	"fmt"
	"math"
	"strings"

	"feedline/inventory/quantity"
)

// The marks of text charts. Where the locale is not UTF-8 the console and the command put an ASCII sign in their place.
const (
	markHave  = "█"
	markShort = "░"
)

// columns draws need against have week by week as standing bars: what can be served is full, what is missing hatched above it.
// head is what stands before each row, the numbers are in the given unit. The bars take height − 2 rows; two rows of figures,
// the week and what is missing in it, stand below. Weeks that do not fit the width are left out from the end.
func columns(weeks []week, rows []weekNeed, in func(quantity.Mass) float64, unit string, width, height int) []Line {
	const label = 10
	cell := 3
	top := 0.0
	for _, r := range rows {
		top = max(top, in(r.need), in(r.have))
		if max(0, in(r.need-r.have)) >= 99.5 {
			cell = 4
		}
	}
	n := min(len(rows), max(0, (width-label)/cell))
	bars := max(0, height-2)
	var out []Line
	for y := bars; y >= 1; y-- {
		head := ""
		if y == bars {
			head = fmt.Sprintf("%s %s", quantity.Grouped(top, 0), unit)
		}
		line := Line{{Pad(head, label-1, true) + " ", Quiet}}
		for _, r := range rows[:n] {
			line = append(line, bar(in(r.need), in(r.have), top, y, bars, cell))
		}
		out = append(out, line)
	}
	axis, missing := Line{{Pad("ISO week", label, false), Quiet}}, Line{{Pad("short "+unit, label, false), Plain}}
	for i, r := range rows[:n] {
		axis = append(axis, Span{Pad(weeks[i].number(), cell-1, false) + " ", Quiet})
		text := ""
		if s := in(r.need - r.have); s >= 0.5 {
			text = quantity.Grouped(s, 0)
		}
		missing = append(missing, Span{Pad(text, cell-1, false) + " ", Alert})
	}
	return append(out, axis, missing)
}

// bar is a week's piece of row y, counted from 1 at the foot, of a chart with the given rows.
func bar(need, have, top float64, y, rows, cell int) Span {
	if top <= 0 {
		return Span{strings.Repeat(" ", cell), Plain}
	}
	full := int(math.Round(have / top * float64(rows)))
	both := int(math.Round(math.Max(need, have) / top * float64(rows)))
	if need-have >= 0.05*top && both == full { // a shortage is seen, however small
		full--
	}
	switch {
	case y <= full:
		return Span{strings.Repeat(markHave, cell-1) + " ", Plain}
	case y <= both:
		return Span{strings.Repeat(markShort, cell-1) + " ", Alert}
	}
	return Span{strings.Repeat(" ", cell), Plain}
}

// meter is a share as a lying bar of the given width.
func meter(share float64, width int) string {
	if math.IsNaN(share) {
		return ""
	}
	n := int(math.Round(math.Min(1, math.Max(0, share)) * float64(width)))
	return strings.Repeat(markHave, n) + strings.Repeat("·", width-n)
}
