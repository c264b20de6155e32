package calendar

import (
	"math"
	"testing"
	"time"
	_ "time/tzdata"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

var everyDay = [7]bool{true, true, true, true, true, true, true}

func hm(h, m int) time.Duration { return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute }

// Clock changes from the IANA time zone data: Europe/Berlin 2026-03-29 02:00→03:00 and 2026-10-25 03:00→02:00;
// America/Chicago 2026-03-08 02:00→03:00 and 2026-11-01 02:00→01:00.
func TestClockChanges(t *testing.T) {
	whole := Shift{Weekdays: everyDay, Start: 0, End: hm(24, 0)}
	night := Shift{Weekdays: everyDay, Start: hm(22, 0), End: hm(30, 0)}
	early := Shift{Weekdays: everyDay, Start: hm(2, 30), End: hm(10, 0)}
	toGap := Shift{Weekdays: everyDay, Start: hm(22, 0), End: hm(26, 30)}
	toTwice := Shift{Weekdays: everyDay, Start: hm(18, 0), End: hm(25, 30)}
	fromTwice := Shift{Weekdays: everyDay, Start: hm(1, 30), End: hm(6, 0)}
	for _, c := range []struct {
		name, zone string
		shift      Shift
		day        Day
		want       float64
	}{
		{"plain day", "Europe/Berlin", whole, Date(2026, 3, 28), 24},
		{"spring day", "Europe/Berlin", whole, Date(2026, 3, 29), 23},
		{"autumn day", "Europe/Berlin", whole, Date(2026, 10, 25), 25},
		{"spring night counts to its first day", "Europe/Berlin", night, Date(2026, 3, 28), 7},
		{"night after", "Europe/Berlin", night, Date(2026, 3, 29), 8},
		{"autumn night", "Europe/Berlin", night, Date(2026, 10, 24), 9},
		{"start in the gap is 03:00", "Europe/Berlin", early, Date(2026, 3, 29), 7},
		{"end in the gap is 03:00 of the new time", "Europe/Berlin", toGap, Date(2026, 3, 28), 4},
		{"start shown twice is the first", "Europe/Berlin", early, Date(2026, 10, 25), 8.5},
		{"Chicago spring", "America/Chicago", whole, Date(2026, 3, 8), 23},
		{"Chicago autumn", "America/Chicago", whole, Date(2026, 11, 1), 25},
		{"Chicago end shown twice is the first", "America/Chicago", toTwice, Date(2026, 10, 31), 7.5},
		{"Chicago start shown twice is the first", "America/Chicago", fromTwice, Date(2026, 11, 1), 5.5},
		{"leap day", "America/Chicago", whole, Date(2028, 2, 29), 24},
		{"no zone is UTC", "", whole, Date(2026, 3, 29), 24},
	} {
		t.Run(c.name, func(t *testing.T) {
			cal := Calendar{Shifts: []Shift{c.shift}}
			if c.zone != "" {
				cal.Zone = zone(t, c.zone)
			}
			if got := cal.OpenHours(c.day); got != c.want {
				t.Errorf("%v in %q: %v h open, want %v h", c.day, c.zone, got, c.want)
			}
		})
	}
}

func TestOverlapsCountOnce(t *testing.T) {
	cal := Calendar{Shifts: []Shift{
		{Weekdays: everyDay, Start: hm(6, 0), End: hm(14, 0)},
		{Weekdays: everyDay, Start: hm(13, 30), End: hm(22, 0)},
		{Weekdays: everyDay, Start: hm(21, 0), End: hm(31, 0)}, // runs an hour into the next morning's shift
	}}
	day := Date(2026, 11, 25)
	if got := cal.OpenHours(day); got != 24 {
		t.Errorf("%v h open a day, want 24 h: handovers count once", got)
	}
	cal.Closures = []Closure{{Span: Span{day - 1, day}}}
	if got := cal.OpenHours(day); got != 25 {
		t.Errorf("%v h open after a closed day, want 25 h: 06:00 to 07:00 next day", got)
	}
	if got := cal.OpenHours(day - 1); got != 0 {
		t.Errorf("%v h open on a closed day, want 0 h", got)
	}
}

func TestOutages(t *testing.T) {
	cal := Calendar{Zone: zone(t, "Europe/Berlin"), Shifts: []Shift{
		{Weekdays: everyDay, Start: hm(6, 0), End: hm(14, 0)},
		{Weekdays: everyDay, Start: hm(22, 0), End: hm(30, 0)},
	}}
	day := Date(2026, 11, 25)
	cal.Outages = []Outage{
		{Machine: "L1", From: cal.At(day, hm(12, 0)), To: cal.At(day, hm(23, 0))},
		{Machine: "L1", From: cal.At(day, hm(13, 0)), To: cal.At(day, hm(15, 0))}, // within the first
		{Machine: "L2", From: cal.At(day-1, 0), To: cal.At(day+2, 0)},
		{Machine: "L3", From: cal.At(day, hm(26, 0)), To: cal.At(day, hm(27, 30))}, // in the night that began on day
	}
	for machine, want := range map[string][3]float64{
		"L1": {16, 13, 16}, // 2 h of the early shift and 1 h of the night
		"L2": {0, 0, 6},    // back at midnight, in the last night shift
		"L3": {16, 14.5, 16},
		"L4": {16, 16, 16},
	} {
		sum := 0.0
		for i, w := range want {
			got := cal.MachineHours(machine, day+Day(i-1))
			sum += got
			if math.Abs(got-w) > 1e-12 {
				t.Errorf("%s on %v: %v h, want %v h", machine, day+Day(i-1), got, w)
			}
		}
		if got := cal.SpanHours(machine, Span{day - 1, day + 2}); got != sum {
			t.Errorf("%s over three days: %v h, want the days' sum %v h", machine, got, sum)
		}
	}
}
