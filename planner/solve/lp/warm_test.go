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

// TestResolvingAllocatesNothing: the loops of the dual method work in memory that the solver has.
func TestResolvingAllocatesNothing(t *testing.T) {
	m := lotSizing(1, 4, 12, 30)
	s := NewSolver(m, solve.Options{})
	s.Solve(context.Background(), Limits{})
	j := 0
	iterations := s.Iterations()
	allocs := testing.AllocsPerRun(200, func() {
		for j++; !m.Integer[j%m.NumVars()]; j++ {
		}
		v := model.Var(j % m.NumVars())
		s.SetBounds(v, 1, 1)
		s.Solve(context.Background(), Limits{})
		s.SetBounds(v, 0, 1)
		s.Solve(context.Background(), Limits{})
	})
	if iterations = s.Iterations() - iterations; allocs > 0 || iterations < 200 {
		t.Errorf("%.1f allocations a re-solve, %d iterations in all", allocs, iterations)
	}
}
