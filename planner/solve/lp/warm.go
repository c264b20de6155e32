package lp

import (
	"context"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// SolveWarm is Solve that also hands out the solver, which stands on the final basis: for solving m again after changes.
func SolveWarm(ctx context.Context, m *model.Model, opts solve.Options) (*Solver, solve.Result) {
	return solved(ctx, m, opts)
}
