package rows

import (
	"cmp"
	"slices"
	"strings"

	"feedline/lines/calendar"
)

// Tone is how a text stands out, beside what it says: no meaning is in the tone alone.
type Tone uint8

// The tones.
const (
	Plain  Tone = iota
	Quiet       // beside the point
	Strong      // a heading, or what counts
	Alert       // asks for something to be done; its text has a word or a sign for it
	Accent      // differs from before, or is the draft's
)

// Cell is a field of a table: as it is read, and its value for sorting, JSON and CSV.
type Cell struct {
	Text  string
	Tone  Tone
	Value any // string, float64, int, bool or calendar.Day; nil for nothing. A day 0 and a number that is not finite are nothing, too.
}

// Column is a column of a table. Of columns that do not fit, the one with the highest rank goes first; rank 0 stays.
type Column struct {
	Key   string // field name in JSON and CSV, with its unit
	Head  string // heading, with its unit; "" for a drawn column
	Left  bool   // words are left-aligned, numbers right
	Rank  int
	Flex  bool // may be cut down to leastFlex before it is left out
	Drawn bool // a picture of other columns' values: neither exported nor written as JSON
}

// Row is a row of a table, known by its key. Keys are unique within a table.
type Row struct {
	Key   string
	Cells []Cell // one a column
}

// Table is a named list of rows.
type Table struct {
	Name    string // as in JSON and in the names of exported files
	Title   string
	Columns []Column
	Rows    []Row
	None    string // what to say in place of no rows
	// Fixed is how many columns stay when the table is moved sideways; 0 if it does not move. A table that moves has a selected column.
	Fixed int
	Begin string // key of the column that is selected at first, of a table that moves
}

func (t *Table) add(key string, cells ...Cell) { t.Rows = append(t.Rows, Row{key, cells}) }

// Index is the row with the key, -1 if there is none.
func (t *Table) Index(key string) int {
	return slices.IndexFunc(t.Rows, func(r Row) bool { return r.Key == key })
}

// Filter is the table with the rows that hold each of the words in any of their cells, whatever the case.
func (t *Table) Filter(words string) *Table {
	want := strings.Fields(strings.ToLower(words))
	if len(want) == 0 {
		return t
	}
	out := *t
	out.Rows = nil
	for _, r := range t.Rows {
		var all strings.Builder
		for _, c := range r.Cells {
			all.WriteString(strings.ToLower(c.Text) + "\x00")
		}
		if !slices.ContainsFunc(want, func(w string) bool { return !strings.Contains(all.String(), w) }) {
			out.Rows = append(out.Rows, r)
		}
	}
	out.None = "No row holds " + words
	return &out
}

// Sort is the table with its rows ordered by a column; rows with nothing there come last either way. Equal rows keep their order.
func (t *Table) Sort(column int, descending bool) *Table {
	if column < 0 || column >= len(t.Columns) {
		return t
	}
	out := *t
	out.Rows = slices.Clone(t.Rows)
	slices.SortStableFunc(out.Rows, func(a, b Row) int {
		x, y := plainValue(a.Cells[column].Value), plainValue(b.Cells[column].Value)
		switch {
		case x == nil || y == nil:
			return truth(x == nil) - truth(y == nil)
		case descending:
			return compare(y, x)
		}
		return compare(x, y)
	})
	return &out
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// compare orders two values that are not nil: numbers, then texts.
func compare(x, y any) int {
	nx, isX := number(x)
	ny, isY := number(y)
	switch {
	case isX && isY:
		return cmp.Compare(nx, ny)
	case isX != isY:
		return truth(isY) - truth(isX)
	}
	sx, _ := x.(string)
	sy, _ := y.(string)
	return cmp.Compare(strings.ToLower(sx), strings.ToLower(sy))
}

// number is a value as a number to sort by.
func number(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case int:
		return float64(v), true
	case bool:
		return float64(truth(v)), true
	case calendar.Day:
		return float64(v), true
	}
	return 0, false
}
