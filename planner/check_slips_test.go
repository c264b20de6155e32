package planner

import (
	"strings"
	"testing"
	"time"

	"feedline/lines/calendar"
)

// found is the problem of a table and key whose remedy holds a text.
func found(list []Problem, table, key, remedy string) (Problem, bool) {
	for _, p := range list {
		if p.Table == table && p.Key == key && strings.Contains(p.Remedy, remedy) {
			return p, true
		}
	}
	return Problem{}, false
}

// TestSlips: what is easily typed wrong is named with what was meant.
func TestSlips(t *testing.T) {
	in := sound()
	in.Steps[0].Yield = 95
	if p, ok := found(in.Check(checkDay), TableSteps, "PEL", "95 % as 0.95"); !ok || p.Warning {
		t.Errorf("a yield of 95 is not refused with what to write: %v", in.Check(checkDay))
	}
	in = sound()
	in.Plant.RegrindYield = 90
	if p, ok := found(in.Check(checkDay), TablePlant, "", "90 % as 0.9"); !ok || p.Warning {
		t.Errorf("a share of 90 is not refused with what to write: %v", in.Check(checkDay))
	}
	in = sound()
	twin := in.Profiles[0]
	twin.Code = strings.ToLower(twin.Code)
	in.Profiles = append(in.Profiles, twin)
	if p, ok := found(in.Check(checkDay), TableProfiles, twin.Code, in.Profiles[0].Code); !ok || !p.Warning || twin.Code == in.Profiles[0].Code {
		t.Errorf("codes that differ by capitals alone pass without a word: %v", in.Check(checkDay))
	}
}

// TestShiftsThatOverlap: two shifts that work at a time, also over midnight and over the end of the week, are warned of; shifts that only
// meet are not.
func TestShiftsThatOverlap(t *testing.T) {
	days := func(list ...time.Weekday) (d [7]bool) {
		for _, x := range list {
			d[x] = true
		}
		return d
	}
	const h = time.Hour
	for _, c := range []struct {
		name string
		a, b calendar.Shift
		want bool
	}{
		{"meet", calendar.Shift{Code: "a", Weekdays: days(1, 2), Start: 6 * h, End: 14 * h}, calendar.Shift{Code: "b", Weekdays: days(1, 2), Start: 14 * h, End: 22 * h}, false},
		{"an hour of both", calendar.Shift{Code: "a", Weekdays: days(1, 2), Start: 6 * h, End: 14 * h}, calendar.Shift{Code: "b", Weekdays: days(2), Start: 13 * h, End: 22 * h}, true},
		{"other days", calendar.Shift{Code: "a", Weekdays: days(1), Start: 6 * h, End: 14 * h}, calendar.Shift{Code: "b", Weekdays: days(2), Start: 6 * h, End: 14 * h}, false},
		{"night into morning", calendar.Shift{Code: "a", Weekdays: days(1), Start: 22 * h, End: 31 * h}, calendar.Shift{Code: "b", Weekdays: days(2), Start: 6 * h, End: 14 * h}, true},
		{"night meets morning", calendar.Shift{Code: "a", Weekdays: days(1), Start: 22 * h, End: 30 * h}, calendar.Shift{Code: "b", Weekdays: days(2), Start: 6 * h, End: 14 * h}, false},
		{"Saturday night into Sunday", calendar.Shift{Code: "a", Weekdays: days(6), Start: 22 * h, End: 31 * h}, calendar.Shift{Code: "b", Weekdays: days(0), Start: 6 * h, End: 14 * h}, true},
	} {
		in := sound()
		in.Calendar.Shifts = []calendar.Shift{c.a, c.b}
		p, ok := found(in.Check(checkDay), TableShifts, "b", "shift a")
		if ok != c.want || ok && !p.Warning {
			t.Errorf("%s: warned %t (%v), want %t", c.name, ok, p, c.want)
		}
	}
}
