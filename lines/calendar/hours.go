package calendar

import (
	"cmp"
	"slices"
	"time"
)

// Interval is the time from From up to, not including, To.
type Interval struct{ From, To time.Time }

// Duration is the elapsed time in i, 0 if it is empty.
func (i Interval) Duration() time.Duration { return max(0, i.To.Sub(i.From)) }

// At is the instant at which clocks in the calendar's zone show sinceMidnight on d; 24 h and more is the next day.
// A time that the clocks show twice is its first showing. A time that they skip is the instant of the change.
func (c Calendar) At(d Day, sinceMidnight time.Duration) time.Time {
	wall := d.UTC().Add(sinceMidnight)
	y, m, dd := wall.Date()
	t := time.Date(y, m, dd, wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), c.zone())
	begin, end := t.ZoneBounds()
	shown := wallClock(t)
	switch {
	case shown.After(wall):
		return begin
	case shown.Before(wall):
		return end
	}
	if begin.IsZero() {
		return t
	}
	_, offset := begin.Add(-1).Zone()
	if first := wall.Add(-time.Duration(offset) * time.Second); first.Before(begin) {
		return first.In(c.zone())
	}
	return t
}

// wallClock is what the clocks show at t, as if it were UTC.
func wallClock(t time.Time) time.Time {
	_, offset := t.Zone()
	return t.UTC().Add(time.Duration(offset) * time.Second)
}

func (c Calendar) zone() *time.Location {
	if c.Zone == nil {
		return time.UTC
	}
	return c.Zone
}

// Closed reports whether a closure covers d. A shift that started the day before still runs to its end.
func (c Calendar) Closed(d Day) bool {
	return slices.ContainsFunc(c.Closures, func(x Closure) bool { return x.Span.Has(d) })
}

// OpenTime is the working time counted to d: the shifts that start on it, joined where they overlap, in order of
// time, less what the day before already counts. Nil if d is closed or has no shift. No shift may last longer
// than a day, see Check.
func (c Calendar) OpenTime(d Day) []Interval {
	own := c.started(d)
	if len(own) == 0 {
		return nil
	}
	return subtract(own, c.started(d-1))
}

// started is the union of the shifts that start on d.
func (c Calendar) started(d Day) []Interval {
	if c.Closed(d) {
		return nil
	}
	var list []Interval
	for _, s := range c.Shifts {
		if s.Weekdays[d.Weekday()] && s.End > s.Start {
			list = append(list, Interval{c.At(d, s.Start), c.At(d, s.End)})
		}
	}
	return union(list)
}

// OpenHours is the working hours counted to d; see OpenTime.
func (c Calendar) OpenHours(d Day) float64 { return hours(c.OpenTime(d)) }

// MachineTime is OpenTime less the outages of a machine.
func (c Calendar) MachineTime(machine string, d Day) []Interval {
	return subtract(c.OpenTime(d), c.outages(machine))
}

// MachineHours is the working hours of d that a machine has, outages taken off.
func (c Calendar) MachineHours(machine string, d Day) float64 {
	return hours(c.MachineTime(machine, d))
}

// SpanHours is the sum of MachineHours over the days of s.
func (c Calendar) SpanHours(machine string, s Span) float64 {
	out, sum := c.outages(machine), 0.0
	for d := s.From; d < s.To; d++ {
		sum += hours(subtract(c.OpenTime(d), out))
	}
	return sum
}

// outages is the union of the outages of a machine.
func (c Calendar) outages(machine string) []Interval {
	var list []Interval
	for _, o := range c.Outages {
		if o.Machine == machine {
			list = append(list, Interval{o.From, o.To})
		}
	}
	return union(list)
}

func hours(list []Interval) float64 {
	var sum time.Duration
	for _, i := range list {
		sum += i.Duration()
	}
	return sum.Hours()
}

// union sorts list and joins what overlaps or touches; empty intervals are left out.
func union(list []Interval) []Interval {
	list = slices.DeleteFunc(list, func(i Interval) bool { return i.Duration() == 0 })
	slices.SortFunc(list, func(a, b Interval) int {
		return cmp.Or(a.From.Compare(b.From), a.To.Compare(b.To))
	})
	var out []Interval
	for _, i := range list {
		if n := len(out); n > 0 && !i.From.After(out[n-1].To) {
			if i.To.After(out[n-1].To) {
				out[n-1].To = i.To
			}
			continue
		}
		out = append(out, i)
	}
	return out
}

// subtract is what of a lies outside of b; both are sorted and disjoint, and so is the result.
func subtract(a, b []Interval) []Interval {
	var out []Interval
	for _, i := range a {
		for _, x := range b {
			if !x.To.After(i.From) || !x.From.Before(i.To) {
				continue
			}
			if x.From.After(i.From) {
				out = append(out, Interval{i.From, x.From})
			}
			i.From = x.To
			if i.Duration() == 0 {
				break
			}
		}
		if i.Duration() > 0 {
			out = append(out, i)
		}
	}
	return out
}
