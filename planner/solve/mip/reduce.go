package mip

import (
	"math"

	"feedline/planner/model"
)

// The reduction before the search. Every step keeps at least one optimal solution of the model, and columns leave
// only by being fixed, so that the way back is to write their values in. Steps, repeated while they bite:
//
//   - rows without effect are dropped, rows of one column become bounds, rows that force their columns fix them;
//   - bounds are tightened from row activities: whole-number columns always, continuous ones where a bound was missing;
//   - coefficients of whole-number columns in one-sided rows are tightened (Savelsbergh 1994, "Preprocessing and
//     probing techniques for mixed integer programming problems");
//   - rows of whole-number columns with whole coefficients are divided by their common divisor and rounded;
//   - columns that no row keeps from moving in their cheap direction are fixed there;
//   - of rows that differ by a factor one is kept with the tighter sides.
const reducePasses = 12

// reducer is the model under reduction, minimised. Dead rows have alive false; a column is gone when fixed.
type reducer struct {
	m            *model.Model
	sign         float64 // −1 when the model maximises
	lower, upper []float64
	cost         []float64
	rowLo, rowUp []float64
	alive        []bool
	start        []int
	vars         []int32
	coefs        []float64
	changed      bool
	infeasible   bool
}

// reduce returns the problem for the tree, or false when the model has no solution. With strict no solution is lost.
func reduce(m *model.Model, strict bool) (*problem, bool) {
	r := newReducer(m)
	r.roundBounds()
	for pass := 0; pass < reducePasses && !r.infeasible; pass++ {
		r.changed = false
		for i := range r.alive {
			if r.alive[i] && !r.infeasible {
				r.reduceRow(i)
			}
		}
		if !r.infeasible && !strict {
			r.fixByCost()
		}
		if !r.changed {
			break
		}
	}
	if r.infeasible {
		return nil, false
	}
	r.dropParallel()
	if r.infeasible {
		return nil, false
	}
	return r.build(), true
}

func newReducer(m *model.Model) *reducer {
	r := &reducer{m: m, sign: 1,
		lower: finiteBounds(m.Lower), upper: finiteBounds(m.Upper),
		rowLo: finiteBounds(m.RowLower), rowUp: finiteBounds(m.RowUpper),
		alive: make([]bool, m.NumRows()), start: make([]int, 1, m.NumRows()+1)}
	if m.Maximize {
		r.sign = -1
	}
	for _, c := range m.Cost {
		r.cost = append(r.cost, r.sign*c)
	}
	for i := range r.alive {
		r.alive[i] = true
		vars, coefs := m.RowTerms(model.Row(i))
		for k, v := range vars {
			r.vars = append(r.vars, int32(v))
			r.coefs = append(r.coefs, coefs[k])
		}
		r.start = append(r.start, len(r.vars))
	}
	return r
}

// finiteBounds copies bounds with huge magnitudes made infinite.
func finiteBounds(b []float64) []float64 {
	c := append([]float64(nil), b...)
	for k, v := range c {
		if v >= model.InfiniteFrom {
			c[k] = inf
		} else if v <= -model.InfiniteFrom {
			c[k] = -inf
		}
	}
	return c
}

func (r *reducer) roundBounds() {
	for j := range r.lower {
		if r.m.Integer[j] {
			r.lower[j], r.upper[j] = math.Ceil(r.lower[j]-roundTol), math.Floor(r.upper[j]+roundTol)
		}
		r.checkBounds(j)
	}
}

// checkBounds notes an empty range and closes one that rounding made cross.
func (r *reducer) checkBounds(j int) {
	l, u := r.lower[j], r.upper[j]
	if l <= u {
		return
	}
	if r.m.Integer[j] || l > u+feasibilityTol*math.Max(1, math.Abs(u)) {
		r.infeasible = true
		return
	}
	r.lower[j] = u
}

func (r *reducer) row(i int) ([]int32, []float64) {
	a, b := r.start[i], r.start[i+1]
	return r.vars[a:b], r.coefs[a:b]
}

// raise and drop tighten a column's bound.
func (r *reducer) raise(j int32, v float64) {
	if r.m.Integer[j] {
		v = math.Ceil(v - roundTol)
	}
	if v > r.lower[j] {
		r.lower[j], r.changed = v, true
		r.checkBounds(int(j))
	}
}

func (r *reducer) drop(j int32, v float64) {
	if r.m.Integer[j] {
		v = math.Floor(v + roundTol)
	}
	if v < r.upper[j] {
		r.upper[j], r.changed = v, true
		r.checkBounds(int(j))
	}
}

// reduceRow applies the row steps to row i.
func (r *reducer) reduceRow(i int) {
	vars, coefs := r.row(i)
	var a activity
	free, last := 0, 0
	fixedSum := 0.0
	for k, j := range vars {
		if coefs[k] == 0 {
			continue
		}
		a.add(coefs[k], r.lower[j], r.upper[j])
		if r.lower[j] == r.upper[j] {
			fixedSum += coefs[k] * r.lower[j]
		} else {
			free, last = free+1, k
		}
	}
	lo, up := r.rowLo[i], r.rowUp[i]
	tol := math.Max(feasibilityTol*math.Max(1, smaller(lo, up)), 1e-10*a.size)
	if (a.minInf == 0 && a.min > up+tol) || (a.maxInf == 0 && a.max < lo-tol) {
		r.infeasible = true
		return
	}
	if free == 0 {
		r.kill(i)
		return
	}
	if free == 1 {
		r.singleton(i, vars[last], coefs[last], fixedSum)
		return
	}
	if r.dropSides(i, a) || r.force(i, a) {
		return
	}
	r.tightenBounds(i, a)
	r.tightenCoefs(i)
	r.divideRow(i)
}

func (r *reducer) kill(i int) { r.alive[i], r.changed = false, true }

// singleton turns a row with one free column into bounds of that column.
func (r *reducer) singleton(i int, j int32, coef, rest float64) {
	lo, up := (r.rowLo[i]-rest)/coef, (r.rowUp[i]-rest)/coef
	if coef < 0 {
		lo, up = up, lo
	}
	r.raise(j, lo)
	if !r.infeasible {
		r.drop(j, up)
	}
	r.kill(i)
}

// dropSides removes the sides that the bounds already imply; true when none is left.
func (r *reducer) dropSides(i int, a activity) bool {
	noise := 1e-12 * a.size
	if a.maxInf == 0 && r.rowUp[i] < inf && a.max <= r.rowUp[i]+noise {
		r.rowUp[i], r.changed = inf, true
	}
	if a.minInf == 0 && r.rowLo[i] > -inf && a.min >= r.rowLo[i]-noise {
		r.rowLo[i], r.changed = -inf, true
	}
	if math.IsInf(r.rowUp[i], 1) && math.IsInf(r.rowLo[i], -1) {
		r.kill(i)
		return true
	}
	return false
}

// force fixes all columns of a row whose least (or greatest) activity just reaches its side.
func (r *reducer) force(i int, a activity) bool {
	noise := 1e-12 * a.size
	atMin := a.minInf == 0 && a.min >= r.rowUp[i]-noise
	atMax := a.maxInf == 0 && a.max <= r.rowLo[i]+noise
	if !atMin && !atMax {
		return false
	}
	vars, coefs := r.row(i)
	for k, j := range vars {
		switch {
		case coefs[k] == 0:
		case atMin == (coefs[k] > 0):
			r.upper[j] = r.lower[j]
		default:
			r.lower[j] = r.upper[j]
		}
	}
	r.kill(i)
	return true
}

// tightenBounds derives bounds from the row's activity: of whole-number columns, and missing ones of continuous columns.
func (r *reducer) tightenBounds(i int, a activity) {
	vars, coefs := r.row(i)
	noise := 1e-11 * a.size
	lo, up := r.rowLo[i]-noise, r.rowUp[i]+noise
	for k, j := range vars {
		c := coefs[k]
		if c == 0 || r.infeasible {
			continue
		}
		l, u := r.lower[j], r.upper[j]
		if c < 0 {
			l, u = u, l
		}
		if up < inf {
			if rest, ok := without(a.min, a.minInf, c, l); ok {
				r.derived(j, (up-rest)/c, c > 0)
			}
		}
		if lo > -inf {
			if rest, ok := without(a.max, a.maxInf, c, u); ok {
				r.derived(j, (lo-rest)/c, c < 0)
			}
		}
	}
}

// without is an activity end with one column's contribution coef·at taken out; false if it is infinite.
func without(sum float64, infinite int, coef, at float64) (float64, bool) {
	if math.IsInf(at, 0) {
		return sum, infinite == 1
	}
	return sum - coef*at, infinite == 0
}

func (r *reducer) derived(j int32, v float64, upper bool) {
	if r.m.Integer[j] {
		if upper {
			r.drop(j, v)
		} else {
			r.raise(j, v)
		}
		return
	}
	if math.Abs(v) > hugeBound {
		return
	}
	if upper && math.IsInf(r.upper[j], 1) {
		r.drop(j, v)
	} else if !upper && math.IsInf(r.lower[j], -1) {
		r.raise(j, v)
	}
}

// tightenCoefs tightens coefficients of whole-number columns in a one-sided row. With Σ a·x ≤ b and greatest
// activity M: when column j one away from its end of greatest activity leaves the row slack by d = b − (M − |a_j|) > 0
// and d < |a_j|, the coefficient can shrink by d (and b with it) without losing a whole-number point.
func (r *reducer) tightenCoefs(i int) {
	if (r.rowUp[i] < inf) == (r.rowLo[i] > -inf) {
		return
	}
	flip := 1.0
	b := r.rowUp[i]
	if math.IsInf(b, 1) {
		flip, b = -1, -r.rowLo[i]
	}
	vars, coefs := r.row(i)
	var a activity
	for k, j := range vars {
		if coefs[k] != 0 {
			a.add(flip*coefs[k], r.lower[j], r.upper[j])
		}
	}
	if a.maxInf > 0 {
		return
	}
	max := a.max
	for k, j := range vars {
		c := flip * coefs[k]
		if c == 0 || !r.m.Integer[j] || r.lower[j] == r.upper[j] {
			continue
		}
		d := b - (max - math.Abs(c))
		if d <= 1e-6*math.Max(1, math.Abs(b)) || d >= math.Abs(c)-1e-9*math.Abs(c) {
			continue
		}
		shrink := math.Copysign(d, c)
		at := r.upper[j]
		if c < 0 {
			at = r.lower[j]
		}
		coefs[k] = flip * (c - shrink)
		b -= shrink * at
		max -= shrink * at
		r.changed = true
	}
	if flip > 0 {
		r.rowUp[i] = b
	} else {
		r.rowLo[i] = -b
	}
}

// divideRow rounds the sides of a row of whole-number columns to multiples of the coefficients' common divisor.
func (r *reducer) divideRow(i int) {
	vars, coefs := r.row(i)
	sizes := make([]float64, 0, len(vars))
	rest := 0.0
	for k, j := range vars {
		switch {
		case coefs[k] == 0:
		case r.lower[j] == r.upper[j]:
			rest += coefs[k] * r.lower[j]
		case !r.m.Integer[j]:
			return
		default:
			sizes = append(sizes, math.Abs(coefs[k]))
		}
	}
	g := commonStep(sizes)
	if g == 0 {
		return
	}
	if up := r.rowUp[i] - rest; up < inf {
		if v := rest + g*math.Floor(up/g+roundTol); v < r.rowUp[i]-roundTol {
			r.rowUp[i], r.changed = v, true
		}
	}
	if lo := r.rowLo[i] - rest; lo > -inf {
		if v := rest + g*math.Ceil(lo/g-roundTol); v > r.rowLo[i]+roundTol {
			r.rowLo[i], r.changed = v, true
		}
	}
	if r.rowLo[i] > r.rowUp[i]+roundTol {
		r.infeasible = true
	}
}

// fixByCost fixes columns that can move to a finite bound at no cost and without hurting any row.
func (r *reducer) fixByCost() {
	down, up := make([]int, len(r.cost)), make([]int, len(r.cost))
	for i := range r.alive {
		if !r.alive[i] {
			continue
		}
		vars, coefs := r.row(i)
		for k, j := range vars {
			if c := coefs[k]; c != 0 {
				if (r.rowUp[i] < inf && c > 0) || (r.rowLo[i] > -inf && c < 0) {
					up[j]++
				}
				if (r.rowUp[i] < inf && c < 0) || (r.rowLo[i] > -inf && c > 0) {
					down[j]++
				}
			}
		}
	}
	for j, c := range r.cost {
		if r.lower[j] == r.upper[j] {
			continue
		}
		if c >= 0 && down[j] == 0 && r.lower[j] > -inf {
			r.upper[j], r.changed = r.lower[j], true
		} else if c <= 0 && up[j] == 0 && r.upper[j] < inf {
			r.lower[j], r.changed = r.upper[j], true
		}
	}
}

// build lays out the reduced model.
func (r *reducer) build() *problem {
	w := &model.Model{Name: r.m.Name, Offset: r.sign * r.m.Offset}
	fixed := make([]float64, len(r.cost))
	place := make([]model.Var, len(r.cost))
	var kept []int32
	for j, c := range r.cost {
		if r.lower[j] == r.upper[j] {
			fixed[j] = r.lower[j]
			w.Offset += c * r.lower[j]
			place[j] = -1
			continue
		}
		place[j] = w.AddVar("", r.lower[j], r.upper[j], c)
		w.Integer[place[j]] = r.m.Integer[j]
		kept = append(kept, int32(j))
	}
	var terms []model.Term
	var rows []int32
	for i := range r.alive {
		if r.alive[i] {
			terms = terms[:0]
			rest := 0.0
			vars, coefs := r.row(i)
			for k, j := range vars {
				if place[j] >= 0 {
					terms = append(terms, model.Term{Var: place[j], Coef: coefs[k]})
				} else {
					rest += coefs[k] * fixed[j]
				}
			}
			rows = append(rows, int32(i))
			w.AddRow("", r.rowLo[i]-rest, r.rowUp[i]-rest, terms...)
		}
	}
	p := newProblem(w)
	p.kept, p.fixed, p.keptRows = kept, fixed, rows
	return p
}
