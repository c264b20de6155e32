// Package mip solves mixed-integer programs by branch and cut over the simplex method of package lp, and looks for
// good solutions of large ones by fixing parts of them (RelaxAndFix, FixAndOptimize).
//
// What it promises:
//
//   - Every solution it returns satisfies the original model within 1e-6: whole numbers are rounded, the continuous
//     columns re-solved, and the original rows checked before a solution is believed.
//   - Result.Bound is proven. Relaxations' verdicts are believed only after their multipliers were checked.
//   - For the same model, options and limits on work the result is the same on every run and for any number of
//     workers: the tree grows in rounds of a fixed number of slots, each with its own copy of everything that
//     changes, merged in a fixed order. Limits on time are an exception, as they depend on the machine.
//
// Work is counted in the units of package lp, with the entries that propagation and cut separation look at added.
package mip

import (
	"context"
	"math"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Options limit and guide a solve. The zero value runs to optimality.
type Options struct {
	solve.Options

	// Incumbents are starting points of NumVars entries. NaN entries are completed: the whole numbers given are
	// fixed and the rest solved for. Points that the model rejects are ignored.
	Incumbents [][]float64

	// Cutters add cuts of their own at the root: each is called with a relaxation's optimum in the model's columns and
	// returns rows that every solution satisfies. They are trusted.
	Cutters []func(x []float64) []lp.Cut

	// Heuristics propose points from a relaxation's optimum, both in the model's columns; nil for none. Proposals are
	// treated as Incumbents are.
	Heuristics []func(x []float64) []float64

	// Priority has an entry a column; among fractional columns those of highest priority are branched on. May be nil.
	Priority []int

	// Beat, unless nil, is an objective value that solutions must beat; without one the answer is solve.ObjectiveLimit. The search is then
	// run as one of many small ones: with little cutting and no dives at the root.
	Beat *float64

	// Neighbourhoods are groups of columns that make sense to re-decide together, others held at the solution in hand.
	Neighbourhoods []Neighbourhood
}

// Neighbourhood is a named group of columns.
type Neighbourhood struct {
	Name string
	Vars []model.Var
}

// Solve finds the best solution of m within the limits. m is not changed.
//
// Options.Gap 0 stands for 1e-6. Stop is Optimal when the proven gap is within 1e-6, GapReached when it is within a larger
// Options.Gap. An unbounded relaxation is reported as Unbounded, with its ray, when the model has a solution at all.
func Solve(ctx context.Context, m *model.Model, opts Options) solve.Result {
	s := newSearch(m, opts)
	if opts.Beat != nil {
		s.given, s.depth = s.sign**opts.Beat, 1
	}
	ctx, cancel := s.withLimit(ctx)
	defer cancel()
	if m.NumIntegers() == 0 {
		r := lp.Solve(ctx, m, opts.Options)
		r.Elapsed = time.Since(s.start)
		return r
	}
	s.run(ctx)
	return s.result(ctx)
}

// withLimit adds the time limit to a context.
func (s *search) withLimit(ctx context.Context) (context.Context, context.CancelFunc) {
	if s.opts.Time > 0 {
		return context.WithDeadline(ctx, s.start.Add(s.opts.Time))
	}
	return context.WithCancel(ctx)
}

// result reports what the search holds, in the model's own sense.
func (s *search) result(ctx context.Context) solve.Result {
	r := solve.Result{Stop: s.stop, Nodes: s.nodes, Iterations: s.iterations, Work: s.work, Ray: s.ray, Elapsed: time.Since(s.start)}
	r.Bound = s.sign * s.lowerBound()
	if s.best.x != nil {
		r.Has, r.X = true, s.best.x
		r.Objective = s.sign * s.best.value
	}
	if s.stop == solve.NotRun {
		r.Stop = s.verdict(ctx)
	}
	return r
}

// verdict says why the search ended, given what it holds.
func (s *search) verdict(ctx context.Context) solve.Stop {
	gap := solve.Gap(s.best.x != nil, s.best.value, s.lowerBound())
	switch {
	case gap <= defaultGap || (s.best.x != nil && s.best.value-s.lowerBound() <= absoluteGap):
		return solve.Optimal
	case gap <= s.gap:
		return solve.GapReached
	case ctx.Err() == context.DeadlineExceeded:
		return solve.TimeLimit
	case ctx.Err() != nil:
		return solve.Cancelled
	case s.workSpent():
		return solve.WorkLimit
	case s.exhausted && s.best.x == nil && math.IsInf(s.lost, 1):
		if math.IsInf(s.given, 1) {
			return solve.Infeasible
		}
		return solve.ObjectiveLimit
	}
	return solve.Numerical
}
