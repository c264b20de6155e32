package mip

import (
	"context"
	"math"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// windows groups the whole-number columns in overlapping windows of their index.
func windows(m *model.Model, size, step int) [][]model.Var {
	var ints []model.Var
	for j, whole := range m.Integer {
		if whole {
			ints = append(ints, model.Var(j))
		}
	}
	var groups [][]model.Var
	for a := 0; a < len(ints); a += step {
		groups = append(groups, ints[a:min(a+size, len(ints))])
	}
	return groups
}

// TestRelaxAndFix builds a plan for a lot-sizing model whose optimum is known (Trigeiro, Thomas and McClain's F1, 40,854,
// see index.tsv) and improves it; bounds and feasibility must hold on the way.
func TestRelaxAndFix(t *testing.T) {
	m := load(t, "lotsizing/trig_F1.mps")
	opts := Options{Options: solve.Options{Work: 300_000_000}}
	r := RelaxAndFix(context.Background(), m, windows(m, 24, 12), opts)
	if !r.Has {
		t.Fatalf("no plan, stop %v", r.Stop)
	}
	checkResult(t, m, r)
	if r.Bound > 40854*(1+1e-9) || math.IsInf(r.Bound, 0) {
		t.Errorf("bound %v beyond the optimum 40854", r.Bound)
	}
	better := FixAndOptimize(context.Background(), m, r.X, windows(m, 30, 15), opts)
	checkResult(t, m, better)
	if better.Objective > r.Objective || better.Objective < 40854*(1-1e-6) {
		t.Errorf("%v became %v, optimum 40854", r.Objective, better.Objective)
	}
	t.Logf("relax and fix %.0f, fix and optimize %.0f (%v), optimum 40854", r.Objective, better.Objective, better.Stop)
}

// TestRelaxAndFixInfeasible reports a model without a solution.
func TestRelaxAndFixInfeasible(t *testing.T) {
	m := &model.Model{}
	x, y := m.AddInt("x", 0, 1, 1), m.AddInt("y", 0, 1, 1)
	m.AddRow("", 1.5, 1.5, model.Term{Var: x, Coef: 1}, model.Term{Var: y, Coef: 1})
	r := RelaxAndFix(context.Background(), m, [][]model.Var{{x}, {y}}, Options{})
	if r.Has || r.Stop != solve.Infeasible {
		t.Errorf("stop %v, has %v", r.Stop, r.Has)
	}
}

// TestPartialIncumbent completes a starting point with gaps: the plan it gives is at least as good as the point allows.
func TestPartialIncumbent(t *testing.T) {
	m := load(t, "examples/ww1958.mps")
	x := make([]float64, m.NumVars())
	for j := range x {
		x[j] = math.NaN()
		if m.Integer[j] && j%2 == 0 {
			x[j] = 1
		}
	}
	s := newSearch(m, Options{})
	inc := s.complete(context.Background(), x)
	if inc.x == nil {
		t.Fatal("not completed")
	}
	if inc.value < 864-1e-6 {
		t.Errorf("value %v below the optimum 864", inc.value)
	}
	r := Solve(context.Background(), m, Options{Incumbents: [][]float64{x, inc.x}})
	if !near(r.Objective, 864, 1e-6) {
		t.Errorf("objective %v, want 864", r.Objective)
	}
}
