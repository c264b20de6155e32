package sheets

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"reflect"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/records"
)

// WriteOptions steer Write and Template.
type WriteOptions struct {
	Units quantity.System // of the headings
	Force bool            // overwrite sheets that are there
	// Records are written beside the tables, a sheet for each kind that there are some of.
	Records []records.Record
}

// page is a sheet to be written: lines of cells, the first of them the headings.
type page struct {
	table *table
	lines [][]out
}

// out is a cell to be written.
type out struct {
	text   string
	kind   outKind
	column *column
}

type outKind int

const (
	outText   outKind = iota // a text of the user's or of ours
	outNumber                // text is a number
	outDay                   // text is a day, YYYY-MM-DD
	outRemark                // explanation or example
	outHead
)

// Write writes every table of in to a folder of CSV files or, if dst ends in .xlsx, to a workbook. Reading what was written
// gives in again, exactly: numbers are written with as many digits as that takes, in the headings' units.
// Files appear whole or not at all, see place in atomic.go. The error is an *ExistsError if there are files in the way.
func Write(dst string, in *planner.Input, opt WriteOptions) error {
	var pages []page
	for i := range tables {
		pages = append(pages, tables[i].page(in, opt.Units == quantity.US))
	}
	pages = append(pages, recordPages(opt.Records, in, opt.Units == quantity.US)...)
	return writePages(dst, pages, opt.Force)
}

// Template writes blank sheets like Write: the headings, a row of remarks that explains the columns, and a remark with an example.
// The sheet of the plant has its settings already, with what is usual.
func Template(dst string, opt WriteOptions) error {
	var pages []page
	for i := range tables {
		pages = append(pages, tables[i].blank(opt.Units == quantity.US))
	}
	return writePages(dst, pages, opt.Force)
}

// RecordTemplate writes blank sheets to record on, like Template.
func RecordTemplate(dst string, opt WriteOptions) error {
	var pages []page
	for i := range recordTables {
		pages = append(pages, recordTables[i].blank(opt.Units == quantity.US))
	}
	return writePages(dst, pages, opt.Force)
}

func writePages(dst string, pages []page, force bool) error {
	switch ext := strings.ToLower(filepath.Ext(dst)); ext {
	case ".xlsx":
		data, err := workbook(pages)
		if err != nil {
			return err
		}
		return PutFile(dst, data, force)
	case ".csv", ".xls", ".xlsm", ".ods":
		return &PlaceError{dst, "can't hold sheets"}
	}
	if info, err := os.Stat(dst); err == nil && !info.IsDir() {
		return &PlaceError{dst, "is a file, not a folder"}
	}
	files := map[string][]byte{}
	for _, p := range pages {
		files[p.table.name+".csv"] = p.csv()
	}
	return PutFolder(dst, files, force)
}

// head is the row of headings.
func (t *table) head(us bool) []out {
	var line []out
	for i := range t.columns {
		line = append(line, out{t.headed(&t.columns[i], us), outHead, &t.columns[i]})
	}
	return line
}

// page is t's sheet with the records of in.
func (t *table) page(in *planner.Input, us bool) page {
	p := place{cal: in.Calendar, currency: in.Plant.Currency}
	if t.sideways {
		return t.settings(t.records(in), us, p)
	}
	pg := page{table: t, lines: [][]out{t.head(us)}}
	list := t.records(in)
	for i := range list.Len() {
		pg.lines = append(pg.lines, t.line(list.Index(i), us, p))
	}
	return pg
}

// line is a record as a row of cells.
func (t *table) line(record reflect.Value, us bool, p place) []out {
	var line []out
	for i := range t.columns {
		line = append(line, t.columns[i].out(record, us, p))
	}
	return line
}

// out is the cell of c for a record.
func (c *column) out(record reflect.Value, us bool, p place) out {
	o := out{text: c.text(record, c.unit(us), p), column: c}
	switch c.kind {
	case kindAmount, kindNumber, kindWhole, kindMeasured:
		o.kind = outNumber
	case kindDay, kindLastDay:
		o.kind = outDay
	case kindText, kindCode, kindParts:
		o.text = guarded(o.text)
	}
	return o
}

// settings is the sheet of a table with one record: setting, value, explanation.
func (t *table) settings(record reflect.Value, us bool, p place) page {
	pg := page{table: t, lines: [][]out{{{"setting", outHead, nil}, {"value", outHead, nil}, {"explanation", outHead, nil}}}}
	for i := range t.columns {
		c := &t.columns[i]
		pg.lines = append(pg.lines, []out{{t.headed(c, us), outText, nil}, c.out(record, us, p), {c.explain, outRemark, nil}})
	}
	return pg
}

// blank is t's sheet of the template.
func (t *table) blank(us bool) page {
	if t.sideways {
		return t.blankSettings(us)
	}
	var explain, example []out
	for i := range t.columns {
		c := &t.columns[i]
		explain = append(explain, out{t.explanation(c), outRemark, c})
		example = append(example, out{t.exampleText(c, us), outRemark, c})
	}
	explain[0].text = "# " + explain[0].text
	example[0].text = "# " + example[0].text
	title := []out{{"# " + t.name + ": " + t.explain + "; rows that begin with # are remarks, the last one here is an example", outRemark, nil}}
	return page{table: t, lines: [][]out{title, t.head(us), explain, example}}
}

// blankSettings is the plant's sheet of the template: an example for each setting is part of its explanation.
func (t *table) blankSettings(us bool) page {
	pg := page{table: t, lines: [][]out{
		{{"# " + t.name + ": " + t.explain + "; rows that begin with # are remarks", outRemark, nil}},
		{{"setting", outHead, nil}, {"value", outHead, nil}, {"explanation", outHead, nil}}}}
	for i := range t.columns {
		c := &t.columns[i]
		value := ""
		if us && c.field == "Units" {
			value = "us"
		}
		pg.lines = append(pg.lines, []out{{t.headed(c, us), outText, nil}, {value, outText, c},
			{t.explanation(c) + ", such as " + t.exampleText(c, us), outRemark, nil}})
	}
	return pg
}

// explanation is a column's line of explanation, with what it may hold where that is not said.
func (t *table) explanation(c *column) string {
	s := c.explain
	if c.kind == kindWord && !strings.Contains(s, c.words[0]) {
		s += ": " + strings.Join(c.words, ", ")
	}
	if c.kind == kindYesNo {
		s += ": yes or no"
	}
	if c.needed {
		s += " (needed)"
	}
	return s
}

// csv is the sheet as the bytes of a CSV file: UTF-8 with a byte order mark, so that spreadsheets take it as such.
func (p page) csv() []byte {
	var b bytes.Buffer
	b.Write(markUTF8)
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	for _, line := range p.lines {
		record := make([]string, len(line))
		for i, o := range line {
			record[i] = o.text
		}
		_ = w.Write(record) // a bytes.Buffer takes everything
	}
	w.Flush()
	return b.Bytes()
}
