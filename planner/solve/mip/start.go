package mip

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// completionWork limits the completion of one partial starting point, in work units.
const completionWork = 200_000_000

// startFrom takes the starting points handed in.
func (s *search) startFrom(ctx context.Context) {
	for _, x := range s.opts.Incumbents {
		if ctx.Err() == nil && len(x) == s.model.NumVars() {
			s.offer(s.complete(ctx, x))
		}
	}
}

// complete makes an incumbent of a point that may have gaps (NaN); the zero incumbent if that fails.
func (s *search) complete(ctx context.Context, x []float64) incumbent {
	whole, gaps := true, false
	for j, v := range x {
		if math.IsNaN(v) {
			gaps = true
			whole = whole && !s.model.Integer[j]
		}
	}
	if whole {
		best, _ := s.fixAndSolve(ctx, x, &s.work)
		if !gaps {
			if inc, ok := s.accept(append([]float64(nil), x...)); ok && (best.x == nil || inc.value < best.value) {
				best = inc
			}
		}
		return best
	}
	m := s.model.Clone()
	for j, v := range x {
		if m.Integer[j] && !math.IsNaN(v) {
			if v = math.Round(v); v < m.Lower[j]-roundTol || v > m.Upper[j]+roundTol {
				return incumbent{}
			}
			m.Lower[j], m.Upper[j] = v, v
		}
	}
	r := s.nested(ctx, m, inf, completionWork, 1e-3)
	if !r.Has {
		return incumbent{}
	}
	inc, _ := s.accept(append([]float64(nil), r.X...))
	return inc
}

// maxDepth is how deep searches nest.
const maxDepth = 2

// nested solves a smaller model with a search of its own, single-threaded, that looks only for values below cutoff.
// Its work is added to this search's account.
func (s *search) nested(ctx context.Context, m *model.Model, cutoff float64, work int64, gap float64) solve.Result {
	inner := newSearch(m, Options{Options: solve.Options{Work: work, Gap: gap, Workers: 1, Seed: s.opts.Seed}})
	inner.depth, inner.given = s.depth+1, cutoff
	inner.run(ctx)
	return inner.result(ctx)
}
