package mip

import (
	"context"
	"math"
)

// Diving: from the optimum at hand, fix fractional columns one (or a few) at a time, propagate, re-solve, until all are
// whole or the box is empty. One step back is allowed at each level: the opposite bound is tried once.

// diveRule picks the column to move next and the side.
type diveRule int

const (
	diveFractional diveRule = iota // nearest to a whole number
	diveLocks                      // the side that fewer rows hinder
	diveGuided                     // towards the solution held
	divePseudo                     // the side that costs less
	diveLength                     // the most rows helped per cost
	diveRules
)

// dive searches below the box of t.d, from the optimum held by the relaxation. The box and the relaxation's bounds are
// restored; its basis is not. It returns the whole numbers found, verified, in t.best.
func (t *slot) dive(ctx context.Context, rule diveRule, budget int64) {
	mark, end := len(t.d.trail), t.totalWork()+budget
	defer func() {
		t.d.back(mark)
		t.r.load(t.d)
	}()
	x := append([]float64(nil), t.r.x...)
	var fractional []int32
	for ctx.Err() == nil && t.totalWork() < end {
		fractional = t.listFractional(x, fractional[:0])
		if len(fractional) == 0 {
			t.offer(ctx, x)
			return
		}
		if y, ok := t.s.p.roundByLocks(x, fractional); ok {
			t.offer(ctx, y)
			return
		}
		j, toUp := t.pickDive(rule, x, fractional)
		v := t.diveStep(ctx, j, x[j], toUp)
		if v == empty || v == beyond {
			v = t.diveStep(ctx, j, x[j], !toUp)
		}
		if v != solved {
			return
		}
		copy(x, t.r.x)
	}
}

func (t *slot) listFractional(x []float64, list []int32) []int32 {
	for _, j := range t.s.p.intCols {
		if math.Abs(x[j]-math.Round(x[j])) > integralityTol {
			list = append(list, j)
		}
	}
	return list
}

// diveStep moves one bound, propagates and re-solves. A failed step is undone.
func (t *slot) diveStep(ctx context.Context, j int32, v float64, toUp bool) verdict {
	mark := len(t.d.trail)
	ok := false
	if toUp {
		ok = t.d.setLower(j, math.Ceil(v))
	} else {
		ok = t.d.setUpper(j, math.Floor(v))
	}
	if !ok || !t.d.propagate() {
		t.d.back(mark)
		return empty
	}
	t.r.load(t.d)
	w := t.r.solve(ctx, t.prune, 0)
	if w == empty || w == beyond {
		t.d.back(mark)
		t.r.load(t.d)
	}
	return w
}

// pickDive chooses by the rule; ties go to the first column.
func (t *slot) pickDive(rule diveRule, x []float64, fractional []int32) (int32, bool) {
	best, pick, side := inf, fractional[0], false
	for _, j := range fractional {
		score, toUp := t.diveScore(rule, j, x[j]-math.Floor(x[j]))
		if score < best {
			best, pick, side = score, j, toUp
		}
	}
	return pick, side
}

func (t *slot) diveScore(rule diveRule, j int32, f float64) (score float64, toUp bool) {
	p := t.s.p
	nearUp := f > 0.5
	distance := func(toUp bool) float64 {
		if toUp {
			return 1 - f
		}
		return f
	}
	switch rule {
	case diveLocks:
		toUp = p.upLocks[j] < p.downLocks[j] || (p.upLocks[j] == p.downLocks[j] && nearUp)
		free := 1.0
		if p.upLocks[j] == 0 || p.downLocks[j] == 0 {
			free = 1e3 // rounding settles it at the end
		}
		return distance(toUp) * free, toUp
	case diveGuided:
		if g := t.s.guide; g != nil {
			toUp = g[j] > math.Floor(t.r.x[j])+0.5
			return distance(toUp), toUp
		}
	case divePseudo:
		d, u := f*t.pseudo.unit(j, down), (1-f)*t.pseudo.unit(j, up)
		toUp = u < d
		if f < 0.2 || f > 0.8 {
			toUp = nearUp
		}
		return math.Min(d, u) / (1e-9 + math.Max(d, u)) * (0.1 + distance(toUp)), toUp
	case diveLength:
		toUp = p.cost[j] <= 0
		gain := math.Abs(p.cost[j]) * distance(toUp)
		return (gain + 1e-9) / float64(p.upLocks[j]+p.downLocks[j]+1), toUp
	}
	return distance(nearUp), nearUp
}

// offer verifies a reduced point and keeps it if it is better than what the slot holds.
func (t *slot) offer(ctx context.Context, x []float64) bool {
	inc, what := t.verify(ctx, x)
	if what != accepted || !(inc.value < t.best.value) {
		return false
	}
	t.found(inc)
	return true
}
