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
//  1. the idle plan (nothing runs but what is frozen, everything is late) is always feasible and starts the search;
//  2. an earlier plan is taken up (resume.go), or rules give a first usable one (greedy.go), while a relaxation gives the first bound;
//  3. areas of the plan are decided anew, others held (improve.go);
//  4. branch and cut over the whole model, where it is small, raises the bound and improves on what is held.
//
// What was tried and what it gave is told in doc.go.
//
// shareImprove is the share of the time or work limit by which the third must end in models of up to proveTo columns; the rest is branch
// and cut's. In larger ones branch and cut raises the bound by a hundredth at most and has less, in models of more than wholeTo columns
// its first relaxation with cuts outlasts any patience, and it is left out.
const (
	shareImprove = 0.6
	shareLonger  = 0.85
	proveTo      = 1500
	wholeTo      = 6000
)

// muchDearer is the share by which a plan made of an earlier one may cost more than that one before plans by rules are tried too.
const muchDearer = 0.05

// tuneDearer is the share from which rules are tuned for it too, as for a plan from nothing: on plant S a line that stands three weeks came out 2
// to 4 % dearer when the earlier plan was only improved. So they are where the relaxation of the first has fallen further below the plan than
// that, as when a line runs faster: the earlier plan's set-ups forgo what has become possible, 1.5 to 4 % on plant S.
const tuneDearer = 0.02

// search finds a solution of f's model and a proven bound within the limits of f.opt, the first bound, and where its linear programs ended.
// It starts from the bases of from.
func (f *formulation) search(ctx context.Context, from *bases) (best solve.Result, relaxed float64, warm *bases) {
	began := time.Now()
	s := searching{f: f, warm: from, began: began, time: f.opt.Time, best: solve.Result{Bound: math.Inf(-1)}, relaxed: math.Inf(-1)}
	if s.time == 0 && f.opt.Work == 0 {
		s.time = defaultTime
	}
	within, stop := context.WithCancel(ctx)
	defer stop()
	s.coming, s.lots = f.relaxedBound(within, s.time, s.warm)
	starts := s.begin(ctx)
	s.awaitBound(f.opt.Work > 0)
	if s.best.Has {
		s.report("better plan")
		share := 1.0
		switch n := f.m.NumVars(); {
		case n <= proveTo:
			share = shareImprove
		case n <= wholeTo:
			share = shareLonger
		}
		s.improve(ctx, share)
		starts = append(starts, s.best.X)
	}
	if !s.done(ctx) && (f.m.NumVars() <= wholeTo || !s.best.Has) {
		s.prove(ctx, starts)
	}
	s.awaitBound(true)
	s.awaitLots(stop)
	s.sayWhy(ctx)
	s.best.Elapsed = time.Since(began)
	if s.stands != nil {
		s.warm[warmAmounts] = s.stands.named(f)
	}
	return s.best, s.relaxed, s.warm
}

// begin makes the first plan and returns the starting points that are known.
func (s *searching) begin(ctx context.Context) [][]float64 {
	f, starts := s.f, [][]float64{s.f.restPlan()}
	if from := f.opt.From; from != nil {
		r, stands := f.resume(ctx, from, s.warm[warmAmounts].standing(f), f.opt.Workers)
		s.stands = stands
		s.take(r)
		dearer := func(by float64) bool {
			return !s.best.Has || s.best.Objective > float64(from.Objective)+by*math.Abs(float64(from.Objective))
		}
		s.resumed = !dearer(tuneDearer) || f.opt.Work > 0 && f.opt.Work < lotsLeast
		if !dearer(muchDearer) {
			return starts
		}
	}
	opt := s.options("first plan", shareImprove).Options
	x := f.firstPlan(ctx, opt)
	if x == nil && !s.best.Has && opt.Time > 0 && opt.Time < afterword && ctx.Err() == nil { // a plan that is late is better than none
		opt.Time = afterword
		x = f.firstPlan(ctx, opt)
	}
	if x != nil {
		starts = append(starts, x)
		r, stands := f.holdingFrom(ctx, x, s.stands)
		if stands != nil {
			s.stands = stands
		}
		s.take(r)
	}
	return starts
}

// freed reports whether the relaxation has fallen so far below what was made of the earlier plan that rules are worth tuning anew.
func (s *searching) freed() bool {
	from := s.f.opt.From
	if w := s.f.opt.Work; w > 0 && w < lotsLeast {
		return false
	}
	first := from.Relaxed
	if first == 0 { // of a plan that was made before it was kept
		first = from.Bound
	}
	return s.best.Objective-s.relaxed > float64(from.Objective-first)+tuneDearer*math.Abs(float64(from.Objective))
}

// awaitBound takes the bound of the relaxation once it is there; wait says to wait for it.
func (s *searching) awaitBound(wait bool) {
	if s.coming == nil {
		return
	}
	select {
	case b := <-s.coming:
		s.takeBound(b)
	default:
		if wait {
			s.takeBound(<-s.coming)
		}
	}
}

func (s *searching) takeBound(b bounded) {
	s.best.Bound, s.coming = max(s.best.Bound, b.bound), nil
	s.relaxed = b.bound
	if b.basis != nil {
		s.warm[warmBound], s.guided = b.basis, b.guide
	}
}

// takeLots takes the bounds that know of lots and are there. Under a limit of work they are taken at the end alone, so that the search does
// not depend on when they come.
func (s *searching) takeLots() {
	for {
		select {
		case b, more := <-s.lots:
			if !more {
				s.lots = nil
				return
			}
			s.raise(b)
			s.report("higher bound")
		default:
			return
		}
	}
}

// awaitLots waits for the bounds that know of lots, within the limits, unless the plan is close enough as it is: then they are stopped.
func (s *searching) awaitLots(stop func()) {
	if s.lots == nil {
		return
	}
	if s.closed() || !s.best.Has {
		stop()
	}
	for b := range s.lots {
		s.raise(b)
	}
}

// raise takes a bound that knows of lots.
func (s *searching) raise(b bounded) {
	s.best.Bound = max(s.best.Bound, b.bound)
	if b.basis != nil {
		s.warm[warmLots] = b.basis
	}
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

// relaxedBound starts to solve the relaxation, whose optimum is the first proven bound, and then those that know of lots. The first is not
// stopped with the search, as a plan is not without a bound: it may go on for afterword more than the limit (no limit: 0). A bound is
// -Inf if it can't be had in time.
func (f *formulation) relaxedBound(ctx context.Context, limit time.Duration, from *bases) (first, lots <-chan bounded) {
	began, bound, better := time.Now(), make(chan bounded, 1), make(chan bounded, 1)
	opt := solve.Options{Seed: f.opt.Seed}
	if limit > 0 {
		opt.Time = limit + afterword
	}
	warm := *from
	go func() {
		g := relaxed(f.facts)
		m := g.m
		s := lp.NewSolver(m, opt)
		if len(warm[warmBound]) > 0 {
			s.SetBasis(warm[warmBound].on(m))
		}
		if s.Solve(context.WithoutCancel(ctx), lp.Limits{}) != solve.Optimal {
			bound <- bounded{bound: math.Inf(-1)}
			close(better)
			return
		}
		f.leanSolved = g.programAt(g.m, s) // read once the bound is taken
		basis := nameBasis(m, s.Basis())
		bound <- bounded{s.Objective(), basis, g.guide(s.X(), s.Y())}
		if f.opt.From != nil && f.opt.Work > 0 && f.opt.Work < lotsLeast {
			close(better)
			return
		}
		if limit > 0 {
			within, stop := context.WithTimeout(ctx, limit-time.Since(began))
			defer stop()
			ctx = within
		}
		f.lotBounds(ctx, warm[warmLots], basis, better)
	}()
	return bound, better
}

// bounded is a bound with the basis that proves it.
type bounded struct {
	bound float64
	basis named
	guide *guide
}

// sayWhy gives a search that ended between its steps its reason.
func (s *searching) sayWhy(ctx context.Context) {
	switch {
	case s.best.Stop != solve.NotRun:
	case s.closed():
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

	relaxed float64        // the first bound; -Inf before it is known
	guided  *guide         // what the relaxation knows; nil before it is known and once it is followed
	resumed bool           // the plan in hand was made of an earlier one, near enough to improve on it alone
	stands  *standing      // the basis of amounts last found; nil for none
	warm    *bases         // to start from, and where the programs ended
	coming  <-chan bounded // the relaxation's bound; nil once it is taken
	lots    <-chan bounded // those that know of lots; nil once all are taken
	reserve time.Duration  // what is kept of the time for deciding all amounts at the end
}

// options gives the next step its limits: until the given share of the whole is spent.
func (s *searching) options(phase string, until float64, starts ...[]float64) mip.Options {
	o := mip.Options{Incumbents: starts, Options: solve.Options{Gap: s.gap() * s.gross() / max(1e-10, math.Abs(s.best.Objective)), Workers: s.f.opt.Workers, Seed: s.f.opt.Seed}}
	if s.time > 0 {
		o.Time = max(time.Millisecond, time.Duration(until*float64(s.time))-time.Since(s.began)-s.reserve)
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
		share = float64(time.Since(s.began)+s.reserve) / float64(s.time)
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
	if r.Stop != solve.Optimal && s.closed() {
		s.best.Stop = solve.GapReached
	}
}

// closed reports whether the gap that was asked for is reached.
func (s *searching) closed() bool {
	return s.best.Has && relativeGap(s.best.Objective, s.best.Bound, s.gross()) <= s.gap()
}

// gross is the sum of the cost items of the plan in hand that are above 0; without a plan 1.
func (s *searching) gross() float64 {
	if !s.best.Has {
		return 1
	}
	return s.f.gross(s.best.X)
}

// gross is the sum of the items of the objective at x that are above 0. The objective itself may be near 0 or below, as what is left at
// the end is worth something; gaps are therefore measured by this sum.
func (f *formulation) gross(x []float64) float64 {
	sum, items := 0.0, f.items(x)
	for _, kind := range costOrder {
		sum += max(0, items[kind])
	}
	return sum
}

// relativeGap is (objective − bound) ÷ gross, never below 0; not divided where gross is 0.
func relativeGap(objective, bound, gross float64) float64 {
	gap := max(0, objective-bound)
	if gross > 0 {
		gap /= gross
	}
	return gap
}

// done reports whether nothing is left to do or to spend.
func (s *searching) done(ctx context.Context) bool {
	s.awaitBound(false)
	if s.f.opt.Work == 0 {
		s.takeLots()
	}
	if s.closed() && s.best.Stop != solve.Optimal {
		s.best.Stop = solve.GapReached
	}
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

// holding solves the model with its whole numbers held at x's.
func (f *formulation) holding(ctx context.Context, x []float64) solve.Result {
	r, _ := f.holdingFrom(ctx, x, nil)
	return r
}

// holdingFrom does it from a basis, and tells where it ends; nil for none.
func (f *formulation) holdingFrom(ctx context.Context, x []float64, from *standing) (solve.Result, *standing) {
	return f.settled(ctx, x, from, false)
}

// settled solves the model with the whole numbers of the lines held at x's, and those of loads too unless they may be stepped from x's. It
// tells where the program ends; nil for none.
func (f *formulation) settled(ctx context.Context, x []float64, from *standing, step bool) (solve.Result, *standing) {
	q := f.settle(x, from, solve.Options{Seed: f.opt.Seed})
	if q == nil {
		return solve.Result{Stop: solve.Infeasible, Bound: math.Inf(-1)}, nil
	}
	r := q.with(ctx, x)
	if !r.Has {
		return r, nil
	}
	if step {
		work := r.Work
		r = q.stepLoads(ctx, r)
		r.Work += work
	}
	r.Stop = solve.NotRun
	return r, q.standing()
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
