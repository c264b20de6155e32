package mip

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Diving: from the optimum at hand, move the bounds of a few fractional columns at a time, propagate, re-solve, until all
// are whole or the box is empty. One step back is allowed at each level: the best column's other side is tried once.

const (
	diveBatch   = 5   // one in so many fractional columns moves along with the best one …
	diveDecided = 0.3 // … if its value is nearer than this to where it is moved
)

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
		if !t.diveOn(ctx, rule, x, fractional) {
			return
		}
		copy(x, t.r.x)
	}
}

// diveOn moves the bound of the best column, and of a share of the others that are nearly decided, and re-solves. If that
// leads nowhere, the best column's other side is tried alone. False when both fail.
func (t *slot) diveOn(ctx context.Context, rule diveRule, x []float64, fractional []int32) bool {
	steps := t.rankDive(rule, x, fractional)
	first, mark := steps[0], len(t.d.trail)
	v := empty
	if t.diveMove(first.col, x[first.col], first.toUp) {
		for _, st := range steps[1:min(len(steps), 1+len(steps)/diveBatch)] {
			if st.distance < diveDecided {
				t.diveMove(st.col, x[st.col], st.toUp)
			}
		}
		v = t.diveSolve(ctx)
	}
	if v == empty || v == beyond {
		t.d.back(mark)
		v = empty
		if t.diveMove(first.col, x[first.col], !first.toUp) {
			v = t.diveSolve(ctx)
		}
	}
	return v == solved
}

func (t *slot) listFractional(x []float64, list []int32) []int32 {
	for _, j := range t.s.p.intCols {
		if math.Abs(x[j]-math.Round(x[j])) > integralityTol {
			list = append(list, j)
		}
	}
	return list
}

// diveMove moves one bound and propagates; undone if the box becomes empty.
func (t *slot) diveMove(j int32, v float64, toUp bool) bool {
	mark := len(t.d.trail)
	ok := false
	if toUp {
		ok = t.d.setLower(j, math.Ceil(v))
	} else {
		ok = t.d.setUpper(j, math.Floor(v))
	}
	if ok && t.d.propagate() {
		return true
	}
	t.d.back(mark)
	return false
}

func (t *slot) diveSolve(ctx context.Context) verdict {
	t.r.load(t.d)
	return t.r.solve(ctx, t.prune, 0)
}

// diveChoice is a column, the side to move it to and how far that is.
type diveChoice struct {
	col             int32
	toUp            bool
	score, distance float64
}

// rankDive orders the fractional columns by the rule, the best first; ties by column.
func (t *slot) rankDive(rule diveRule, x []float64, fractional []int32) []diveChoice {
	list := make([]diveChoice, len(fractional))
	for k, j := range fractional {
		f := x[j] - math.Floor(x[j])
		score, toUp := t.diveScore(rule, j, f)
		list[k] = diveChoice{j, toUp, score, f}
		if toUp {
			list[k].distance = 1 - f
		}
	}
	slices.SortStableFunc(list, func(a, b diveChoice) int { return cmp.Compare(a.score, b.score) })
	return list
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
