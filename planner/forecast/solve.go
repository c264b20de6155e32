package forecast

import (
	"context"

	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// worker is what one goroutine solves with: a solver of each program, made when it is first needed.
type worker struct {
	sides   sides
	solvers map[*starts]*lp.Solver
}

// optimum solves a program in the world of w.sides from the best of its starts; what that can't solve, cold. It returns the solver that
// stands on the optimum, nil if there is none; it is the worker's, good until the next call.
func (w *worker) optimum(ctx context.Context, s *sample, p *starts) *lp.Solver {
	c := w.solvers[p]
	if c == nil {
		c = lp.NewSolver(p.model, solve.Options{})
		if w.solvers == nil {
			w.solvers = map[*starts]*lp.Solver{}
		}
		w.solvers[p] = c
	}
	iterations, work := c.Iterations(), c.Work()
	w.sides.move(c)
	c.Return(p.best(&w.sides).place)
	stop := c.Solve(ctx, lp.Limits{})
	s.iterations += c.Iterations() - iterations
	s.work += c.Work() - work
	if stop == solve.Optimal {
		return c
	}
	if ctx.Err() != nil {
		return nil
	}
	c, r := lp.Stand(ctx, w.sides.cold(p.model), solve.Options{})
	s.cold++
	s.iterations += r.Iterations
	s.work += r.Work
	if r.Stop != solve.Optimal {
		s.failed = ctx.Err() == nil
		return nil
	}
	return c
}
