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

// published builds max cᵀx, A·x ≤ b, x ≥ 0.
func published(c, b []float64, rows ...[]float64) *model.Model {
	m := &model.Model{Maximize: true}
	for _, v := range c {
		m.AddVar("", 0, math.Inf(1), v)
	}
	for i, row := range rows {
		var terms []model.Term
		for j, a := range row {
			terms = append(terms, model.Term{Var: model.Var(j), Coef: a})
		}
		m.AddRow("", math.Inf(-1), b[i], terms...)
	}
	return m
}

// TestPublishedRanges: Wyndor (Hillier and Lieberman), Dakota (Winston) and the sample of the GLPK reference manual, with
// ranges as printed by glpsol --ranges.
func TestPublishedRanges(t *testing.T) {
	inf := math.Inf(1)
	tests := []struct {
		name  string
		m     *model.Model
		x, y  []float64
		costs []Interval
		rows  []Interval
	}{
		{"Wyndor", published([]float64{3, 5}, []float64{4, 12, 18}, []float64{1, 0}, []float64{0, 2}, []float64{3, 2}),
			[]float64{2, 6}, []float64{0, 1.5, 1},
			[]Interval{{0, 7.5}, {2, inf}}, []Interval{{2, inf}, {6, 18}, {12, 24}}},
		{"Dakota", published([]float64{60, 30, 20}, []float64{48, 20, 8}, []float64{8, 6, 1}, []float64{4, 2, 1.5}, []float64{2, 1.5, 0.5}),
			[]float64{2, 0, 8}, []float64{0, 10, 10},
			[]Interval{{56, 80}, {-inf, 35}, {15, 22.5}}, []Interval{{24, inf}, {16, 24}, {20.0 / 3, 10}}},
		{"GLPK manual", published([]float64{10, 6, 4}, []float64{100, 600, 300}, []float64{1, 1, 1}, []float64{10, 4, 5}, []float64{2, 2, 6}),
			[]float64{100.0 / 3, 200.0 / 3, 0}, []float64{10.0 / 3, 2.0 / 3, 0},
			[]Interval{{6, 15}, {4, 10}, {-inf, 20.0 / 3}}, []Interval{{60, 150}, {400, 1000}, {200, inf}}},
	}
	near := func(a, b float64) bool { return a == b || math.Abs(a-b) < 1e-9*math.Max(1, math.Abs(b)) }
	for _, c := range tests {
		r, g := Ranging(context.Background(), c.m, solve.Options{})
		for j, want := range c.costs {
			if got := g.Cost[j]; !near(got.Lower, want.Lower) || !near(got.Upper, want.Upper) || !near(r.X[j], c.x[j]) {
				t.Errorf("%s: column %d at %g with cost range %v, want %g, %v", c.name, j, r.X[j], got, c.x[j], want)
			}
		}
		for i, want := range c.rows {
			if got := g.Row[i].Range; !near(got.Lower, want.Lower) || !near(got.Upper, want.Upper) || !near(r.Y[i], c.y[i]) {
				t.Errorf("%s: row %d with dual %g and range %v, want %g, %v", c.name, i, r.Y[i], got, c.y[i], want)
			}
		}
	}
}

// TestRangesHold solves again at both ends of finite ranges (and at a unit's distance into infinite ones): the
// objective must follow the line that the solution, or the dual, predicts.
func TestRangesHold(t *testing.T) {
	checked := 0
	for seed := uint64(0); seed < 60; seed++ {
		r := rand.New(rand.NewPCG(seed, 31))
		m := solvetest.Random(r, 1+r.IntN(10), 1+r.IntN(10), false)
		res, g := Ranging(context.Background(), m, solve.Options{})
		if res.Stop != solve.Optimal {
			t.Fatalf("seed %d: %v", seed, res.Stop)
		}
		again := func(what string, k int, want float64) {
			t.Helper()
			checked++
			z := Solve(context.Background(), m, solve.Options{})
			if z.Stop != solve.Optimal || math.Abs(z.Objective-want) > 1e-6*math.Max(1, math.Abs(want)) {
				t.Fatalf("seed %d, %s %d: %v %.9g, predicted %.9g", seed, what, k, z.Stop, z.Objective, want)
			}
		}
		for j, c := range m.Cost {
			for _, v := range ends(g.Cost[j], c) {
				m.Cost[j] = v
				again("cost", j, res.Objective+(v-c)*res.X[j])
				m.Cost[j] = c
			}
		}
		for i := range m.RowLower {
			lo, up := m.RowLower[i], m.RowUpper[i]
			if lo == up || g.Row[i].Side == Basic {
				continue
			}
			side := &m.RowUpper[i]
			if g.Row[i].Side == AtLower {
				side = &m.RowLower[i]
			}
			b := *side
			for _, v := range ends(g.Row[i].Range, b) {
				if *side = v; m.RowLower[i] <= m.RowUpper[i] {
					again("row", i, res.Objective+(v-b)*res.Y[i])
				}
				*side = b
			}
		}
	}
	if checked < 200 {
		t.Fatalf("only %d ends checked", checked)
	}
}

func ends(g Interval, at float64) []float64 {
	return []float64{math.Max(g.Lower, at-10), math.Min(g.Upper, at+10)}
}
