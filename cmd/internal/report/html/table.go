package html

import (
	"slices"
	"strings"
	"unicode/utf8"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
)

// table is a view as the template wants it.
type table struct {
	ID, Title, Note, Empty string
	Heads                  []head
	Rows                   []row
	Total                  []cell
	Small                  bool // is kept on one page
}

type head struct {
	Head, Unit string
	Num        bool
}

type row struct {
	First bool // of its group
	Cells []cell
}

type cell struct {
	Text, Class string
	Head        bool
}

// smallRows is how many rows a table may have that is kept on one page.
const smallRows = 16

// tableOf lays a view out. The first column heads its rows.
func tableOf(t view.Table) *table {
	out := &table{ID: "t-" + t.Name, Title: t.Title, Note: t.Note, Empty: t.Empty}
	if out.Empty == "" {
		out.Empty = "Nothing."
	}
	out.Small = len(t.Rows) <= smallRows
	group := -1
	for i, c := range t.Columns {
		out.Heads = append(out.Heads, head{c.Head, c.Unit, c.Kind == view.Number})
		if t.Group != "" && c.Head == t.Group {
			group = i
		}
	}
	for r, cells := range t.Rows {
		line := row{First: group >= 0 && r > 0 && t.Rows[r-1][group].Text != cells[group].Text}
		for i, c := range cells {
			x := cell{Text: CellText(t.Columns[i], c), Head: i == 0, Class: class(t.Columns[i], c)}
			if c.Warn {
				x.Text, x.Class = "! "+x.Text, strings.TrimSpace(x.Class+" act")
			}
			line.Cells = append(line.Cells, x)
		}
		out.Rows = append(out.Rows, line)
	}
	out.Total = total(t)
	return out
}

// longWord, in characters, is the length of a word that may be broken, so that a name from the book can't push a table off the paper.
const longWord = 24

func class(c view.Column, x view.Cell) string {
	switch {
	case c.Kind == view.Number:
		return "num"
	case c.Kind == view.Day:
		return "day"
	case c.Prose:
		return "prose"
	case slices.ContainsFunc(strings.Fields(x.Text), func(w string) bool { return utf8.RuneCountInString(w) > longWord }):
		return "word"
	}
	if x.Text != "" && !strings.Contains(x.Text, " ") {
		return "code"
	}
	return ""
}

// CellText is a cell as people read it: thousands grouped by blanks that do not break, days with their weekday.
func CellText(c view.Column, x view.Cell) string {
	switch {
	case x.None:
		return ""
	case c.Kind == view.Number:
		return strings.ReplaceAll(quantity.Grouped(x.Number, c.Decimals), " ", "\u00a0")
	case c.Kind == view.Day:
		return view.Date(x.Day)
	}
	return x.Text
}

// total is the row of totals, nil if there is nothing to add up, or a single row.
func total(t view.Table) []cell {
	if len(t.Rows) < 2 {
		return nil
	}
	any := false
	var cells []cell
	for i, c := range t.Columns {
		x := cell{Class: class(c, view.Cell{}), Head: i == 0}
		if i == 0 {
			x.Text = "total"
		}
		if c.Sum {
			any = true
			sum := 0.0
			for _, r := range t.Rows {
				if !r[i].None {
					sum += r[i].Number
				}
			}
			x.Text = CellText(c, view.Cell{Number: sum, None: sum-sum != 0})
		}
		cells = append(cells, x)
	}
	if !any {
		return nil
	}
	return cells
}
