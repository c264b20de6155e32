package presolve

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/planner/model"
)

// mostAssignments is how many whole-number assignments the brute force goes through.
const mostAssignments = 3000

// enumerate solves m by trying all whole-number assignments, each with the reference simplex. It says
// whether that was possible; the best point is nil if there is none.
func enumerate(m *model.Model) (best []float64, unbounded, ok bool) {
	var whole []int
	size := 1.0
	for j, b := range m.Integer {
		if b {
			whole = append(whole, j)
			size *= math.Floor(m.Upper[j]) - math.Ceil(m.Lower[j]) + 1
		}
	}
	if !(size <= mostAssignments) {
		return nil, false, false
	}
	w, ok := m.Clone(), true
	var try func(k int)
	try = func(k int) {
		if k < len(whole) {
			j := whole[k]
			for v := math.Ceil(m.Lower[j]); v <= m.Upper[j]; v++ {
				w.Lower[j], w.Upper[j] = v, v
				try(k + 1)
			}
			return
		}
		switch stop, p := solveReference(w); {
		case stop == refGaveUp:
			ok = false
		case stop == refUnbounded:
			unbounded = true
		case stop == refOptimal && (best == nil || better(m, p.X, best)):
			best = p.X
		}
	}
	try(0)
	return best, unbounded, ok
}

func better(m *model.Model, a, b []float64) bool {
	return (m.Objective(a) < m.Objective(b)) != m.Maximize && m.Objective(a) != m.Objective(b)
}

// TestRandomWholePrograms: the best whole-number solution of the reduced model, taken back, is one of the
// original and as good as the original's best, found by trying all.
func TestRandomWholePrograms(t *testing.T) {
	var used [numRules]int
	many(t, func(t *rapid.T) {
		m := drawModel(t, true)
		if r := checkWhole(t, m, Options{MIP: true, Skip: drawSkip(t)}); r != nil {
			for k, n := range r.Applied {
				used[k] += n
			}
		}
	})
	for k, n := range used {
		if n == 0 && !sameSeed() && Rule(k) != DominatedColumn && Rule(k) != TightRow { // too rare among these to count on
			t.Errorf("no random model used the rule %q", Rule(k))
		}
	}
}

func checkWhole(t *rapid.T, m *model.Model, opt Options) *Reduced {
	want, unbounded, ok := enumerate(m)
	if !ok {
		t.Skip("too large to enumerate")
	}
	r, v := Run(m, opt)
	if v.Outcome != Open {
		if want != nil && !unbounded || v.Outcome == Infeasible && unbounded {
			t.Fatalf("presolve says %v, but %v is a solution\n%s", v, want, show(m))
		}
		return nil
	}
	got, unboundedR, ok := enumerate(r.Model)
	if !ok {
		t.Skip("too large to enumerate")
	}
	if unbounded || unboundedR {
		if unbounded != unboundedR {
			t.Fatalf("unbounded %v, reduced %v\n%s\nreduced\n%s", unbounded, unboundedR, show(m), show(r.Model))
		}
		return r
	}
	if (got == nil) != (want == nil) {
		t.Fatalf("reduced solution %v, original %v; rules %s\n%s\nreduced\n%s", got, want, applied(r), show(m), show(r.Model))
	}
	if got == nil {
		return r
	}
	x := r.Postsolve(Point{X: got}).X
	if fault := violation(m, x); fault > 1e-6 {
		t.Fatalf("the solution taken back, %v, violates the original by %g; rules %s\n%s\nreduced\n%s", x, fault, applied(r), show(m), show(r.Model))
	}
	if down, ok := r.MapSolution(x); !ok || !close(down, got) {
		t.Fatalf("taken back and down again %v is %v, %v; rules %s\n%s", got, down, ok, applied(r), show(m))
	}
	if a, b, c := m.Objective(want), m.Objective(x), r.Model.Objective(got); math.Abs(a-b) > 1e-6*scale(a) || math.Abs(a-c) > 1e-6*scale(a) {
		t.Fatalf("best %g, taken back %g, reduced %g; rules %s\n%s\nreduced\n%s", a, b, c, applied(r), show(m), show(r.Model))
	}
	return r
}

// violation is the largest by which x misses a bound, a row or a whole number of m.
func violation(m *model.Model, x []float64) float64 {
	worst := 0.0
	for j, v := range x {
		worst = math.Max(worst, math.Max(m.Lower[j]-v, v-m.Upper[j]))
		if m.Integer[j] {
			worst = math.Max(worst, math.Abs(v-math.Round(v)))
		}
	}
	for i := range m.RowLower {
		v := activityAt(m, i, x)
		worst = math.Max(worst, math.Max(m.RowLower[i]-v, v-m.RowUpper[i]))
	}
	return worst
}
