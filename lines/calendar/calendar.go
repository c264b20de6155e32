// Package calendar holds days, shifts, closures and the buckets of the planning horizon.
// All intervals are half-open. A Day is a civil date without a zone; the zone decides only which
// instants a shift's wall-clock times stand for, and so how long a shift is that a clock change falls into.
package calendar

import (
	"fmt"
	"time"
)

// Day is a civil date, counted in days since 1970-01-01.
type Day int32

// DayOf is the civil date that t has in its own location.
func DayOf(t time.Time) Day {
	y, m, d := t.Date()
	return Date(y, m, d)
}

// Date is the day of the given year, month and day of month; out-of-range parts carry over as in time.Date.
func Date(year int, month time.Month, day int) Day {
	return Day(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// ParseDay reads an ISO 8601 calendar date, YYYY-MM-DD.
func ParseDay(s string) (Day, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("date %q is not of the form YYYY-MM-DD, such as 2026-03-31", s)
	}
	return DayOf(t), nil
}

// UTC is midnight UTC at the start of d, for arithmetic and formatting.
func (d Day) UTC() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// In is the first instant of d in the zone.
func (d Day) In(zone *time.Location) time.Time {
	y, m, dd := d.UTC().Date()
	return time.Date(y, m, dd, 0, 0, 0, 0, zone)
}

// String is YYYY-MM-DD.
func (d Day) String() string { return d.UTC().Format(time.DateOnly) }

// Weekday is the day of the week.
func (d Day) Weekday() time.Weekday { return d.UTC().Weekday() }

// ISOWeek is the ISO 8601 week-numbering year and week.
func (d Day) ISOWeek() (year, week int) { return d.UTC().ISOWeek() }

// Monday is the first day of d's ISO week.
func (d Day) Monday() Day { return d - Day((int(d.Weekday())+6)%7) }

// Span is the days from From up to, not including, To.
type Span struct{ From, To Day }

// Days is the number of days in s, 0 if it is empty.
func (s Span) Days() int { return max(0, int(s.To-s.From)) }

// Has reports whether d lies in s.
func (s Span) Has(d Day) bool { return s.From <= d && d < s.To }

// Overlap is the days that s and o share; empty spans have To == From.
func (s Span) Overlap(o Span) Span {
	from, to := max(s.From, o.From), min(s.To, o.To)
	return Span{from, max(from, to)}
}

// Shift is a working period of each named weekday. It starts at Start after local midnight and ends at End;
// an End beyond 24 h runs into the next day and is counted to the day it starts on.
type Shift struct {
	Code       string
	Weekdays   [7]bool // indexed by time.Weekday, Sunday = 0
	Start, End time.Duration
}

// Closure is a run of days without any shift: public holidays, stocktaking, plant shut-down.
type Closure struct {
	Code string
	Span Span
	Note string
}

// Outage takes one machine (a line or a step, by its code) out of work for part of the calendar, such as planned maintenance.
// From and To are instants, half-open; Calendar.At makes one of a wall-clock time in the plant's zone.
type Outage struct {
	Code     string
	Machine  string
	From, To time.Time
	Note     string
}

// Calendar is the plant's working time.
type Calendar struct {
	Zone     *time.Location // nil means UTC
	Shifts   []Shift
	Closures []Closure
	Outages  []Outage
}

// Bucket is a planning period: one day, or one or more days up to a Monday.
type Bucket struct {
	Index int
	Span  Span
}

// Weekly reports whether the bucket is longer than a day.
func (b Bucket) Weekly() bool { return b.Span.Days() > 1 }
