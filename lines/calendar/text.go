package calendar

import (
	"fmt"
	"strings"
	"time"
)

var weekdayNames = [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// weekdayOrder is the days as weeks are written, Monday first.
var weekdayOrder = [7]time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

// ParseWeekdays reads a list of weekdays and ranges of them, "mon-fri", "mon tue sat", "sat,sun", "fri-mon", or "daily".
// Days are written in English, three letters or in full, in any case.
func ParseWeekdays(s string) (days [7]bool, err error) {
	words := strings.FieldsFunc(strings.ToLower(strings.ReplaceAll(s, " - ", "-")), func(r rune) bool { return r == ' ' || r == ',' || r == ';' })
	for _, w := range words {
		if w == "daily" {
			w = "mon-sun"
		}
		from, to, isRange := strings.Cut(w, "-")
		a, ok := weekday(from)
		b := a
		if ok && isRange {
			b, ok = weekday(to)
		}
		if !ok {
			return days, fmt.Errorf("weekdays %q: %q is not a day; write days such as mon-fri, or mon tue sat, or daily", s, w)
		}
		for d := a; ; d = (d + 1) % 7 {
			days[d] = true
			if d == b {
				break
			}
		}
	}
	if len(words) == 0 {
		return days, fmt.Errorf("weekdays are empty; write days such as mon-fri, or mon tue sat, or daily")
	}
	return days, nil
}

func weekday(s string) (time.Weekday, bool) {
	for d := time.Sunday; d <= time.Saturday; d++ {
		if s == weekdayNames[d] || s == strings.ToLower(d.String()) {
			return d, true
		}
	}
	return 0, false
}

// FormatWeekdays writes days as ParseWeekdays reads them, Monday first, runs of three or more as a range:
// "mon-fri", "mon tue sat", "daily", "" for none.
func FormatWeekdays(days [7]bool) string {
	if days == [7]bool{true, true, true, true, true, true, true} {
		return "daily"
	}
	var words []string
	for i := 0; i < 7; i++ {
		j := i
		for j < 7 && days[weekdayOrder[j]] {
			j++
		}
		switch n := j - i; {
		case n >= 3:
			words = append(words, weekdayNames[weekdayOrder[i]]+"-"+weekdayNames[weekdayOrder[j-1]])
			i = j - 1
		case n > 0:
			words = append(words, weekdayNames[weekdayOrder[i]])
		}
	}
	return strings.Join(words, " ")
}

const day = 24 * time.Hour

// ParseTimes reads a shift's wall-clock times, "06:00-14:00". An end at or before the start is on the next day:
// "22:00-06:00" ends 30 h after midnight, and "06:00-06:00" lasts around the clock. 24:00 is allowed as an end.
func ParseTimes(s string) (start, end time.Duration, err error) {
	from, to, ok := strings.Cut(strings.ReplaceAll(s, "–", "-"), "-")
	if start, ok = clock(from, ok); ok {
		end, ok = clock(to, ok)
	}
	if !ok || start == day {
		return 0, 0, fmt.Errorf("times %q are not of the form 06:00-14:00", s)
	}
	if end <= start {
		end += day
	}
	return start, end, nil
}

// clock reads HH:MM, 00:00 to 24:00; the hour may have one digit.
func clock(s string, ok bool) (time.Duration, bool) {
	h, m, colon := strings.Cut(strings.TrimSpace(s), ":")
	hours, okH := smallNumber(h, 1)
	minutes, okM := smallNumber(m, 2)
	d := time.Duration(hours)*time.Hour + time.Duration(minutes)*time.Minute
	return d, ok && colon && okH && okM && minutes < 60 && d <= day
}

// smallNumber reads a number of at most two digits and at least the given.
func smallNumber(s string, digits int) (n int, ok bool) {
	if len(s) < digits || len(s) > 2 {
		return 0, false
	}
	for _, r := range s {
		if r < '0' || r > '9' {
			return 0, false
		}
		n = 10*n + int(r-'0')
	}
	return n, true
}

// FormatTimes writes times as ParseTimes reads them, to the minute.
func FormatTimes(start, end time.Duration) string {
	if end > day {
		end -= day
	}
	return FormatClock(start) + "-" + FormatClock(end)
}

// FormatClock writes a time since midnight as HH:MM.
func FormatClock(d time.Duration) string {
	return fmt.Sprintf("%02d:%02d", int(d.Hours()), int(d.Minutes())%60)
}

// ParseShift makes a shift of its weekdays and times; see ParseWeekdays and ParseTimes.
func ParseShift(code, weekdays, times string) (Shift, error) {
	days, err := ParseWeekdays(weekdays)
	if err != nil {
		return Shift{}, err
	}
	start, end, err := ParseTimes(times)
	if err != nil {
		return Shift{}, err
	}
	return Shift{Code: code, Weekdays: days, Start: start, End: end}, nil
}

// localLayout is how a wall-clock instant is written.
const localLayout = "2006-01-02 15:04"

// ParseTime reads a wall-clock time in the calendar's zone, "2026-03-31 14:00", or a bare day for its first instant.
// Times shown twice or skipped by the clocks are resolved as in At.
func (c Calendar) ParseTime(s string) (time.Time, error) {
	text := strings.Replace(strings.TrimSpace(s), "T", " ", 1)
	if d, err := ParseDay(text); err == nil {
		return c.At(d, 0), nil
	}
	t, err := time.Parse(localLayout, text)
	if err != nil {
		return time.Time{}, fmt.Errorf("time %q is not of the form YYYY-MM-DD HH:MM, such as 2026-03-31 14:00", s)
	}
	return c.At(DayOf(t), t.Sub(DayOf(t).UTC())), nil
}

// FormatTime writes an instant as ParseTime reads it, to the minute. The second showing of a time that
// the clocks show twice can't be told from the first.
func (c Calendar) FormatTime(t time.Time) string { return t.In(c.zone()).Format(localLayout) }
