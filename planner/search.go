package planner

import (
	"context"
	"math"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/mip"
)

// How a plan is found. General branch and cut alone needs minutes to hold a usable plan of a plant's size. So:
//
//  1. the idle plan (nothing runs, everything is late) is always feasible and starts the search;
//  2. rules give a first usable plan (greedy.go);
//  3. fix-and-optimize frees a window of time, a pair of lines, or the profiles of a die family, and re-decides it, others held;
//  4. branch and cut over the whole model raises the bound and improves on what is held.
//
// shareImprove is the share of the time or work limit by which the third must end; the rest is branch and cut's.
const shareImprove = 0.6

// muchDearer is the share by which a plan made of an earlier one may cost more than that one before plans by rules are tried too.
const muchDearer = 0.05

// Widths of the windows of fix-and-optimize, in buckets.
const (
	narrowWindow = 4
	pairWindow   = 12
	familyWindow = 16
)

// search finds a solution of f's model and a proven bound within the limits of f.opt.
func (f *formulation) search(ctx context.Context) solve.Result {
	began := time.Now()
	s := searching{f: f, began: began, time: f.opt.Time, best: solve.Result{Bound: math.Inf(-1)}}
	if s.time == 0 && f.opt.Work == 0 {
		s.time = defaultTime
	}
	bound := f.relaxedBound(ctx, s.options("bound", 1).Options)
	starts, asGood := [][]float64{f.idlePlan()}, false
	if from := f.opt.From; from != nil {
		s.take(f.resume(ctx, from, f.opt.Workers))
		asGood = s.best.Has && s.best.Objective <= float64(from.Objective)+muchDearer*math.Abs(float64(from.Objective))
	}
	if !asGood {
		if x := f.firstPlan(ctx, s.options("first plan", shareImprove).Options); x != nil {
			starts = append(starts, x)
			s.take(f.holding(ctx, x))
		}
	}
	s.best.Bound = <-bound
	if s.best.Has {
		s.report("better plan")
		s.improve(ctx, shareImprove)
		starts = append(starts, s.best.X)
	}
	if !s.done(ctx) {
		s.prove(ctx, starts)
	}
	s.sayWhy(ctx)
	s.best.Elapsed = time.Since(began)
	return s.best
}

// prove runs branch and cut over the whole model, for what is better than the plan in hand if there is one.
func (s *searching) prove(ctx context.Context, starts [][]float64) {
	o := s.options("proof", 1, starts...)
	if s.best.Has {
		beat := s.best.Objective - max(1e-6, 1e-6*math.Abs(s.best.Objective))
		o.Beat, o.Incumbents = &beat, nil
	}
	r := mip.Solve(ctx, s.f.m, o)
	if r.Stop == solve.ObjectiveLimit { // nothing is better
		r.Stop = solve.Optimal
	}
	s.take(r)
}

// relaxedBound starts to solve the relaxation, whose optimum is the first proven bound; -Inf if it can't be solved in time.
func (f *formulation) relaxedBound(ctx context.Context, opt solve.Options) <-chan float64 {
	bound := make(chan float64, 1)
	go func() {
		r := lp.NewSolver(relaxed(f.facts).m, solve.Options{Time: opt.Time, Seed: opt.Seed})
		if r.Solve(ctx, lp.Limits{}) != solve.Optimal {
			bound <- math.Inf(-1)
			return
		}
		bound <- r.Objective()
	}()
	return bound
}

// sayWhy gives a search that ended between its steps its reason.
func (s *searching) sayWhy(ctx context.Context) {
	switch {
	case s.best.Stop != solve.NotRun:
	case s.best.Has && s.best.Gap() <= s.gap():
		s.best.Stop = solve.GapReached
	case ctx.Err() != nil:
		s.best.Stop = solve.Cancelled
	case s.f.opt.Work > 0 && s.spent >= s.f.opt.Work:
		s.best.Stop = solve.WorkLimit
	default:
		s.best.Stop = solve.TimeLimit
	}
}

// searching is the state of a search: what is held so far, and what is spent.
type searching struct {
	f     *formulation
	began time.Time
	time  time.Duration
	spent int64 // work
	best  solve.Result
}

// options gives the next step its limits: until the given share of the whole is spent.
func (s *searching) options(phase string, until float64, starts ...[]float64) mip.Options {
	o := mip.Options{Incumbents: starts, Options: solve.Options{Gap: s.gap(), Workers: s.f.opt.Workers, Seed: s.f.opt.Seed}}
	if s.time > 0 {
		o.Time = max(time.Millisecond, time.Duration(until*float64(s.time))-time.Since(s.began))
	}
	if s.f.opt.Work > 0 {
		o.Work = max(1, int64(until*float64(s.f.opt.Work))-s.spent)
	}
	if report := s.f.opt.Progress; report != nil {
		o.Progress = func(p solve.Progress) { report(s.seen(phase, p)) }
	}
	return o
}

// spentShare is the share of the limits that is spent, of the tighter one.
func (s *searching) spentShare() float64 {
	share := 0.0
	if s.time > 0 {
		share = float64(time.Since(s.began)) / float64(s.time)
	}
	if s.f.opt.Work > 0 {
		share = max(share, float64(s.spent)/float64(s.f.opt.Work))
	}
	return share
}

// report tells of what is held.
func (s *searching) report(phase string) {
	if s.f.opt.Progress != nil {
		s.f.opt.Progress(s.seen(phase, solve.Progress{Bound: math.Inf(-1), Nodes: s.best.Nodes, Iterations: s.best.Iterations}))
	}
}

// seen is a step's progress as that of the whole search.
func (s *searching) seen(phase string, p solve.Progress) solve.Progress {
	p.Phase, p.Elapsed = phase, time.Since(s.began)
	if s.best.Has && (!p.Has || p.Objective > s.best.Objective) {
		p.Has, p.Objective = true, s.best.Objective
	}
	p.Bound = max(p.Bound, s.best.Bound)
	return p
}

func (s *searching) gap() float64 {
	if s.f.opt.Gap > 0 {
		return s.f.opt.Gap
	}
	return defaultGap
}

// take keeps the better solution and the better bound; the last step says why the search stopped.
func (s *searching) take(r solve.Result) {
	s.spent += r.Work
	bound := max(s.best.Bound, r.Bound)
	nodes, iterations := s.best.Nodes+r.Nodes, s.best.Iterations+r.Iterations
	if r.Has && (!s.best.Has || r.Objective < s.best.Objective) {
		s.best = r
	}
	s.best.Bound, s.best.Stop = bound, r.Stop
	s.best.Nodes, s.best.Iterations, s.best.Work = nodes, iterations, s.spent
	if s.best.Has && s.best.Gap() <= s.gap() && r.Stop != solve.Optimal {
		s.best.Stop = solve.GapReached
	}
}

// done reports whether nothing is left to do or to spend.
func (s *searching) done(ctx context.Context) bool {
	return ctx.Err() != nil || s.best.Stop == solve.Optimal || s.best.Stop == solve.GapReached
}

// idlePlan starts nothing, changes nothing and buys nothing. Continuous columns are left to be solved for.
func (f *formulation) idlePlan() []float64 {
	x := make([]float64, f.m.NumVars())
	for j := range x {
		if !f.m.Integer[j] {
			x[j] = math.NaN()
		}
	}
	return x
}

// wholeIn lists the whole-number columns of the buckets [from, to) that keep wants; nil keeps all.
// The loads of a bucket are always in it.
func (f *formulation) wholeIn(from, to int, keep func(line, profile int) bool) []model.Var {
	var vars []model.Var
	add := func(r ref) {
		if r.is && f.m.Integer[r.v] {
			vars = append(vars, r.v)
		}
	}
	for t := from; t < to; t++ {
		for j, ft := range f.fits {
			if keep == nil || keep(ft.line, ft.profile) {
				add(f.changed[j][t])
				if f.avail[ft.line][t] > 0 { // otherwise it is the column of the bucket before
					add(f.mounted[j][t])
				}
			}
		}
		for l := range f.in.Lines {
			if keep == nil || keep(l, -1) {
				add(f.started[l][t])
				add(f.commissioned[l][t])
				if f.avail[l][t] > 0 {
					add(f.on[l][t])
				}
			}
		}
		for s := range f.in.Lanes {
			add(f.loads[s][t])
		}
	}
	return vars
}

// neighbourhoods are what fix-and-optimize frees together, by kind, small enough that each is decided in a second or so: all lines in
// a narrow window of time; pairs of lines in a wider one; the profiles of a die family in a wider one still.
func (f *formulation) neighbourhoods() [3][][]model.Var {
	var kinds [3][][]model.Var
	f.windows(narrowWindow, func(from, to int) { kinds[0] = append(kinds[0], f.wholeIn(from, to, nil)) })
	f.windows(pairWindow, func(from, to int) {
		for a := range f.in.Lines {
			for b := a + 1; b < len(f.in.Lines); b++ {
				if f.shareProfiles(a, b) {
					kinds[1] = append(kinds[1], f.wholeIn(from, to, func(l, _ int) bool { return l == a || l == b }))
				}
			}
		}
	})
	f.windows(familyWindow, func(from, to int) {
		for _, family := range f.families() {
			kinds[2] = append(kinds[2], f.wholeIn(from, to, func(_, p int) bool { return p < 0 || f.in.Profiles[p].DieFamily == family }))
		}
	})
	return kinds
}

// windows calls visit with each window of so many buckets; they overlap by half.
func (f *facts) windows(width int, visit func(from, to int)) {
	n := len(f.buckets)
	for from := 0; from < n; from += max(1, width/2) {
		visit(from, min(from+width, n))
		if from+width >= n {
			return
		}
	}
}

// shareProfiles reports whether some profile fits both lines.
func (f *facts) shareProfiles(a, b int) bool {
	for _, i := range f.fitsOf[a] {
		for _, j := range f.fitsOf[b] {
			if f.fits[i].profile == f.fits[j].profile {
				return true
			}
		}
	}
	return false
}

// families lists the die families in the order the profiles name them.
func (f *facts) families() []string {
	var list []string
	seen := map[string]bool{}
	for _, p := range f.in.Profiles {
		if !seen[p.DieFamily] {
			seen[p.DieFamily] = true
			list = append(list, p.DieFamily)
		}
	}
	return list
}

// holding solves the model with its whole numbers held at x's.
func (f *formulation) holding(ctx context.Context, x []float64) solve.Result {
	m := f.m.Clone()
	for j, whole := range m.Integer {
		if whole {
			m.Lower[j] = math.Round(x[j])
			m.Upper[j] = m.Lower[j]
		}
	}
	r := lp.Solve(ctx, m, solve.Options{Seed: f.opt.Seed})
	if r.Stop != solve.Optimal {
		return solve.Result{Stop: r.Stop, Bound: math.Inf(-1), Work: r.Work}
	}
	return solve.Result{Stop: solve.NotRun, Has: true, X: r.X, Objective: r.Objective, Bound: math.Inf(-1), Work: r.Work}
}

// tidy takes changeovers to a die that is on already, with no other in between, out of a solution. They cost something or
// nothing and so are left over only where a search was cut short.
func (f *formulation) tidy(ctx context.Context, res *solve.Result) {
	idle := f.idleChanges(res.X)
	if len(idle) == 0 {
		return
	}
	x := append([]float64(nil), res.X...)
	for _, v := range idle {
		x[v] = 0
	}
	if r := f.holding(ctx, x); r.Has && r.Objective <= res.Objective+1e-6*math.Abs(res.Objective) {
		res.X, res.Objective = r.X, r.Objective
	}
}

// idleChanges lists the changeover columns of x that bring on what is on.
func (f *formulation) idleChanges(x []float64) []model.Var {
	var list []model.Var
	for l := range f.in.Lines {
		for t := range f.buckets {
			last, n := -1, 0
			for _, j := range f.fitsOf[l] {
				if yes(f.changed[j][t], x) {
					last = j
					n++
				}
			}
			if n == 1 && f.mountedBefore(last, t).at(x) > 0.5 {
				list = append(list, f.changed[last][t].v)
			}
		}
	}
	return list
}
