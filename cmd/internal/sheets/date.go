package sheets

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"feedline/lines/calendar"
)

// Days before and after these are taken for slips.
var (
	firstDay = calendar.Date(1990, 1, 1)
	lastDay  = calendar.Date(2200, 1, 1)
)

func dayText(d int64) string { return calendar.Day(d).String() }

// readDay reads YYYY-MM-DD, or a cell that is a date.
func readDay(c cell) (calendar.Day, *fault) {
	if c.date {
		if c.serial != math.Trunc(c.serial) {
			return 0, &fault{reason: "has a time of day", remedy: "write " + serialDay(c.serial).String()}
		}
		return within(serialDay(c.serial))
	}
	if c.number {
		return 0, &fault{reason: "is a number, not a date", remedy: "format the cell as a date, or write the day as YYYY-MM-DD"}
	}
	s := strings.TrimSpace(c.text)
	d, err := calendar.ParseDay(s)
	if err != nil {
		return 0, notDay(s)
	}
	return within(d)
}

func within(d calendar.Day) (calendar.Day, *fault) {
	if d < firstDay || d >= lastDay {
		return 0, &fault{reason: "is no day that can be meant", allowed: fmt.Sprintf("%v to %v", firstDay, lastDay-1)}
	}
	return d, nil
}

// serialDay is the day of a workbook's day count from 1900, which has a 29 February 1900 that never was.
func serialDay(serial float64) calendar.Day {
	return calendar.Date(1899, 12, 30) + calendar.Day(max(-1e6, min(3e6, math.Floor(serial))))
}

// otherDates are ways to write a date that are not read but recognized, to show how to write that date.
var otherDates = []string{"2.1.2006", "2.1.06", "2/1/2006", "1/2/2006", "2/1/06", "1/2/06", "2-1-2006", "1-2-2006", "2006/1/2", "2006.1.2", "2006-1-2",
	"20060102", "2 Jan 2006", "2 January 2006", "2-Jan-2006", "2-Jan-06", "Jan 2 2006", "January 2 2006", "Jan 2, 2006", "January 2, 2006",
	"2006-01-02 15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05"}

func notDay(s string) *fault {
	var meant []string
	for _, layout := range otherDates {
		t, err := time.Parse(layout, s)
		if err != nil {
			continue
		}
		if d := calendar.DayOf(t).String(); !slices.Contains(meant, d) {
			meant = append(meant, d)
		}
	}
	f := &fault{reason: "is not a date of the form YYYY-MM-DD", remedy: "write a day such as 2027-03-31"}
	if len(meant) > 0 {
		f.remedy = "write " + strings.Join(meant, " or ")
	}
	return f
}

// readClock reads HH:MM or HH:MM:SS since midnight, up to 48:00, or a cell that is a time.
func readClock(c cell) (time.Duration, *fault) {
	if c.date || c.number {
		if c.serial < 0 || c.serial > 2 || !c.date {
			return 0, &fault{reason: "is not a time of day", allowed: "HH:MM such as 06:00"}
		}
		return time.Duration(math.Round(c.serial*86400)) * time.Second, nil
	}
	var h, m, s int
	parts := strings.Split(strings.TrimSpace(c.text), ":")
	ok := len(parts) == 2 || len(parts) == 3
	for i, p := range parts {
		if !ok {
			break
		}
		n, good := twoDigits(p, i > 0)
		ok = good
		*[]*int{&h, &m, &s}[i] = n
	}
	d := time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(s)*time.Second
	if !ok || m > 59 || s > 59 || d > 48*time.Hour {
		return 0, &fault{reason: "is not a time of day", allowed: "HH:MM such as 06:00 or 22:30"}
	}
	return d, nil
}

func twoDigits(s string, both bool) (int, bool) {
	if len(s) > 2 || s == "" || both && len(s) != 2 {
		return 0, false
	}
	n := 0
	for _, r := range s {
		if r < '0' || r > '9' {
			return 0, false
		}
		n = 10*n + int(r-'0')
	}
	return n, true
}

// clockText is a time since midnight as readClock reads it.
func clockText(d time.Duration) string {
	s := fmt.Sprintf("%02d:%02d", int(d.Hours()), int(d.Minutes())%60)
	if sec := int(d.Seconds()) % 60; sec != 0 {
		s += fmt.Sprintf(":%02d", sec)
	}
	return s
}

// readMoment reads a wall-clock time in the calendar's zone, YYYY-MM-DD HH:MM, a day for its start, or an RFC 3339 instant.
func readMoment(c cell, cal calendar.Calendar) (time.Time, *fault) {
	if c.date {
		d, f := within(serialDay(c.serial))
		if f != nil {
			return time.Time{}, f
		}
		since := time.Duration(math.Round((c.serial-math.Floor(c.serial))*86400)) * time.Second
		return cal.At(d, since), nil
	}
	if c.number {
		return time.Time{}, &fault{reason: "is a number, not a time", remedy: "format the cell as a date with a time, or write YYYY-MM-DD HH:MM"}
	}
	s := strings.TrimSpace(c.text)
	t, err := cal.ParseTime(s)
	if err != nil {
		if t, err = time.Parse(time.RFC3339Nano, s); err != nil {
			return time.Time{}, &fault{reason: "is not a time of the form YYYY-MM-DD HH:MM", remedy: "write a time such as 2027-03-31 14:00"}
		}
		t = inZone(t, cal)
	}
	_, f := within(calendar.DayOf(t))
	return t, f
}

func inZone(t time.Time, cal calendar.Calendar) time.Time {
	if cal.Zone == nil {
		return t.UTC()
	}
	return t.In(cal.Zone)
}

// momentText is an instant as readMoment reads it: by the clock on the wall where that tells it.
func momentText(t time.Time, cal calendar.Calendar) string {
	s := cal.FormatTime(t)
	if back, err := cal.ParseTime(s); err == nil && back.Equal(t) {
		return s
	}
	return inZone(t, cal).Format(time.RFC3339Nano)
}
