package sheets

import (
	"fmt"
	"reflect"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// readRecords decodes the sheets of records. What is wrong with one by itself goes to bad.
func (s *source) readRecords(in *planner.Input, sum *Summary) {
	var read []*decoded
	for i, t := range s.tables {
		if t.kind == "" {
			continue
		}
		d := decode(t, s.sheets[i], place{cal: in.Calendar, currency: in.Plant.Currency}, &s.bad)
		for _, r := range d.rows {
			if !d.complete(r, place{cal: in.Calendar, currency: in.Plant.Currency}, &s.bad) {
				continue
			}
			sum.Records = append(sum.Records, recordOf(r.record))
		}
		read = append(read, d)
	}
	sum.trace = func(p planner.Problem) BadCell { return s.trace(read, p) }
	sum.source = s.name
	for _, r := range sum.Records {
		table := records.TableOf(r.Head().Kind)
		for _, p := range r.Check() {
			if !p.Warning {
				s.bad.add(sum.trace(planner.Problem{Table: table, Key: r.Head().Code, Field: planner.FieldName(table, p.Field), Value: p.Value, Allowed: p.Allowed, Remedy: p.Remedy}))
			}
		}
	}
}

// states reports whether the sheets state what there is of lots or stock, or which deliveries and orders are open.
func (s *source) states() bool {
	for _, t := range s.tables {
		switch t.name {
		case planner.TableLots, planner.TableStock, planner.TableDeliveries, planner.TableOrders:
			return true
		}
	}
	return false
}

// Refused is the *Error of records that the book refused, with the cells that they stand in.
func (s Summary) Refused(err *records.Refused) *Error {
	var bad badList
	for _, p := range err.Problems {
		bad.add(s.trace(p))
	}
	return &Error{Source: s.source, Cells: bad.cells, More: bad.more}
}

// Field is a cell of a record's form: what a column of its sheet is.
type Field struct {
	Name    string   // as values are given by: the heading without its unit
	Unit    string   // that a bare number is in; "" for none
	Needed  bool     // may not be blank
	Choices []string // the words allowed; nil for any
	Day     bool     // holds a day, YYYY-MM-DD
	Explain string
	Example string
}

// RecordFields is the fields of a kind of record, for a form or for flags. The code is not needed: one is given to what has none.
func RecordFields(k records.Kind, units quantity.System) []Field {
	t := recordTable(k)
	var list []Field
	for i := range t.columns {
		c := &t.columns[i]
		f := Field{Name: t.heading(c), Unit: c.unit(units == quantity.US).symbol, Needed: c.needed && c.field != "Code", Day: c.kind == kindDay,
			Explain: c.explain, Example: t.exampleText(c, units == quantity.US)}
		if c.kind == kindWord || c.kind == kindYesNo {
			f.Choices = c.words
		}
		list = append(list, f)
	}
	return list
}

// ParseRecord makes a record of values by field name, written as in a sheet; an amount may have a unit behind it, else it is in the
// plant's units. A blank day is today. The error is a *SetError.
func ParseRecord(k records.Kind, values map[string]string, in *planner.Input, today calendar.Day) (records.Record, error) {
	t := recordTable(k)
	record := reflect.New(t.record()).Elem()
	p := place{cal: in.Calendar, currency: in.Plant.Currency}
	given := map[int]string{}
	for name, value := range values {
		i, ok := t.column(name)
		if !ok {
			return nil, &SetError{fmt.Sprintf("%s, %s", k, name), value, "is no field of it", "", nearHeading(name, t.headings())}
		}
		given[i] = value
	}
	for i := range t.columns {
		c, value := &t.columns[i], given[i]
		var f *fault
		switch blank := strings.TrimSpace(value) == ""; {
		case blank && c.field == "Day":
			c.at(record).SetInt(int64(today))
		case blank && c.field == "Code":
		case blank:
			f = c.setBlank(record, p)
		default:
			text, u := splitUnit(c, value, in.Plant.Units == quantity.US)
			f = c.set(record, cell{text: text}, u, p)
		}
		if f != nil {
			return nil, &SetError{fmt.Sprintf("%s, %s", k, t.heading(c)), value, f.reason, f.allowed, f.remedy}
		}
	}
	return recordOf(record), nil
}

// recordPages is a sheet for each kind that there are records of.
func recordPages(list []records.Record, in *planner.Input, us bool) []page {
	p := place{cal: in.Calendar, currency: in.Plant.Currency}
	var pages []page
	for i := range recordTables {
		t := &recordTables[i]
		pg := page{table: t, lines: [][]out{t.head(us)}}
		for _, r := range list {
			if r.Head().Kind == t.kind {
				v := reflect.New(t.record()).Elem()
				v.Set(reflect.ValueOf(r))
				pg.lines = append(pg.lines, t.line(v, us, p))
			}
		}
		if len(pg.lines) > 1 {
			pages = append(pages, pg)
		}
	}
	return pages
}

// RecordValues is a record's fields that are not blank, by name, as ParseRecord reads them with the plant's units.
func RecordValues(r records.Record, in *planner.Input) map[string]string {
	t := recordTable(r.Head().Kind)
	v := reflect.New(t.record()).Elem()
	v.Set(reflect.ValueOf(r))
	out := map[string]string{}
	for i := range t.columns {
		c := &t.columns[i]
		if s := c.text(v, c.unit(in.Plant.Units == quantity.US), place{cal: in.Calendar, currency: in.Plant.Currency}); s != "" {
			out[t.heading(c)] = s
		}
	}
	return out
}
