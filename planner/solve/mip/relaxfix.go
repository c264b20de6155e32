package mip

import (
	"context"
	"math"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// Limits of the small models that RelaxAndFix solves, where the caller sets none.
const (
	// stageGap is the gap at which a stage's model counts as solved: later stages change the plan more than that.
	stageGap = 2e-3
	// stageWork is the work for one stage's model, in work units, or stageFactor relaxations if that is more.
	stageWork   = 40_000_000
	stageFactor = 4
	// stagePatience is how many times that a stage may take while it has no solution at all.
	stagePatience = 10
)

// RelaxAndFix builds a solution stage by stage: in stage k the columns of stages[k] are whole, those of earlier stages
// are held at the values found, and those of later stages may be fractional. A column may occur in several stages
// (overlapping windows); it is held after its last. Whole-number columns in no stage come last. A stage without a
// solution is solved again together with the ones before it.
//
// The result's X satisfies m. Its Bound is the better one of the relaxation with cuts and of the first stage, both of
// which hold for m. The limits in opts are for all stages together. Stop is Optimal or GapReached only if that bound
// proves it, otherwise it says what ended the run; NotRun when all stages were solved and nothing is proven.
func RelaxAndFix(ctx context.Context, m *model.Model, stages [][]model.Var, opts Options) solve.Result {
	s := newSearch(m, opts)
	ctx, cancel := s.withLimit(ctx)
	defer cancel()
	s.startFrom(ctx)
	if b := s.prepareBase(ctx); b != nil {
		f := newStaging(s, b, stages)
		for f.k < f.count && ctx.Err() == nil && !s.workSpent() && f.stage(ctx) {
			f.k++
		}
		if f.k == f.count && f.x != nil {
			f.finish(ctx)
		}
	}
	return s.partResult(ctx)
}

// partResult is the result of a run that looked for solutions only.
func (s *search) partResult(ctx context.Context) solve.Result {
	r := s.result(ctx)
	if r.Stop == solve.Numerical {
		r.Stop = solve.NotRun
		if !r.Has {
			r.Stop = solve.WorkLimit // of a stage
		}
	}
	return r
}

// staging is the state of a relax-and-fix run. Columns are the base's.
type staging struct {
	s           *search
	b           *base
	r           *relaxation // where the next stage starts from
	first, last []int       // stage in which a column becomes whole, and after which it is held; −1 for continuous ones
	x           []float64   // values found so far
	k, count    int
}

func newStaging(s *search, b *base, stages [][]model.Var) *staging {
	n := b.p.n
	f := &staging{s: s, b: b, r: b.r, first: make([]int, n), last: make([]int, n), count: len(stages)}
	for j := range n {
		f.first[j], f.last[j] = -1, -1
	}
	for k, group := range stages {
		for _, j := range b.varsOf(group) {
			if f.first[j] < 0 {
				f.first[j] = k
			}
			f.last[j] = k
		}
	}
	rest := f.count == 0
	for _, j := range b.p.intCols {
		if f.first[j] < 0 {
			f.first[j], f.last[j] = f.count, f.count
			rest = true
		}
	}
	if rest {
		f.count++
	}
	return f
}

// stage solves stage f.k, widening it backwards while it has no solution. False when it found none.
func (f *staging) stage(ctx context.Context) bool {
	for from := f.k; from >= 0 && ctx.Err() == nil && !f.s.workSpent(); from-- {
		r := f.solveStage(ctx, from)
		if f.k == 0 || from == 0 {
			f.s.proven = math.Max(f.s.proven, r.Bound)
		}
		if r.Has {
			f.x = r.X
			return true
		}
		if r.Stop == solve.Infeasible && from == 0 {
			f.s.stop = solve.Infeasible // the model of a stage with nothing held is a relaxation
			return false
		}
	}
	return false
}

// solveStage solves the model of stage f.k with the stages before from held.
func (f *staging) solveStage(ctx context.Context, from int) solve.Result {
	lower, upper, integer := f.b.p.wholeBounds()
	for _, j := range f.b.p.intCols {
		switch {
		case f.first[j] > f.k:
			integer[j] = false
		case f.last[j] < from:
			v := math.Round(f.x[j])
			lower[j], upper[j] = v, v
		}
	}
	ctx, cancel := f.share(ctx)
	defer cancel()
	work := f.b.smallBudget(stageFactor, stageWork)
	in := f.s.nest(f.b.p.derived(lower, upper, integer), f.r, f.s.innerOptions(stagePatience*work, stageGap))
	in.enough = work
	in.priority = mapPriority(f.s.opts.Priority, f.b.p)
	in.run(ctx)
	f.s.account(in)
	f.s.report("relax and fix")
	return in.result(ctx)
}

// share gives a stage its part of the time left: as much as two of the stages still to come.
func (f *staging) share(ctx context.Context) (context.Context, context.CancelFunc) {
	end, ok := ctx.Deadline()
	if !ok {
		return context.WithCancel(ctx)
	}
	part := 2 * time.Until(end) / time.Duration(f.count-f.k+1)
	return context.WithTimeout(ctx, part)
}

// finish offers the point of the last stage.
func (f *staging) finish(ctx context.Context) {
	full := f.b.p.restore(f.x)
	inc, ok := f.s.accept(append([]float64(nil), full...))
	if !ok {
		inc, _ = f.s.fixAndSolve(ctx, full, &f.s.work)
	}
	f.s.offer(inc)
}
