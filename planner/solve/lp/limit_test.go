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

// TestObjectiveLimit stops only if the optimum is past the limit, and always if it is far past.
func TestObjectiveLimit(t *testing.T) {
	stopped := 0
	for seed := uint64(0); seed < 300; seed++ {
		r := rand.New(rand.NewPCG(seed, 41))
		m := solvetest.Random(r, 5+r.IntN(30), 5+r.IntN(30), false)
		best := Solve(context.Background(), m, solve.Options{}).Objective
		if m.Maximize {
			best = -best
		}
		for _, off := range []float64{-100, -1, 0.5, 10} {
			s := NewSolver(m, solve.Options{})
			switch stop := s.Solve(context.Background(), Limits{Objective: best + off, HasObjective: true}); stop {
			case solve.ObjectiveLimit:
				stopped++
				if off > 0 {
					t.Fatalf("seed %d: stopped at limit %g, optimum %g", seed, best+off, best)
				}
			case solve.Optimal:
			default:
				t.Fatalf("seed %d: %v", seed, stop)
			}
			if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
				t.Fatalf("seed %d: %v without the limit", seed, stop)
			}
		}
	}
	if stopped < 100 {
		t.Errorf("the limit stopped %d solves only", stopped)
	}
}

// TestTableauRow checks Σ cols·x = Σ rows·(A·x) for every x and the unit entries of basic variables.
func TestTableauRow(t *testing.T) {
	for seed := uint64(0); seed < 100; seed++ {
		r := rand.New(rand.NewPCG(seed, 42))
		base := solvetest.Random(r, 1+r.IntN(20), 1+r.IntN(20), false)
		m, _ := solvetest.Permuted(r, base, 5)
		s := NewSolver(m, solve.Options{})
		s.Solve(context.Background(), Limits{})
		cols, rows := make([]float64, m.NumVars()), make([]float64, m.NumRows())
		for i := range rows {
			s.TableauRow(i, cols, rows)
			checkTableauRow(t, m, s, i, cols, rows)
		}
	}
}

func checkTableauRow(t *testing.T, m *model.Model, s *Solver, i int, cols, rows []float64) {
	t.Helper()
	sum := make([]float64, m.NumVars())
	size := make([]float64, m.NumVars())
	for k, y := range rows {
		vars, coefs := m.RowTerms(model.Row(k))
		for q, j := range vars {
			sum[j] += y * coefs[q]
			size[j] += math.Abs(y * coefs[q])
		}
	}
	for j := range cols {
		if math.Abs(cols[j]-sum[j]) > 1e-9*math.Max(1, size[j]) {
			t.Fatalf("column %d: %g, combination of rows %g", j, cols[j], sum[j])
		}
	}
	for p := range rows {
		want := 0.0
		if p == i {
			want = 1
		}
		isRow, k := s.BasicVar(p)
		got, scale := 0.0, 1.0
		if isRow {
			got = rows[k]
		} else {
			got, scale = cols[k], math.Max(1, size[k])
		}
		if math.Abs(got-want) > 1e-8*scale && math.Abs(got-want) > 1e-8 {
			t.Fatalf("tableau row %d: basic variable of position %d has %g, want %g", i, p, got, want)
		}
	}
}

// TestNotANumber must end, and claim nothing.
func TestNotANumber(t *testing.T) {
	nan := math.NaN()
	for name, spoil := range map[string]func(m *model.Model){
		"cost":        func(m *model.Model) { m.Cost[0] = nan },
		"endless":     func(m *model.Model) { m.Cost[0] = math.Inf(1) },
		"lower bound": func(m *model.Model) { m.Lower[1] = nan },
		"upper bound": func(m *model.Model) { m.Upper[1] = nan },
		"row":         func(m *model.Model) { m.RowLower[0] = nan },
	} {
		m := solvetest.Random(rand.New(rand.NewPCG(1, 43)), 5, 5, false)
		s := NewSolver(m, solve.Options{})
		s.Solve(context.Background(), Limits{})
		spoil(m)
		if r := Solve(context.Background(), m, solve.Options{}); r.Stop != solve.Numerical && r.Stop != solve.Infeasible || r.Has {
			t.Errorf("%s: stopped %v", name, r.Stop)
		}
		s.SetCost(0, m.Cost[0])
		s.SetBounds(1, m.Lower[1], m.Upper[1])
		s.SetRowBounds(0, m.RowLower[0], m.RowUpper[0])
		if stop := s.Solve(context.Background(), Limits{}); stop != solve.Numerical {
			t.Errorf("%s, changed: stopped %v", name, stop)
		}
	}
}
