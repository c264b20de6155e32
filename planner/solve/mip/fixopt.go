package mip

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// neighbourhoodWork is the work for one neighbourhood's model on the first pass, in work units; each later pass over
// the neighbourhoods doubles it.
const neighbourhoodWork = 100_000_000

// FixAndOptimize improves the solution x0 of m: for each neighbourhood in turn its columns are free and all other
// whole-number columns held, and the small model that is left is solved. It goes on until a whole pass brings nothing and
// no neighbourhood ran into its limit, or until the limits in opts are met. x0 has NumVars entries; its whole numbers
// count, its continuous values are recomputed. If m rejects x0 the result has no solution.
//
// Neighbourhoods are tried in pairs that start from the same solution, on two workers if there are, and merged in
// order; the result does not depend on the number of workers. The result's Bound is −Inf (+Inf when maximising), as nothing
// is proven, and its Stop says what ended the run: NotRun when no neighbourhood brings anything any more.
func FixAndOptimize(ctx context.Context, m *model.Model, x0 []float64, neighbourhoods [][]model.Var, opts Options) solve.Result {
	s := newSearch(m, opts)
	ctx, cancel := s.withLimit(ctx)
	defer cancel()
	s.offer(s.complete(ctx, x0))
	if s.best.x == nil || len(neighbourhoods) == 0 {
		return s.result(ctx)
	}
	o := newMoves(s, neighbourhoods)
	for ctx.Err() == nil && !s.workSpent() && o.pass(ctx) {
	}
	r := s.result(ctx)
	if r.Stop == solve.Numerical {
		r.Stop = solve.NotRun
	}
	return r
}

// moves is the state of a fix-and-optimize run.
type moves struct {
	s       *search
	groups  [][]model.Var
	settled []int // improvements made before the group was last solved without a limit in the way; −1 for never
	steps   int   // improvements made
	work    int64
	basis   *lp.Basis
}

func newMoves(s *search, groups [][]model.Var) *moves {
	o := &moves{s: s, groups: groups, settled: make([]int, len(groups)), work: neighbourhoodWork}
	for k := range o.settled {
		o.settled[k] = -1
	}
	return o
}

// pass tries every group that may still bring something. False when none is left.
func (o *moves) pass(ctx context.Context) bool {
	any := false
	for k := 0; k < len(o.groups) && ctx.Err() == nil && !o.s.workSpent(); {
		var pair []int
		for ; k < len(o.groups) && len(pair) < 2; k++ {
			if o.settled[k] != o.steps {
				pair = append(pair, k)
			}
		}
		if len(pair) > 0 {
			any = true
			o.try(ctx, pair)
		}
	}
	o.work *= 2
	return any
}

// try solves the models of the groups in pair from the same solution and merges what they found.
func (o *moves) try(ctx context.Context, pair []int) {
	inner := make([]*search, len(pair))
	results := make([]solve.Result, len(pair))
	for n, k := range pair {
		inner[n] = o.prepare(o.groups[k])
	}
	o.s.parallel(len(pair), func(n int) {
		inner[n].run(ctx)
		results[n] = inner[n].result(ctx)
	})
	before := o.steps
	for n, k := range pair {
		o.s.account(inner[n])
		if o.basis == nil {
			o.basis = inner[n].leave
		}
		if results[n].Has {
			o.merge(ctx, results[n], o.groups[k], o.steps > before)
		}
	}
	for n, k := range pair {
		if st := results[n].Stop; st != solve.WorkLimit && st != solve.TimeLimit && st != solve.Cancelled && o.steps == before {
			o.settled[k] = o.steps
		}
	}
	o.s.report("fix and optimize")
}

// prepare makes the search over one group's model, which must beat the solution held.
func (o *moves) prepare(group []model.Var) *search {
	s := o.s
	m := s.model.Clone()
	free := make([]bool, m.NumVars())
	for _, j := range group {
		free[j] = true
	}
	for j, whole := range m.Integer {
		if whole && !free[j] {
			m.Lower[j], m.Upper[j] = s.best.x[j], s.best.x[j]
		}
	}
	opts := s.innerOptions(o.work, 1e-4)
	opts.Workers = 1
	in := newSearch(m, Options{Options: opts, Priority: s.opts.Priority})
	in.depth, in.warm = s.depth+1, o.basis
	in.given = s.best.value - math.Max(absoluteGap, 1e-6*math.Abs(s.best.value))
	return in
}

// merge takes an improved point. When the solution has moved since its model was made, the group's whole numbers are put
// into the solution held and the rest solved for.
func (o *moves) merge(ctx context.Context, r solve.Result, group []model.Var, moved bool) {
	x := append([]float64(nil), r.X...)
	inc, ok := o.s.accept(x)
	if ok && o.s.offer(inc) {
		o.steps++
		if !moved {
			return
		}
	}
	if !moved {
		return
	}
	mixed := append([]float64(nil), o.s.best.x...)
	for _, j := range group {
		mixed[j] = r.X[j]
	}
	if inc, what := o.s.fixAndSolve(ctx, mixed); what == accepted && o.s.offer(inc) {
		o.steps++
	}
}
