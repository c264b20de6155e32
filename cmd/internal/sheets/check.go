package sheets

import (
	"fmt"
	"path/filepath"
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

// trace finds the cell that a problem speaks of.
func (s *source) trace(read []*decoded, p planner.Problem) BadCell {
	b := BadCell{File: filepath.Base(s.name), Value: unquoted(p.Value), Reason: "is wrong", Allowed: p.Allowed, Remedy: p.Remedy}
	for _, d := range read {
		if d.table.name != p.Table {
			continue
		}
		b.File, b.Sheet = d.grid.file, d.grid.sheet
		for _, r := range d.rows {
			if !d.table.sideways && r.key != p.Key {
				continue
			}
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
