package presolve

import (
	"fmt"
	"math"
	"strings"

	"feedline/planner/model"
)

// checkOptimal recomputes from the original model that p is primal feasible, dual feasible and complementary, that
// both objectives agree, and that the statuses form a basis of p. tol is relative to the magnitudes involved.
func checkOptimal(m *model.Model, p Point, tol float64) error {
	var bad []string
	say := func(format string, args ...any) { bad = append(bad, fmt.Sprintf(format, args...)) }
	sign := 1.0
	if m.Maximize {
		sign = -1
	}
	small := tol * costScale(m, p.Y)
	dual, size := m.Offset, math.Abs(m.Offset)
	part := func(what string, k int, v, d, lo, up float64, st Status) {
		if v < lo-tol*scale(v, lo) || v > up+tol*scale(v, up) {
			say("%s %d = %g outside [%g, %g]", what, k, v, lo, up)
		}
		bound := lo
		if d*sign < 0 {
			bound = up
		}
		switch {
		case math.Abs(d) <= small:
		case math.IsInf(bound, 0):
			say("%s %d has dual %g and no bound to hold it", what, k, d)
		case math.Abs(v-bound)*math.Min(1, math.Abs(d)) > 100*tol*scale(v, bound):
			say("%s %d = %g has dual %g but bounds [%g, %g]", what, k, v, d, lo, up)
		}
		if !math.IsInf(bound, 0) {
			dual += d * bound
			size += math.Abs(d * bound)
		}
		if p.Cols != nil {
			checkStatus(say, what, k, v, d*sign, lo, up, st, small)
		}
	}
	for j := range p.X {
		part("column", j, p.X[j], p.D[j], m.Lower[j], m.Upper[j], at(p.Cols, j))
	}
	for i := range p.Y {
		part("row", i, activityAt(m, i, p.X), p.Y[i], m.RowLower[i], m.RowUpper[i], at(p.Rows, i))
	}
	if z := m.Objective(p.X); math.Abs(z-dual) > 10*tol*math.Max(1, size) {
		say("objective %.12g, dual objective %.12g", z, dual)
	}
	if p.Cols != nil {
		if n := basics(p); n != m.NumRows() {
			say("%d basic for %d rows", n, m.NumRows())
		}
	}
	if bad == nil {
		return nil
	}
	return fmt.Errorf("%d faults: %s", len(bad), strings.Join(bad[:min(6, len(bad))], "; "))
}

// costScale is the magnitude that a reduced cost is compared with: the largest cost, or of prices whose differences
// it is, what rounding may leave of them at a tolerance of 1e-7.
func costScale(m *model.Model, y []float64) float64 {
	t := scale(m.Cost...)
	for i, v := range y {
		_, coefs := m.RowTerms(model.Row(i))
		for _, a := range coefs {
			t = math.Max(t, 1e-7*math.Abs(v*a))
		}
	}
	return t
}

func at(s []Status, k int) Status {
	if s == nil {
		return Basic
	}
	return s[k]
}

func checkStatus(say func(string, ...any), what string, k int, v, d, lo, up float64, st Status, tol float64) {
	off := 0.0
	switch st {
	case AtLower:
		off = math.Abs(v - lo)
		if d < -tol && lo < up {
			say("%s %d at its lower bound with reduced cost %g", what, k, d)
		}
	case AtUpper:
		off = math.Abs(v - up)
		if d > tol && lo < up {
			say("%s %d at its upper bound with reduced cost %g", what, k, d)
		}
	case Free:
		off = math.Abs(v)
	case Basic:
		if math.Abs(d) > tol {
			say("basic %s %d with reduced cost %g", what, k, d)
		}
	}
	if off > 1e-6*scale(v) || math.IsNaN(off) {
		say("%s %d = %g, status %d, bounds [%g, %g]", what, k, v, st, lo, up)
	}
}

func basics(p Point) int {
	n := 0
	for _, st := range append(append([]Status(nil), p.Cols...), p.Rows...) {
		if st == Basic {
			n++
		}
	}
	return n
}

// checkBasis inverts the basis matrix of p (small models only) and recomputes the basic values from it.
func checkBasis(m *model.Model, p Point) error {
	r := newReference(m)
	r.status = append(append([]Status(nil), p.Cols...), p.Rows...)
	r.head = r.head[:0]
	for j, st := range r.status {
		if st == Basic {
			r.head = append(r.head, j)
		}
	}
	inv, ok := invert(r.basis())
	if !ok {
		return fmt.Errorf("singular basis %v %v", p.Cols, p.Rows)
	}
	r.values(inv)
	for j, v := range p.X {
		if math.Abs(v-r.x[j]) > 1e-6*scale(v) {
			return fmt.Errorf("column %d is %g, in its basis %g", j, v, r.x[j])
		}
	}
	return nil
}
