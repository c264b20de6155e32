package mip

import (
	"context"
	"math"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Limits of the small models that RelaxAndFix and FixAndOptimize solve, where the caller sets none.
const (
	// stageGap is the gap at which a stage's model counts as solved: later stages change the plan more than that.
	stageGap = 2e-3
	// stageWork is the work for one stage's model, in work units.
	stageWork = 400_000_000
)

// RelaxAndFix builds a solution stage by stage: in stage k the columns of stages[k] are whole, those of earlier stages
// are held at the values found, and those of later stages may be fractional. A column may occur in several stages
// (overlapping windows); it is held after its last. Whole-number columns in no stage come last. A stage without a
// solution is solved again together with the one before it.
//
// The result's X satisfies m. Its Bound is that of the first stage, which holds for m. The limits in opts are for all
// stages together. Stop is Optimal or GapReached only if that bound proves it, otherwise it says what ended the last stage;
// WorkLimit if that was the stages' own limit.
func RelaxAndFix(ctx context.Context, m *model.Model, stages [][]model.Var, opts Options) solve.Result {
	s := newSearch(m, opts)
	ctx, cancel := s.withLimit(ctx)
	defer cancel()
	f := newStaging(s, stages)
	s.startFrom(ctx)
	for f.k = 0; f.k < f.count && ctx.Err() == nil && !s.workSpent(); f.k++ {
		if !f.stage(ctx) {
			break
		}
	}
	if f.k == f.count {
		inc, _ := s.fixAndSolve(ctx, f.x)
		s.offer(inc)
	}
	return s.result(ctx)
}

// staging is the state of a relax-and-fix run.
type staging struct {
	s           *search
	first, last []int     // stage in which a column becomes whole, and after which it is held; −1 for continuous ones
	x           []float64 // values found so far
	k, count    int
	basis       *lp.Basis
}

func newStaging(s *search, stages [][]model.Var) *staging {
	n := s.model.NumVars()
	f := &staging{s: s, first: make([]int, n), last: make([]int, n), count: len(stages)}
	for j := range n {
		f.first[j], f.last[j] = -1, -1
	}
	for k, group := range stages {
		for _, j := range group {
			if f.first[j] < 0 {
				f.first[j] = k
			}
			f.last[j] = k
		}
	}
	rest := false
	for j, whole := range s.model.Integer {
		if whole && f.first[j] < 0 {
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
	for from := f.k; from >= 0 && ctx.Err() == nil; from-- {
		r := f.solveStage(ctx, from)
		if f.k == 0 {
			f.s.proven = math.Max(f.s.proven, f.s.sign*r.Bound)
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
	m := f.s.model.Clone()
	for j, whole := range m.Integer {
		switch {
		case !whole:
		case f.first[j] > f.k:
			m.Integer[j] = false
		case f.last[j] < from:
			v := math.Round(f.x[j])
			m.Lower[j], m.Upper[j] = v, v
		}
	}
	ctx, cancel := f.share(ctx)
	defer cancel()
	inner := newSearch(m, Options{Options: f.s.innerOptions(stageWork, stageGap), Priority: f.s.opts.Priority})
	inner.depth, inner.warm = f.s.depth+1, f.basis
	inner.run(ctx)
	f.basis = inner.leave
	f.s.account(inner)
	f.s.report("relax and fix")
	return inner.result(ctx)
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

// innerOptions are the options of a small model solved on the way.
func (s *search) innerOptions(work int64, gap float64) solve.Options {
	o := solve.Options{Work: work, Gap: math.Max(gap, s.opts.Gap), Workers: s.opts.Workers, Seed: s.opts.Seed}
	if s.opts.Work > 0 {
		o.Work = max(1, min(o.Work, s.opts.Work-s.work))
	}
	return o
}

// account adds a nested search's effort.
func (s *search) account(inner *search) {
	s.work += inner.work
	s.nodes += inner.nodes
	s.iterations += inner.iterations
}
