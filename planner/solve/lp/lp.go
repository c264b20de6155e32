// Package lp solves linear programs with a sparse bounded simplex method.
package lp

import (
	"context"

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
	panic("to be written")
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

// Solver re-solves one linear program after changes, warm from its last basis. It works on the model as given, in
// minimisation sense internally; presolve is left to the caller. Not safe for concurrent use.
//
// Methods (to be written):
//
//	NewSolver(m *model.Model, opts solve.Options) *Solver
//	SetBounds(j model.Var, lower, upper float64)       SetCost(j model.Var, cost float64)
//	SetRowBounds(r model.Row, lower, upper float64)
//	AddRows(cuts []Cut)                                DeleteRows(rows []model.Row)   // basic (slack) rows preferred; basis kept valid
//	Solve(ctx context.Context, lim Limits) solve.Stop  // dual simplex from the current basis, primal clean-up
//	Objective() float64                                // in the model's own sense
//	X() []float64; Y() []float64; D() []float64        // columns; rows; columns (alias solver memory, valid until the next call that changes it)
//	RowActivity() []float64
//	Ray() []float64                                    // Farkas (rows) or direction (columns), see solve.Result
//	Basis() Basis; SetBasis(Basis)                     // a bad or singular basis is repaired, never a panic
//	Iterations() int64; Work() int64
//	TableauRow(i int, cols, rows []float64)            // row of B⁻¹[A I] for the basic variable in position i, for Gomory/MIR cuts
//	BasicVar(i int) (isRow bool, index int)
//	Clone() *Solver                                    // for a second worker or a dive
type Solver struct{}
