package lp

import (
	"context"
	"path/filepath"
	"testing"

	"feedline/planner/solve"
)

func benchmarkPlan(b *testing.B, lines, profiles, weeks int) {
	m := lotSizing(1, lines, profiles, weeks)
	b.ReportAllocs()
	for b.Loop() {
		s := NewSolver(m, solve.Options{})
		if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
			b.Fatal(stop)
		}
	}
}

func BenchmarkPlan5000(b *testing.B)  { benchmarkPlan(b, 10, 40, 38) }
func BenchmarkPlan10000(b *testing.B) { benchmarkPlan(b, 12, 60, 52) }

func benchmarkFile(b *testing.B, name string) {
	m := readMPS(b, filepath.Join(reference(b), name))
	b.ReportAllocs()
	for b.Loop() {
		s := NewSolver(m, solve.Options{})
		if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
			b.Fatal(stop)
		}
	}
}

func BenchmarkGreenbea(b *testing.B) { benchmarkFile(b, "netlib/greenbea.mps") }
func BenchmarkNesm(b *testing.B)     { benchmarkFile(b, "netlib/nesm.mps") }
func BenchmarkMaros(b *testing.B)    { benchmarkFile(b, "netlib/maros.mps") }
func BenchmarkDegen2(b *testing.B)   { benchmarkFile(b, "netlib/degen2.mps") }

// BenchmarkSolvePlan10000 is the whole of Solve: presolve, simplex, and the finish on the model itself.
func BenchmarkSolvePlan10000(b *testing.B) {
	m := lotSizing(1, 12, 60, 52)
	b.ReportAllocs()
	for b.Loop() {
		if r := Solve(context.Background(), m, solve.Options{}); r.Stop != solve.Optimal {
			b.Fatal(r.Stop)
		}
	}
}
