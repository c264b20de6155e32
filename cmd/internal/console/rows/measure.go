package rows

import (
	"fmt"
	"math"
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// measure prints amounts in the plant's units.
type measure struct {
	sys      quantity.System
	currency string
	start    calendar.Day
	today    calendar.Day
}

func (m measure) us() bool { return m.sys == quantity.US }

// ton is the symbol of large masses: t or short tons.
func (m measure) ton() string {
	if m.us() {
		return "st"
	}
	return "t"
}

// metre is the symbol of lengths.
func (m measure) metre() string {
	if m.us() {
		return "ft"
	}
	return "m"
}

// kg is the symbol of small masses.
func (m measure) kg() string {
	if m.us() {
		return "lb"
	}
	return "kg"
}

func (m measure) inTons(x quantity.Mass) float64 {
	if m.us() {
		return x.ShortTons()
	}
	return x.Tonnes()
}

func (m measure) inKg(x quantity.Mass) float64 {
	if m.us() {
		return x.Pounds()
	}
	return float64(x)
}

func (m measure) inMetres(x quantity.Length) float64 {
	if m.us() {
		return x.Feet()
	}
	return float64(x)
}

// perKg is a price per kilogram or pound.
func (m measure) perKg(x quantity.MassPrice) float64 {
	if m.us() {
		return float64(x) * quantity.KgPerPound
	}
	return float64(x)
}

func (m measure) tons(x quantity.Mass) Cell { return figure(m.inTons(x), 1) }
func (m measure) kgs(x quantity.Mass) Cell  { return figure(m.inKg(x), 0) }
func (m measure) length(x quantity.Length) Cell {
	return figure(m.inMetres(x), 0)
}
func (m measure) money(x quantity.Money) Cell { return figure(float64(x), 0) }

// figure is a number, "–" where there is none.
func figure(x float64, decimals int) Cell {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Cell{Text: "–", Value: nil}
	}
	return Cell{Text: quantity.Grouped(x, decimals), Value: x}
}

func count(n int) Cell               { return Cell{Text: fmt.Sprint(n), Value: n} }
func word(s string) Cell             { return Cell{Text: s, Value: s} }
func toned(s string, tone Tone) Cell { return Cell{Text: s, Tone: tone, Value: s} }
func drawn(s string, tone Tone) Cell { return Cell{Text: s, Tone: tone} }
func (c Cell) in(tone Tone) Cell     { c.Tone = tone; return c }

// day is a date.
func (m measure) day(d calendar.Day) Cell {
	return Cell{Text: m.date(d), Value: d}
}

// date is a day as short as it is clear: without its year within eleven months of the plan's start and of today.
func (m measure) date(d calendar.Day) string {
	far := func(from calendar.Day) bool { return d-from > 330 || from-d > 330 }
	switch {
	case d == 0:
		return "–"
	case far(m.start) || far(m.today):
		return d.String()
	}
	return d.UTC().Format("2 Jan")
}

// weekday is a date with its day of the week.
func (m measure) weekday(d calendar.Day) string {
	if d == 0 {
		return "–"
	}
	return d.UTC().Format("Mon") + " " + m.date(d)
}

// thousands is money in words: 129 thousand, 1.5 million.
func thousands(x quantity.Money) string {
	a := math.Abs(float64(x))
	switch {
	case a >= 999_500:
		return quantity.Grouped(float64(x)/1e6, 2) + " million"
	case a >= 9_950:
		return quantity.Grouped(float64(x)/1e3, 0) + " thousand"
	}
	return quantity.Grouped(float64(x), 0)
}

func percent(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "not known"
	}
	return quantity.Grouped(100*x, 1) + " %"
}

// ago is a time span in words.
func ago(d time.Duration) string {
	switch {
	case d < 0:
		return "just now"
	case d < time.Minute:
		return "just now"
	case d < time.Hour:
		return plural(int(d/time.Minute), "minute") + " ago"
	case d < 48*time.Hour:
		return plural(int(d/time.Hour), "hour") + " ago"
	}
	return plural(int(d/(24*time.Hour)), "day") + " ago"
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}
