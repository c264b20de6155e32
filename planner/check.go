package planner

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Names of the plant book's tables, as the sheets have them.
const (
	TablePlant       = "plant"
	TableMaterials   = "materials"
	TableGrades      = "grades"
	TableRecipes     = "recipes"
	TableSteps       = "steps"
	TableStepYields  = "step_yields"
	TableProfiles    = "profiles"
	TableLines       = "lines"
	TableRates       = "rates"
	TableChangeovers = "changeovers"
	TableShifts      = "shifts"
	TableClosures    = "closures"
	TableOutages     = "outages"
	TableSuppliers   = "suppliers"
	TableLanes       = "lanes"
	TableDeliveries  = "deliveries"
	TableLots        = "lots"
	TableStock       = "stock"
	TableOrders      = "orders"
	TableForecast    = "forecast"
	TablePins        = "pins"
	TableReasons     = "reasons"
	TableLimits      = "limits"
	TableOverrules   = "overrules"
)

// Names of the tables of what was recorded, which are no part of an Input.
const (
	TableReceipts    = "receipts"
	TableTests       = "tests"
	TableProcessRuns = "process_runs"
	TableRuns        = "runs"
	TableCounts      = "counts"
	TableETAChanges  = "eta_changes"
	TableShipments   = "shipments"
)

// Problem is something wrong or doubtful about an Input. Table, Key and Field are named as in the sheets:
// the parts of a key of more than one column are joined by " / ", and the plant's key is "".
type Problem struct {
	Table, Key, Field string
	Value             string // as it stands
	Allowed           string // what would be right
	Remedy            string // what to do; "" if Allowed says it
	Warning           bool   // doubtful, but a plan can be made
}

// String is one line, such as `orders A-17: profile "P9": allowed a profile's code; did you mean "P8"?`.
func (p Problem) String() string {
	rest := quantity.Problem{Field: p.Field, Value: p.Value, Allowed: p.Allowed, Remedy: p.Remedy}.String()
	return strings.TrimSpace(p.Table+" "+p.Key) + ": " + rest
}

// JoinKey is the Key of a Problem for a record that is known by several columns.
func JoinKey(parts ...string) string { return strings.Join(parts, " / ") }

// Check lists what is wrong or doubtful, sorted by table in the order of the book, then by record; today is the day that
// the plan is to start on. Errors, which are problems that are no warnings, keep a plan from being made. in is not changed.
func (in *Input) Check(today calendar.Day) []Problem {
	c := checker{in: in, today: today, seen: map[[3]string]bool{}}
	for _, t := range in.tables() {
		c.records(t)
	}
	c.plant()
	c.links()
	c.feed()
	c.supply()
	c.floor()
	c.shifts()
	c.demand()
	c.pins()
	slices.SortStableFunc(c.list, func(a, b Problem) int { return cmp.Compare(rank[a.Table], rank[b.Table]) })
	return c.list
}

// CheckRecords lists what is wrong with records by themselves: what Check finds in each without looking at others.
func (in *Input) CheckRecords() []Problem {
	c := checker{in: in, seen: map[[3]string]bool{}}
	for _, t := range in.tables() {
		c.records(t)
	}
	return c.list
}

// CheckLinks lists the codes that records name and that are not there, as Check does. Codes of tables that unread reports to be known in part
// only are passed over.
func (in *Input) CheckLinks(unread func(table string) bool) []Problem {
	c := checker{in: in, seen: map[[3]string]bool{}, unread: unread}
	c.links()
	slices.SortStableFunc(c.list, func(a, b Problem) int { return cmp.Compare(rank[a.Table], rank[b.Table]) })
	return c.list
}

// checker gathers problems.
type checker struct {
	in     *Input
	today  calendar.Day
	list   []Problem
	seen   map[[3]string]bool      // table, key and field of the faults so far: one word about a cell is enough
	unread func(table string) bool // reports tables whose codes are not all known; nil for none
}

// add adds p unless the cell is known to be at fault.
func (c *checker) add(p Problem) {
	cell := [3]string{p.Table, p.Key, p.Field}
	if c.seen[cell] {
		return
	}
	if !p.Warning {
		c.seen[cell] = true
	}
	c.list = append(c.list, p)
}

// table is a table of the input for what is checked alike in all of them.
type table struct {
	name string
	rows any                  // a slice of records
	key  func(row any) string // "" for rows that need none
}

// ownCheck is what a record says is wrong with itself, about days as the sheets count them.
func ownCheck(row any) []quantity.Problem {
	switch r := row.(type) {
	case calendar.Closure:
		var q quantity.Checks
		q.Named("Code", r.Code)
		checkSpan(&q, "Span.", r.Span.From, r.Span.To)
		return q.Problems()
	case inventory.Lane:
		list := slices.DeleteFunc(r.Check(), func(p quantity.Problem) bool { return p.Field == "To" })
		if r.From == 0 && r.To == 0 {
			return list
		}
		var q quantity.Checks
		checkSpan(&q, "", r.From, r.To)
		return append(list, q.Problems()...)
	}
	if r, ok := row.(interface{ Check() []quantity.Problem }); ok {
		return r.Check()
	}
	var list []quantity.Problem
	if r, ok := row.(interface{ Check() []calendar.Problem }); ok {
		for _, p := range r.Check() {
			list = append(list, quantity.Problem(p))
		}
	}
	return list
}

// records checks each record of a table by itself: its own Check, then amounts that can't be, then its key.
func (c *checker) records(t table) {
	rows := reflect.ValueOf(t.rows)
	first, alike := map[string]bool{}, map[string]string{}
	for i := range rows.Len() {
		row := rows.Index(i)
		key := t.key(row.Interface())
		for _, p := range ownCheck(row.Interface()) {
			c.add(Problem{Table: t.name, Key: key, Field: FieldName(t.name, p.Field), Value: p.Value,
				Allowed: p.Allowed, Remedy: p.Remedy, Warning: p.Warning})
		}
		c.amounts(t.name, key, "", row)
		if first[key] && t.name != TablePlant {
			c.add(Problem{Table: t.name, Key: key, Field: "", Value: quoted(key), Allowed: "each key once",
				Remedy: "take one of the rows out or give it a key of its own"})
		}
		if other, ok := alike[strings.ToLower(key)]; ok && other != key && t.name != TablePlant {
			c.add(Problem{Table: t.name, Key: key, Field: "", Value: quoted(key), Allowed: "a key that differs from others by more than capitals",
				Remedy: fmt.Sprintf("there is %q as well: if both are the same, take one of them out", other), Warning: true})
		}
		first[key], alike[strings.ToLower(key)] = true, key
	}
}

// rank orders the tables as the book does.
var rank = func() map[string]int {
	r := map[string]int{}
	for i, t := range (&Input{}).tables() {
		r[t.name] = i
	}
	return r
}()
