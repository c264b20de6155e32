package rows

import (
	"io"
	"strings"
)

// Screen is a screen's name and its page.
type Screen struct {
	Name, Title string
	Page        func(*Facts, Place) Page
}

// Screens are all, in their order.
var Screens = []Screen{
	{"today", "Today", Today},
	{"lines", "Lines", Lines},
	{"feed", "Feed", Feed},
	{"orders", "Orders", Orders},
	{"supply", "Supply", Supply},
	{"records", "Records", Records},
	{"changes", "Changes", Changes},
}

// gap is the blanks between columns.
const gap = 2

// leastFlex is the width that a Flex column may be cut down to.
const leastFlex = 14

// leastFixed is the width that a column which always stays is not cut below.
const leastFixed = 8

// Fit is a table's widths and which of its columns fit a width. What is too wide goes by rank, the highest first: a Flex column is
// cut where that is enough, else the column is left out. Of a table that moves sideways none is.
func (t *Table) Fit(width int) (widths []int, keep []bool) {
	widths, keep = make([]int, len(t.Columns)), make([]bool, len(t.Columns))
	for i, c := range t.Columns {
		keep[i], widths[i] = true, Width(c.Head)
		for _, r := range t.Rows {
			widths[i] = max(widths[i], Width(Clean(r.Cells[i].Text)))
		}
	}
	if t.Fixed > 0 { // one of those that move is seen whole beside the fixed ones
		left := width
		for i := range widths {
			if i < t.Fixed {
				widths[i] = min(widths[i], max(leastFixed, width/3))
				left -= widths[i] + gap
				continue
			}
			widths[i] = min(widths[i], max(1, left))
		}
		return widths, keep
	}
	for {
		excess := over(widths, keep) - width
		drop := -1
		for i, c := range t.Columns {
			if keep[i] && c.Rank > 0 && (drop < 0 || c.Rank >= t.Columns[drop].Rank) {
				drop = i
			}
		}
		if excess <= 0 {
			return widths, keep
		}
		if drop < 0 {
			squeeze(widths, keep, excess)
			return widths, keep
		}
		if t.Columns[drop].Flex && widths[drop]-excess >= leastFlex {
			widths[drop] -= excess
			return widths, keep
		}
		keep[drop] = false
	}
}

// squeeze takes an excess of width off the columns that stay, the widest first: the others would be cut off behind a very long code.
func squeeze(widths []int, keep []bool, excess int) {
	for ; excess > 0; excess-- {
		widest := -1
		for i, w := range widths {
			if keep[i] && w > leastFixed && (widest < 0 || w > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return
		}
		widths[widest]--
	}
}

func over(widths []int, keep []bool) int {
	sum := -gap
	for i, w := range widths {
		if keep[i] {
			sum += w + gap
		}
	}
	return sum
}

// Text writes the page as lines at most as wide as asked: its lead, then each of its panes.
func (p Page) Text(w io.Writer, width int) error {
	var b strings.Builder
	put := func(l Line) { b.WriteString(strings.TrimRight(Cut(Clean(l.String()), width), " ") + "\n") }
	for _, l := range p.Lead {
		for _, part := range Wrap(l, width) {
			put(part)
		}
	}
	for _, pane := range p.Panes {
		if pane.Draw != nil {
			list := pane.Draw(width, max(pane.Want, pane.Least))
			if len(list) > 0 {
				b.WriteString("\n")
			}
			for _, l := range list {
				put(l)
			}
			continue
		}
		pane.Table.write(&b, width)
	}
	if p.More != nil {
		for _, t := range p.More() {
			t.write(&b, width)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (t *Table) write(b *strings.Builder, width int) {
	b.WriteString("\n" + Cut(t.Title, width) + "\n")
	for _, l := range t.lines(width) {
		b.WriteString(l + "\n")
	}
}

// lines lays the table out; a table that moves sideways is cut at the width.
func (t *Table) lines(width int) []string {
	if len(t.Rows) == 0 {
		return []string{Cut(t.None, width)}
	}
	widths, keep := t.Fit(width)
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = c.Head
	}
	out := []string{t.line(heads, widths, keep, width)}
	for _, r := range t.Rows {
		cells := make([]string, len(r.Cells))
		for i, c := range r.Cells {
			cells[i] = Clean(c.Text)
		}
		out = append(out, t.line(cells, widths, keep, width))
	}
	return out
}

func (t *Table) line(cells []string, widths []int, keep []bool, width int) string {
	var b strings.Builder
	first := true
	for i, c := range t.Columns {
		if !keep[i] {
			continue
		}
		if !first {
			b.WriteString(strings.Repeat(" ", gap))
		}
		first = false
		b.WriteString(Pad(cells[i], widths[i], !c.Left))
	}
	return Cut(strings.TrimRight(b.String(), " "), width)
}
