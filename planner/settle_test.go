package planner

import (
	"testing"

	"feedline/planner/model"
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
