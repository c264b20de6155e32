package planner

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/mip"
)

// ofCampaigns decides over amounts and loads first, and then over campaigns more, as long as they bring something.
func (e *enquiry) ofCampaigns(ctx context.Context, most int) (answered, error) {
	a := answered{t: most, x: e.x}
	q, err := e.amounts(ctx, &a)
	if most < len(e.owed) {
		e.looks = max(e.looks, promiseWider)
	}
	for err == nil && a.t > 0 && !e.amountsOnly && ctx.Err() == nil {
		x := e.moreCampaigns(ctx, a.t)
		if x == nil {
			break
		}
		e.x = x
		q, err = e.amounts(ctx, &a)
	}
	if err != nil {
		return a, err
	}
	if a.t == most && most < len(e.owed) {
		return a, nil
	}
	e.settleOn(ctx, &a, most, e.f.loadColumns(), promiseLoads)
	a.limit = e.binds(a.t-1, func(t int, without ...Resource) bool { return q.without(ctx, e.owed[t], without...) }, amountLimits)
	if a.limit == OfSeveral && !q.without(ctx, e.owed[a.t-1], OfLineHour, OfPellets) {
		a.limit = OfSetups
	}
	return a, nil
}

// enquiryLimits are left out in turn, narrower ones first, and feed before hours, as it can be ordered; amountLimits are those that bind with
// set-ups held.
var (
	enquiryLimits = []Resource{OfStep, OfSpace, OfCrew, OfDie, OfFitter, OfPellets, OfLineHour}
	amountLimits  = []Resource{OfStep, OfSpace, OfPellets, OfLineHour}
)

// amounts looks for a bucket before the answer's with the set-ups of e.x. The program returned holds them.
func (e *enquiry) amounts(ctx context.Context, a *answered) (*settling, error) {
	q := e.f.settle(e.x, nil, solve.Options{Seed: e.f.opt.Seed})
	if q == nil {
		return nil, fmt.Errorf("%w: the enquiry could not be worked out", ErrStopped)
	}
	r := q.solve(ctx)
	if !r.Has {
		return nil, fmt.Errorf("%w: the enquiry could not be worked out (%s)", ErrStopped, r.Stop)
	}
	e.best = r.X
	place := q.s.Place()
	defer q.s.Return(place)
	least, most := 0, a.t
	if most == len(e.owed) && !q.without(ctx, e.owed[most-1]) {
		return q, nil
	}
	for least < most {
		if t := (least + most) / 2; q.without(ctx, e.owed[t]) {
			most = t
		} else {
			least = t + 1
		}
	}
	for ; least < a.t; least++ {
		if x, _ := e.find(ctx, e.f.loadColumns(), least, promiseLoads); x != nil {
			a.t, a.x = min(least, e.done(x)), x
		}
	}
	return q, nil
}

// without reports whether r can be 0 where some limits are left out.
func (q *settling) without(ctx context.Context, r ref, limits ...Resource) bool {
	k, is := slices.BinarySearch(q.vars, r.v)
	if !is {
		return q.x[r.v] <= quantumMetres
	}
	s := q.s
	if len(limits) > 0 {
		s = s.Clone()
	}
	for _, of := range limits {
		q.takeOut(s, of)
	}
	s.SetBounds(model.Var(k), 0, 0)
	ok := s.Solve(ctx, lp.Limits{Work: promiseHeld}) == solve.Optimal
	s.SetBounds(model.Var(k), 0, q.small.Upper[k])
	return ok
}

// takeOut gives a limit's rows and columns no bound, with the dies on that are.
func (q *settling) takeOut(s *lp.Solver, of Resource) {
	f := q.f
	for k, i := range q.rows {
		if slices.ContainsFunc(rowsOfLimit[of], func(p string) bool { return strings.HasPrefix(f.m.RowName[i], p) }) {
			s.SetRowBounds(model.Row(k), q.small.RowLower[k], model.Infinity)
		}
	}
	free := func(r ref) {
		if k, is := slices.BinarySearch(q.vars, r.v); r.is && is {
			s.SetBounds(model.Var(k), 0, model.Infinity)
		}
	}
	for t := range f.buckets {
		for k := range f.in.Grades {
			switch of {
			case OfPellets:
				free(f.short[k][t])
			case OfSpace:
				free(f.pellets[k][t])
			}
		}
		for j := range f.fits {
			if of == OfLineHour {
				free(f.run[j][t])
			}
		}
	}
	if of == OfSpace {
		for k, v := range q.vars {
			if isOverfull(f.m.VarName[v]) {
				s.SetBounds(model.Var(k), 0, model.Infinity)
			}
		}
	}
}

// campaignsMore are the whole numbers by which a campaign of the profile is put beside those of e.x: it, and the die that is on, changed to in
// any bucket, the line switched on for it.
func (e *enquiry) campaignsMore() []bool {
	f := e.f
	free := f.loadColumns()
	for _, j := range f.fitsBy[e.profile] {
		l := f.fits[j].line
		for t, b := range f.buckets {
			release := func(r ref) {
				if r.is && e.free[r.v] {
					free[r.v] = !(b.Weekly() && e.x[r.v] > 0.5)
				}
			}
			release(f.on[l][t])
			if r := f.started[l][t]; r.is && e.free[r.v] {
				free[r.v] = true
			}
			for _, k := range f.fitsOf[l] {
				if k == j || f.mounted[k][t].at(e.x) > 0.5 || f.mountedBefore(k, t).at(e.x) > 0.5 {
					release(f.mounted[k][t])
					release(f.changed[k][t])
				}
			}
		}
	}
	return free
}

// moreCampaigns looks for set-ups with campaigns of the profile beside those of e.x: at first for such that leave less owed before bucket most, then for
// such with which it is complete before it, and where that takes too long for less owed again; nil for none. The linear relaxation
// tells the first bucket in which it can be complete at all.
func (e *enquiry) moreCampaigns(ctx context.Context, most int) []float64 {
	f := e.f
	q := f.settleBut(e.campaignsMore(), e.x, nil, solve.Options{Seed: f.opt.Seed})
	if q == nil {
		return nil
	}
	for k, v := range q.vars {
		q.small.Integer[k] = f.m.Integer[v]
		q.small.Cost[k] = 0
	}
	var held float64 // what is owed over time with e.x, in metre-days
	for t := range most {
		if k, is := slices.BinarySearch(q.vars, e.owed[t].v); is {
			q.small.Cost[k] = f.days(t)
		}
		held += f.days(t) * min(e.owed[t].at(e.best), f.m.Upper[e.owed[t].v])
	}
	first := e.relaxedFirst(ctx, q, most)
	less := func() []float64 {
		if r := e.look(ctx, q, held*(1-promiseGain)-1, promiseGap); r.Has {
			return q.whole(r.X)
		}
		return nil
	}
	if first < most && e.looks == promiseAll { // far off yet
		if x := less(); x != nil {
			return x
		}
	}
	for ; first < most && e.looks > 0; first++ {
		x, none := e.campaignsBy(ctx, q, first)
		switch {
		case x != nil:
			return x
		case !none && e.looks > 0:
			return less()
		}
	}
	return nil
}

// relaxedFirst is the first bucket before most at whose end nothing need be owed in q's linear relaxation; most for none.
func (e *enquiry) relaxedFirst(ctx context.Context, q *settling, most int) int {
	s := lp.NewSolver(q.small, solve.Options{Seed: e.f.opt.Seed})
	can := func(t int) bool {
		k, is := slices.BinarySearch(q.vars, e.owed[t].v)
		if !is {
			return q.x[e.owed[t].v] <= quantumMetres
		}
		s.SetBounds(model.Var(k), 0, 0)
		stop := s.Solve(ctx, lp.Limits{Work: promiseHeld})
		s.SetBounds(model.Var(k), 0, q.small.Upper[k])
		return stop != solve.Infeasible
	}
	least := 0
	for least < most {
		if t := (least + most) / 2; can(t) {
			most = t
		} else {
			least = t + 1
		}
	}
	return least
}

// campaignsBy looks for a solution of q with nothing owed at the end of bucket t; nil for none found, and whether there is none.
func (e *enquiry) campaignsBy(ctx context.Context, q *settling, t int) (x []float64, none bool) {
	k, is := slices.BinarySearch(q.vars, e.owed[t].v)
	if !is {
		return nil, q.x[e.owed[t].v] > quantumMetres
	}
	was := q.small.Upper[k]
	q.small.Upper[k] = 0
	r := e.look(ctx, q, promiseBeat, promiseAny)
	q.small.Upper[k] = was
	if r.Has {
		return q.whole(r.X), false
	}
	return nil, r.Stop == solve.Infeasible || r.Stop == solve.ObjectiveLimit
}

// look looks for a solution of q that beats a value; with one to beat little is cut at the root, which finds as much in half the time here.
func (e *enquiry) look(ctx context.Context, q *settling, beat, gap float64) solve.Result {
	r := mip.Solve(ctx, q.small, mip.Options{Beat: &beat, Options: solve.Options{Work: promiseMore, Workers: 1, Seed: e.f.opt.Seed, Gap: gap}})
	e.looks -= r.Work
	r.Has = r.Has && r.Objective <= beat
	return r
}
