package sheets

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"feedline/lines/calendar"
	"feedline/planner"
)

// place is what the cells of a sheet are read by beside their column.
type place struct {
	cal      calendar.Calendar
	currency string // the plant's, which may stand before the unit of a price
}

// set reads cell x of column c into record, or says what is wrong with it.
func (c *column) set(record reflect.Value, x cell, u unit, p place) *fault {
	if x.fault != "" {
		return &fault{reason: x.fault, remedy: x.remedy}
	}
	if x.empty() {
		return c.setBlank(record, p)
	}
	if len(x.text) > mostText {
		return &fault{reason: fmt.Sprintf("is longer than %d characters", mostText)}
	}
	field := c.at(record)
	switch c.kind {
	case kindText, kindCode, kindWord, kindWords, kindYesNo, kindWeekdays:
		return c.setText(field, x)
	case kindAmount, kindNumber, kindWhole:
		return c.setNumber(field, x, u, p)
	case kindDay, kindLastDay:
		d, f := readDay(x)
		if c.kind == kindLastDay {
			d++
		}
		field.SetInt(int64(d))
		return f
	case kindClock, kindEndClock:
		d, f := readClock(x)
		if start := record.FieldByName("Start"); c.kind == kindEndClock && d <= time.Duration(start.Int()) {
			d += 24 * time.Hour
		}
		field.SetInt(int64(d))
		return f
	case kindMeasured:
		return c.setMeasured(field, x, u, p)
	case kindParts:
		return c.setParts(field, x, u, p)
	case kindMoment:
		t, f := readMoment(x, p.cal)
		field.Set(reflect.ValueOf(t))
		return f
	}
	panic("sheets: column of no kind")
}

// setBlank gives the field of a blank cell what it stands for.
func (c *column) setBlank(record reflect.Value, p place) *fault {
	field := c.at(record)
	field.SetZero()
	switch {
	case c.needed:
		return &fault{reason: "is blank", remedy: "fill it in, such as " + c.example}
	case c.blank != "":
		return c.set(record, cell{text: c.blank}, c.unit(false), p)
	}
	return nil
}

func (c *column) setText(field reflect.Value, x cell) *fault {
	if x.date {
		return &fault{reason: "was taken for a date by the spreadsheet", remedy: "format the cell as text and write it again"}
	}
	s := unguarded(x.text)
	switch {
	case control(s):
		return &fault{reason: "holds a character that can't be shown", remedy: "write it again"}
	case c.kind == kindCode && strings.ContainsAny(s, "\n\t"):
		return &fault{reason: "goes over several lines", remedy: "write it on one line"}
	}
	switch c.kind {
	case kindText, kindCode:
		field.SetString(s)
	case kindWord:
		return c.setWord(field, s)
	case kindWords:
		return c.setWords(field, s)
	case kindYesNo:
		yes, ok := readYesNo(s)
		field.SetBool(yes)
		if !ok {
			return &fault{reason: "is neither yes nor no", allowed: "yes, no"}
		}
	case kindWeekdays:
		d, err := calendar.ParseWeekdays(s)
		if err != nil {
			return &fault{reason: "is not a list of weekdays", remedy: "write days such as mon-fri, or sat sun, or daily"}
		}
		field.Set(reflect.ValueOf(d))
	}
	return nil
}

func readYesNo(s string) (yes, ok bool) {
	switch strings.ToLower(s) {
	case "yes", "y", "true", "1", "x":
		return true, true
	case "no", "n", "false", "0":
		return false, true
	}
	return false, false
}

// wordIndex finds a word of the column's in any case.
func (c *column) wordIndex(s string) (int, *fault) {
	for i, w := range c.words {
		if plainHeading(w) == plainHeading(s) {
			return i, nil
		}
	}
	f := &fault{reason: "is not a word that is known here", allowed: strings.Join(c.words, ", ")}
	if near, ok := planner.Nearest(s, c.words); ok {
		f.remedy = fmt.Sprintf("did you mean %q?", near)
	}
	return 0, f
}

func (c *column) setWord(field reflect.Value, s string) *fault {
	i, f := c.wordIndex(s)
	switch {
	case f != nil:
		return f
	case c.stored == nil:
		field.SetString(c.words[i])
	default:
		field.Set(reflect.ValueOf(c.stored[i]))
	}
	return nil
}

func (c *column) setWords(field reflect.Value, s string) *fault {
	var list []string
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" ,;/+\n\t", r) }) {
		i, f := c.wordIndex(w)
		if f != nil {
			return f
		}
		if !slices.Contains(list, c.words[i]) {
			list = append(list, c.words[i])
		}
	}
	field.Set(reflect.ValueOf(list))
	return nil
}

// setNumber reads a number and holds it against the column's range.
func (c *column) setNumber(field reflect.Value, x cell, u unit, p place) *fault {
	if x.date {
		return &fault{reason: "was taken for a date by the spreadsheet", remedy: "format the cell as a number and write it again"}
	}
	s := strings.TrimPrefix(strings.TrimSpace(x.text), "'")
	if x.percent && u.symbol == "%" {
		u.symbol = ""
	}
	if x.semi {
		if f := eitherPoint(s); f != nil {
			return f
		}
	}
	var v float64
	var f *fault
	if c.kind == kindAmount {
		v, f = readAmount(c.amount, s, u, c.currency(p))
	} else {
		v, f = readNumber(s, u)
	}
	if f != nil {
		return f
	}
	if v < 0 || c.above && v == 0 || c.most > 0 && v > c.most {
		return &fault{reason: "is out of range", allowed: c.allowed(u)}
	}
	if c.kind == kindWhole {
		if v != math.Trunc(v) || v > 1e9 {
			return &fault{reason: "is not a whole number", allowed: c.allowed(u)}
		}
		field.SetInt(int64(v))
		return nil
	}
	field.SetFloat(v + 0) // no negative zero
	return nil
}

func (c *column) currency(p place) string {
	if c.lanes {
		return ""
	}
	return p.currency
}

// text is what record has in column c, as set reads it; "" stands for nothing where a blank cell does too.
func (c *column) text(record reflect.Value, u unit, p place) string {
	field := c.at(record)
	switch c.kind {
	case kindText, kindCode:
		return field.String()
	case kindWord:
		return c.wordText(field)
	case kindWords:
		return strings.Join(field.Interface().([]string), " ")
	case kindYesNo:
		return map[bool]string{true: "yes", false: "no"}[field.Bool()]
	case kindAmount, kindNumber, kindWhole:
		return c.numberText(field, u)
	case kindMeasured:
		return c.measuredText(field, u)
	case kindParts:
		return c.partsText(field, u)
	case kindDay, kindLastDay:
		d := field.Int()
		if d == 0 {
			return ""
		}
		if c.kind == kindLastDay {
			d--
		}
		return dayText(d)
	case kindClock:
		return clockText(time.Duration(field.Int()))
	case kindEndClock:
		end, start := time.Duration(field.Int()), time.Duration(record.FieldByName("Start").Int())
		if end > 24*time.Hour && end-24*time.Hour <= start {
			end -= 24 * time.Hour
		}
		return clockText(end)
	case kindMoment:
		if t := field.Interface().(time.Time); !t.IsZero() {
			return momentText(t, p.cal)
		}
		return ""
	case kindWeekdays:
		return calendar.FormatWeekdays(field.Interface().([7]bool))
	}
	panic("sheets: column of no kind")
}

func (c *column) wordText(field reflect.Value) string {
	if c.stored == nil {
		return field.String()
	}
	for i, v := range c.stored {
		if field.Interface() == v {
			return c.words[i]
		}
	}
	return ""
}

func (c *column) numberText(field reflect.Value, u unit) string {
	if c.kind == kindWhole {
		if field.Int() == 0 && c.blank == "" && !c.needed {
			return ""
		}
		return strconv.FormatInt(field.Int(), 10)
	}
	v := field.Float()
	if v == 0 && c.blank == "" && !c.needed {
		return ""
	}
	if c.kind == kindNumber {
		return numberText(v, u)
	}
	return amountText(c.amount, v, u)
}
