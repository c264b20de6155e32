package planner

import (
	"feedline/lines/calendar"
	"feedline/planner/model"
)

// buildPromise is limit 12: what the released plan promises of each line and bucket (see promised) is priced where it is not kept:
// at the plant's change cost for each changed run day; within the frozen days as a pin over all the bucket that is not kept, unless
// the scheduler has pinned the line then. Of a day that was promised to run p
//
//	kept + mounted[p,t] ≥ 1,  kept + on[t] ≥ 1        kept = 1 is a change
//
// of a week, for each profile that was promised in it, kept + mounted[p,t−1] + changed[p,t] ≥ 1, and each changeover to another.
func (f *formulation) buildPromise() {
	released := f.opt.Released
	if released == nil {
		return
	}
	var codes []string
	for _, ln := range f.in.Lines {
		codes = append(codes, ln.Code)
	}
	f.promise = promisedBy(released, codes, f.buckets)
	f.frozen = f.start + calendar.Day(max(0, f.in.Plant.FrozenDays))
	for l, code := range codes {
		for t, c := range f.promise[code] {
			if c == nil || f.avail[l][t] <= 0 {
				continue
			}
			kind, price := f.changePrice(l, t)
			if price > 0 {
				f.keep(l, t, c, kind, price)
			}
		}
	}
}

// changePrice is what a changed run day of line l in bucket t costs, and as what.
func (f *formulation) changePrice(l, t int) (kind string, price float64) {
	if f.isFrozen(t) && !f.isPinned(l, t) {
		return costFrozen, pinPricePerHour * f.avail[l][t]
	}
	return costChange, float64(f.in.Plant.ChangeCost)
}

// isFrozen reports whether bucket t lies in the days that the promise holds.
func (f *formulation) isFrozen(t int) bool { return f.buckets[t].Span.To <= f.frozen }

// isPinned reports whether a pin is about line l in bucket t.
func (f *formulation) isPinned(l, t int) bool {
	for _, p := range f.pins {
		if p.line == l && p.bucket == t {
			return true
		}
	}
	return false
}

// fitFor is line l's fit for a profile, -1 if it can't make it.
func (f *facts) fitFor(l int, profile string) int {
	for _, j := range f.fitsOf[l] {
		if f.profileCode(j) == profile {
			return j
		}
	}
	return -1
}

func (f *facts) canMake(l int) func(profile string) bool {
	return func(profile string) bool { return f.fitFor(l, profile) >= 0 }
}

// keep prices the changes of line l in bucket t against c.
func (f *formulation) keep(l, t int, c *promised, kind string, price float64) {
	code := f.in.Lines[l].Code
	change := func(name string, index ...any) ref {
		r := column(f.m.AddVar(label(name, index...), 0, 1, 0))
		f.cost(r, kind, price)
		return r
	}
	switch {
	case !c.on:
		f.cost(f.on[l][t], kind, price)
	case !c.whole:
		other := new(row).add(f.on[l][t], 1)
		for _, j := range f.fitsOf[l] {
			if !c.has(f.profileCode(j)) {
				other.add(f.mounted[j][t], 1)
			}
		}
		f.emit(other.add(change("other", code, t), -1), -model.Infinity, 1, "other", code, t)
	case !c.week:
		kept := change("kept", code, t)
		f.emit(new(row).add(kept, 1).add(f.on[l][t], 1), 1, model.Infinity, "kepton", code, t)
		if j := f.fitFor(l, c.mounted); j >= 0 {
			f.emit(new(row).add(kept, 1).add(f.mounted[j][t], 1), 1, model.Infinity, "keptdie", code, t)
		}
	case len(c.profiles()) == 0:
		f.emit(new(row).add(change("kept", code, t), 1).add(f.on[l][t], 1), 1, model.Infinity, "kepton", code, t)
	default:
		f.keepWeek(l, t, c, change)
		for _, j := range f.fitsOf[l] {
			if !c.promises(f.profileCode(j)) {
				f.cost(f.changed[j][t], kind, price)
			}
		}
	}
}

// keepWeek prices each promised profile that is not on line l in week t.
func (f *formulation) keepWeek(l, t int, c *promised, change func(name string, index ...any) ref) {
	code := f.in.Lines[l].Code
	for _, q := range c.profiles() {
		j := f.fitFor(l, q)
		if j < 0 {
			continue
		}
		kept := change("kept", code, q, t)
		f.emit(new(row).add(kept, 1).add(f.on[l][t], 1), 1, model.Infinity, "kepton", code, q, t)
		f.emit(new(row).add(kept, 1).add(f.mountedBefore(j, t), 1).add(f.changed[j][t], 1), 1, model.Infinity, "keptdie", code, q, t)
	}
}
