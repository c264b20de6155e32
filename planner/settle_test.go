package planner

import (
	"slices"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve/lp"
)

// TestFolding holds a textbook model's columns and follows by hand what is left: x + y ≥ 3, y + z ≤ 4, x = 1 leaves 2 ≤ y and a row in y and z.
func TestFolding(t *testing.T) {
	m := &model.Model{}
	x, y, z := m.AddVar("x", 0, 9, 1), m.AddVar("y", 0, 9, 1), m.AddVar("z", 0, 9, -1)
	m.AddRow("a", 3, model.Infinity, model.Term{Var: x, Coef: 1}, model.Term{Var: y, Coef: 1})
	m.AddRow("b", -model.Infinity, 4, model.Term{Var: y, Coef: 1}, model.Term{Var: z, Coef: 1})
	g := newFolding(m)
	g.bound(int(x), 1, 1)
	if !g.run() || g.lower[y] != 2 || !g.gone[0] || g.gone[1] {
		t.Errorf("y from %v, rows gone %v; want from 2, the first gone", g.lower[y], g.gone)
	}
	g = newFolding(m)
	g.bound(int(x), 1, 1)
	g.bound(int(y), 0, 1)
	if g.run() {
		t.Error("x + y ≥ 3 with x = 1 and y ≤ 1 went unseen")
	}
}

// TestFillBasis: x is in rows a and b, y in b, z in c. With x and y basic only c is without a column; with y alone a is too,
// for y covers b; with all three none is.
func TestFillBasis(t *testing.T) {
	m := &model.Model{}
	x, y, z := m.AddVar("x", 0, 9, 1), m.AddVar("y", 0, 9, 1), m.AddVar("z", 0, 9, 1)
	m.AddRow("a", 1, 1, model.Term{Var: x, Coef: 1})
	m.AddRow("b", 2, 2, model.Term{Var: x, Coef: 1}, model.Term{Var: y, Coef: 1})
	m.AddRow("c", 3, 3, model.Term{Var: z, Coef: 1})
	for _, c := range []struct{ cols, rows []lp.Status }{
		{[]lp.Status{lp.Basic, lp.Basic, lp.AtLower}, []lp.Status{lp.AtLower, lp.AtLower, lp.Basic}},
		{[]lp.Status{lp.AtLower, lp.Basic, lp.AtLower}, []lp.Status{lp.Basic, lp.AtLower, lp.Basic}},
		{[]lp.Status{lp.Basic, lp.Basic, lp.Basic}, []lp.Status{lp.AtLower, lp.AtLower, lp.AtLower}},
	} {
		b := lp.Basis{Cols: c.cols, Rows: make([]lp.Status, 3)}
		if fillBasis(m, b); !slices.Equal(b.Rows, c.rows) {
			t.Errorf("columns %v: rows %v, want %v", c.cols, b.Rows, c.rows)
		}
	}
}
