package sheets

import (
	"reflect"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/records"
)

// kind is what a column's cells hold.
type kind int

const (
	kindText     kind = iota // anything on one or more lines
	kindCode                 // a code or a name, on one line
	kindWord                 // one of a list of words
	kindWords                // several of a list of words
	kindYesNo                // yes or no
	kindAmount               // an amount of a quantity
	kindNumber               // a number, perhaps with a unit outside of the quantities
	kindWhole                // a whole number
	kindDay                  // a day
	kindLastDay              // the last day of a half-open span: one less than what is stored
	kindClock                // hours and minutes since midnight
	kindEndClock             // likewise, of the next day if not after the start beside it
	kindMoment               // a wall-clock time in the plant's zone
	kindWeekdays             // days of the week
	kindMeasured             // an amount or a number that may be missing
	kindParts                // codes, each with an amount
)

// column describes a column of a sheet and the field of a record that it fills. Everything about a column is said here:
// reading, writing, templates and the documentation follow from it.
type column struct {
	field   string // Go name of the field; of one in a struct within, joined by points
	kind    kind
	within  kind          // of kindMeasured and kindParts: what their numbers are
	amount  quantity.Kind // of kindAmount
	labels  []label       // of kindNumber: its units, the stored one first; none if it is a pure number
	words   []string      // of kindWord and kindWords
	stored  []any         // of kindWord: what each word stands for; nil if the words themselves are stored
	above   bool          // 0 is not allowed
	most    float64       // largest value, in the stored unit; 0 if there is no bound
	needed  bool          // may not be blank
	blank   string        // what a blank cell stands for, as it would be written with a metric heading; "" is nothing, 0
	lanes   bool          // an amount of money in the lane's currency, not the plant's
	explain string
	example string // with a metric heading
}

// label is a unit that quantity does not know. One of it is num÷den of the stored one; both are decimal literals.
type label struct {
	symbol   string
	system   quantity.System
	num, den string
}

func unitless(symbol string) []label { return []label{{symbol, quantity.Metric, "1", "1"}} }

func code(field, explain, example string) column {
	return column{field: field, kind: kindCode, explain: explain, example: example}
}

func text(field, explain, example string) column {
	return column{field: field, kind: kindText, explain: explain, example: example}
}

func word(field string, words []string, explain, example string) column {
	return column{field: field, kind: kindWord, words: words, explain: explain, example: example}
}

func yesNo(field, explain, example string) column {
	return column{field: field, kind: kindYesNo, words: []string{"yes", "no"}, blank: "no", explain: explain, example: example}
}

func amount(field string, k quantity.Kind, explain, example string) column {
	return column{field: field, kind: kindAmount, amount: k, explain: explain, example: example}
}

func share(field, explain, example string) column {
	c := amount(field, quantity.KindShare, explain, example)
	c.most = 1
	return c
}

func money(field, explain, example string) column {
	return amount(field, quantity.KindMoney, explain, example)
}

func mass(field, explain, example string) column {
	return amount(field, quantity.KindMass, explain, example)
}

func length(field, explain, example string) column {
	return amount(field, quantity.KindLength, explain, example)
}

func hours(field, explain, example string) column {
	return amount(field, quantity.KindHours, explain, example)
}

func num(field string, labels []label, explain, example string) column {
	return column{field: field, kind: kindNumber, labels: labels, explain: explain, example: example}
}

func whole(field, explain, example string) column {
	return column{field: field, kind: kindWhole, explain: explain, example: example}
}

func of(k kind, field, explain, example string) column {
	return column{field: field, kind: k, explain: explain, example: example}
}

func (c column) need() column           { c.needed = true; return c }
func (c column) or(blank string) column { c.blank = blank; return c }
func (c column) upTo(x float64) column  { c.most = x; return c }
func (c column) positive() column       { c.above = true; return c }
func (c column) inLanes() column        { c.lanes = true; return c }

// table describes a sheet and the records that it holds.
type table struct {
	name     string
	explain  string
	needed   bool         // a new book can't be without
	sideways bool         // one record, a setting a row
	kind     records.Kind // of the records that a sheet adds; "" for a table of the input
	keys     int          // so many of the first columns tell records apart
	columns  []column
	rows     func(*planner.Input) any // pointer to the slice of records, or to the one record of a table that stands sideways
}

// name is the column's heading without a unit.
func (t *table) heading(c *column) string { return planner.FieldName(t.name, c.field) }

// headings are the columns' headings without units.
func (t *table) headings() []string {
	list := make([]string, len(t.columns))
	for i := range t.columns {
		list[i] = t.heading(&t.columns[i])
	}
	return list
}

// column finds a column by its heading without a unit, in any case and with underscores or hyphens for spaces.
func (t *table) column(heading string) (int, bool) {
	want := plainHeading(heading)
	for i := range t.columns {
		if plainHeading(t.heading(&t.columns[i])) == want {
			return i, true
		}
	}
	return 0, false
}

func plainHeading(s string) string {
	return strings.ToLower(strings.Join(strings.FieldsFunc(s, func(r rune) bool {
		return r == ' ' || r == '_' || r == '-' || r == '\t' || r == '\n' || r == '\r' || r == '\u00a0'
	}), " "))
}

// records is the slice of t's records in in, settable; of one record for a table that stands sideways.
func (t *table) records(in *planner.Input) reflect.Value {
	return reflect.ValueOf(t.rows(in)).Elem()
}

// record is the type of t's records.
func (t *table) record() reflect.Type {
	r := reflect.TypeOf(t.rows(&planner.Input{})).Elem()
	if t.sideways {
		return r
	}
	return r.Elem()
}

// at is the field that c fills in a record.
func (c *column) at(record reflect.Value) reflect.Value {
	for name := range strings.SplitSeq(c.field, ".") {
		record = record.FieldByName(name)
	}
	return record
}

// key is what tells a record of t from the others, as planner.Problem has it.
func (t *table) key(record reflect.Value) string {
	var parts []string
	for i := range t.keys {
		c := &t.columns[i]
		if c.kind == kindDay {
			parts = append(parts, dayText(c.at(record).Int()))
			continue
		}
		parts = append(parts, c.at(record).String())
	}
	return planner.JoinKey(parts...)
}

// tableNamed finds a table by its name, in any case and with spaces or hyphens for underscores.
func tableNamed(name string) (*table, bool) {
	for i := range tables {
		if plainHeading(tables[i].name) == plainHeading(name) {
			return &tables[i], true
		}
	}
	return nil, false
}

// sheetNames is the names of all sheets that can be read.
func sheetNames() []string {
	list := tableNames()
	for i := range recordTables {
		list = append(list, recordTables[i].name)
	}
	return list
}

func tableNames() []string {
	var list []string
	for i := range tables {
		list = append(list, tables[i].name)
	}
	return list
}
