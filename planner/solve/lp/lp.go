package lp

import (
	"context"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
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

// Solve solves the relaxation of m (integrality ignored) once: presolve, scale, simplex, postsolve.
// The result carries X, Y, D on Optimal and a Ray on Infeasible or Unbounded.
func Solve(ctx context.Context, m *model.Model, opts solve.Options) solve.Result {
	start := time.Now()
	s := NewSolver(m, opts)
	stop := s.Solve(ctx, Limits{})
	r := solve.Result{Stop: stop, Iterations: s.Iterations(), Work: s.Work(), Ray: s.Ray()}
	if stop == solve.Optimal {
		r.Has, r.X, r.Y, r.D = true, s.X(), s.Y(), s.D()
		r.Objective = s.Objective()
		r.Bound = r.Objective
	}
	r.Elapsed = time.Since(start)
	return r
}

// Cut is a row to be added to a Solver: lower ≤ Σ Coef·x ≤ upper.
type Cut struct {
	Lower, Upper float64
	Vars         []model.Var
	Coefs        []float64
}

// Limits bound one call of Solver.Solve. Zero values limit nothing.
type Limits struct {
	Iterations   int64
	Work         int64
	Objective    float64 // dual simplex: stop with solve.ObjectiveLimit once the minimised objective is proven ≥ this; used only if HasObjective
	HasObjective bool
}
