package xlsx

import (
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// The rows of a sheet: its title, what it says, the totals, the headings, then the view's rows. The totals stand above, where they
// stay in sight and follow the filters.
const (
	titleRow = 1
	noteRow  = 2
	totalRow = 3
	headRow  = 4
)

// sheet writes a view.
func (b *workbook) sheet(t view.Table, p *planner.Plan) error {
	sw, err := b.setUp(t.Name, p, false, headRow)
	if err != nil {
		return err
	}
	for i, w := range widths(t) {
		if err := sw.SetColWidth(i+1, i+1, w); err != nil {
			return err
		}
	}
	if err := sw.SetPanes(&excelize.Panes{Freeze: true, XSplit: 1, YSplit: headRow, TopLeftCell: fmt.Sprintf("B%d", headRow+1), ActivePane: "bottomRight"}); err != nil {
		return err
	}
	if err := b.top(sw, t); err != nil {
		return err
	}
	for r, cells := range t.Rows {
		line := make([]any, len(cells))
		for i, x := range cells {
			if line[i], err = b.cell(t, r, i, x); err != nil {
				return err
			}
		}
		if err := sw.SetRow(fmt.Sprintf("A%d", headRow+1+r), line); err != nil {
			return err
		}
	}
	if len(t.Rows) > 0 {
		last, err := excelize.CoordinatesToCellName(len(t.Columns), headRow+len(t.Rows))
		if err != nil {
			return err
		}
		stripes := false
		name := strings.ReplaceAll(t.Name, "-", "_") + "_view"
		if err := sw.AddTable(&excelize.Table{Range: fmt.Sprintf("A%d:%s", headRow, last), Name: name, StyleName: "TableStyleLight1", ShowRowStripes: &stripes}); err != nil {
			return err
		}
	}
	return sw.Flush()
}

// top writes the title, the totals and the headings.
func (b *workbook) top(sw *excelize.StreamWriter, t view.Table) error {
	title, err := b.style(look{format: "@", bold: true, large: true})
	if err != nil {
		return err
	}
	note := t.Note
	if len(t.Rows) == 0 && t.Empty != "" {
		note = t.Empty
	}
	plain, err := b.style(look{format: "@"})
	if err != nil {
		return err
	}
	if err := sw.SetRow(cellName(1, titleRow), []any{excelize.Cell{Value: t.Title, StyleID: title}}, excelize.RowOpts{Height: 20}); err != nil {
		return err
	}
	if err := sw.SetRow(cellName(1, noteRow), []any{excelize.Cell{Value: note, StyleID: plain}}); err != nil {
		return err
	}
	totals, err := b.totals(t)
	if err != nil {
		return err
	}
	if totals != nil {
		if err := sw.SetRow(cellName(1, totalRow), totals); err != nil {
			return err
		}
	}
	line := make([]any, len(t.Columns))
	for i, c := range t.Columns {
		head, err := b.style(look{format: "@", bold: true, wrap: true, rule: true, right: c.Kind != view.Text})
		if err != nil {
			return err
		}
		line[i] = excelize.Cell{Value: c.Heading(), StyleID: head}
	}
	return sw.SetRow(cellName(1, headRow), line, excelize.RowOpts{Height: 42})
}

// totals is the row of totals over the rows that the filters show, nil if nothing is added up.
func (b *workbook) totals(t view.Table) ([]any, error) {
	summed := false
	line := make([]any, len(t.Columns))
	for i, c := range t.Columns {
		if !c.Sum || len(t.Rows) == 0 {
			continue
		}
		style, err := b.style(look{format: numberFormat(c.Decimals), bold: true})
		if err != nil {
			return nil, err
		}
		sum := 0.0
		for _, r := range t.Rows {
			if !r[i].None {
				sum += r[i].Number
			}
		}
		line[i] = excelize.Cell{Formula: fmt.Sprintf("SUBTOTAL(9,%s:%s)", cellName(i+1, headRow+1), cellName(i+1, headRow+len(t.Rows))), Value: sum, StyleID: style}
		summed = true
	}
	if !summed {
		return nil, nil
	}
	bold, err := b.style(look{format: "@", bold: true})
	if err == nil && line[0] == nil {
		line[0] = excelize.Cell{Value: "total", StyleID: bold}
	}
	return line, err
}

// cell is what is written of a view's cell in row r and column i; nil for an empty one.
func (b *workbook) cell(t view.Table, r, i int, x view.Cell) (any, error) {
	c := t.Columns[i]
	if x.None && c.Formula == "" {
		return nil, nil
	}
	format := "@"
	switch c.Kind {
	case view.Number:
		format = numberFormat(c.Decimals)
	case view.Day:
		format = dayFormat
	}
	style, err := b.style(look{format: format, bold: x.Warn})
	if err != nil {
		return nil, err
	}
	out := excelize.Cell{StyleID: style}
	switch c.Kind {
	case view.Number:
		out.Value, out.Formula = x.Number, formula(t, r, i)
		if x.None {
			out.Value = ""
		}
		if x.None && out.Formula == "" {
			return nil, nil
		}
	case view.Day:
		out.Value = serial(x.Day)
	default:
		out.Value = view.Inert(x.Text)
	}
	return out, nil
}

var names = regexp.MustCompile(`\{[^}]+\}`)

// formula is the formula of a cell, "" if it has none or the row before, which it names, is of another group.
func formula(t view.Table, r, i int) string {
	f := t.Columns[i].Formula
	if f == "" || strings.Contains(f, "^}") && !follows(t, r) {
		return ""
	}
	return names.ReplaceAllStringFunc(f, func(name string) string {
		name, row := strings.Trim(name, "{}"), headRow+1+r
		if before, ok := strings.CutSuffix(name, "^"); ok {
			name, row = before, row-1
		}
		return cellName(columnOf(t, name)+1, row)
	})
}

func follows(t view.Table, r int) bool {
	if r == 0 {
		return false
	}
	if t.Group == "" {
		return true
	}
	g := columnOf(t, t.Group)
	return t.Rows[r-1][g].Text == t.Rows[r][g].Text
}

func columnOf(t view.Table, head string) int {
	for i, c := range t.Columns {
		if c.Head == head {
			return i
		}
	}
	panic("xlsx: a formula names no column")
}

func cellName(col, row int) string {
	name, err := excelize.CoordinatesToCellName(col, row)
	if err != nil {
		panic("xlsx: no such cell")
	}
	return name
}

// widths are the columns' in characters: of the longest text, within reason.
func widths(t view.Table) []float64 {
	list := make([]float64, len(t.Columns))
	for i, c := range t.Columns {
		w := 10
		for _, word := range strings.Fields(c.Heading()) {
			w = max(w, utf8.RuneCountInString(word)+4)
		}
		if c.Kind == view.Day {
			w = max(w, 20)
		}
		sum := 0.0
		for _, r := range t.Rows {
			w = max(w, utf8.RuneCountInString(r[i].Text)*6/5+3) // capitals are wide
			sum += r[i].Number
		}
		if c.Sum && sum-sum == 0 {
			w = max(w, len(quantity.Grouped(sum, c.Decimals))+4) // in bold
		}
		list[i] = float64(min(w, 60))
	}
	return list
}
