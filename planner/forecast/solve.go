package forecast

import (
	"context"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// solver is what a world moves.
type solver interface {
	SetBounds(j model.Var, lower, upper float64)
	SetRowBounds(r model.Row, lower, upper float64)
}

type modelBounds struct{ m *model.Model }

func (b modelBounds) SetBounds(j model.Var, lower, upper float64) {
	b.m.Lower[j], b.m.Upper[j] = lower, upper
}
func (b modelBounds) SetRowBounds(r model.Row, lower, upper float64) {
	b.m.RowLower[r], b.m.RowUpper[r] = lower, upper
}

// optimum solves the program in a world, from a copy of base; what that can't solve, cold.
func (j *job) optimum(ctx context.Context, s *sample, base *lp.Solver, apply func(solver), m *model.Model) ([]float64, float64, bool) {
	c := base.Clone()
	iterations, work := c.Iterations(), c.Work()
	apply(c)
	stop := c.Solve(ctx, lp.Limits{})
	s.iterations += c.Iterations() - iterations
	s.work += c.Work() - work
	if stop == solve.Optimal {
		return c.X(), c.Objective(), true
	}
	if ctx.Err() != nil {
		return nil, 0, false
	}
	cold := m.Clone()
	apply(modelBounds{cold})
	r := lp.Solve(ctx, cold, solve.Options{})
	s.iterations += r.Iterations
	s.work += r.Work
	s.failed = r.Stop != solve.Optimal && ctx.Err() == nil
	return r.X, r.Objective, r.Stop == solve.Optimal
}
