package lp

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// TestAdopt holds what Adopt says of a part's optimum, and the X, Y, D and objective that it gives, against a solve of the whole program.
func TestAdopt(t *testing.T) {
	for _, maximize := range []bool{false, true} {
		t.Run(fmt.Sprint("maximize=", maximize), func(t *testing.T) {
			a := newAdoption(t, maximize)
			adopted, not := 0, 0
			for range 40 {
				if a.try(t) {
					adopted++
				} else {
					not++
				}
			}
			if adopted == 0 || not == 0 {
				t.Errorf("%d adopted, %d not: both are to be seen", adopted, not)
			}
		})
	}
}

// adoption is a program, a part of it, a place in the part, and solvers of both.
type adoption struct {
	m, plain    *model.Model
	r           *rand.Rand
	x           *Extract
	at          Place
	part, whole *Solver
}

// newAdoption makes the part of the rows that bind in some optima and the columns that move in fewer, so that it holds other optima now and then.
func newAdoption(t *testing.T, maximize bool) *adoption {
	a := &adoption{m: lotSizing(1, 4, 12, 30), r: rand.New(rand.NewPCG(3, 4))}
	m := a.m
	if m.Maximize = maximize; maximize {
		for j := range m.Cost {
			m.Cost[j] = -m.Cost[j]
		}
	}
	a.plain = m.Clone()
	binds, moves := make([]bool, m.NumRows()), make([]bool, m.NumVars())
	for i := range binds {
		binds[i] = m.RowLower[i] == m.RowUpper[i]
	}
	for j := range moves {
		moves[j] = math.IsInf(m.Upper[j], 1) || m.Lower[j] != 0
	}
	s := NewSolver(m, solve.Options{})
	mustSolve(t, s)
	first := s.Place()
	for k := range 12 {
		if k < 4 {
			s.Place().Mark(binds, moves)
		} else {
			s.Place().Mark(binds, make([]bool, len(moves)))
		}
		a.draw(func(row model.Row, side float64) { s.SetRowBounds(row, side, side) })
		mustSolve(t, s)
	}
	a.x = NewSolver(m, solve.Options{}).Extract(which[model.Row](binds), which[model.Var](moves))
	a.part, a.whole = a.x.Solver(solve.Options{}), NewSolver(m, solve.Options{})
	in, ok := a.x.Part(first)
	if !ok {
		t.Fatal("the place that the part was made from is not in it")
	}
	a.at = in
	return a
}

// draw gives the program other sides, near its first ones.
func (a *adoption) draw(set func(row model.Row, side float64)) {
	copy(a.m.RowLower, a.plain.RowLower)
	copy(a.m.RowUpper, a.plain.RowUpper)
	moveSides(a.r, a.m, func(model.Row, float64) {})
	for i, side := range a.m.RowLower {
		if side == a.m.RowUpper[i] {
			set(model.Row(i), side)
		}
	}
}

// try draws sides, solves the part and tells whether the whole program's solver adopts that.
func (a *adoption) try(t *testing.T) bool {
	a.draw(func(row model.Row, side float64) {
		a.whole.SetRowBounds(row, side, side)
		if to, ok := a.x.Row(row); ok {
			a.part.SetRowBounds(to, side, side)
		}
	})
	a.part.Return(a.at)
	mustSolve(t, a.part)
	w := a.whole
	is := w.Adopt(a.x, a.part)
	z, x, y, d := w.objective, slices.Clone(w.outX), slices.Clone(w.outY), slices.Clone(w.outD)
	before := w.Iterations()
	mustSolve(t, w)
	if !is {
		return false
	}
	if n := w.Iterations() - before; n > 0 {
		t.Errorf("%d iterations from a place that was adopted", n)
	}
	near(t, "objective", []float64{z}, []float64{w.Objective()})
	near(t, "X", x, w.X())
	near(t, "Y", y, w.Y())
	near(t, "D", d, w.D())
	return true
}

func mustSolve(t *testing.T, s *Solver) {
	t.Helper()
	if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
		t.Fatal(stop)
	}
}

func near(t *testing.T, name string, got, want []float64) {
	t.Helper()
	for i := range want {
		if d := math.Abs(got[i] - want[i]); !(d <= 1e-8*max(1, math.Abs(want[i]))) {
			t.Fatalf("%s[%d] is %.12g, of the whole program %.12g", name, i, got[i], want[i])
		}
	}
}

// which is the numbers of those that are true.
func which[T ~int32](is []bool) []T {
	var list []T
	for i, yes := range is {
		if yes {
			list = append(list, T(i))
		}
	}
	return list
}
