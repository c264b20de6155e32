package presolve

import (
	"math"

	"feedline/planner/model"
)

// A dense bounded simplex with Bland's rule that inverts its basis in every iteration: slow, short,
// and independent of the solver that presolve serves.

type referenceStop int

const (
	refOptimal referenceStop = iota
	refInfeasible
	refUnbounded
	refGaveUp
)

type reference struct {
	m, n   int
	a      [][]float64 // rows × (columns and then logicals): A·x − r = 0
	lo, up []float64
	cost   []float64
	status []Status
	head   []int
	x      []float64
	y, d   []float64
}

const refTol = 1e-9

// solveReference solves the relaxation of w from the logical basis.
func solveReference(w *model.Model) (referenceStop, Point) {
	r := newReference(w)
	stop := r.run()
	if stop != refOptimal {
		return stop, Point{}
	}
	sign := 1.0
	if w.Maximize {
		sign = -1
	}
	p := Point{X: r.x[:r.n], Y: make([]float64, r.m), D: make([]float64, r.n), Cols: r.status[:r.n], Rows: r.status[r.n:]}
	for i := range p.Y {
		p.Y[i] = sign * r.y[i]
	}
	for j := range p.D {
		p.D[j] = sign * r.d[j]
	}
	return stop, p
}

func newReference(w *model.Model) *reference {
	m, n := w.NumRows(), w.NumVars()
	r := &reference{m: m, n: n, status: make([]Status, n+m), x: make([]float64, n+m), d: make([]float64, n+m)}
	r.lo = append(tamed(w.Lower), tamed(w.RowLower)...)
	r.up = append(tamed(w.Upper), tamed(w.RowUpper)...)
	r.cost = append(append([]float64(nil), w.Cost...), make([]float64, m)...)
	for j := range r.cost {
		if w.Maximize {
			r.cost[j] = -r.cost[j]
		}
		switch {
		case j >= n:
			r.status[j] = Basic
			r.head = append(r.head, j)
		case r.lo[j] > -inf:
			r.status[j] = AtLower
		case r.up[j] < inf:
			r.status[j] = AtUpper
		default:
			r.status[j] = Free
		}
	}
	for i := 0; i < m; i++ {
		row := make([]float64, n+m)
		vars, coefs := w.RowTerms(model.Row(i))
		for k, j := range vars {
			row[j] = coefs[k]
		}
		row[n+i] = -1
		r.a = append(r.a, row)
	}
	return r
}

func (r *reference) run() referenceStop {
	for j := range r.lo {
		if r.lo[j] > r.up[j] {
			return refInfeasible
		}
	}
	for iter := 0; iter < 50*(r.m+r.n)+200; iter++ {
		inv, ok := invert(r.basis())
		if !ok {
			return refGaveUp
		}
		r.values(inv)
		cost, phase1 := r.phaseCost()
		r.prices(inv, cost)
		q := r.entering(phase1)
		if q < 0 {
			if phase1 {
				return refInfeasible
			}
			return refOptimal
		}
		if !r.pivot(inv, q) {
			return refUnbounded
		}
	}
	return refGaveUp
}

func (r *reference) basis() [][]float64 {
	b := make([][]float64, r.m)
	for i := range b {
		b[i] = make([]float64, r.m)
		for k, j := range r.head {
			b[i][k] = r.a[i][j]
		}
	}
	return b
}

func (r *reference) values(inv [][]float64) {
	rhs := make([]float64, r.m)
	for j, st := range r.status {
		switch st {
		case AtLower:
			r.x[j] = r.lo[j]
		case AtUpper:
			r.x[j] = r.up[j]
		case Free:
			r.x[j] = 0
		}
		if st != Basic {
			for i := range rhs {
				rhs[i] -= r.a[i][j] * r.x[j]
			}
		}
	}
	for k, j := range r.head {
		r.x[j] = 0
		for i := range rhs {
			r.x[j] += inv[k][i] * rhs[i]
		}
	}
}

func (r *reference) phaseCost() ([]float64, bool) {
	cost, any := make([]float64, len(r.cost)), false
	for _, j := range r.head {
		switch {
		case r.x[j] < r.lo[j]-refTol:
			cost[j], any = -1, true
		case r.x[j] > r.up[j]+refTol:
			cost[j], any = 1, true
		}
	}
	if any {
		return cost, true
	}
	return r.cost, false
}

func (r *reference) prices(inv [][]float64, cost []float64) {
	r.y = make([]float64, r.m)
	for i := range r.y {
		for k, j := range r.head {
			r.y[i] += cost[j] * inv[k][i]
		}
	}
	for j := range r.d {
		r.d[j] = cost[j]
		for i := range r.y {
			r.d[j] -= r.y[i] * r.a[i][j]
		}
		if r.status[j] == Basic {
			r.d[j] = 0
		}
	}
}

func (r *reference) entering(bool) int {
	for j, st := range r.status {
		if st == Basic || r.lo[j] == r.up[j] {
			continue
		}
		if r.d[j] < -refTol && st != AtUpper || r.d[j] > refTol && st != AtLower {
			return j
		}
	}
	return -1
}

func (r *reference) pivot(inv [][]float64, q int) bool {
	dir := 1.0
	if r.d[q] > 0 {
		dir = -1
	}
	best, leave, side := r.up[q]-r.lo[q], -1, Basic
	for k, j := range r.head {
		rate := 0.0
		for i := range r.y {
			rate -= inv[k][i] * r.a[i][q] * dir
		}
		if math.Abs(rate) < 1e-10 {
			continue
		}
		step, to := r.limit(j, rate)
		if step < best-1e-11 || leave >= 0 && step < best+1e-11 && j < r.head[leave] {
			best, leave, side = math.Max(step, 0), k, to
		}
	}
	if math.IsInf(best, 1) {
		return false
	}
	if leave < 0 {
		r.status[q] = r.status[q].opposite()
		return true
	}
	r.status[r.head[leave]], r.status[q] = side, Basic
	r.head[leave] = q
	return true
}

// limit is how far basic j may go at the rate, and where it stops.
func (r *reference) limit(j int, rate float64) (float64, Status) {
	x := r.x[j]
	switch {
	case rate > 0 && x < r.lo[j]-refTol:
		return (r.lo[j] - x) / rate, AtLower
	case rate > 0 && r.up[j] < inf && x <= r.up[j]+refTol:
		return (r.up[j] - x) / rate, AtUpper
	case rate < 0 && x > r.up[j]+refTol:
		return (r.up[j] - x) / rate, AtUpper
	case rate < 0 && r.lo[j] > -inf && x >= r.lo[j]-refTol:
		return (r.lo[j] - x) / rate, AtLower
	}
	return inf, Basic
}

// invert returns the inverse, or false for a matrix that is singular within 1e-9.
func invert(b [][]float64) ([][]float64, bool) {
	m := len(b)
	w := make([][]float64, m)
	for i := range w {
		w[i] = append(append([]float64(nil), b[i]...), make([]float64, m)...)
		w[i][m+i] = 1
	}
	for k := 0; k < m; k++ {
		p := k
		for i := k; i < m; i++ {
			if math.Abs(w[i][k]) > math.Abs(w[p][k]) {
				p = i
			}
		}
		if math.Abs(w[p][k]) < 1e-9 {
			return nil, false
		}
		w[k], w[p] = w[p], w[k]
		eliminateColumn(w, k)
	}
	for i := range w {
		w[i] = w[i][m:]
	}
	return w, true
}

func eliminateColumn(w [][]float64, k int) {
	d := w[k][k]
	for c := range w[k] {
		w[k][c] /= d
	}
	for i := range w {
		if f := w[i][k]; i != k && f != 0 {
			for c := range w[i] {
				w[i][c] -= f * w[k][c]
			}
		}
	}
}
