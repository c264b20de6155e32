package planner

import (
	"cmp"
	"context"
	"math"
	"slices"

	"feedline/lines/calendar"
	"feedline/planner/model"
	"feedline/planner/solve"
)

// Ordering loads one by one. Where a plan's lines are held, what a step of its loads can bring is at most what the duals of its program say,
// as the program is convex; so the most promising step is tried, a few dual simplex steps, and taken if it helps.
const (
	loadTries = 24   // steps tried at most,
	loadFails = 4    // in a row without gain
	loadWorth = 2e-4 // share of the objective below which a step is not worth trying
	loadSpare = 0.3  // share of its cost that leaving a load out must save by the duals: what is lost with it is more than they say
)

// loadStep is a change of a lane's orders: n loads less in the bucket from, n more in the bucket to; -1 for neither.
type loadStep struct {
	lane, from, to int
	n              float64
	most           float64 // what it can bring, by the duals
}

// key tells steps of the same kind and place, whatever they promise.
func (s loadStep) key() loadStep { s.most = 0; return s }

// back is the step that undoes s.
func (s loadStep) back() loadStep { return loadStep{s.lane, s.to, s.from, s.n, 0} }

// take puts the step into x.
func (s loadStep) take(f *formulation, x []float64) {
	if s.from >= 0 {
		f.order(s.lane, s.from, math.Round(f.loads[s.lane][s.from].at(x)-s.n), x)
	}
	if s.to >= 0 {
		f.order(s.lane, s.to, math.Round(f.loads[s.lane][s.to].at(x)+s.n), x)
	}
}

// stepLoads improves on r, the solution at which q stands, by steps of its loads.
func (q *settling) stepLoads(ctx context.Context, r solve.Result) solve.Result {
	r.Work = 0
	failed, fails := map[loadStep]bool{}, 0
	for try := 0; try < loadTries && fails < loadFails && ctx.Err() == nil; try++ {
		best := loadStep{most: loadWorth * math.Abs(r.Objective)}
		for _, s := range q.loadSteps(r.X) {
			if s.most > best.most && !failed[s.key()] {
				best = s
			}
		}
		if best.n == 0 {
			break
		}
		x, place, work := slices.Clone(r.X), q.s.Place(), r.Work
		best.take(q.f, x)
		now := q.below(ctx, x, r.Objective)
		work += now.Work
		if now.Has && now.Objective < r.Objective {
			clear(failed)
			failed[best.back()] = true
			r, fails = now, 0
		} else {
			failed[best.key()] = true
			fails++
			q.hold(r.X)
			q.s.Return(place)
			work += q.solve(ctx).Work
		}
		r.Work = work
	}
	return r
}

// loadSteps lists the steps from the orders of x that the lanes allow, with what the duals where q stands let them bring at most.
func (q *settling) loadSteps(x []float64) []loadStep {
	f, y := q.f, q.s.Y()
	var list []loadStep
	for lane := range f.in.Lanes {
		least, worth := max(1, float64(f.in.Lanes[lane].MinLoads)), make([]float64, len(f.buckets))
		has := make([]float64, len(f.buckets)) // -1 where nothing can be ordered
		for t, r := range f.loads[lane] {
			has[t] = -1
			if k, is := slices.BinarySearch(q.vars, r.v); r.is && is {
				worth[t], has[t] = q.worthOf(model.Var(k), y), math.Round(x[r.v])
			}
		}
		for t, n := range has {
			switch {
			case n < 0:
			case n == 0:
				list = append(list, loadStep{lane, -1, t, least, worth[t] * least})
			default:
				list = append(list, loadStep{lane, -1, t, 1, worth[t]})
				less := n // all, or one where enough are left
				if n > least {
					less = 1
				}
				if -worth[t] >= loadSpare*float64(f.in.Lanes[lane].LoadCost()) {
					list = append(list, loadStep{lane, t, -1, less, -worth[t] * less})
				}
				for to, m := range has {
					if to != t && m >= 0 && m+less >= least {
						list = append(list, loadStep{lane, t, to, less, (worth[to] - worth[t]) * less})
					}
				}
			}
		}
	}
	list = slices.DeleteFunc(list, func(s loadStep) bool { return s.most <= 0 || !q.f.allows(s, x) })
	slices.SortStableFunc(list, func(a, b loadStep) int { return cmp.Compare(b.most, a.most) })
	return list
}

// allows reports whether a step from the orders of x keeps to what its lane can take, at once and in a run of weeks.
func (f *formulation) allows(s loadStep, x []float64) bool {
	if s.to < 0 {
		return true
	}
	n := func(t int) float64 {
		n := math.Round(f.loads[s.lane][t].at(x))
		switch t {
		case s.from:
			n -= s.n
		case s.to:
			n += s.n
		}
		return n
	}
	if n(s.to) > f.m.Upper[f.loads[s.lane][s.to].v] {
		return false
	}
	if f.in.Lanes[s.lane].LoadsAWeek <= 0 {
		return true
	}
	limit, weeks := f.loadLimit(s.lane)
	for t := range f.buckets { // windows that end with t
		first, sum := f.buckets[t].Span.From.Monday()-calendar.Day(7*(weeks-1)), 0.0
		for o := t; o >= 0 && f.buckets[o].Span.From >= first; o-- {
			sum += n(o)
		}
		if sum > limit {
			return false
		}
	}
	return true
}

// worthOf is what the duals y say that one more of column k saves. Rows of whole numbers alone, which count loads, are left out.
func (q *settling) worthOf(k model.Var, y []float64) float64 {
	worth := -q.small.Cost[k]
	for i := q.columns.Start[k]; i < q.columns.Start[k+1]; i++ {
		if row := q.columns.Index[i]; !q.counts[row] {
			worth += q.columns.Value[i] * y[row]
		}
	}
	return worth
}
