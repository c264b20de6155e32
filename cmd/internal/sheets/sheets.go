// Package sheets reads and writes the plant book's tables as a folder of CSV files, one a table, or as one XLSX workbook
// with a sheet for each. One description of every table, see column, drives reading, writing, templates and the documentation.
//
// A sheet has a row of headings with units in brackets, `load [kg]`, in any order, and a row a record. Rows that begin
// with # are remarks, and so are columns whose heading does. Rows are known by their key, the first columns of the
// template: a row with a known key updates the record in the columns that the sheet has, a blank cell sets what the
// template says a blank stands for. Numbers have a decimal point, days are YYYY-MM-DD or real date cells.
//
// A formula cell of a workbook is read as the value that was stored with it when the workbook was last saved, which is what
// the user saw; without such a value, which some programs leave out, it is refused. Sheets that are hidden are passed over.
package sheets

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// ReadOptions steer Read.
type ReadOptions struct {
	Replace bool         // take records out that a sheet does not name, of the tables that there are sheets for
	Today   calendar.Day // that Check holds days against; 0 leaves that out
}

// Summary is what an import does.
type Summary struct {
	Changes  []Change          // by table, in the order of the book, of those there is a sheet for
	Notes    []string          // what was passed over or read in a way that might surprise
	Warnings []planner.Problem // doubts that the book did not raise before; they keep nothing from being planned
	Records  []records.Record  // what the sheets of records hold, to be booked on top of the input
	States   bool              // there are records, and sheets beside them that state lots, stock, deliveries or orders

	source string
	trace  func(planner.Problem) BadCell
}

// String is one line: the changes by table, those without any only counted.
func (s Summary) String() string {
	var parts []string
	same := 0
	for _, c := range s.Changes {
		if c.Added+c.Changed+c.Removed == 0 {
			same++
			continue
		}
		parts = append(parts, c.String())
	}
	if n := len(s.Records); n > 0 {
		parts = append(parts, fmt.Sprintf("%d records", n))
	}
	if len(parts) == 0 {
		return "nothing changes"
	}
	if same > 0 {
		parts = append(parts, fmt.Sprintf("%d sheets as they were", same))
	}
	return strings.Join(parts, "; ")
}

// source is what was found in a folder or a workbook.
type source struct {
	name   string
	sheets []*grid // of known tables
	tables []*table
	notes  []string
	bad    badList
}

// Read reads a folder of CSV files, a single CSV file or an XLSX workbook into a copy of base; nil is an empty book.
// It is all or nothing: if anything is wrong the error is an *Error that lists every bad cell, up to 50 and then their number.
// What Check finds wrong with the result counts, unless base had it already; it is then among the notes. Where cells can't be read the
// result is not known, and of the other cells counts what is wrong with their row by itself and which codes they name that are not there.
// Errors of the file system are passed on.
func Read(src string, base *planner.Input, opt ReadOptions) (*planner.Input, Summary, error) {
	s, err := open(src)
	if err != nil {
		return nil, Summary{}, err
	}
	in := clone(base)
	sum := Summary{Notes: s.notes}
	if s.hollow(in) {
		sum.Notes = append(sum.Notes, "the sheets are as empty as the book: there is nothing to import")
		return in, sum, s.bad.err(s.name)
	}
	if s.bad.none() { // else the sheets that are missing may be among those that can't be read
		s.absent(in)
	}
	torn := !s.bad.none()
	read := s.merge(in, opt.Replace, &sum)
	s.readRecords(in, &sum)
	sum.States = len(sum.Records) > 0 && s.states()
	if s.bad.none() {
		s.check(read, base, in, opt.Today, &sum)
	} else {
		s.checkReadable(read, base, in, torn)
	}
	if err := s.bad.err(s.name); err != nil {
		return nil, Summary{}, err
	}
	return in, sum, nil
}

func open(src string) (*source, error) {
	switch strings.ToLower(filepath.Ext(src)) {
	case ".xlsx", ".xlsm":
		return openWorkbook(src)
	case ".csv":
		return openOne(src)
	case ".xls", ".ods", ".numbers":
		return nil, &Error{Source: src, Cells: []BadCell{{File: filepath.Base(src), Reason: "is not a workbook that can be read", Remedy: "save it as .xlsx"}}}
	}
	if info, err := os.Stat(src); err == nil && !info.IsDir() {
		return nil, &Error{Source: src, Cells: []BadCell{{File: filepath.Base(src), Reason: "is neither a folder of CSV files nor a workbook", Remedy: "name a folder, or a file that ends in .xlsx or .csv"}}}
	}
	return openFolder(src)
}

// absent refuses sheets that a new book can't be without.
func (s *source) absent(in *planner.Input) {
	var list []*table
	for i := range tables {
		t := &tables[i]
		if !t.needed || slices.Contains(s.tables, t) {
			continue
		}
		if r := t.records(in); t.sideways && r.IsZero() || !t.sideways && r.Len() == 0 {
			list = append(list, t)
		}
	}
	if len(list) > 0 {
		s.bad.add(BadCell{File: filepath.Base(s.name), Reason: "lacks sheets that the book does not have yet: " + names(list),
			Remedy: "fill in those of feedline template"})
	}
}

// merge decodes the sheets in the order of the book and puts them into in.
func (s *source) merge(in *planner.Input, replace bool, sum *Summary) []*decoded {
	var list []*decoded
	for i := range tables {
		n := slices.Index(s.tables, &tables[i])
		if n < 0 {
			continue
		}
		p := place{cal: in.Calendar, currency: in.Plant.Currency}
		d := decode(&tables[i], s.sheets[n], p, &s.bad)
		sum.Changes = append(sum.Changes, d.merge(in, replace, p, &s.bad))
		if tables[i].name == planner.TablePlant {
			setZone(in)
		}
		s.barren(d, in)
		list = append(list, d)
	}
	return list
}

// hollow reports whether the sheets are those of an empty book, as it is exported, and in is empty: headings without a row, not even an
// example, and settings without a value but those that always have one.
func (s *source) hollow(in *planner.Input) bool {
	for i := range tables {
		t := &tables[i]
		if r := t.records(in); t.sideways && !r.IsZero() || !t.sideways && r.Len() > 0 || t.needed && !slices.Contains(s.tables, t) {
			return false
		}
	}
	for i, g := range s.sheets {
		h := firstRow(g.rows)
		if h != 0 {
			return false
		}
		for _, r := range g.rows[1:] {
			if !s.tables[i].sideways && slices.ContainsFunc(r, func(c cell) bool { return !c.empty() }) || s.tables[i].sideways && !unset(s.tables[i], r) {
				return false
			}
		}
	}
	return true
}

// unset reports whether a row of settings has no value, or the one that a blank stands for.
func unset(t *table, r []cell) bool {
	v := cellAt(r, 2)
	if v.empty() {
		return true
	}
	name, _, _ := splitHeading(cellAt(r, 1).text)
	i, ok := t.column(name)
	return ok && t.columns[i].blank == v.text
}

// barren refuses a sheet without rows of a table that a book can't be without.
func (s *source) barren(d *decoded, in *planner.Input) {
	if t := d.table; t.needed && !t.sideways && t.records(in).Len() == 0 && d.sound {
		s.bad.add(BadCell{File: d.grid.file, Sheet: d.grid.sheet, Reason: "has no rows", Remedy: "fill in at least one: " + t.explain})
	}
}

// setZone makes the calendar's zone that of the plant, if there is such a zone; Check refuses it if not.
func setZone(in *planner.Input) {
	if in.Calendar.Zone != nil && in.Calendar.Zone.String() == in.Plant.Zone {
		return
	}
	if z, err := time.LoadLocation(in.Plant.Zone); err == nil && in.Plant.Zone != "" {
		in.Calendar.Zone = z
	}
}
