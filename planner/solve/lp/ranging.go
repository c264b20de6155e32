package lp

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// Interval is a closed range of a cost or bound, in the model's units; its ends may be infinite.
type Interval struct{ Lower, Upper float64 }

// RowRange says how far one side of a row may move, all else unchanged, before the optimal basis changes: until
// then the row's dual keeps its value.
type RowRange struct {
	Side  Status // AtLower or AtUpper: the side that binds; Basic: none does
	Range Interval
}

// Ranges are the intervals within which one number of the model at a time may change while the optimal
// basis stays optimal. At a degenerate optimum there are several such bases; these are the ranges of the one found.
type Ranges struct {
	Cost []Interval // of each column's cost: the solution stays the same
	Row  []RowRange // of the binding side of each row
}

// Ranging solves the relaxation of m and returns the result with its ranges; these are empty unless it is Optimal.
// Cost: a row or column solve for every column and row.
func Ranging(ctx context.Context, m *model.Model, opts solve.Options) (solve.Result, Ranges) {
	s, r := solved(ctx, m, opts)
	if r.Stop != solve.Optimal {
		return r, Ranges{}
	}
	return r, s.Ranges()
}

// Ranges computes the ranges of the current basis; the last Solve must have ended Optimal.
func (s *Solver) Ranges() Ranges {
	s.RowActivity()
	g := Ranges{Cost: make([]Interval, s.n), Row: make([]RowRange, s.m)}
	for j := range g.Cost {
		g.Cost[j] = s.costRange(j)
	}
	for i := range g.Row {
		g.Row[i] = s.rowRange(i)
	}
	return g
}

// costRange is the range of column j's cost.
func (s *Solver) costRange(j int) Interval {
	down, up := s.costSteps(j)
	lo, hi := s.c[j]-down, s.c[j]+up
	unit := s.colScale[j]
	if s.maximize {
		return Interval{-hi / unit, -lo / unit}
	}
	return Interval{lo / unit, hi / unit}
}

// costSteps is how far the minimised cost of column j may fall and rise.
func (s *Solver) costSteps(j int) (down, up float64) {
	inf := math.Inf(1)
	if p := s.where[j]; p >= 0 {
		return s.basicCostSteps(p)
	}
	switch d := math.Abs(s.d[j]); s.move[j] {
	case either:
		return 0, 0
	case stay:
		return inf, inf
	case -1:
		return inf, d
	default:
		return d, inf
	}
}

// basicCostSteps: a change δ of the cost of the variable basic in position p changes d_j by −δ·α_j.
func (s *Solver) basicCostSteps(p int32) (down, up float64) {
	s.btranRho(p)
	s.priceRow()
	down, up = math.Inf(1), math.Inf(1)
	for _, v := range s.alphaRow.Idx[:s.alphaRow.N] {
		a, room := s.alphaRow.Val[v], math.Abs(s.d[v])
		if math.Abs(a) < rangingPivot {
			continue
		}
		switch s.move[v] {
		case stay:
			continue
		case either:
			return 0, 0
		case -1:
			a = -a
		}
		if a > 0 {
			up = math.Min(up, room/a)
		} else {
			down = math.Min(down, -room/a)
		}
	}
	return down, up
}

// rangingPivot is the magnitude from which an entry of a pivot row or column limits a range.
const rangingPivot = 1e-9

// rowRange is the range of row i's binding side. A side that does not bind may move up to the activity.
func (s *Solver) rowRange(i int) RowRange {
	v := s.n + i
	inf := math.Inf(1)
	if s.where[v] >= 0 {
		act := s.activity[i]
		if math.IsInf(s.lo[v], -1) { // no upper bound on the activity
			return RowRange{Basic, Interval{-inf, act}}
		}
		return RowRange{Basic, Interval{act, inf}}
	}
	r := RowRange{Side: AtUpper} // of the activity: the logical variable is at its lower bound
	if t := s.status(v); t == AtUpper || t == Free {
		r.Side = AtLower
	}
	down, up := s.rowSteps(i)
	unit := 1 / s.rowScale[i]
	b := -s.x[v] * unit
	r.Range = Interval{b - down*unit, b + up*unit}
	return r
}

// rowSteps is how far the activity of nonbasic row i may fall and rise until a basic variable meets a bound: raising it
// by δ adds δ·B⁻¹e_i to the basic values.
func (s *Solver) rowSteps(i int) (down, up float64) {
	s.ftranAq(int32(s.n + i))
	down, up = math.Inf(1), math.Inf(1)
	for _, p := range s.aq.Idx[:s.aq.N] {
		a := s.aq.Val[p]
		below, above := math.Max(0, s.xb[p]-s.lb[p]), math.Max(0, s.ub[p]-s.xb[p])
		switch {
		case a > rangingPivot:
			down, up = math.Min(down, below/a), math.Min(up, above/a)
		case a < -rangingPivot:
			down, up = math.Min(down, -above/a), math.Min(up, -below/a)
		}
	}
	return down, up
}
