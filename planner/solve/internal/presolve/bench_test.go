package presolve_test

import (
	"path/filepath"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve/internal/presolve"
)

// BenchmarkRun times presolve alone; compare with BenchmarkSolve of the reduced model.
func BenchmarkRun(b *testing.B) {
	eachBench(b, func(b *testing.B, m *model.Model) {
		for range b.N {
			presolve.Run(m, presolve.Options{})
		}
	})
}

// BenchmarkRunWhole times presolve of the whole-number program.
func BenchmarkRunWhole(b *testing.B) {
	eachBench(b, func(b *testing.B, m *model.Model) {
		for range b.N {
			presolve.Run(m, presolve.Options{MIP: true})
		}
	})
}

// BenchmarkSolve times the linear solver on the reduced relaxation, for comparison.
func BenchmarkSolve(b *testing.B) {
	eachBench(b, func(b *testing.B, m *model.Model) {
		r, _ := presolve.Run(m, presolve.Options{})
		for range b.N {
			solveLinear(r.Model)
		}
	})
}

func eachBench(b *testing.B, f func(*testing.B, *model.Model)) {
	dir := reference(b)
	for _, name := range []string{"lotsizing/a1c1s1", "lotsizing/tgt_g1", "lotsizing/dg012142", "netlib/greenbea", "netlib/bnl2"} {
		m := readModel(b, filepath.Join(dir, name+".mps"))
		b.Run(filepath.Base(name), func(b *testing.B) { f(b, m) })
	}
	m := readModel(b, filepath.Join(dir, "lotsizing/tgt_g1.mps"))
	b.Run("tgt_g1×5", func(b *testing.B) { f(b, chained(m, 5)) })
}

// chained is k copies of m, neighbours tied by rows that limit what two copies' first columns add up to.
func chained(m *model.Model, k int) *model.Model {
	w := &model.Model{}
	n := m.NumVars()
	for c := range k {
		for j := range n {
			v := w.AddVar("", m.Lower[j], m.Upper[j], m.Cost[j]*(1+0.01*float64(c)))
			w.Integer[v] = m.Integer[j]
		}
	}
	for c := range k {
		for i := range m.RowLower {
			vars, coefs := m.RowTerms(model.Row(i))
			terms := make([]model.Term, 0, len(vars))
			for q, j := range vars {
				terms = append(terms, model.Term{Var: j + model.Var(c*n), Coef: coefs[q]})
			}
			w.AddRow("", m.RowLower[i], m.RowUpper[i], terms...)
		}
	}
	for c := 1; c < k; c++ {
		for j := 0; j < n; j += 97 {
			a, b := model.Var(c*n-n+j), model.Var(c*n+j)
			w.AddRow("", -1e5, 1e5, model.Term{Var: a, Coef: 1}, model.Term{Var: b, Coef: -1})
		}
	}
	return w
}
