package mip

import (
	"context"
	"math"
	"reflect"
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

// TestShortOfWork: a run that ends before it knows anything says so, and claims nothing about the model.
func TestShortOfWork(t *testing.T) {
	m := load(t, "lotsizing/trig_F1.mps")
	for _, work := range []int64{1, 100_000, 1_000_000, 3_000_000} {
		opts := Options{Options: solve.Options{Work: work}}
		for kind, r := range map[string]solve.Result{
			"solve":         Solve(context.Background(), m, opts),
			"relax and fix": RelaxAndFix(context.Background(), m, windows(m, 24, 12), opts),
		} {
			if r.Stop == solve.Infeasible || r.Stop == solve.Optimal || r.Stop == solve.Numerical {
				t.Errorf("%s within %d: stop %v", kind, work, r.Stop)
			}
			if r.Bound > 40854*(1+1e-9) {
				t.Errorf("%s within %d: bound %v beyond the optimum 40854", kind, work, r.Bound)
			}
			checkResult(t, m, r)
		}
	}
}

// TestStagesRepeat: the same work gives the same result on one worker and on two.
func TestStagesRepeat(t *testing.T) {
	m := load(t, "lotsizing/trig_F10.mps")
	var first [2]solve.Result
	for run := range 2 {
		opts := Options{Options: solve.Options{Work: 200_000_000, Workers: 1 + run%2}}
		a := RelaxAndFix(context.Background(), m, windows(m, 24, 12), opts)
		if !a.Has {
			t.Fatalf("no plan: %v", a.Stop)
		}
		b := FixAndOptimize(context.Background(), m, a.X, windows(m, 30, 15), opts)
		a.Elapsed, b.Elapsed = 0, 0
		if run == 0 {
			first = [2]solve.Result{a, b}
		} else if !reflect.DeepEqual(first, [2]solve.Result{a, b}) {
			t.Errorf("run %d differs: %v %v, first %v %v", run, a.Objective, b.Objective, first[0].Objective, first[1].Objective)
		}
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
