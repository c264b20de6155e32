package mip

import (
	"context"

	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

func (s *search) relaxationOptions() solve.Options { return solve.Options{Seed: s.opts.Seed} }

// unlimitedRoot decides a model whose relaxation is unbounded: with rational data it is unbounded as soon as it has a
// solution at all (Meyer 1974), so a solution of the model without its objective is looked for.
func (s *search) unlimitedRoot(ctx context.Context, _ *relaxation) {
	relaxed := lp.Solve(ctx, s.model, s.relaxationOptions())
	m := s.model.Clone()
	clear(m.Cost)
	inner := newSearch(m, Options{Options: solve.Options{Work: s.opts.Work, Workers: s.opts.Workers, Seed: s.opts.Seed}})
	inner.depth = s.depth + 1
	inner.run(ctx)
	r := inner.result(ctx)
	switch {
	case r.Has:
		s.offer(incumbent{r.X, s.sign * s.model.Objective(r.X)})
		s.stop, s.ray = solve.Unbounded, relaxed.Ray
	default:
		s.stop = r.Stop
	}
}
