package audit

import (
	"slices"

	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

const nanosecondsPerHour = 3_600_000_000_000

// stretch is the time [from, to) in nanoseconds since 1970.
type stretch struct{ from, to int64 }

func (s stretch) has(t int64) bool { return s.from <= t && t < s.to }

// shiftsOf lists the shifts that start on d; none on a day that is closed.
func (b *book) shiftsOf(d calendar.Day) []stretch {
	for _, c := range b.in.Calendar.Closures {
		if c.Span.Has(d) {
			return nil
		}
	}
	var list []stretch
	for _, s := range b.in.Calendar.Shifts {
		if s.Weekdays[d.Weekday()] && s.End > s.Start {
			list = append(list, stretch{b.in.Calendar.At(d, s.Start).UnixNano(), b.in.Calendar.At(d, s.End).UnixNano()})
		}
	}
	return list
}

// worked is a machine's time that counts to d, in nanoseconds. The day is cut where anything begins or ends; a piece counts if a
// shift of d covers it, no shift of the day before does (it counts there), and no outage of the machine does.
func (b *book) worked(machine string, d calendar.Day) int64 {
	own, before := b.shiftsOf(d), b.shiftsOf(d-1)
	var out []stretch
	for _, o := range b.in.Calendar.Outages {
		if o.Machine == machine {
			out = append(out, stretch{o.From.UnixNano(), o.To.UnixNano()})
		}
	}
	var cuts []int64
	for _, s := range slices.Concat(own, before, out) {
		cuts = append(cuts, s.from, s.to)
	}
	slices.Sort(cuts)
	sum := int64(0)
	for i := 1; i < len(cuts); i++ {
		if t := cuts[i-1]; covers(own, t) && !covers(before, t) && !covers(out, t) {
			sum += cuts[i] - t
		}
	}
	return sum
}

func covers(list []stretch, t int64) bool {
	return slices.ContainsFunc(list, func(s stretch) bool { return s.has(t) })
}

// machineHours is a machine's hours in s.
func (b *book) machineHours(machine string, s calendar.Span) num {
	sum := int64(0)
	for d := s.From; d < s.To; d++ {
		sum += b.worked(machine, d)
	}
	return whole(sum).over(whole(int64(nanosecondsPerHour)))
}

// lineHours is a line's hours in s: none before a line that is down is back.
func (b *book) lineHours(ln lines.Line, s calendar.Span) num {
	if ln.State == lines.Down {
		s.From = min(max(s.From, ln.DownUntil), s.To)
	}
	return b.machineHours(ln.Code, s)
}

// checkHours checks one line in one bucket against the clock.
func (a *auditor) checkHours(ln lines.Line, u planner.LineUse, open num) {
	w := a.at(u.Bucket, "line "+ln.Code)
	a.equal(Hours, w, computed(u.Available), open, hoursTolerance, "h", "hours available")
	busy := computed(u.Run).add(computed(u.Setup)).add(computed(u.Startup))
	if u.On {
		a.atMost(Hours, w, busy, open, hoursTolerance, "h", "run, set-up and start-up hours")
		a.holds(Hours, w, open.sign() > 0, "the line is on in a bucket without hours")
	} else {
		a.atMost(Hours, w, busy, num{}, hoursTolerance, "h", "hours of a line that is off")
	}
	var run, setup num
	for _, r := range a.runs[lineBucket{ln.Code, u.Bucket}] {
		run, setup = run.add(computed(r.Hours)), setup.add(computed(r.Setup))
	}
	a.equal(HoursSum, w, computed(u.Run), run, hoursTolerance, "h", "run hours")
	a.equal(HoursSum, w, computed(u.Setup), setup, hoursTolerance, "h", "set-up hours")
}
