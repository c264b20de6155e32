package lp

import (
	"context"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/solvetest"
)

func TestConformance(t *testing.T) { solvetest.LP(t, Solve) }

// TestConformanceWithoutPresolve sends everything straight to the simplex methods.
func TestConformanceWithoutPresolve(t *testing.T) {
	solvetest.LP(t, func(ctx context.Context, m *model.Model, opts solve.Options) solve.Result {
		s := NewSolver(m, opts)
		r := solve.Result{Stop: s.Solve(ctx, Limits{}), Iterations: s.Iterations(), Work: s.Work()}
		s.fill(&r)
		return r
	})
}
