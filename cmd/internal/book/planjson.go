package book

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"time"

	"feedline/planner"
)

// planSchema names the form of a stored plan: planner.Plan's fields by name, numbers that are not finite as the texts "+Inf",
// "-Inf" and "NaN", which JSON has no numbers for. Fields that one side does not know are left out or zero. A change of a field's
// meaning needs a new name here, and a reading of the old.
const planSchema = "feedline.plan/1"

type storedPlan struct {
	Schema string          `json:"schema"`
	Plan   json.RawMessage `json:"plan"`
}

func encodePlan(p *planner.Plan) (string, error) {
	body, err := json.Marshal(plain(reflect.ValueOf(*p)))
	if err != nil {
		return "", err
	}
	b, err := json.Marshal(storedPlan{planSchema, body})
	return string(b), err
}

func decodePlan(s string) (*planner.Plan, error) {
	var doc storedPlan
	if err := json.Unmarshal([]byte(s), &doc); err != nil {
		return nil, damaged("plan: %v", err)
	}
	if doc.Schema != planSchema {
		return nil, fmt.Errorf("the plan is stored as %q, this feedline reads %q: use the feedline that made it, or plan again", doc.Schema, planSchema)
	}
	p := new(planner.Plan)
	if err := restore(doc.Plan, reflect.ValueOf(p).Elem()); err != nil {
		return nil, damaged("plan: %v", err)
	}
	return p, nil
}

var timeType = reflect.TypeFor[time.Time]()

// plain is v for json.Marshal: structs as maps, and floats that are not finite as texts.
func plain(v reflect.Value) any {
	switch {
	case v.Type() == timeType:
		return v.Interface()
	case v.Kind() == reflect.Struct:
		m := make(map[string]any, v.NumField())
		for i := range v.NumField() {
			m[v.Type().Field(i).Name] = plain(v.Field(i))
		}
		return m
	case v.Kind() == reflect.Slice && v.IsNil(), v.Kind() == reflect.Map && v.IsNil():
		return nil
	case v.Kind() == reflect.Slice, v.Kind() == reflect.Array:
		list := make([]any, v.Len())
		for i := range list {
			list[i] = plain(v.Index(i))
		}
		return list
	case v.Kind() == reflect.Map && v.Type().Key().Kind() == reflect.String:
		m := make(map[string]any, v.Len())
		for _, k := range v.MapKeys() {
			m[k.String()] = plain(v.MapIndex(k))
		}
		return m
	case v.Kind() == reflect.Float64:
		if x := v.Float(); math.IsInf(x, 0) || math.IsNaN(x) {
			return strconv.FormatFloat(x, 'g', -1, 64)
		}
		return v.Float()
	case v.Kind() == reflect.Pointer, v.Kind() == reflect.Interface, v.Kind() == reflect.Map, v.Kind() == reflect.Func, v.Kind() == reflect.Chan:
		panic("book: a plan has a field of a kind that can't be stored")
	}
	return v.Interface()
}

// restore reads what plain and json.Marshal made of a value into v.
func restore(b json.RawMessage, v reflect.Value) error {
	switch {
	case v.Type() == timeType || string(b) == "null":
		return json.Unmarshal(b, v.Addr().Interface())
	case v.Kind() == reflect.Struct:
		var m map[string]json.RawMessage
		if err := json.Unmarshal(b, &m); err != nil {
			return err
		}
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			if part, ok := m[name]; ok {
				if err := restore(part, v.Field(i)); err != nil {
					return fmt.Errorf("%s: %w", name, err)
				}
			}
		}
		return nil
	case v.Kind() == reflect.Slice, v.Kind() == reflect.Array:
		return restoreList(b, v)
	case v.Kind() == reflect.Map:
		var m map[string]json.RawMessage
		if err := json.Unmarshal(b, &m); err != nil {
			return err
		}
		v.Set(reflect.MakeMapWithSize(v.Type(), len(m)))
		for k, part := range m {
			x := reflect.New(v.Type().Elem()).Elem()
			if err := restore(part, x); err != nil {
				return fmt.Errorf("%s: %w", k, err)
			}
			v.SetMapIndex(reflect.ValueOf(k).Convert(v.Type().Key()), x)
		}
		return nil
	case v.Kind() == reflect.Float64 && len(b) > 0 && b[0] == '"':
		x, err := strconv.ParseFloat(string(b[1:len(b)-1]), 64)
		v.SetFloat(x)
		return err
	}
	return json.Unmarshal(b, v.Addr().Interface())
}

func restoreList(b json.RawMessage, v reflect.Value) error {
	var list []json.RawMessage
	if err := json.Unmarshal(b, &list); err != nil {
		return err
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(list), len(list)))
	}
	for i := range min(len(list), v.Len()) {
		if err := restore(list[i], v.Index(i)); err != nil {
			return fmt.Errorf("%d: %w", i, err)
		}
	}
	return nil
}
