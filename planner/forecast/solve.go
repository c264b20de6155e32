package forecast

import (
	"context"

	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// worker is what one goroutine solves with: solvers of each program, made when they are first needed.
type worker struct {
	sides   sides
	solvers map[*starts]*solvers
}

// solvers are a solver of a program and one of its part.
type solvers struct {
	whole, part *lp.Solver
	of          *lp.Extract // that part is a solver of
}

func (w *worker) solversOf(p *starts) *solvers {
	c := w.solvers[p]
	if c == nil {
		c = &solvers{whole: p.base.Clone()}
		if w.solvers == nil {
			w.solvers = map[*starts]*solvers{}
		}
		w.solvers[p] = c
	}
	if c.of != p.part {
		c.of, c.part = p.part, p.part.Solver(solve.Options{})
	}
	return c
}

// optimum solves a program in the world of w.sides from the best of its starts, in its part first; what that can't solve, cold. It
// returns the solver of the whole program that stands on the optimum, nil if there is none; it is the worker's, good until the next call.
func (w *worker) optimum(ctx context.Context, s *sample, p *starts) *lp.Solver {
	c := w.solversOf(p)
	best := p.best(&w.sides)
	w.sides.move(p, c.whole)
	inPart := c.part != nil && best.inPart
	if inPart {
		w.sides.movePart(p, c.part)
		c.part.Return(best.part)
		inPart = s.count(c.part, func() solve.Stop { return c.part.Solve(ctx, lp.Limits{}) }) == solve.Optimal
	}
	stop := s.count(c.whole, func() solve.Stop {
		if !inPart {
			c.whole.Return(best.place)
		} else if c.whole.Adopt(p.part, c.part) {
			return solve.Optimal
		}
		return c.whole.Solve(ctx, lp.Limits{})
	})
	if stop == solve.Optimal {
		return c.whole
	}
	if ctx.Err() != nil {
		return nil
	}
	cold, r := lp.Stand(ctx, w.sides.cold(p.model), solve.Options{})
	s.cold++
	s.iterations += r.Iterations
	s.work += r.Work
	if r.Stop != solve.Optimal {
		s.failed = ctx.Err() == nil
		return nil
	}
	return cold
}

// count adds the iterations and work of a solve by c to the sample's.
func (s *sample) count(c *lp.Solver, run func() solve.Stop) solve.Stop {
	iterations, work := c.Iterations(), c.Work()
	stop := run()
	s.iterations += c.Iterations() - iterations
	s.work += c.Work() - work
	return stop
}
