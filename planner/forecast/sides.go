package forecast

import (
	"math"

	"feedline/planner/model"
	"feedline/planner/solve/lp"
)

// sides are a program's bounds and right-hand sides in a world.
type sides struct {
	lower, upper, rowLower, rowUpper []float64
	list                             []float64
}

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

// gather lists the sides that worlds move and bounds depend on, in the order of p.live: a row's finite side, a column's upper bound. No row
// that worlds move has two finite sides that differ.
func (w *sides) gather(p *starts) []float64 {
	w.list = w.list[:0]
	for _, k := range p.live {
		if k >= len(p.moved.rows) {
			w.list = append(w.list, w.upper[p.moved.cols[k-len(p.moved.rows)]])
			continue
		}
		r := p.moved.rows[k]
		side := w.rowUpper[r]
		if math.IsInf(side, 1) {
			side = w.rowLower[r]
		}
		w.list = append(w.list, side)
	}
	return w.list
}

// move gives s, a solver of p's program, the bounds and right-hand sides of w.
func (w *sides) move(p *starts, s *lp.Solver) {
	for _, j := range p.moved.cols {
		s.SetBounds(j, w.lower[j], w.upper[j])
	}
	for _, r := range p.moved.rows {
		s.SetRowBounds(r, w.rowLower[r], w.rowUpper[r])
	}
}

// movePart is move for a solver of p's part.
func (w *sides) movePart(p *starts, s *lp.Solver) {
	for _, j := range p.moved.cols {
		if to, ok := p.part.Col(j); ok {
			s.SetBounds(to, w.lower[j], w.upper[j])
		}
	}
	for _, r := range p.moved.rows {
		if to, ok := p.part.Row(r); ok {
			s.SetRowBounds(to, w.rowLower[r], w.rowUpper[r])
		}
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
