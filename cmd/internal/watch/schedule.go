package watch

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// Schedule says when a job is due: a cron expression of five fields (minute, hour, day of the month, month, weekday) or one of
// cron's words such as @daily or "@every 20m". The zero value is never due.
//
// An expression with a time of day means the plant's clock: where the clock is put forward over it the job is due at the first
// moment after the gap, and where it is put back it is due once, the first time. One that is due in every hour follows
// elapsed time through both.
type Schedule struct {
	text string
	plan cron.Schedule
	wall bool // by the clock on the wall
}

// parser reads the five standard fields and the words.
var parser = cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow | cron.Descriptor)

// ScheduleError says what is wrong with a schedule.
type ScheduleError struct {
	Text   string
	Reason string
}

func (e *ScheduleError) Error() string { return fmt.Sprintf("schedule %q %s", e.Text, e.Reason) }

// Hint is what to do.
func (e *ScheduleError) Hint() string {
	return `write minute, hour, day of the month, month, weekday, such as "0 5 * * 1-6" for five o'clock on working days; "" for never`
}

// longestSchedule is the most bytes of an expression.
const longestSchedule = 200

// shortestEvery is the least time between two runs of "@every".
const shortestEvery = time.Second

// ParseSchedule reads a schedule; "" and "off" are never due. The error is a *ScheduleError.
func ParseSchedule(text string) (Schedule, error) {
	s := strings.TrimSpace(text)
	fail := func(reason string) (Schedule, error) { return Schedule{}, &ScheduleError{text, reason} }
	switch {
	case s == "" || s == "off":
		return Schedule{}, nil
	case len(s) > longestSchedule:
		return fail("is too long")
	case strings.Contains(s, "TZ="):
		return fail("names a time zone: it is always the plant's")
	}
	plan, err := parser.Parse(s)
	if err != nil {
		return fail("can't be read: " + err.Error())
	}
	out := Schedule{text: s, plan: plan}
	switch p := plan.(type) {
	case cron.ConstantDelaySchedule:
		asked, err := time.ParseDuration(strings.TrimPrefix(s, "@every ")) // cron makes what is too short a second
		if err != nil || asked < shortestEvery || p.Delay > 366*24*time.Hour {
			return fail("is not between a second and a year")
		}
	case *cron.SpecSchedule:
		const hours = 1<<24 - 1
		out.wall = p.Hour&hours != hours
	}
	if out.Next(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC), time.UTC).IsZero() {
		return fail("never comes: there is no such day")
	}
	return out, nil
}

// String is the schedule as it was written, "off" if it is never due.
func (s Schedule) String() string {
	if s.plan == nil {
		return "off"
	}
	return s.text
}

// Off reports whether it is never due.
func (s Schedule) Off() bool { return s.plan == nil }

// Next is when it is due next after a time, in the zone; the zero time if never.
func (s Schedule) Next(after time.Time, zone *time.Location) time.Time {
	switch {
	case s.plan == nil:
		return time.Time{}
	case !s.wall:
		return s.plan.Next(after.In(zone))
	}
	wall := wallClock(after.In(zone))
	for {
		wall = s.plan.Next(wall)
		if wall.IsZero() {
			return wall
		}
		if t := instant(wall, zone); t.After(after) {
			return t
		}
	}
}

// most is how many missed runs are counted.
const most = 10000

// Missed is the last time it was due after a time and up to now, and how many times it was, counted up to 10,000; the zero
// time and 0 if it was not.
func (s Schedule) Missed(after, now time.Time, zone *time.Location) (last time.Time, n int) {
	for t := s.Next(after, zone); !t.IsZero() && !t.After(now); t = s.Next(t, zone) {
		last = t
		if n++; n == most {
			return now, n
		}
	}
	return last, n
}

// wallClock is what the clock on the wall shows at t, as a time in UTC.
func wallClock(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC)
}

// instant is when clocks of the zone show a wall-clock time, which is given as a time in UTC: for the first time if they do so twice, and
// the first moment after the gap if they never do.
func instant(wall time.Time, zone *time.Location) time.Time {
	before := wall.Add(-offset(wall.Add(-24*time.Hour), zone))
	after := wall.Add(-offset(wall.Add(24*time.Hour), zone))
	first, second := before, after
	if after.Before(before) {
		first, second = after, before
	}
	for _, t := range []time.Time{first, second} {
		if wallClock(t.In(zone)).Equal(wall) {
			return t.In(zone)
		}
	}
	start, _ := before.In(zone).ZoneBounds()
	return start.In(zone)
}

// offset is how far the zone's clocks are ahead of UTC.
func offset(t time.Time, zone *time.Location) time.Duration {
	_, seconds := t.In(zone).Zone()
	return time.Duration(seconds) * time.Second
}

// NextRuns lists the next n times after a time, with the zone, such as "Mon 2027-01-04 05:00 CET".
func (s Schedule) NextRuns(after time.Time, zone *time.Location, n int) (list []string) {
	t := after
	for range n {
		if t = s.Next(t, zone); t.IsZero() {
			break
		}
		list = append(list, t.In(zone).Format("Mon 2006-01-02 15:04 MST"))
	}
	return list
}

// errOverrun is the cause of a stop for want of time.
var errOverrun = errors.New("it took longer than its limit")
