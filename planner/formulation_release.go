package planner

import (
	"feedline/lines/calendar"
	"feedline/planner/model"
)

// buildPromise is limit 12: what the released plan promises of each line and bucket (see promised) is held within the frozen days, as far as
// it can be (frozen.go) and unless the scheduler has pinned the line then; elsewhere it is priced, at the plant's change cost for each
// changed run day. Of a day that was promised to run p
//
//	kept + mounted[p,t] ≥ 1,  kept + on[t] ≥ 1        kept = 1 is a change, 0 where it is held
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
	f.holdPromise()
	price := float64(f.in.Plant.ChangeCost)
	for l, code := range codes {
		for t, c := range f.promise[code] {
			if c != nil && f.avail[l][t] > 0 && (price > 0 || f.isHeld(l, t)) {
				f.keep(l, t, c, price)
			}
		}
	}
}

// isFrozen reports whether bucket t lies in the days that the promise holds.
func (f *formulation) isFrozen(t int) bool { return f.buckets[t].Span.To <= f.frozen }

// pinOver is the code of a pin that overrides what c promises of line l in bucket t: that the line runs or stands, or must not run what c
// has it run; "" if none does. Forbidding something else leaves the promise as it is.
func (f *formulation) pinOver(l, t int, c *promised) string {
	for _, p := range f.pins {
		if p.line == l && p.bucket == t && (p.pin.Kind != PinForbid || c.on && (c.mounted == p.pin.Profile || c.promises(p.pin.Profile))) {
			return p.pin.Code
		}
	}
	return ""
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

// keep prices the changes of line l in bucket t against c, or allows none where it is held.
func (f *formulation) keep(l, t int, c *promised, price float64) {
	code, held := f.in.Lines[l].Code, f.isHeld(l, t)
	charge := func(r ref) {
		f.cost(r, costChange, price)
		if held {
			f.limit(l, r, 0)
		}
	}
	change := func(name string, index ...any) ref {
		r := column(f.m.AddVar(label(name, index...), 0, 1, 0))
		charge(r)
		return r
	}
	switch {
	case !c.on:
		charge(f.on[l][t])
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
				charge(f.changed[j][t])
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
