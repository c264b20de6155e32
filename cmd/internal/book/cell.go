package book

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"feedline/lines/calendar"
)

// cell is a column of a table, bound to the field of one record that it is kept in.
type cell struct {
	name  string
	names []string // tables one of which must have its value as a code; none if it is no code
	get   func() any
	set   func(v any) error
}

// Values are what SQLite holds: nil, string, int64 or float64.

// text keeps a string, or a word of an enumeration, as it is.
func text[S ~string](name string, p *S) cell {
	return cell{name: name, get: func() any { return string(*p) }, set: put(func(s string) error { *p = S(s); return nil })}
}

// known keeps a code that one of the tables must have.
func known[S ~string](name string, p *S, tables ...string) cell {
	c := text(name, p)
	c.names = tables
	return c
}

// maybe keeps a code that a table must have, and "" as null.
func maybe(name string, p *string, table string) cell {
	return optional(known(name, p, table), func() bool { return *p == "" }, func() { *p = "" })
}

// optional keeps a field as null while it is empty.
func optional(c cell, empty func() bool, clear func()) cell {
	get, set := c.get, c.set
	c.get = func() any {
		if empty() {
			return nil
		}
		return get()
	}
	c.set = func(v any) error {
		if v == nil {
			clear()
			return nil
		}
		return set(v)
	}
	return c
}

// number keeps an amount. What is not a number is kept as null, which the schema refuses.
func number[F ~float64](name string, p *F) cell {
	get := func() any {
		if math.IsNaN(float64(*p)) {
			return nil
		}
		return float64(*p)
	}
	return cell{name: name, get: get, set: put(func(x float64) error { *p = F(x); return nil })}
}

// whole keeps an integer.
func whole(name string, p *int) cell {
	return cell{name: name, get: func() any { return int64(*p) }, set: put(func(n int64) error { *p = int(n); return nil })}
}

// yes keeps a truth as 0 or 1.
func yes(name string, p *bool) cell {
	get := func() any {
		if *p {
			return int64(1)
		}
		return int64(0)
	}
	return cell{name: name, get: get, set: put(func(n int64) error { *p = n != 0; return nil })}
}

// word keeps a value of an enumeration that counts from 0 as its word.
func word[I ~int](name string, p *I, words ...string) cell {
	get := func() any {
		if *p < 0 || int(*p) >= len(words) {
			return strconv.Itoa(int(*p)) // which the schema refuses
		}
		return words[*p]
	}
	return cell{name: name, get: get, set: put(func(s string) error {
		n := slices.Index(words, s)
		if n < 0 {
			return damaged("%s %q", name, s)
		}
		*p = I(n)
		return nil
	})}
}

// words keeps a list of words as a JSON array; an empty one is read as nil.
func words(name string, p *[]string) cell {
	get := func() any {
		b, err := json.Marshal(append([]string{}, *p...))
		if err != nil {
			panic("book: a list of strings is no JSON")
		}
		return string(b)
	}
	return cell{name: name, get: get, set: put(func(s string) error {
		var list []string
		if err := json.Unmarshal([]byte(s), &list); err != nil {
			return damaged("%s %q", name, s)
		}
		*p = nil
		if len(list) > 0 {
			*p = list
		}
		return nil
	})}
}

// date keeps a day as YYYY-MM-DD, and 0, which stands for none, as null.
func date(name string, p *calendar.Day) cell {
	c := cell{name: name, get: func() any { return p.String() }, set: put(func(s string) error {
		d, err := calendar.ParseDay(s)
		if err != nil {
			return damaged("%s: %v", name, err)
		}
		*p = d
		return nil
	})}
	return optional(c, func() bool { return *p == 0 }, func() { *p = 0 })
}

// clock keeps a time since midnight as HH:MM. One that is not in whole minutes is kept as it prints, which the schema refuses.
func clock(name string, p *time.Duration) cell {
	get := func() any {
		if *p%time.Minute != 0 || *p < 0 {
			return p.String()
		}
		return calendar.FormatClock(*p)
	}
	return cell{name: name, get: get, set: put(func(s string) error {
		var h, m int
		if _, err := fmt.Sscanf(s, "%02d:%02d", &h, &m); err != nil {
			return damaged("%s %q", name, s)
		}
		*p = time.Duration(h)*time.Hour + time.Duration(m)*time.Minute
		return nil
	})}
}

// weekLetters are the days of the week as a set of them is kept, Monday first.
const weekLetters = "MTWTFSS"

// weekdays keeps days of the week as letters, Monday first, with a hyphen for those that are not meant.
func weekdays(name string, p *[7]bool) cell {
	get := func() any {
		b := []byte("-------")
		for i := range b {
			if p[(i+1)%7] {
				b[i] = weekLetters[i]
			}
		}
		return string(b)
	}
	return cell{name: name, get: get, set: put(func(s string) error {
		if len(s) != len(weekLetters) {
			return damaged("%s %q", name, s)
		}
		for i := range len(s) {
			p[(i+1)%7] = s[i] != '-'
		}
		return nil
	})}
}

// put makes a setter of values of any type of one of values of type V.
func put[V any](f func(V) error) func(any) error {
	return func(v any) error {
		x, ok := v.(V)
		if !ok {
			return damaged("a value of type %T", v)
		}
		return f(x)
	}
}
