// Package view holds what a report says of a plan as tables and sentences, once, for every form that a report takes: a page, a
// workbook, CSV files, text. Numbers are in the units of the plant's system, named in the headings.
package view

import (
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
)

// Kind is what a column holds.
type Kind int

// The kinds.
const (
	Text Kind = iota
	Number
	Day
)

// Column is a column of a table.
type Column struct {
	Head     string // in words, unique in its table
	Unit     string // of its numbers; "" if they have none
	Kind     Kind
	Decimals int    // shown of a number
	Prose    bool   // of its texts: sentences
	Sum      bool   // a total over the rows means something
	Formula  string // how a row's number follows from its others, see Table
}

// Heading is the column's name with its unit in brackets, "need [t]".
func (c Column) Heading() string {
	if c.Unit == "" {
		return c.Head
	}
	return c.Head + " [" + c.Unit + "]"
}

// Cell is one cell. What it holds is its column's kind; None is an empty one.
type Cell struct {
	Text   string
	Number float64
	Day    calendar.Day
	None   bool
	Warn   bool // to be marked with a sign
}

// Table is a view of the plan.
//
// A column's Formula names columns in braces: {need} is the cell of the same row, {owed^} that of the row before. Where that row is
// of another group, the formula does not hold. Functions and operators are those that spreadsheets share.
type Table struct {
	Name    string // for files and sheets: lower case, a-z and -
	Title   string
	Note    string // what it says, in a sentence
	Empty   string // what an empty table means
	Columns []Column
	Group   string // head of the column that the rows are grouped by; "" if they are not
	Rows    [][]Cell
}

// Options say how. The zero value is metric.
type Options struct {
	Units quantity.System
	Moved bool // the book has changed since the plan was made
	// Records is what the plant's records say; nil = they were not looked at.
	Records *estimates.Report
}

// All is every view, in the order in which a report gives them.
func All(in *planner.Input, p *planner.Plan, opt Options) []Table {
	m := newMaker(in, p, opt)
	return []Table{m.orderBy(), m.shortages(), m.needHave(), m.linesToRun(), m.runs(), m.lineUse(), m.deliveries(), m.lateOrders(), m.orders(),
		m.pellets(), m.yard(), m.draws(), m.output(), m.rack(), m.lineValues(), m.boundBy(), m.worths(), m.margin(), m.costs(), m.quality(), m.estimates(), m.watched()}
}

// maker makes views of one plan.
type maker struct {
	in       *planner.Input
	p        *planner.Plan
	opt      Options
	profiles map[string]lines.Profile
	orderOf  map[string]planner.Order
	lanes    map[string]inventory.Lane
}

func newMaker(in *planner.Input, p *planner.Plan, opt Options) *maker {
	m := &maker{in: in, p: p, opt: opt, profiles: map[string]lines.Profile{}, orderOf: map[string]planner.Order{}, lanes: map[string]inventory.Lane{}}
	for _, x := range in.Profiles {
		m.profiles[x.Code] = x
	}
	for _, x := range in.Orders {
		m.orderOf[x.Code] = x
	}
	for _, x := range in.Lanes {
		m.lanes[x.Code] = x
	}
	return m
}

// The cells.

func text(s string) Cell      { return Cell{Text: s, None: s == ""} }
func whole(n int) Cell        { return Cell{Number: float64(n)} }
func number(x float64) Cell   { return Cell{Number: x, None: !finite(x)} }
func day(d calendar.Day) Cell { return Cell{Day: d, None: d == 0} }
func warned(c Cell, w bool) Cell {
	c.Warn = w && !c.None
	return c
}

func finite(x float64) bool { return x-x == 0 }

// Worth reports whether a good length is known and long enough for a word.
func Worth(l quantity.Length) bool { return finite(float64(l)) && l >= LeastLength }

func yes(b bool) Cell {
	if b {
		return text("yes")
	}
	return text("no")
}

// The amounts, in the units of the columns below.

func (m *maker) tons(x quantity.Mass) Cell { return number(m.tonUnit().FromStored(float64(x))) }
func (m *maker) mass(x quantity.Mass) Cell {
	return number(m.unit(quantity.KindMass).FromStored(float64(x)))
}
func (m *maker) length(x quantity.Length) Cell {
	return number(m.unit(quantity.KindLength).FromStored(float64(x)))
}

func (m *maker) unit(k quantity.Kind) quantity.Unit { return quantity.DefaultUnit(k, m.opt.Units) }
func (m *maker) tonUnit() quantity.Unit             { return quantity.TonUnit(m.opt.Units) }

// The columns.

func words(head string) Column { return Column{Head: head} }
func prose(head string) Column { return Column{Head: head, Prose: true} }
func date(head string) Column  { return Column{Head: head, Kind: Day} }
func count(head, unit string) Column {
	return Column{Head: head, Unit: unit, Kind: Number}
}
func (m *maker) tonColumn(head string) Column {
	return Column{Head: head, Unit: m.tonUnit().Symbol, Kind: Number, Decimals: 1}
}
func (m *maker) massColumn(head string) Column {
	return Column{Head: head, Unit: m.unit(quantity.KindMass).Symbol, Kind: Number}
}
func (m *maker) lengthColumn(head string) Column {
	return Column{Head: head, Unit: m.unit(quantity.KindLength).Symbol, Kind: Number}
}
func (m *maker) moneyColumn(head string) Column {
	return Column{Head: head, Unit: m.p.Currency, Kind: Number}
}
func hourColumn(head string) Column { return Column{Head: head, Unit: "h", Kind: Number, Decimals: 1} }

func (c Column) summed() Column { c.Sum = true; return c }
func (c Column) by(formula string) Column {
	c.Formula = formula
	return c
}

// periodColumns and period are what a bucket is called: its label, first day and length.
func periodColumns() []Column { return []Column{words("period"), date("from"), count("days", "d")} }

func (m *maker) period(t int) []Cell {
	if t < 0 || t >= len(m.p.Buckets) {
		return []Cell{{None: true}, {None: true}, {None: true}}
	}
	b := m.p.Buckets[t]
	return []Cell{text(b.Label()), day(b.Span.From), whole(b.Span.Days())}
}
