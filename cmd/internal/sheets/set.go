package sheets

import (
	"fmt"
	"reflect"
	"strings"

	"feedline/planner"
)

// SetError says what is wrong with a single cell that was to be set.
type SetError struct {
	Path, Value             string
	Reason, Allowed, Remedy string
}

func (e *SetError) Error() string {
	s := e.Path + " "
	if e.Value != "" {
		s += fmt.Sprintf("= %q ", e.Value)
	}
	s += e.Reason
	if e.Allowed != "" {
		s += "; allowed: " + e.Allowed
	}
	return s
}

// Hint is what to do, "" if Allowed says it.
func (e *SetError) Hint() string { return e.Remedy }

// Set returns a copy of in with one cell changed. path is TABLE.KEY.COLUMN as in the sheets, such as lines.L4.state,
// "rates.L1/SK80.melt" or plant.crew; a column's words may be joined by underscores. value is written as in a sheet;
// an amount may have a unit behind it, 12 t, else it is in the plant's system of units. The error is a *SetError.
func Set(in *planner.Input, path, value string) (*planner.Input, error) {
	e, err := planner.ParseSet(path + "=" + value)
	if err != nil {
		return nil, &SetError{path, value, "names no column", "", err.(*planner.EditError).Remedy}
	}
	return Apply(in, e)
}

// find is the record of a key, whose parts may be joined by a slash with or without spaces.
func (t *table) find(in *planner.Input, key string) (reflect.Value, *fault) {
	list := t.records(in)
	if t.sideways {
		return list, nil
	}
	tight := func(s string) string { return strings.ReplaceAll(s, " / ", "/") }
	var keys []string
	for i := range list.Len() {
		k := t.key(list.Index(i))
		if tight(k) == tight(key) {
			return list.Index(i), nil
		}
		keys = append(keys, k)
	}
	for i, k := range keys { // rates.L1.SK80.melt is what one would try first
		if t.keys > 1 && strings.ReplaceAll(tight(k), "/", ".") == key {
			return list.Index(i), nil
		}
	}
	f := &fault{reason: fmt.Sprintf("names no row of %s", t.name)}
	if near, ok := planner.Nearest(key, keys); ok {
		f.remedy = fmt.Sprintf("did you mean %q?", near)
	}
	return reflect.Value{}, f
}

// splitUnit takes a unit off the end of an amount.
func splitUnit(c *column, value string, us bool) (string, unit) {
	u, s := c.unit(us), strings.TrimSpace(value)
	if c.kind == kindParts || c.base() != kindAmount && (c.base() != kindNumber || len(c.labels) == 0) || numeric.MatchString(s) {
		return s, u
	}
	for i := len(s) - 1; i > 0; i-- {
		head, tail := strings.TrimSpace(s[:i]), strings.TrimSpace(s[i:])
		if !numeric.MatchString(head) {
			continue
		}
		if c.base() == kindNumber {
			if l, f := c.readLabel(tail, true); f == nil {
				return head, l
			}
		} else if tail != "%" { // which is read with the number
			return head, unit{symbol: tail}
		}
		break // what is before it is the longest number
	}
	return s, u
}
