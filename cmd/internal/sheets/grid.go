package sheets

import "strings"

// Sizes beyond which a sheet is refused: far above any plant's, and low enough that no file can exhaust the machine.
const (
	mostRows    = 50_000
	mostColumns = 200
	mostText    = 10_000   // bytes in a cell
	mostBytes   = 64 << 20 // of a file
)

// cell is a cell as it stands in a file.
type cell struct {
	text     string
	row, col int     // as a spreadsheet counts them, from 1
	number   bool    // stored as a number in a workbook
	semi     bool    // of a sheet whose cells are set off by semicolons, as they are where the comma is the decimal sign
	percent  bool    // likewise, and shown as a percentage: the number is the fraction
	date     bool    // likewise, and shown as a date or a time
	serial   float64 // of a date: days since the workbook's epoch, in the count from 1900
	fault    string  // why its content can't be used, such as an error value
	remedy   string
}

func (c cell) empty() bool { return c.fault == "" && strings.TrimSpace(c.text) == "" }

// grid is a sheet as it stands in a file. Rows and cells that are empty may be left out.
type grid struct {
	file  string
	sheet string // of a workbook; "" for CSV
	rows  [][]cell
}

// bad starts a BadCell in g.
func (g *grid) bad(c cell, reason string) BadCell {
	return BadCell{File: g.file, Sheet: g.sheet, Row: c.row, Column: c.col, Value: c.text, Reason: reason}
}

// row is the cells of a row by its number, nil if it is empty.
func (g *grid) row(number int) []cell {
	for _, r := range g.rows {
		if r[0].row == number {
			return r
		}
	}
	return nil
}

// comment reports whether a row is blank or begins with #.
func comment(row []cell) bool {
	for _, c := range row {
		if !c.empty() {
			return strings.HasPrefix(strings.TrimSpace(c.text), "#")
		}
	}
	return true
}

// upright turns the rows of a sheet that stands sideways, setting and value, into a row of headings and one of values.
func (g *grid) upright() *grid {
	t := &grid{file: g.file, sheet: g.sheet}
	var heads, values []cell
	for i, row := range g.rows {
		if comment(row) {
			continue
		}
		first, second := cellAt(row, 1), cellAt(row, 2)
		if i == firstRow(g.rows) && plainHeading(first.text) == "setting" {
			continue
		}
		heads, values = append(heads, first), append(values, second)
	}
	if len(heads) > 0 {
		t.rows = [][]cell{heads, values}
	}
	return t
}

// firstRow is the index of the first row that is no comment, -1 if there is none.
func firstRow(rows [][]cell) int {
	for i, r := range rows {
		if !comment(r) {
			return i
		}
	}
	return -1
}

// cellAt is the cell of a row in column col; an empty one if the row ends before it.
func cellAt(row []cell, col int) cell {
	for _, c := range row {
		if c.col == col {
			return c
		}
	}
	out := cell{col: col}
	if len(row) > 0 {
		out.row = row[0].row
	}
	return out
}
