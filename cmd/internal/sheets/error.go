package sheets

import (
	"fmt"
	"strings"
)

// mostBad is how many bad cells an Error lists; the rest are counted.
const mostBad = 50

// BadCell is a cell that can't be imported, or a sheet, a row or a column.
type BadCell struct {
	File    string // its name within what was read
	Sheet   string // of a workbook; "" for CSV
	Row     int    // as a spreadsheet counts them, from 1; 0 if it is no matter of a row
	Column  int    // from 1; 0 if it is no matter of a column
	Heading string // of the column; "" if it has none
	Value   string // as it stands there
	Reason  string // what is wrong with it
	Allowed string // what would be right; may be ""
	Remedy  string // what to do; may be ""
}

// Place is where the cell is, such as `orders.csv, row 12, column D (due)` or `plant.xlsx, sheet orders, cell D12 (due)`.
func (b BadCell) Place() string {
	s := b.File
	if b.Sheet != "" {
		s += ", sheet " + b.Sheet
	}
	switch {
	case b.Sheet != "" && b.Row > 0 && b.Column > 0:
		s += fmt.Sprintf(", cell %s%d", letters(b.Column), b.Row)
	case b.Row > 0 && b.Column > 0:
		s += fmt.Sprintf(", row %d, column %s", b.Row, letters(b.Column))
	case b.Row > 0:
		s += fmt.Sprintf(", row %d", b.Row)
	}
	if b.Heading != "" {
		s += " (" + b.Heading + ")"
	}
	return s
}

// String is one line: place, value, what is wrong, what is allowed, what to do.
func (b BadCell) String() string {
	s := b.Place() + ": "
	if b.Value != "" {
		s += fmt.Sprintf("%q ", shortened(b.Value))
	}
	s = strings.TrimSpace(s + b.Reason)
	if b.Allowed != "" {
		s += "; allowed: " + b.Allowed
	}
	if b.Remedy != "" {
		s += "; " + b.Remedy
	}
	return s
}

// longestShown is how much of a cell a message shows, in characters.
const longestShown = 60

func shortened(s string) string {
	if r := []rune(s); len(r) > longestShown {
		return string(r[:longestShown]) + "…"
	}
	return s
}

// letters is the name that spreadsheets give to column n, counted from 1: A … Z, AA …
func letters(n int) string {
	s := ""
	for ; n > 0; n = (n - 1) / 26 {
		s = string(rune('A'+(n-1)%26)) + s
	}
	return s
}

// Error lists what is wrong with sheets. Nothing of them was taken over.
type Error struct {
	Source string    // folder or file that was read
	Cells  []BadCell // never empty; at most 50
	More   int       // bad cells beyond them
}

// Error is a line for each bad cell, after one that counts them if there are several.
func (e *Error) Error() string {
	if len(e.Cells) == 1 && e.More == 0 {
		return e.Cells[0].String()
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d cells or rows are wrong", e.Source, len(e.Cells)+e.More)
	for _, c := range e.Cells {
		b.WriteString("\n  " + c.String())
	}
	if e.More > 0 {
		fmt.Fprintf(&b, "\n  and %d more", e.More)
	}
	return b.String()
}

// Hint is what to do next.
func (e *Error) Hint() string {
	return "nothing was imported: correct the sheets and import them again"
}

// badList gathers bad cells up to the limit.
type badList struct {
	cells []BadCell
	more  int
}

func (l *badList) add(b BadCell) {
	if len(l.cells) == mostBad {
		l.more++
		return
	}
	l.cells = append(l.cells, b)
}

func (l *badList) count() int { return len(l.cells) + l.more }

func (l *badList) none() bool { return len(l.cells) == 0 }

func (l *badList) err(source string) error {
	if l.none() {
		return nil
	}
	return &Error{Source: source, Cells: l.cells, More: l.more}
}
