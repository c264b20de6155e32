package audit

import (
	"slices"
	"strconv"

	"feedline/lines/calendar"
	"feedline/planner"
)

// Against audits p like Plan, and its changes against the released plan that it was made under.
func Against(in *planner.Input, p, released *planner.Plan) Report { return plan(in, p, released) }

// checkChanges bills the changes that the plan owns to, and with the released plan at hand counts them anew.
func (a *auditor) checkChanges(released *planner.Plan) {
	held := a.p.Start + calendar.Day(a.in.Plant.FrozenDays)
	a.holds(Changes, a.at(-1, "plan"), a.p.Frozen == 0 && (released == nil || held == a.p.Start) || a.p.Frozen == held && held > a.p.Start, "the frozen days are not the plant's")
	for _, c := range a.p.Changes {
		w := a.at(c.Bucket, "line "+c.Line)
		ln, ok := a.line[c.Line]
		if !a.holds(Changes, w, ok && c.Bucket >= 0 && c.Bucket < len(a.p.Buckets) && c.Days > 0, "the change is of no line, bucket or day") {
			continue
		}
		hours := a.hours[lineBucket{c.Line, c.Bucket}]
		a.holds(Changes, w, c.Forced == (hours.sign() == 0 || released != nil && a.lostDie(c, released)) || c.Forced && released == nil, "forced does not fit the line's hours and dies")
		a.holds(Changes, w, c.Frozen == (a.p.Buckets[c.Bucket].Span.To <= held), "frozen does not fit the plant's frozen days")
		a.holds(Changes, w, a.pinsFit(ln.Code, c, released), "pinned does not fit the pins")
		switch {
		case c.Forced:
		case c.Frozen && !c.Pinned && c.Why == "": // of a plan that was made while frozen days were priced
			a.bill(costFrozen, whole(pinPrice*c.Days).mul(hours))
			a.find(Changes, w, Finding{Severity: Doubtful, Note: "a frozen day is not kept: was " + c.Was + ", is " + c.Is})
		case c.Frozen && !c.Pinned:
			a.bill(costChange, entered(a.in.Plant.ChangeCost).mul(whole(c.Days)))
			a.find(Changes, w, Finding{Severity: Doubtful, Note: "a frozen day is not kept: was " + c.Was + ", is " + c.Is + ": " + c.Why})
		default:
			a.bill(costChange, entered(a.in.Plant.ChangeCost).mul(whole(c.Days)))
		}
	}
	if released != nil {
		a.countChanges(released)
	}
}

// lostDie reports whether the line is on in a day that was released to end with a die that the line can't make any longer.
func (a *auditor) lostDie(c planner.Change, released *planner.Plan) bool {
	span := a.p.Buckets[c.Bucket].Span
	o := slices.IndexFunc(released.Buckets, func(b calendar.Bucket) bool { return b.Span == span && !b.Weekly() })
	for _, u := range released.Lines {
		if u.Line == c.Line && u.Bucket == o && u.On && u.Mounted != "" && a.uses[lineBucket{c.Line, c.Bucket}].On {
			_, can := a.fits[[2]string{c.Line, u.Mounted}]
			return !can
		}
	}
	return false
}

// pinsFit reports whether the change is pinned by the pins: by any that has the line run or stand, by one that forbids what was promised.
// Without the released plan what was promised is not known.
func (a *auditor) pinsFit(line string, c planner.Change, released *planner.Plan) bool {
	span, forbidden := a.p.Buckets[c.Bucket].Span, false
	for _, p := range a.in.Pins {
		switch over := p.Line == line && span.Overlap(calendar.Span{From: p.From, To: p.To}).Days() > 0; {
		case over && p.Kind != planner.PinForbid:
			return c.Pinned
		case over && (released == nil || promisedTo(released, line, p.Profile, span)):
			forbidden = true
		}
	}
	return c.Pinned == forbidden || !c.Pinned && released == nil
}

// promisedTo reports whether the released plan has the line run the profile, or end with its die, in its bucket that holds span.
func promisedTo(released *planner.Plan, line, profile string, span calendar.Span) bool {
	o := slices.IndexFunc(released.Buckets, func(b calendar.Bucket) bool { return b.Span.From <= span.From && span.To <= b.Span.To })
	on := slices.ContainsFunc(released.Lines, func(u planner.LineUse) bool { return u.Line == line && u.Bucket == o && u.On })
	ends := slices.ContainsFunc(released.Lines, func(u planner.LineUse) bool { return u.Line == line && u.Bucket == o && u.Mounted == profile })
	return on && (ends || slices.ContainsFunc(released.Runs, func(r planner.Run) bool { return r.Line == line && r.Bucket == o && r.Profile == profile }))
}

// countChanges counts each line's changed run days again from the two plans.
func (a *auditor) countChanges(released *planner.Plan) {
	own := map[lineBucket]int{}
	for _, c := range a.p.Changes {
		own[lineBucket{c.Line, c.Bucket}] += c.Days
	}
	was, ran := map[lineBucket]planner.LineUse{}, map[lineBucket][]string{}
	for _, u := range released.Lines {
		was[lineBucket{u.Line, u.Bucket}] = u
	}
	for _, r := range released.Runs {
		k := lineBucket{r.Line, r.Bucket}
		if !slices.Contains(ran[k], r.Profile) {
			ran[k] = append(ran[k], r.Profile)
		}
	}
	for _, ln := range a.in.Lines {
		for t, b := range a.p.Buckets {
			for o, x := range released.Buckets {
				u, known := was[lineBucket{ln.Code, o}]
				if !known || b.Span.From < x.Span.From || b.Span.To > x.Span.To {
					continue
				}
				die := was[lineBucket{ln.Code, o - 1}].Mounted
				days := a.changedDays(ln.Code, t, u, ran[lineBucket{ln.Code, o}], die, b.Span == x.Span)
				a.equal(Changes, a.at(t, "line "+ln.Code), whole(own[lineBucket{ln.Code, t}]), whole(days), 0, "days", "changed run days against the released plan, "+strconv.Itoa(days))
			}
		}
	}
}

// changedDays is the run days by which a line's bucket differs from what was promised: the use, the profiles run, the die before.
func (a *auditor) changedDays(line string, t int, was planner.LineUse, promised []string, before string, same bool) int {
	k := lineBucket{line, t}
	now, can := a.uses[k], func(profile string) bool { _, ok := a.fits[[2]string{line, profile}]; return ok }
	count := func(changed bool) int {
		if changed {
			return 1
		}
		return 0
	}
	if !was.On {
		return count(now.On)
	}
	if !same { // a day of a promised week: another die than any of the week's
		stranger := now.Mounted != "" && now.Mounted != was.Mounted && now.Mounted != before && !slices.Contains(promised, now.Mounted)
		return count(now.On && stranger)
	}
	if !a.p.Buckets[t].Weekly() {
		return count(!now.On || was.Mounted != "" && now.Mounted != was.Mounted)
	}
	if len(promised) == 0 {
		return count(!now.On)
	}
	days, came := 0, a.cameOn(now)
	first := a.mountedBefore(a.line[line], t)
	for _, q := range promised {
		if can(q) {
			days += count(!now.On || q != first && !slices.Contains(came, q))
		}
	}
	for _, q := range came {
		days += count(!slices.Contains(promised, q))
	}
	return days
}
