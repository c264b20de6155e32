package report

import (
	"strings"
	"unicode/utf8"
)

// column is a column of a grid. Of columns that do not fit the one with the highest rank goes first; rank 0 stays.
type column struct {
	head string
	left bool // numbers are right-aligned, words left
	rank int
}

// grid is a table of cells.
type grid struct {
	columns []column
	rows    [][]string
}

func (g *grid) add(cells ...string) { g.rows = append(g.rows, cells) }

const gap = 2 // blanks between columns

// lines lays the grid out, headings first, with the columns that fit the width.
func (g grid) lines(width int) []string {
	widths, keep, total := g.widths(), make([]bool, len(g.columns)), -gap
	for i, w := range widths {
		keep[i], total = true, total+w+gap
	}
	for total > width {
		drop := -1
		for i, c := range g.columns {
			if keep[i] && c.rank > 0 && (drop < 0 || c.rank >= g.columns[drop].rank) {
				drop = i
			}
		}
		if drop < 0 {
			break
		}
		keep[drop], total = false, total-widths[drop]-gap
	}
	heads := make([]string, len(g.columns))
	for i, c := range g.columns {
		heads[i] = c.head
	}
	list := []string{g.line(heads, widths, keep)}
	for _, r := range g.rows {
		list = append(list, g.line(r, widths, keep))
	}
	return list
}

func (g grid) widths() []int {
	w := make([]int, len(g.columns))
	for i, c := range g.columns {
		w[i] = utf8.RuneCountInString(c.head)
		for _, r := range g.rows {
			w[i] = max(w[i], utf8.RuneCountInString(clean(r[i])))
		}
	}
	return w
}

func (g grid) line(cells []string, widths []int, keep []bool) string {
	var b strings.Builder
	first := true
	for i, c := range g.columns {
		if !keep[i] {
			continue
		}
		if !first {
			b.WriteString(strings.Repeat(" ", gap))
		}
		first = false
		cell := clean(cells[i])
		pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell))
		if c.left {
			b.WriteString(cell + pad)
		} else {
			b.WriteString(pad + cell)
		}
	}
	return strings.TrimRight(b.String(), " ")
}
