package lp

import (
	"context"
	"math/rand/v2"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// BenchmarkWarm10000 fixes or frees one set-up of a plan of 10,000 rows and re-solves.
func BenchmarkWarm10000(b *testing.B) {
	m := lotSizing(1, 12, 60, 52)
	s := NewSolver(m, solve.Options{})
	s.Solve(context.Background(), Limits{})
	r := rand.New(rand.NewPCG(1, 1))
	var whole []model.Var
	for j, w := range m.Integer {
		if w {
			whole = append(whole, model.Var(j))
		}
	}
	b.ReportAllocs()
	before := s.Iterations()
	for b.Loop() {
		j := whole[r.IntN(len(whole))]
		v := float64(r.IntN(2))
		s.SetBounds(j, v, v)
		if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
			b.Fatal(stop)
		}
		s.SetBounds(j, 0, 1)
	}
	b.ReportMetric(float64(s.Iterations()-before)/float64(b.N), "iterations/op")
}
