package mip

import (
	"context"
	"math"
	"slices"
)

// Reliability branching (Achterberg, Koch and Martin 2005): columns whose pseudo-costs rest on few observations are
// tried out with a few dual simplex steps on either side, the most promising first, until several in a row bring nothing.
const (
	reliableAfter   = 6          // observations a side
	lookAhead       = 8          // trials without improvement before giving up
	maxTrials       = 60         // at one node
	trialsAtLeast   = 60_000_000 // work for trials before they are measured by the ordinary solves
	trialIterations = 100        // simplex iterations a side at most
)

// decision is a branching: both sides' proven bounds, −Inf where nothing is known, +Inf where the side is empty.
type decision struct {
	col    int32
	value  float64
	bounds [2]float64
}

// trialsAllowed limits the work of trials by that of ordinary solves.
func (t *slot) trialsAllowed() bool {
	base := int64(trialsAtLeast)
	if t.s.depth > 0 {
		base /= 10
	}
	return t.trialWork < t.nodeWork/2+base
}

// branchOn chooses among the fractional columns of the slot's present optimum t.x with objective z.
func (t *slot) branchOn(ctx context.Context, fractional []int32, z float64) decision {
	list := t.prioritised(fractional)
	slices.SortStableFunc(list, func(a, b int32) int {
		sa, sb := t.pseudo.score(a, t.x[a]), t.pseudo.score(b, t.x[b])
		switch {
		case sa > sb:
			return -1
		case sa < sb:
			return 1
		}
		return int(a) - int(b)
	})
	best := decision{col: list[0], value: t.x[list[0]], bounds: [2]float64{-inf, -inf}}
	if len(list) == 1 || !t.trialsAllowed() {
		return best
	}
	return t.tryOut(ctx, list, best, z)
}

// prioritised is the part of list with the highest priority.
func (t *slot) prioritised(list []int32) []int32 {
	if t.s.priority == nil {
		return slices.Clone(list)
	}
	top := t.s.priority[list[0]]
	for _, j := range list {
		top = max(top, t.s.priority[j])
	}
	var kept []int32
	for _, j := range list {
		if t.s.priority[j] == top {
			kept = append(kept, j)
		}
	}
	return kept
}

func (t *slot) tryOut(ctx context.Context, list []int32, best decision, z float64) decision {
	bestScore := -1.0
	idle, trials, moved := 0, 0, false
	basis := t.r.s.Basis()
	for _, j := range list {
		if idle >= lookAhead || ctx.Err() != nil {
			break
		}
		d := decision{col: j, value: t.x[j], bounds: [2]float64{-inf, -inf}}
		score := t.pseudo.score(j, t.x[j])
		if !t.pseudo.reliable(j, reliableAfter) && trials < maxTrials && t.trialsAllowed() {
			trials++
			gains := [2]float64{}
			for side := range 2 {
				gains[side] = t.trial(ctx, &d, side, z)
				t.r.s.SetBasis(basis)
				moved = true
			}
			if math.IsInf(d.bounds[down], 1) || math.IsInf(d.bounds[up], 1) {
				return d
			}
			score = productScore(gains[down], gains[up])
		}
		if score > bestScore*(1+1e-9) {
			best, bestScore, idle = d, score, 0
		} else {
			idle++
		}
	}
	if moved {
		t.r.s.SetBasis(basis)
	}
	return best
}

// trial solves one side of a candidate within a few iterations and returns the gain seen.
func (t *slot) trial(ctx context.Context, d *decision, side int, z float64) float64 {
	j, l, u := d.col, t.r.lower[d.col], t.r.upper[d.col]
	distance := d.value - math.Floor(d.value)
	if side == down {
		t.r.setBounds(j, l, math.Floor(d.value))
	} else {
		t.r.setBounds(j, math.Ceil(d.value), u)
		distance = 1 - distance
	}
	before := t.r.s.Work()
	v := t.r.solve(ctx, t.prune, trialIterations)
	t.trialWork += t.r.s.Work() - before
	t.r.setBounds(j, l, u)
	switch v {
	case empty, beyond:
		d.bounds[side] = inf
		return math.Max(0, t.prune-z)
	case solved, unfinished:
		d.bounds[side] = t.r.bound
		gain := t.r.bound - z
		if v == solved {
			t.pseudo.note(j, int8(side), gain, distance)
		}
		return math.Max(0, gain)
	}
	return 0
}
