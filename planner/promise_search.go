package planner

import (
	"context"
	"fmt"
	"math"
	"slices"

	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/mip"
)

// promiseWhole is the number of whole numbers free up to which they are decided at once.
var promiseWhole = 600

// How an enquiry is answered. It is put into the plan's model as a class of its own, with all that the plan has late held to be no
// later, and the first bucket is looked for at whose end nothing of it is owed. Where few whole numbers are free, that is decided over all of
// them at once. On a plant's model that would take minutes. There the plan's set-ups are held, so that amounts alone, and loads, are left to
// decide: hours of the campaigns that there are, extended or cut, feed, rack. Then campaigns of the profile are put beside the plan's, on any line
// that can make it and in any week, the die that was on changed back to: of the whole numbers that is a sixth.
// To free all of the lines' whole numbers found less in ten times the work, and so did windows of some weeks of a line.
const (
	promiseWork  = 300_000_000 // work units for each step of that
	promiseHeld  = 20_000_000  // for amounts alone,
	promiseLoads = 40_000_000  // for loads made whole,
	promiseMore  = 100_000_000 // for looking for campaigns more,
	promiseAll   = 400_000_000 // and for all such looks,
	promiseWider = 50_000_000  // of which so much is left at least for those of each wider answer
	promiseGain  = 1e-4        // share of what is owed over time that campaigns more must save,
	promiseGap   = 0.02        // and the gap at which they will do
	promiseAny   = 1.0         // gap at which those will do that are known to be soon enough,
	promiseBeat  = 1e15        // and what they beat, in metre-days: anything
)

// answered is the first bucket at whose end nothing is owed, len(owed) for none, with the solution that does it and what keeps it from being
// sooner; proven is whether nothing sooner can be had.
type answered struct {
	t      int
	x      []float64
	limit  Resource
	proven bool
}

// earliest looks for a bucket before most; if there is none, it is most, and where most is a bucket
// of the horizon nothing is told of what binds.
func (e *enquiry) earliest(ctx context.Context, most int) (answered, error) {
	if e.wholeFree() <= promiseWhole {
		return e.ofAll(ctx, most)
	}
	return e.ofCampaigns(ctx, most)
}

// wholeFree counts the whole numbers that are free.
func (e *enquiry) wholeFree() (n int) {
	for j, free := range e.free {
		n += int(isOne(free && e.f.m.Lower[j] < e.f.m.Upper[j]))
	}
	return n
}

// ofAll decides over all that is free.
func (e *enquiry) ofAll(ctx context.Context, most int) (answered, error) {
	h := e.f.program(&purse{ctx: ctx, work: holdWork}, e.f.m.Clone())
	if h == nil {
		return answered{}, fmt.Errorf("%w: the enquiry could not be worked out", ErrStopped)
	}
	a := answered{t: most, x: e.x, proven: true}
	least, s := 0, h.s.Clone()
	for least < most && !e.by(ctx, s, least) {
		least++
	}
	for least < a.t {
		t := (least + a.t) / 2
		x, sure := e.find(ctx, e.free, t, promiseWork)
		if x != nil {
			a.t, a.x = min(t, e.done(x)), x
		} else {
			least, a.proven = t+1, a.proven && sure
		}
	}
	if a.t == most && most < len(e.owed) {
		return a, nil
	}
	e.settleOn(ctx, &a, most, e.free, promiseWork)
	a.limit = e.binds(a.t-1, func(t int, without ...Resource) bool {
		s := h.s.Clone()
		for _, of := range without {
			h.takeOut(s, of)
			if of == OfPellets {
				for k := range e.f.short {
					for o := range e.f.buckets {
						s.SetBounds(e.f.short[k][o].v, 0, math.Inf(1))
					}
				}
			}
		}
		return e.by(ctx, s, t)
	}, enquiryLimits)
	return a, nil
}

// settleOn keeps the answer's set-ups and takes the cheapest of what is done for it beside the plan.
func (e *enquiry) settleOn(ctx context.Context, a *answered, most int, free []bool, work int64) {
	if a.t == most {
		return
	}
	e.x = a.x
	if !slices.ContainsFunc(e.cost, func(c float64) bool { return c != 0 }) {
		return
	}
	if x, _ := e.cheapest(ctx, free, a.t, work); x != nil {
		a.x, e.x = x, x
	}
}

// done is the first bucket at whose end nothing is owed, len(owed) if there is none.
func (e *enquiry) done(x []float64) int {
	t := 0
	for t < len(e.owed) && e.owed[t].at(x) > quantumMetres {
		t++
	}
	return t
}

// by reports whether the enquiry can be complete at the end of bucket t in a program of all columns.
func (e *enquiry) by(ctx context.Context, s *lp.Solver, t int) bool {
	v := e.owed[t].v
	s.SetBounds(v, 0, 0)
	ok := s.Solve(ctx, lp.Limits{}) == solve.Optimal
	s.SetBounds(v, 0, e.f.m.Upper[v])
	return ok
}

// find looks for a solution in which nothing is owed at the end of bucket t, with the whole numbers free that are told, others as in e.x; nil
// for none. sure is whether there is none.
func (e *enquiry) find(ctx context.Context, free []bool, t int, work int64) (x []float64, sure bool) {
	return e.decide(ctx, free, t, work, nil)
}

// cheapest looks for the one that costs least beside the plan.
func (e *enquiry) cheapest(ctx context.Context, free []bool, t int, work int64) (x []float64, sure bool) {
	return e.decide(ctx, free, t, work, e.cost)
}

func (e *enquiry) decide(ctx context.Context, free []bool, t int, work int64, cost []float64) (x []float64, sure bool) {
	q := e.f.settleBut(free, e.x, nil, solve.Options{Seed: e.f.opt.Seed})
	if q == nil || !q.limit(e.owed[t], 0) {
		return nil, true
	}
	for k, v := range q.vars {
		q.small.Integer[k] = e.f.m.Integer[v]
		q.small.Cost[k] = 0
		if cost != nil {
			q.small.Cost[k] = cost[v]
		}
	}
	o := mip.Options{Options: solve.Options{Work: work, Workers: 1, Seed: e.f.opt.Seed}}
	if cost == nil {
		o.Gap = 1
	} else {
		start := make([]float64, len(q.vars))
		for k, v := range q.vars {
			start[k] = e.x[v]
		}
		o.Incumbents = [][]float64{start}
	}
	r := mip.Solve(ctx, q.small, o)
	if !r.Has {
		return nil, r.Stop == solve.Infeasible
	}
	return q.whole(r.X), true
}

// limit bounds a column of the whole from above; false if it is held above that.
func (q *settling) limit(r ref, upper float64) bool {
	k, is := slices.BinarySearch(q.vars, r.v)
	if !is {
		return q.x[r.v] <= upper+quantumMetres
	}
	q.small.Upper[k] = upper
	return q.small.Lower[k] <= upper
}

// whole is a solution of the small model as one of the whole.
func (q *settling) whole(small []float64) []float64 {
	x := slices.Clone(q.x)
	for k, v := range small {
		x[q.vars[k]] = v
	}
	return x
}

// binds is the limit of some without which the enquiry could be complete in bucket t, the one before the answer.
func (e *enquiry) binds(t int, can func(t int, without ...Resource) bool, some []Resource) Resource {
	switch {
	case t < 0:
		return OfTime
	case can(t):
		return OfSetups
	}
	for _, of := range some {
		if can(t, of) {
			return of
		}
	}
	return OfSeveral
}
