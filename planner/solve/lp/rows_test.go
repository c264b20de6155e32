package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// randomModel has rows that a known point satisfies, so that it is feasible; costs are bounded below by a dual
// feasible choice unless open is set.
func randomModel(r *rand.Rand, rows, cols int) *model.Model {
	m := &model.Model{Maximize: r.IntN(2) == 0}
	point := make([]float64, cols)
	for j := range point {
		point[j] = math.Round(20 * (r.Float64() - 0.3))
		lo, up := math.Inf(-1), math.Inf(1)
		switch r.IntN(5) {
		case 0, 1:
			lo = point[j] - float64(r.IntN(5))
		case 2:
			up = point[j] + float64(r.IntN(5))
		case 3:
			lo, up = point[j]-float64(r.IntN(4)), point[j]+float64(r.IntN(4))
		}
		m.AddVar("", lo, up, math.Round(10*(r.Float64()-0.4)))
	}
	for i := 0; i < rows; i++ {
		var terms []model.Term
		sum := 0.0
		for k := 0; k < 1+r.IntN(6); k++ {
			j := r.IntN(cols)
			a := math.Round(10*(r.Float64()-0.5)) / 2
			terms = append(terms, model.Term{Var: model.Var(j), Coef: a})
			sum += a * point[j]
		}
		lo, up := math.Inf(-1), math.Inf(1)
		switch r.IntN(4) {
		case 0:
			lo, up = sum, sum
		case 1:
			lo = sum - float64(r.IntN(4))
		case 2:
			up = sum + float64(r.IntN(4))
		default:
			lo, up = sum-float64(r.IntN(4)), sum+float64(r.IntN(4))
		}
		m.AddRow("", lo, up, terms...)
	}
	return m
}

// TestRowsAddedAndDeleted compares a solver changed step by step with a fresh one on the same model.
func TestRowsAddedAndDeleted(t *testing.T) {
	for seed := uint64(0); seed < 200; seed++ {
		r := rand.New(rand.NewPCG(seed, 7))
		cols := 2 + r.IntN(15)
		full := randomModel(r, 3+r.IntN(25), cols)
		part := &model.Model{Maximize: full.Maximize}
		for j := 0; j < cols; j++ {
			part.AddVar("", full.Lower[j], full.Upper[j], full.Cost[j])
		}
		half := full.NumRows() / 2
		for i := 0; i < half; i++ {
			vars, coefs := full.RowTerms(model.Row(i))
			var terms []model.Term
			for k := range vars {
				terms = append(terms, model.Term{Var: vars[k], Coef: coefs[k]})
			}
			part.AddRow("", full.RowLower[i], full.RowUpper[i], terms...)
		}
		s := NewSolver(part, solve.Options{})
		s.Solve(context.Background(), Limits{})
		var cuts []Cut
		for i := half; i < full.NumRows(); i++ {
			vars, coefs := full.RowTerms(model.Row(i))
			cuts = append(cuts, Cut{full.RowLower[i], full.RowUpper[i], vars, coefs})
		}
		s.AddRows(cuts)
		same(t, seed, "added", s.Clone(), s, full)
		var gone []model.Row
		for i := half; i < full.NumRows(); i++ {
			gone = append(gone, model.Row(i))
		}
		s.DeleteRows(gone)
		same(t, seed, "deleted", s.Clone(), s, part)
	}
}

func same(t *testing.T, seed uint64, what string, clone, s *Solver, m *model.Model) {
	t.Helper()
	want := Solve(context.Background(), m, solve.Options{})
	for _, s := range []*Solver{s, clone} {
		got := s.Solve(context.Background(), Limits{})
		if got != want.Stop {
			t.Fatalf("seed %d, rows %s: stopped %v, fresh %v", seed, what, got, want.Stop)
		}
		if got == solve.Optimal && math.Abs(s.Objective()-want.Objective) > 1e-6*(1+math.Abs(want.Objective)) {
			t.Fatalf("seed %d, rows %s: objective %g, fresh %g", seed, what, s.Objective(), want.Objective)
		}
	}
}
