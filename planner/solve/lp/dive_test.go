package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/solvetest"
)

// TestDives fixes whole-number columns one after the other at a neighbouring whole number, as a search does, until the
// relaxation is infeasible, and checks every answer's certificate. Set FEEDLINE_LONG=1 for all models.
func TestDives(t *testing.T) {
	dir := reference(t)
	long := os.Getenv("FEEDLINE_LONG") != ""
	counts := map[solve.Stop]int{}
	for _, e := range index(t, dir) {
		if e.whole == 0 || !strings.HasPrefix(e.file, "miplib/") && !strings.HasPrefix(e.file, "lotsizing/") {
			continue
		}
		m := readMPS(t, filepath.Join(dir, e.file))
		if m.NumNonzeros() > 2500 && !long {
			continue
		}
		r := rand.New(rand.NewPCG(uint64(m.NumVars()), 3))
		s := NewSolver(m, solve.Options{})
		if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
			t.Errorf("%s: %v", e.file, stop)
			continue
		}
		lower, upper := append([]float64(nil), m.Lower...), append([]float64(nil), m.Upper...)
		for dive := 0; dive < 3; dive++ {
			for j := range lower {
				if m.Lower[j] != lower[j] || m.Upper[j] != upper[j] {
					m.Lower[j], m.Upper[j] = lower[j], upper[j]
					s.SetBounds(model.Var(j), lower[j], upper[j])
				}
			}
			diveOnce(t, e.file, r, m, s, counts)
		}
	}
	t.Log(counts)
	if counts[solve.Numerical] > 0 {
		t.Errorf("%d solves ended in numerical trouble", counts[solve.Numerical])
	}
}

func diveOnce(t *testing.T, file string, r *rand.Rand, m *model.Model, s *Solver, counts map[solve.Stop]int) {
	for step := 0; step < 60; step++ {
		stop := s.Solve(context.Background(), Limits{})
		counts[stop]++
		res := solve.Result{Stop: stop}
		s.fill(&res)
		if err := solvetest.Check(m, &res); err != nil {
			t.Errorf("%s step %d: %v: %v", file, step, stop, err)
			return
		}
		if stop != solve.Optimal {
			return
		}
		j := fractional(r, m, res.X)
		if j < 0 {
			return
		}
		v := math.Floor(res.X[j]) + float64(r.IntN(2))
		m.Lower[j], m.Upper[j] = v, v
		s.SetBounds(model.Var(j), v, v)
	}
}

// fractional picks a whole-number column with a fractional value, -1 if there is none.
func fractional(r *rand.Rand, m *model.Model, x []float64) int {
	found, n := -1, 0
	for j, w := range m.Integer {
		if w && math.Abs(x[j]-math.Round(x[j])) > 1e-5 {
			if n++; r.IntN(n) == 0 {
				found = j
			}
		}
	}
	return found
}
