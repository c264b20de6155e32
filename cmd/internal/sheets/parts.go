package sheets

import (
	"reflect"
	"regexp"
	"strings"

	"feedline/planner/records"
)

// setMeasured reads a result that may be missing.
func (c *column) setMeasured(field reflect.Value, x cell, u unit, p place) *fault {
	var v float64
	within := *c
	within.kind = c.within
	if f := within.setNumber(reflect.ValueOf(&v).Elem(), x, u, p); f != nil {
		return f
	}
	field.Set(reflect.ValueOf(records.Is(v)))
	return nil
}

func (c *column) measuredText(field reflect.Value, u unit) string {
	m := field.Interface().(records.Measured)
	if !m.Known {
		return ""
	}
	within := *c
	within.kind, within.needed = c.within, true // so that 0 shows
	return within.numberText(reflect.ValueOf(m.Value), u)
}

// onePart is a code with an amount behind it.
var onePart = regexp.MustCompile(`^(.+?)(?:\s*[=:]\s*|\s+)([\d.,'’_]+(?:\s*[^\d\s]\S*)?)$`)

// setParts reads codes with amounts: A-2231 1200; A-2229 800. An amount may have a unit of its own behind it.
func (c *column) setParts(field reflect.Value, x cell, u unit, p place) *fault {
	within := *c
	within.kind, within.above = c.within, true
	list := reflect.MakeSlice(field.Type(), 0, 2)
	for _, s := range strings.FieldsFunc(x.text, func(r rune) bool { return r == ';' || r == '\n' }) {
		if strings.TrimSpace(s) == "" {
			continue
		}
		m := onePart.FindStringSubmatch(strings.TrimSpace(s))
		if m == nil {
			return &fault{reason: "is no list of codes with amounts", remedy: "write it as " + c.example}
		}
		item := reflect.New(field.Type().Elem()).Elem()
		item.Field(0).SetString(m[1])
		number, own := splitUnit(&within, m[2], false)
		if numeric.MatchString(m[2]) {
			own = u
		}
		if f := within.setNumber(item.Field(1), cell{text: number, semi: x.semi}, own, p); f != nil {
			return f
		}
		list = reflect.Append(list, item)
	}
	field.SetZero()
	if list.Len() > 0 {
		field.Set(list)
	}
	return nil
}

func (c *column) partsText(field reflect.Value, u unit) string {
	within := *c
	within.kind, within.needed = c.within, true
	var list []string
	for i := range field.Len() {
		item := field.Index(i)
		list = append(list, item.Field(0).String()+" "+within.numberText(item.Field(1), u))
	}
	return strings.Join(list, "; ")
}
