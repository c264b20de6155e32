package mip

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// incumbent is a solution that satisfies the original model within feasibilityTol. value is minimised.
type incumbent struct {
	x     []float64 // original columns
	value float64
}

// Violation is the largest amount by which x breaks a row, a bound or integrality of m, each beyond the rounding
// error of evaluating it. x has NumVars entries; NaN counts as +Inf.
func Violation(m *model.Model, x []float64) float64 {
	worst := 0.0
	see := func(v, size float64) {
		if math.IsNaN(v) {
			v = inf
		}
		worst = math.Max(worst, v-roundingNoise*size)
	}
	for j, v := range x {
		see(math.Max(m.Lower[j]-v, v-m.Upper[j]), math.Abs(v))
		if math.IsNaN(v) {
			return inf
		}
		if m.Integer[j] {
			see(math.Abs(v-math.Round(v)), 0)
		}
	}
	for i := range m.NumRows() {
		vars, coefs := m.RowTerms(model.Row(i))
		sum, size := 0.0, 0.0
		for k, j := range vars {
			sum += coefs[k] * x[j]
			size += math.Abs(coefs[k] * x[j])
		}
		see(math.Max(m.RowLower[i]-sum, sum-m.RowUpper[i]), size)
	}
	return worst
}

// accept checks an original point and makes it an incumbent; false if the model rejects it.
func (s *search) accept(full []float64) (incumbent, bool) {
	for j, whole := range s.model.Integer {
		if whole {
			full[j] = math.Round(full[j])
		}
		full[j] = math.Max(s.model.Lower[j], math.Min(s.model.Upper[j], full[j]))
	}
	if Violation(s.model, full) > feasibilityTol {
		return incumbent{}, false
	}
	return incumbent{full, s.sign * s.model.Objective(full)}, true
}

// fitting is what became of a candidate.
type fitting int

const (
	accepted fitting = iota
	refused          // no solution has these whole numbers
	unclear          // the arithmetic could not tell, or time ran out
)

// verify takes the whole numbers of a reduced point, solves for the continuous columns and checks the result against
// the original rows. Where the tree's relaxation (with its cuts and reductions) does not lead to a point that the
// original rows accept, the original model is solved with these whole numbers.
func (t *slot) verify(ctx context.Context, x []float64) (incumbent, fitting) {
	s, p := t.s, t.s.p
	point := append([]float64(nil), x...)
	for _, j := range p.intCols {
		point[j] = math.Round(point[j])
		if point[j] < p.lower[j] || point[j] > p.upper[j] {
			return incumbent{}, refused
		}
	}
	if len(p.intCols) < p.n {
		for _, j := range p.intCols {
			t.r.setBounds(j, point[j], point[j])
		}
		switch t.r.solve(ctx, inf, 0) {
		case solved:
			for j := range point {
				if !p.integer[j] {
					point[j] = t.r.x[j]
				}
			}
		case stopped:
			return incumbent{}, unclear
		default:
			return s.fixAndSolve(ctx, p.restore(point), &t.d.work)
		}
	}
	if inc, ok := s.accept(p.restore(point)); ok {
		return inc, accepted
	}
	if len(p.intCols) == p.n {
		return incumbent{}, refused
	}
	return s.fixAndSolve(ctx, p.restore(point), &t.d.work)
}

// fixAndSolve solves the original model with its whole-number columns fixed at full's values. The work is added to work.
func (s *search) fixAndSolve(ctx context.Context, full []float64, work *int64) (incumbent, fitting) {
	m := s.model.Clone()
	for j, whole := range m.Integer {
		if whole {
			v := math.Round(full[j])
			if v < m.Lower[j]-roundTol || v > m.Upper[j]+roundTol {
				return incumbent{}, refused
			}
			m.Lower[j], m.Upper[j] = v, v
		}
	}
	res := lp.Solve(ctx, m, solve.Options{Seed: s.opts.Seed})
	*work += res.Work
	switch res.Stop {
	case solve.Optimal:
		if inc, ok := s.accept(append([]float64(nil), res.X...)); ok {
			return inc, accepted
		}
	case solve.Infeasible:
		return incumbent{}, refused
	}
	return incumbent{}, unclear
}
