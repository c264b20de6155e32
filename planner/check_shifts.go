package planner

import (
	"time"

	"feedline/lines/calendar"
)

// shifts warns of two shifts that overlap: the hours that both have are worked once.
func (c *checker) shifts() {
	list := c.in.Calendar.Shifts
	for i, a := range list {
		for _, b := range list[i+1:] {
			day, ok := overlap(a, b)
			if !ok {
				continue
			}
			c.add(Problem{Table: TableShifts, Key: b.Code, Field: FieldName(TableShifts, "Start"), Value: quoted(b.Code), Allowed: "shifts that do not overlap", Warning: true,
				Remedy: "on " + day.String() + " it overlaps shift " + a.Code + ": the hours of both are counted once; correct start or end if that was not meant"})
		}
	}
}

// overlap is a weekday on which both shifts work at a time. An end beyond 24 h runs into the next day.
func overlap(a, b calendar.Shift) (time.Weekday, bool) {
	const day, week = 24 * time.Hour, 7 * 24 * time.Hour
	length := func(s calendar.Shift) time.Duration { return max(0, s.End-s.Start) }
	if length(a) == 0 || length(b) == 0 {
		return 0, false
	}
	for i := range 7 {
		for j := range 7 {
			if !a.Weekdays[i] || !b.Weekdays[j] {
				continue
			}
			// How far b begins after a, round the week.
			after := (time.Duration(j-i)*day + b.Start - a.Start + 2*week) % week
			if after < length(a) {
				return time.Weekday(j), true
			}
			if week-after < length(b) {
				return time.Weekday(i), true
			}
		}
	}
	return 0, false
}
