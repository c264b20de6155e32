package solvetest

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// Func is a solver.
type Func func(context.Context, *model.Model, solve.Options) solve.Result

// LP runs the conformance suite for linear programs: known answers, and random programs against their duals,
// permutations and changes of units. Every result's certificate is checked.
func LP(t *testing.T, f Func) {
	t.Run("cases", func(t *testing.T) { knownCases(t, f) })
	t.Run("duality", func(t *testing.T) { duality(t, f, 300) })
	t.Run("open", func(t *testing.T) { openPrograms(t, f, 400) })
	t.Run("invariance", func(t *testing.T) { invariance(t, f, 150) })
	t.Run("repeatable", func(t *testing.T) { repeatable(t, f) })
	t.Run("limits", func(t *testing.T) { limits(t, f) })
}

func run(t *testing.T, f Func, m *model.Model) solve.Result {
	t.Helper()
	before := m.Clone()
	r := f(context.Background(), m, solve.Options{})
	if err := Check(before, &r); err != nil {
		t.Fatalf("%v after %d iterations: %v", r.Stop, r.Iterations, err)
	}
	return r
}

func knownCases(t *testing.T, f Func) {
	for _, c := range Cases() {
		t.Run(c.Name, func(t *testing.T) {
			r := run(t, f, c.Model)
			if r.Stop != c.Stop {
				t.Fatalf("stopped %v, want %v", r.Stop, c.Stop)
			}
			if c.Stop == solve.Optimal && differ(r.Objective, c.Best, Equality) {
				t.Fatalf("objective %.12g, want %.12g", r.Objective, c.Best)
			}
			r = run(t, f, Negated(c.Model))
			if r.Stop != c.Stop || c.Stop == solve.Optimal && differ(r.Objective, -c.Best, Equality) {
				t.Fatalf("negated: %v with %.12g, want %v with %.12g", r.Stop, r.Objective, c.Stop, -c.Best)
			}
		})
	}
}

// Negated returns m with its objective and sense negated.
func Negated(m *model.Model) *model.Model {
	w := m.Clone()
	w.Maximize, w.Offset = !m.Maximize, -m.Offset
	for j := range w.Cost {
		w.Cost[j] = -w.Cost[j]
	}
	return w
}

// duality solves random programs that have an optimum, and their duals built as programs.
func duality(t *testing.T, f Func, count uint64) {
	for seed := range count {
		r := rand.New(rand.NewPCG(seed, 11))
		m := Random(r, 1+r.IntN(25), 1+r.IntN(25), false)
		p := run(t, f, m)
		d := run(t, f, Dual(m))
		z := p.Objective
		if m.Maximize {
			z = -z
		}
		if p.Stop != solve.Optimal || d.Stop != solve.Optimal || differ(z, d.Objective, Equality) {
			t.Fatalf("seed %d: primal %v %.12g, dual %v %.12g", seed, p.Stop, z, d.Stop, d.Objective)
		}
	}
}

// openPrograms are feasible and may be unbounded; then their duals are infeasible.
func openPrograms(t *testing.T, f Func, count uint64) {
	seen := map[solve.Stop]int{}
	for seed := range count {
		r := rand.New(rand.NewPCG(seed, 12))
		m := Random(r, 1+r.IntN(15), 1+r.IntN(15), true)
		p := run(t, f, m)
		d := run(t, f, Dual(m))
		seen[p.Stop]++
		switch {
		case p.Stop == solve.Optimal && d.Stop == solve.Optimal:
		case p.Stop == solve.Unbounded && d.Stop == solve.Infeasible:
		default:
			t.Fatalf("seed %d: primal %v, dual %v", seed, p.Stop, d.Stop)
		}
	}
	if seen[solve.Optimal] < 20 || seen[solve.Unbounded] < 20 {
		t.Fatalf("the random programs are one-sided: %v", seen)
	}
}

// invariance permutes programs and changes their units.
func invariance(t *testing.T, f Func, count uint64) {
	for seed := range count {
		r := rand.New(rand.NewPCG(seed, 13))
		m := Random(r, 1+r.IntN(30), 1+r.IntN(30), r.IntN(4) == 0)
		a := run(t, f, m)
		w, money := Permuted(r, m, 6)
		b := run(t, f, w)
		if a.Stop != b.Stop || a.Stop == solve.Optimal && differ(a.Objective, b.Objective/money, Equality) {
			t.Fatalf("seed %d: %v %.12g, permuted and scaled %v %.12g", seed, a.Stop, a.Objective, b.Stop, b.Objective/money)
		}
	}
}

// repeatable wants the same bits from the same input.
func repeatable(t *testing.T, f Func) {
	m := Random(rand.New(rand.NewPCG(5, 14)), 60, 60, false)
	a, b := run(t, f, m), run(t, f, m)
	if a.Iterations != b.Iterations || a.Work != b.Work || a.Objective != b.Objective {
		t.Fatalf("two runs differ: %d and %d iterations, %d and %d work, %v and %v", a.Iterations, b.Iterations, a.Work, b.Work, a.Objective, b.Objective)
	}
	for j := range a.X {
		if a.X[j] != b.X[j] {
			t.Fatalf("column %d differs between two runs: %v and %v", j, a.X[j], b.X[j])
		}
	}
}

func limits(t *testing.T, f Func) {
	m := Random(rand.New(rand.NewPCG(6, 15)), 80, 80, false)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if r := f(ctx, m, solve.Options{}); r.Stop != solve.Cancelled {
		t.Errorf("cancelled before the start: stopped %v", r.Stop)
	}
	if r := f(context.Background(), m, solve.Options{Work: 1}); r.Stop != solve.WorkLimit {
		t.Errorf("one unit of work: stopped %v", r.Stop)
	}
	if r := f(context.Background(), m, solve.Options{Time: time.Nanosecond}); r.Stop != solve.TimeLimit {
		t.Errorf("one nanosecond: stopped %v", r.Stop)
	}
}
