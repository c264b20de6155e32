package sheets

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"feedline/lines/calendar"
	"feedline/planner"
)

// check holds the merged book against its rules and traces what is wrong back to the cells.
func (s *source) check(read []*decoded, base, in *planner.Input, today calendar.Day, sum *Summary) {
	before := map[planner.Problem]bool{}
	if base != nil {
		for _, p := range base.Check(today) {
			before[p] = true
		}
	}
	for _, p := range in.Check(today) {
		switch {
		case p.Warning && before[p]:
		case p.Warning:
			sum.Warnings = append(sum.Warnings, p)
		case before[p]:
			sum.Notes = append(sum.Notes, fmt.Sprintf("the book has a fault already: %v", p))
		default:
			s.bad.add(s.trace(read, p))
		}
	}
}

// checkReadable tells, where cells can't be read, what is wrong with those that can whatever the others hold: rows by themselves, and codes that no
// table has. torn says that sheets could not be read at all. What is wrong then is not the book's: in is spoilt.
func (s *source) checkReadable(read []*decoded, base, in *planner.Input, torn bool) {
	of := map[string]*decoded{}
	for _, d := range read {
		of[d.table.name] = d
		d.mergeFaulty(in)
	}
	unread := func(table string) bool {
		d, there := of[table]
		return there && d.lost || !there && torn
	}
	before := map[planner.Problem]bool{}
	if base != nil {
		for _, p := range slices.Concat(base.CheckRecords(), base.CheckLinks(nil)) {
			before[p] = true
		}
	}
	told := map[[3]string]bool{}
	tell := func(p planner.Problem, faultyToo bool) {
		cell := [3]string{p.Table, p.Key, p.Field}
		d := of[p.Table]
		if d == nil || p.Warning || before[p] || told[cell] || !d.canRead(p.Key, p.Field, faultyToo) {
			return
		}
		told[cell] = true
		s.bad.add(s.trace(read, p))
	}
	for _, p := range in.CheckRecords() {
		tell(p, false)
	}
	for _, p := range in.CheckLinks(unread) {
		tell(p, true)
	}
}

// canRead reports whether the sheet has a row of the key with the column, and the cell can be read; of rows that can't be taken over too if asked.
func (d *decoded) canRead(key, field string, faultyToo bool) bool {
	r, whole, ok := d.rowOf(key)
	if !ok || !whole && !faultyToo {
		return false
	}
	i, ok := d.table.column(field)
	return ok && d.has[i].heading != "" && (r.bad == nil || !r.bad[i])
}

// rowOf is the sheet's first row of a key, and whether it can be taken over; a sheet of settings has but one.
func (d *decoded) rowOf(key string) (r row, whole, ok bool) {
	rows := d.keyed()
	if d.at == nil {
		d.at = map[string]int{}
		for n := len(rows) - 1; n >= 0; n-- {
			d.at[rows[n].key] = n
		}
	}
	n, ok := d.at[key]
	if d.table.sideways {
		n, ok = 0, len(rows) > 0
	}
	if !ok {
		return row{}, false, false
	}
	return rows[n], n < len(d.rows), true
}

// trace finds the cell that a problem speaks of.
func (s *source) trace(read []*decoded, p planner.Problem) BadCell {
	b := BadCell{File: filepath.Base(s.name), Value: unquoted(p.Value), Reason: "is wrong", Allowed: p.Allowed, Remedy: p.Remedy}
	for _, d := range read {
		if d.table.name != p.Table {
			continue
		}
		b.File, b.Sheet = d.grid.file, d.grid.sheet
		if r, _, ok := d.rowOf(p.Key); ok {
			b.Row = r.line.row
			if i, ok := d.table.column(p.Field); ok {
				g := r.given[i]
				b.Row, b.Column, b.Heading = max(b.Row, g.row), g.col, g.heading
				switch {
				case g.text != "":
					b.Value = g.text
				case g.col > 0:
					b.Value, b.Reason = "", "is blank"
				}
				if _, symbol, _ := splitHeading(g.heading); symbol != "" && symbol != d.table.columns[i].unit(false).symbol && b.Remedy == "" {
					b.Remedy = "is the unit in the heading right?"
				}
				if d.table.sideways {
					b.Row = g.row
				}
			}
			if b.Heading == "" {
				b.Heading = p.Field
			}
			return b
		}
	}
	b.File, b.Heading = strings.TrimSpace("the book, "+p.Table+" "+p.Key), p.Field // no sheet has it
	return b
}

// unquoted takes the quotation marks off a value that a Problem shows.
func unquoted(s string) string {
	if n := len(s); n >= 2 && s[0] == '"' && s[n-1] == '"' {
		return s[1 : n-1]
	}
	return s
}
