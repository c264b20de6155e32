package sheets

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
)

// Apply returns a copy of in with the edits made, one after the other; in is left as it is. What they make of the plant is for
// planner.Input.Check. The error is a *SetError that names the first edit that can't be made.
func Apply(in *planner.Input, list ...planner.Edit) (*planner.Input, error) {
	out := clone(in)
	for _, e := range list {
		if err := applyOne(out, e); err != nil {
			return nil, err
		}
		setZone(out)
	}
	return out, nil
}

// applyOne makes an edit in place.
func applyOne(in *planner.Input, e planner.Edit) error {
	fail := func(f *fault, heading string) error {
		path := strings.ReplaceAll(e.Table+"."+e.Key, " / ", "/")
		if heading != "" {
			path += "." + heading
		}
		return &SetError{strings.TrimSuffix(strings.ReplaceAll(path, "..", "."), "."), e.Cells[heading], f.reason, f.allowed, f.remedy}
	}
	only := "" // the heading, where there is one
	for heading := range e.Cells {
		only = heading
	}
	if len(e.Cells) > 1 {
		only = ""
	}
	t, ok := tableNamed(e.Table)
	if !ok {
		return fail(&fault{reason: "names no table", remedy: nearHeading(e.Table, tableNames())}, only)
	}
	columns, unknown := t.cells(e.Cells)
	if unknown != "" {
		return fail(&fault{reason: "names no column of " + t.name, remedy: nearHeading(unknown, t.headings())}, unknown)
	}
	m := making{table: t, in: in, cells: columns, p: place{cal: in.Calendar, currency: in.Plant.Currency}}
	f, n := m.make(e)
	if f == nil {
		return nil
	}
	for heading := range e.Cells {
		if i, _ := t.column(heading); i == n {
			return fail(f, heading)
		}
	}
	if n >= 0 {
		return fail(f, plainHeading(t.headings()[n]))
	}
	return fail(f, only)
}

// making is an edit at work.
type making struct {
	table *table
	in    *planner.Input
	cells map[int]string // by column
	p     place
}

// make makes the edit; n is the column that is at fault, -1 if it is none.
func (m making) make(e planner.Edit) (f *fault, n int) {
	switch e.Op {
	case planner.EditAdd:
		return m.add()
	case planner.EditDrop:
		return m.drop(e.Key), -1
	}
	record, f := m.table.find(m.in, e.Key)
	if f != nil {
		return f, -1
	}
	for _, n := range slices.Sorted(maps.Keys(m.cells)) { // in order: an end is read by its start
		if n < m.table.keys && !m.table.sideways {
			return &fault{reason: "would rename the row", remedy: "the key can't be set"}, n
		}
		if f := m.put(record, n); f != nil {
			return f, n
		}
	}
	return nil, -1
}

// put sets column n of a record.
func (m making) put(record reflect.Value, n int) *fault {
	c := &m.table.columns[n]
	x, u := splitUnit(c, m.cells[n], m.in.Plant.Units == quantity.US)
	return c.set(record, cell{text: x}, u, m.p)
}

// add adds a record; what is not given is as a blank cell.
func (m making) add() (f *fault, n int) {
	t := m.table
	if t.sideways {
		return &fault{reason: "has no rows to add", remedy: "set its cells"}, -1
	}
	record := reflect.New(t.record()).Elem()
	for n := range t.columns {
		if _, given := m.cells[n]; given {
			f = m.put(record, n)
		} else if f = t.columns[n].setBlank(record, m.p); f != nil {
			f.reason, f.remedy = "is missing", fmt.Sprintf("add %s=%s", strings.ReplaceAll(t.headings()[n], " ", "_"), t.columns[n].example)
		}
		if f != nil {
			return f, n
		}
	}
	key := t.key(record)
	if _, absent := t.find(m.in, key); absent == nil {
		return &fault{reason: fmt.Sprintf("has a row %s already", key), remedy: "give the new one another key, or set the row's cells"}, -1
	}
	list := t.records(m.in)
	list.Set(reflect.Append(list, record))
	return nil, -1
}

// drop takes the record of a key out.
func (m making) drop(key string) *fault {
	if m.table.sideways {
		return &fault{reason: "has no rows to take out", remedy: "set its cells"}
	}
	record, f := m.table.find(m.in, key)
	if f != nil {
		return f
	}
	list := m.table.records(m.in)
	kept := reflect.MakeSlice(list.Type(), 0, list.Len())
	for i := range list.Len() {
		if list.Index(i).Addr().Pointer() != record.Addr().Pointer() {
			kept = reflect.Append(kept, list.Index(i))
		}
	}
	list.Set(kept)
	return nil
}

// cells finds the columns of an edit's cells; unknown is the first heading, by the alphabet, that names none.
func (t *table) cells(given map[string]string) (columns map[int]string, unknown string) {
	columns = map[int]string{}
	for _, heading := range slices.Sorted(maps.Keys(given)) {
		n, ok := t.column(heading)
		if !ok {
			return nil, heading
		}
		columns[n] = given[heading]
	}
	return columns, ""
}
