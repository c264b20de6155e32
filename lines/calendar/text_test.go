package calendar

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestParseWeekdays(t *testing.T) {
	for text, want := range map[string]string{
		"mon-fri": "mon-fri", "Mon - Fri": "mon-fri", "mon tue sat": "mon tue sat", "sat,sun": "sat sun",
		"fri-mon": "mon fri-sun", "daily": "daily", "monday, wednesday": "mon wed", "sun-sat": "daily", "wed": "wed",
	} {
		days, err := ParseWeekdays(text)
		if err != nil || FormatWeekdays(days) != want {
			t.Errorf("ParseWeekdays(%q) is %q, %v; want %q", text, FormatWeekdays(days), err, want)
		}
	}
	for text, want := range map[string]string{
		"":        "weekdays are empty; write days such as mon-fri, or mon tue sat, or daily",
		"mo-fr":   `weekdays "mo-fr": "mo-fr" is not a day; write days such as mon-fri, or mon tue sat, or daily`,
		"mon-":    `weekdays "mon-": "mon-" is not a day; write days such as mon-fri, or mon tue sat, or daily`,
		"mon 6-7": `weekdays "mon 6-7": "6-7" is not a day; write days such as mon-fri, or mon tue sat, or daily`,
	} {
		if _, err := ParseWeekdays(text); err == nil || err.Error() != want {
			t.Errorf("ParseWeekdays(%q): error %v, want %v", text, err, want)
		}
	}
}

func TestWeekdaysReadBack(t *testing.T) {
	for bits := 1; bits < 128; bits++ {
		var days [7]bool
		for d := range days {
			days[d] = bits>>d&1 == 1
		}
		text := FormatWeekdays(days)
		if got, err := ParseWeekdays(text); err != nil || got != days {
			t.Errorf("%v written %q, read %v, %v", days, text, got, err)
		}
	}
}

func TestParseTimes(t *testing.T) {
	for text, want := range map[string][2]time.Duration{
		"06:00-14:00": {hm(6, 0), hm(14, 0)}, "22:00-06:00": {hm(22, 0), hm(30, 0)}, "6:30 - 14:00": {hm(6, 30), hm(14, 0)},
		"00:00-24:00": {0, hm(24, 0)}, "06:00-06:00": {hm(6, 0), hm(30, 0)}, "22:00–06:00": {hm(22, 0), hm(30, 0)},
		"00:00-00:00": {0, hm(24, 0)},
	} {
		start, end, err := ParseTimes(text)
		if err != nil || start != want[0] || end != want[1] {
			t.Errorf("ParseTimes(%q) = %v, %v, %v; want %v", text, start, end, err, want)
		}
	}
	for _, text := range []string{"", "06:00", "6-14", "06:00-25:00", "24:00-06:00", "06:60-14:00", "06:00-14:00-22:00", "-1:00-06:00", "06:0-14:00", "24:30-06:00"} {
		if start, end, err := ParseTimes(text); err == nil {
			t.Errorf("ParseTimes(%q) = %v, %v, want it refused", text, start, end)
		}
	}
}

func TestTimesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := hm(0, rapid.IntRange(0, 24*60-1).Draw(t, "start"))
		end := start + hm(0, rapid.IntRange(1, 24*60).Draw(t, "length"))
		text := FormatTimes(start, end)
		a, b, err := ParseTimes(text)
		if err != nil || a != start || b != end {
			t.Fatalf("%v to %v written %q, read %v to %v, %v", start, end, text, a, b, err)
		}
	})
}

func TestParseTime(t *testing.T) {
	c := Calendar{Zone: zone(t, "Europe/Berlin")}
	for text, want := range map[string]string{
		"2026-03-31 14:00": "2026-03-31T12:00:00Z",
		"2026-03-31T14:00": "2026-03-31T12:00:00Z",
		"2026-03-29 02:30": "2026-03-29T01:00:00Z", // skipped by the clocks
		"2026-10-25 02:30": "2026-10-25T00:30:00Z", // shown twice
		"2026-01-01":       "2025-12-31T23:00:00Z",
		"2028-02-29 24:00": "", "2027-02-29": "", "31.3.2026": "",
	} {
		got, err := c.ParseTime(text)
		if s := got.UTC().Format(time.RFC3339); (want == "") != (err != nil) || err == nil && s != want {
			t.Errorf("ParseTime(%q) = %v, %v; want %v", text, s, err, want)
		}
	}
}

func TestCheckShift(t *testing.T) {
	good, err := ParseShift("N", "mon-fri", "22:00-06:00")
	if err != nil || len(good.Check()) != 0 {
		t.Errorf("night shift: %v, %v", err, good.Check())
	}
	bad := Shift{Start: hm(25, 0), End: hm(20, 0)}
	if got := bad.Check(); len(got) != 3 {
		t.Errorf("problems %v, want one each of Weekdays, Start and End", got)
	}
	if got := (Closure{Span: Span{5, 5}}).Check(); len(got) != 1 {
		t.Errorf("problems of an empty closure: %v", got)
	}
	if got := (Outage{}).Check(); len(got) != 2 {
		t.Errorf("problems of an empty outage: %v", got)
	}
}

// Over any span without outages, hours are those that a clock ticking by the minute counts as inside a shift.
func TestOpenHoursAgainstMinutes(t *testing.T) {
	zones := []*time.Location{zone(t, "Europe/Berlin"), zone(t, "America/Chicago"), zone(t, "Australia/Lord_Howe"), time.UTC}
	rapid.Check(t, func(t *rapid.T) {
		c := Calendar{Zone: rapid.SampledFrom(zones).Draw(t, "zone")}
		for i := range rapid.IntRange(1, 3).Draw(t, "shifts") {
			start := 30 * rapid.IntRange(0, 47).Draw(t, "start")
			c.Shifts = append(c.Shifts, Shift{Code: string(rune('A' + i)), Weekdays: everyDay, Start: hm(0, start),
				End: hm(0, start+30*rapid.IntRange(1, 48).Draw(t, "length"))})
		}
		from := rapid.SampledFrom([]Day{Date(2026, 3, 7), Date(2026, 3, 28), Date(2026, 4, 4), Date(2026, 10, 3), Date(2026, 10, 24), Date(2026, 10, 31), Date(2028, 2, 28)}).Draw(t, "from")
		span := Span{from, from + 3}
		minutes := 0
		for at := c.At(span.From, 0); at.Before(c.At(span.To+1, 0)); at = at.Add(time.Minute) {
			if c.worked(at, span) {
				minutes++
			}
		}
		if got := c.SpanHours("any", span) * 60; got != float64(minutes) {
			t.Fatalf("%v min open from %v in %v, by the minute %d", got, from, c.Zone, minutes)
		}
	})
}

// worked reports whether the earliest shift that covers the instant started within span.
func (c Calendar) worked(at time.Time, span Span) bool {
	for d := span.From - 1; d < span.To; d++ {
		for _, s := range c.Shifts {
			if !at.Before(c.At(d, s.Start)) && at.Before(c.At(d, s.End)) {
				return span.Has(d)
			}
		}
	}
	return false
}
