package audit

import (
	"math"
	"slices"

	"feedline/lines"
	"feedline/planner"
)

// checkDie checks that every run of a line in a bucket has its die on, that the die at the end can be the one stated, and
// that the set-up hours suffice. mounted is the profile whose die is on at the start.
func (a *auditor) checkDie(u planner.LineUse, mounted string) {
	changed := a.cameOn(u)
	setup := num{}
	for i, r := range a.runs[lineBucket{u.Line, u.Bucket}] {
		w := a.at(u.Bucket, runName(r))
		a.holds(Die, w, r.Changeover || r.Profile == mounted, "the die is not on the line and no changeover brings it on")
		a.holds(Die, w, r.Changeover || i == 0, "a run without a changeover is not the first of the bucket")
		setup = setup.add(computed(r.Setup))
	}
	w := a.at(u.Bucket, "line "+u.Line)
	a.holds(Die, w, len(changed) != 1 || changed[0] != mounted, "a changeover brings on the die that is on already")
	stays := len(changed) == 0 && u.Mounted == mounted
	a.holds(Die, w, u.Mounted == "" || stays || slices.Contains(changed, u.Mounted), "the die at the end was not on and did not come on")
	need := a.leastSequence(mounted, changed, u.Mounted, func(c lines.Changeover) float64 { return float64(c.Hours) })
	a.atLeast(Setup, w, setup, computed(need), hoursTolerance, "h", "set-up hours of the best order")
	a.checkOrder(u, mounted, need)
}

// checkOrder checks that the changeovers of a bucket take what the plan says in the order of its list, and that no order takes less. A plan
// that says nothing of it was made before that was looked at.
func (a *auditor) checkOrder(u planner.LineUse, mounted string, least float64) {
	told := num{}
	runs := a.runs[lineBucket{u.Line, u.Bucket}]
	if !slices.ContainsFunc(runs, func(r planner.Run) bool { return r.Takes != 0 }) {
		return
	}
	for _, r := range runs {
		want := 0.0
		if r.Changeover {
			want = float64(a.change(a.family(mounted), a.family(r.Profile)).Hours)
		}
		a.equal(Setup, a.at(u.Bucket, runName(r)), computed(r.Takes), computed(want), hoursTolerance, "h", "what the changeover takes by the table")
		told, mounted = told.add(computed(r.Takes)), r.Profile
	}
	if len(a.cameOn(u)) <= mostExact {
		a.equal(Setup, a.at(u.Bucket, "line "+u.Line), told, computed(least), hoursTolerance, "h", "what the changeovers take in the best order")
	}
}

// cameOn lists the profiles whose dies came on the line in the bucket.
func (a *auditor) cameOn(u planner.LineUse) []string {
	var list []string
	for _, r := range a.runs[lineBucket{u.Line, u.Bucket}] {
		if r.Changeover {
			list = append(list, r.Profile)
		}
	}
	return list
}

// mostExact is the number of changeovers up to which the best order is found exactly; 2^n·n² steps.
const mostExact = 12

// leastSequence is the least sum of a figure over the orders of changes from mounted through all of changed, the last of them end
// (any if end is not among them). Beyond mostExact changes it is a bound from below: the least change into each.
func (a *auditor) leastSequence(mounted string, changed []string, end string, figure func(lines.Changeover) float64) float64 {
	n := len(changed)
	if n == 0 {
		return 0
	}
	at := func(from, to string) float64 { return figure(a.change(a.family(from), a.family(to))) }
	if n > mostExact {
		return a.leastInto(mounted, changed, at)
	}
	best := make([][]float64, 1<<n) // by the set done and the last of it
	for s := range best {
		best[s] = slices.Repeat([]float64{math.Inf(1)}, n)
	}
	for i, p := range changed {
		best[1<<i][i] = at(mounted, p)
	}
	for s := range best {
		for i := range n {
			for j := range n {
				if s>>i&1 == 1 && s>>j&1 == 0 {
					best[s|1<<j][j] = min(best[s|1<<j][j], best[s][i]+at(changed[i], changed[j]))
				}
			}
		}
	}
	all := best[1<<n-1]
	if i := slices.Index(changed, end); i >= 0 {
		return all[i]
	}
	return slices.Min(all)
}

func (a *auditor) leastInto(mounted string, changed []string, at func(from, to string) float64) float64 {
	sum := 0.0
	for i, p := range changed {
		low := at(mounted, p)
		for j, q := range changed {
			if i != j {
				low = min(low, at(q, p))
			}
		}
		sum += low
	}
	return sum
}

// mountedBefore is the profile whose die is on a line at the start of bucket t.
func (a *auditor) mountedBefore(ln lines.Line, t int) string {
	if t == 0 {
		return ln.Mounted
	}
	return a.uses[lineBucket{ln.Code, t - 1}].Mounted
}

// checkDies counts the lines that hold or take each profile's die. What is on at the plan's start is taken to exist.
func (a *auditor) checkDies(t int) {
	count, atStart := map[string]int{}, map[string]int{}
	for _, ln := range a.in.Lines {
		atStart[ln.Mounted]++
		on := a.cameOn(a.uses[lineBucket{ln.Code, t}])
		if m := a.mountedBefore(ln, t); !slices.Contains(on, m) {
			on = append(on, m)
		}
		for _, p := range on {
			count[p]++
		}
	}
	for _, pr := range a.in.Profiles {
		if pr.Dies > 0 {
			a.atMost(Dies, a.at(t, "profile "+pr.Code), whole(count[pr.Code]), whole(max(pr.Dies, atStart[pr.Code])), 0, "dies", "lines with the die")
		}
	}
}

// checkFitters adds up the fitters' hours of the best order of each line.
func (a *auditor) checkFitters(t int) {
	if a.in.Plant.FitterHours <= 0 {
		return
	}
	sum, days := 0.0, 0
	for _, ln := range a.in.Lines {
		u := a.uses[lineBucket{ln.Code, t}]
		sum += a.leastSequence(a.mountedBefore(ln, t), a.cameOn(u), u.Mounted, func(c lines.Changeover) float64 { return float64(c.FitterHours) })
	}
	for d := a.p.Buckets[t].Span.From; d < a.p.Buckets[t].Span.To; d++ {
		if a.worked("", d) > 0 {
			days++
		}
	}
	a.atMost(Fitters, a.at(t, "plant"), computed(sum), entered(a.in.Plant.FitterHours).mul(whole(days)), hoursTolerance, "h", "fitters' hours")
}
