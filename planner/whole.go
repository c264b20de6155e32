package planner

import "math"

// wholeOf reads the whole numbers of f's model off a plan, continuous columns NaN: the plan as a start, or to be held. What the plan has
// and the model does not (a line or a lane that is gone) is left out, so that the result need not be feasible for another Input.
func (f *formulation) wholeOf(p *Plan) []float64 {
	x := f.idlePlan()
	set := func(r ref, value float64) {
		if r.is {
			x[r.v] = value
		}
	}
	first := map[int]int{} // bucket in which a line is first on
	for _, u := range p.Lines {
		l, ok := f.lineAt[u.Line]
		if !ok || u.Bucket >= len(f.buckets) || f.avail[l][u.Bucket] <= 0 {
			continue
		}
		t := u.Bucket
		set(f.on[l][t], isOne(u.On))
		set(f.started[l][t], isOne(u.Started))
		if j := f.fitFor(l, u.Mounted); j >= 0 {
			set(f.mounted[j][t], 1)
		}
		if at, ok := first[l]; u.On && (!ok || t < at) {
			first[l] = t
		}
	}
	for l, t := range first {
		f.commissionBefore(l, t, set)
	}
	for _, r := range p.Runs {
		if l, ok := f.lineAt[r.Line]; ok && r.Changeover && r.Bucket < len(f.buckets) {
			if j := f.fitFor(l, r.Profile); j >= 0 {
				set(f.changed[j][r.Bucket], 1)
			}
		}
	}
	for _, b := range p.Purchases {
		if s, ok := f.laneAt[b.Lane]; ok && b.Bucket < len(f.buckets) {
			set(f.loads[s][b.Bucket], math.Round(float64(b.Loads)))
			set(f.placed[s][b.Bucket], 1)
		}
	}
	return x
}

// commissionBefore begins the setting up of line l as late as lets it be on in bucket t.
func (f *formulation) commissionBefore(l, t int, set func(ref, float64)) {
	days := f.in.Lines[l].Commissioning.Days
	for o := t; o >= 0; o-- {
		if f.commissioned[l][o].is && int(f.buckets[o].Span.From)+days <= int(f.buckets[t].Span.From) {
			set(f.commissioned[l][o], 1)
			return
		}
	}
}
