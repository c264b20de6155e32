package forecast

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Where a sample's dual simplex starts decides how long it runs. Every basis that is optimal in some world is dual feasible in all of them, since worlds
// move right-hand sides and bounds only, and its duals bound every world's optimum from below. So the optima of some first samples
// are kept, and each later sample starts from the one whose bound is highest: the dual method climbs from there. (Grouping worlds
// by their bases is bunching: Birge and Louveaux, Introduction to Stochastic Programming, title seen only.) The first samples start
// from the optimum in the plan's own world. Which start a sample takes depends on the seed and its number alone.

// start is an optimum that a sample may start from.
type start struct {
	place lp.Place
	y, d  []float64
}

// starts are the optima of a program.
type starts struct {
	model *model.Model
	list  []start
}

// rounds are how many samples are solved before the next ones have their optima to start from; from the last of them on none are kept.
var rounds = []int{8, 24, 64, 128}

// startFrom is the starts of m with the optimum at basis b.
func startFrom(ctx context.Context, m *model.Model, b lp.Basis) *starts {
	s := lp.NewSolver(m, solve.Options{})
	s.SetBasis(b)
	s.Solve(ctx, lp.Limits{})
	p := &starts{model: m}
	p.list = append(p.list, startAt(s))
	return p
}

// startAt is the optimum that s stands on.
func startAt(s *lp.Solver) start {
	return start{s.Place(), append([]float64(nil), s.Y()...), append([]float64(nil), s.D()...)}
}

// best is the start with the highest bound for the sides and bounds of w; the earliest of equals.
func (p *starts) best(w *sides) *start {
	at, top := 0, math.Inf(-1)
	if len(p.list) > 1 {
		for i := range p.list {
			if z := p.list[i].bound(w); z > top {
				at, top = i, z
			}
		}
	}
	return &p.list[at]
}

// bound is what the duals prove of the optimum.
func (s *start) bound(w *sides) float64 {
	z := 0.0
	for i, y := range s.y {
		if y > 0 {
			z += float64(y * w.rowLower[i])
		} else if y < 0 {
			z += float64(y * w.rowUpper[i])
		}
	}
	for j, d := range s.d {
		if d > negligible {
			z += float64(d * w.lower[j])
		} else if d < -negligible {
			z += float64(d * w.upper[j])
		}
	}
	if math.IsNaN(z) {
		return math.Inf(-1)
	}
	return z
}

// negligible is the reduced cost, money a unit, that counts as none where a column has no bound on that side.
const negligible = 1e-7

// sides are a program's bounds and right-hand sides in a world.
type sides struct{ lower, upper, rowLower, rowUpper []float64 }

// reset takes m's own.
func (w *sides) reset(m *model.Model) {
	w.lower = append(w.lower[:0], m.Lower...)
	w.upper = append(w.upper[:0], m.Upper...)
	w.rowLower = append(w.rowLower[:0], m.RowLower...)
	w.rowUpper = append(w.rowUpper[:0], m.RowUpper...)
}

func (w *sides) SetBounds(j model.Var, lower, upper float64) { w.lower[j], w.upper[j] = lower, upper }
func (w *sides) SetRowBounds(r model.Row, lower, upper float64) {
	w.rowLower[r], w.rowUpper[r] = lower, upper
}

// move gives s the bounds and right-hand sides of w.
func (w *sides) move(s *lp.Solver) {
	for j := range w.lower {
		s.SetBounds(model.Var(j), w.lower[j], w.upper[j])
	}
	for i := range w.rowLower {
		s.SetRowBounds(model.Row(i), w.rowLower[i], w.rowUpper[i])
	}
}

// cold is m with the bounds and right-hand sides of w.
func (w *sides) cold(m *model.Model) *model.Model {
	c := m.Clone()
	copy(c.Lower, w.lower)
	copy(c.Upper, w.upper)
	copy(c.RowLower, w.rowLower)
	copy(c.RowUpper, w.rowUpper)
	return c
}
