package lp

import (
	"context"
	"math"
	"slices"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/internal/presolve"
)

// Status of a column or row in a basis. A row's logical variable is its activity, r_i = (A·x)_i, with the row's bounds.
type Status int8

// Where a variable stands.
const (
	AtLower Status = iota
	AtUpper
	Basic
	Free // nonbasic at zero
)

// Basis is a warm start: one status a column and one a row. As many Basic as there are rows, if it came from a Solver.
type Basis struct {
	Cols []Status
	Rows []Status
}

// Limits bound one call of Solver.Solve. Zero values limit nothing.
type Limits struct {
	Iterations   int64
	Work         int64
	Objective    float64 // stop with solve.ObjectiveLimit once the minimised objective is proven ≥ this; used only if HasObjective
	HasObjective bool
}

// Cut is a row to be added to a Solver: lower ≤ Σ Coef·x ≤ upper.
type Cut struct {
	Lower, Upper float64
	Vars         []model.Var
	Coefs        []float64
}

// skipRules are reductions that cost more than they save before a simplex solve (measured on the reference set).
var skipRules = presolve.RuleSet(presolve.ParallelRow, presolve.ParallelColumn)

// presolveFrom is the number of nonzeros from which presolve pays.
const presolveFrom = 200

// Solve solves the relaxation of m (integrality ignored) once: presolve, scale, simplex, postsolve. The
// result carries X, Y, D on Optimal and a Ray on Infeasible or Unbounded. The basis that postsolve
// finds is checked, and finished if need be, on m itself; verdicts other than optimal are sought on m itself.
func Solve(ctx context.Context, m *model.Model, opts solve.Options) solve.Result {
	_, r := solved(ctx, m, opts)
	return r
}

// Stand solves the relaxation of m as Solve does and returns the solver that stands on the final basis, for re-solving after changes.
func Stand(ctx context.Context, m *model.Model, opts solve.Options) (*Solver, solve.Result) {
	return solved(ctx, m, opts)
}

// solved is Solve with the solver that stands on m's final basis.
func solved(ctx context.Context, m *model.Model, opts solve.Options) (*Solver, solve.Result) {
	start := time.Now()
	var r solve.Result
	s, done := presolved(ctx, m, opts, start, &r)
	if !done {
		s.opts = left(opts, start, r.Work)
		s.report(start, r.Iterations)
		r.Stop = s.Solve(ctx, Limits{})
		s.opts = opts
	}
	r.Iterations += s.Iterations()
	r.Work += s.Work()
	s.fill(&r)
	r.Elapsed = time.Since(start)
	return s, r
}

// fill copies what the solver holds into r.
func (s *Solver) fill(r *solve.Result) {
	r.Ray = s.Ray()
	if r.Stop != solve.Optimal {
		return
	}
	r.Has, r.X, r.Y, r.D = true, s.X(), s.Y(), s.D()
	r.Objective = s.Objective()
	r.Bound = r.Objective
	r.Basic = make([]int, s.m)
	for p, v := range s.head {
		r.Basic[p] = int(v)
	}
	slices.Sort(r.Basic)
}

// presolved returns a solver of m that stands on the basis found by way of the reduced model, if that was optimal.
// done says that a limit stopped it, which r then tells.
func presolved(ctx context.Context, m *model.Model, opts solve.Options, start time.Time, r *solve.Result) (s *Solver, done bool) {
	s = NewSolver(m, opts)
	if m.NumNonzeros() < presolveFrom || ctx.Err() != nil {
		return s, false // the first look at the context ends a cancelled solve
	}
	red, verdict := presolve.Run(m, presolve.Options{Skip: skipRules})
	if verdict.Outcome != presolve.Open || ctx.Err() != nil {
		return s, false
	}
	small := NewSolver(red.Model, left(opts, start, 0))
	small.report(start, 0)
	stop := small.Solve(ctx, Limits{})
	r.Iterations, r.Work = small.Iterations(), small.Work()
	switch stop {
	case solve.Optimal:
		s.SetBasis(back(red, small))
	case solve.Cancelled, solve.TimeLimit, solve.WorkLimit:
		r.Stop = stop
		return s, true
	}
	return s, false
}

// left is opts with what has been spent since start taken off its limits.
func left(opts solve.Options, start time.Time, work int64) solve.Options {
	if opts.Time > 0 {
		opts.Time = max(1, opts.Time-time.Since(start))
	}
	if opts.Work > 0 {
		opts.Work = max(1, opts.Work-work)
	}
	return opts
}

// report makes the solver tell its progress to the caller of Solve.
func (s *Solver) report(start time.Time, before int64) {
	tell := s.opts.Progress
	if tell == nil {
		return
	}
	bound := math.Inf(-1)
	if s.maximize {
		bound = math.Inf(1)
	}
	s.progress = func(n int64) {
		tell(solve.Progress{Phase: "relaxation", Elapsed: time.Since(start), Bound: bound, Iterations: before + n})
	}
}

// back takes small's optimal basis to the original model.
func back(red *presolve.Reduced, small *Solver) Basis {
	b := small.Basis()
	q := presolve.Point{X: small.X(), Y: small.Y(), D: small.D(),
		Cols: make([]presolve.Status, len(b.Cols)), Rows: make([]presolve.Status, len(b.Rows))}
	for j, t := range b.Cols {
		q.Cols[j] = presolve.Status(t)
	}
	for i, t := range b.Rows {
		q.Rows[i] = presolve.Status(t)
	}
	p := red.Postsolve(q)
	b = Basis{Cols: make([]Status, len(p.Cols)), Rows: make([]Status, len(p.Rows))}
	for j, t := range p.Cols {
		b.Cols[j] = Status(t)
	}
	for i, t := range p.Rows {
		b.Rows[i] = Status(t)
	}
	return b
}
