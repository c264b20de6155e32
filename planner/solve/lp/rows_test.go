package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/solvetest"
)

// TestRowsAddedAndDeleted compares a solver changed step by step with a fresh one on the same model.
func TestRowsAddedAndDeleted(t *testing.T) {
	for seed := uint64(0); seed < 200; seed++ {
		r := rand.New(rand.NewPCG(seed, 7))
		cols := 2 + r.IntN(15)
		full := solvetest.Random(r, 3+r.IntN(25), cols, true)
		part := &model.Model{Maximize: full.Maximize, Offset: full.Offset}
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
