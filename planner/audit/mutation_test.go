package audit

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"feedline/lines/calendar"
	"feedline/planner"
)

// unaudited are the fields of a plan that nothing in the book or the plan can contradict.
var unaudited = map[string]string{
	"Made":    "the clock it was made at",
	"Solve":   "the time it took",
	"Size":    "the size of a model that the audit does not know",
	"Stop":    "why the solver stopped",
	"Warm":    "bases to start from, which say nothing of the plant",
	"Relaxed": "the first bound, for plans made from this one",
}

// other is a code that exists and is not s.
var other = map[string]string{"A": "B", "B": "A", "C": "A", "P": "Q", "Q": "P", "": "P", "W": "X", "HI": "IN", "IN": "VP", "VP": "HI", "R": "V", "V": "R",
	"O1": "O3", "O2": "O1", "O3": "O4", "O4": "O5", "O5": "O6"}

// changes lists what a mutation may make of a value, none of them the value itself.
func changes(v reflect.Value) []any {
	switch x := v.Interface().(type) {
	case calendar.Day:
		return []any{x + 1, x - 1}
	case string:
		if o, ok := other[x]; ok {
			return []any{"?", o}
		}
		return []any{"?"}
	}
	switch v.Kind() {
	case reflect.Float64:
		if math.IsInf(v.Float(), 0) {
			return []any{5.0}
		}
		return []any{v.Float()*1.07 + 5, v.Float()*0.9 - 0.5}
	case reflect.Int:
		return []any{v.Int() + 1, v.Int() - 1}
	case reflect.Bool:
		return []any{!v.Bool()}
	}
	return nil
}

// walk calls visit with every field of v that is no struct or slice, and with each element of a slice that can be cut out.
func walk(v reflect.Value, path string, visit func(path string, v reflect.Value)) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; unaudited[name] == "" {
				walk(v.Field(i), path+"."+name, visit)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			walk(v.Index(i), fmt.Sprintf("%s[%d]", path, i), visit)
		}
		visit(path, v)
	default:
		visit(path, v)
	}
}

// at finds the value under a path that walk gave.
func at(p *planner.Plan, path string) (found reflect.Value) {
	walk(reflect.ValueOf(p).Elem(), "Plan", func(s string, v reflect.Value) {
		if s == path {
			found = v
		}
	})
	return found
}

// TestEveryFieldCounts changes each field of each row of the hand-made plan in turn, and cuts each row out and doubles it:
// the audit must object every time.
func TestEveryFieldCounts(t *testing.T) {
	in, paths := tinyBook(), []string{}
	walk(reflect.ValueOf(tinyPlan()).Elem(), "Plan", func(path string, _ reflect.Value) { paths = append(paths, path) })
	tried := 0
	for _, path := range paths {
		for _, edit := range edits(at(tinyPlan(), path)) {
			p := tinyPlan()
			what := edit(at(p, path))
			tried++
			if Plan(in, p).OK() {
				t.Errorf("%s %s: the audit finds nothing", path, what)
			}
		}
	}
	if tried < 1000 {
		t.Errorf("%d mutations tried, want over 1000", tried)
	}
	t.Logf("%d mutations", tried)
}

// edits lists the mutations of a value.
func edits(v reflect.Value) []func(reflect.Value) string {
	var list []func(reflect.Value) string
	for _, c := range changes(v) {
		list = append(list, func(v reflect.Value) string {
			was := fmt.Sprint(v.Interface())
			v.Set(reflect.ValueOf(c).Convert(v.Type()))
			return fmt.Sprintf("%s → %v", was, v.Interface())
		})
	}
	if v.Kind() != reflect.Slice {
		return list
	}
	for i := range v.Len() {
		list = append(list, func(v reflect.Value) string {
			v.Set(reflect.AppendSlice(v.Slice3(0, i, i), v.Slice(i+1, v.Len())))
			return fmt.Sprintf("without row %d", i)
		}, func(v reflect.Value) string {
			v.Set(reflect.Append(v, v.Index(i)))
			return fmt.Sprintf("with row %d twice", i)
		})
	}
	return list
}
