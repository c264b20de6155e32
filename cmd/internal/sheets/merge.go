package sheets

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"feedline/planner"
)

// Change counts what an import does to a table.
type Change struct {
	Table                              string
	Added, Changed, Unchanged, Removed int
}

// String is such as "orders: 3 new, 2 changed, 1 taken out".
func (c Change) String() string {
	var parts []string
	for _, p := range []struct {
		n    int
		what string
	}{{c.Added, "new"}, {c.Changed, "changed"}, {c.Removed, "taken out"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.what))
		}
	}
	if len(parts) == 0 {
		return c.Table + ": no change"
	}
	return c.Table + ": " + strings.Join(parts, ", ")
}

// clone is a copy of in whose tables can be changed; records share only what is never changed in place.
func clone(in *planner.Input) *planner.Input {
	out := &planner.Input{}
	if in == nil {
		return out
	}
	*out = *in
	for i := range tables {
		if list := tables[i].records(out); !tables[i].sideways && !list.IsNil() {
			fresh := reflect.MakeSlice(list.Type(), list.Len(), list.Len())
			reflect.Copy(fresh, list)
			list.Set(fresh)
		}
	}
	return out
}

// merge puts the rows of a sheet into in: rows with a known key update its record in the columns that the sheet has,
// others are added at the end. With replace, records that the sheet does not name are taken out, and the sheet's order counts.
func (d *decoded) merge(in *planner.Input, replace bool, p place, bad *badList) Change {
	if d.table.sideways {
		return d.mergeOne(in, p, bad)
	}
	t, list := d.table, d.table.records(in)
	at := map[string]int{}
	for i := range list.Len() {
		at[t.key(list.Index(i))] = i
	}
	ch := Change{Table: t.name}
	var order []int
	for _, r := range d.rows {
		i, known := at[r.key]
		if known {
			before := reflect.New(t.record()).Elem()
			before.Set(list.Index(i))
			d.update(list.Index(i), r)
			if same(before, list.Index(i)) {
				ch.Unchanged++
			} else {
				ch.Changed++
			}
		} else if d.complete(r, p, bad) {
			list.Set(reflect.Append(list, r.record))
			i = list.Len() - 1
			ch.Added++
		} else {
			d.faulty = append(d.faulty, r)
			continue
		}
		order = append(order, i)
	}
	if replace {
		ch.Removed = list.Len() - len(order)
		kept := reflect.MakeSlice(list.Type(), 0, len(order))
		for _, i := range order {
			kept = reflect.Append(kept, list.Index(i))
		}
		list.Set(kept)
	}
	return ch
}

// mergeFaulty puts what can be read of the rows that can't be taken over into in, so that what other rows say of them can be judged.
func (d *decoded) mergeFaulty(in *planner.Input) {
	if d.table.sideways {
		return
	}
	list, at := d.table.records(in), map[string]int{}
	for i := range list.Len() {
		at[d.table.key(list.Index(i))] = i
	}
	for _, r := range d.faulty {
		n, known := at[r.key]
		if !known {
			at[r.key] = list.Len()
			list.Set(reflect.Append(list, r.record))
			continue
		}
		for i := range d.table.columns {
			if c := &d.table.columns[i]; d.has[i].heading != "" && (r.bad == nil || !r.bad[i]) {
				c.at(list.Index(n)).Set(c.at(r.record))
			}
		}
	}
}

// mergeOne takes over the settings that a sheet has.
func (d *decoded) mergeOne(in *planner.Input, p place, bad *badList) Change {
	ch := Change{Table: d.table.name}
	one := d.table.records(in)
	for _, r := range d.rows {
		before := reflect.New(d.table.record()).Elem()
		before.Set(one)
		if one.IsZero() && !d.complete(r, p, bad) {
			continue
		}
		d.update(one, r)
		switch {
		case same(before, one):
			ch.Unchanged++
		case before.IsZero():
			ch.Added++
		default:
			ch.Changed++
		}
	}
	return ch
}

// update copies the columns that the sheet has.
func (d *decoded) update(to reflect.Value, r row) {
	for i := range d.table.columns {
		if d.has[i].heading != "" {
			c := &d.table.columns[i]
			c.at(to).Set(c.at(r.record))
		}
	}
}

// complete fills the columns that the sheet lacks with what a blank stands for; false if one of them is needed.
func (d *decoded) complete(r row, p place, bad *badList) bool {
	ok := true
	for i := range d.table.columns {
		c := &d.table.columns[i]
		if d.has[i].heading != "" || c.setBlank(r.record, p) == nil {
			continue
		}
		b := BadCell{File: d.grid.file, Sheet: d.grid.sheet, Row: r.line.row, Value: r.key, Reason: "is new and has no " + d.table.heading(c),
			Remedy: fmt.Sprintf("add a column with the heading %q", d.table.headed(c, false))}
		if d.table.sideways {
			b.Row, b.Reason = 0, "has no setting "+d.table.heading(c)
			b.Remedy = fmt.Sprintf("add a row for %q", d.table.headed(c, false))
		}
		bad.add(b)
		ok = false
	}
	return ok
}

// same reports whether two records are equal.
func same(a, b reflect.Value) bool {
	return reflect.DeepEqual(a.Interface(), b.Interface())
}

// names lists tables for a message.
func names(list []*table) string {
	var s []string
	for _, t := range list {
		s = append(s, t.name)
	}
	slices.Sort(s)
	return strings.Join(s, ", ")
}
