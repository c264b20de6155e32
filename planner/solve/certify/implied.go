package certify

import (
	"math"

	"feedline/planner/model"
)

// box holds limits of the columns that every point in question obeys.
type box struct{ lo, up []float64 }

// row is a row as the limits see it: Σ coefs·x between lo and up.
type row struct {
	vars   []model.Var
	coefs  []float64
	lo, up float64
}

// sweeps is how often all rows are looked through for limits; each sweep can use those of the one before.
const sweeps = 12

// implied returns the columns' bounds with infinite sides replaced, where possible, by limits that the rows imply, extra rows
// included. Finite bounds stay as they are. Every operation is rounded outwards, so the limits hold exactly.
func implied(m *model.Model, extra ...row) box {
	b := box{make([]float64, m.NumVars()), make([]float64, m.NumVars())}
	open := 0
	for j := range b.lo {
		b.lo[j], b.up[j] = low(m.Lower[j]), high(m.Upper[j])
		if math.IsInf(b.lo[j], 0) || math.IsInf(b.up[j], 0) {
			open++
		}
	}
	for k := 0; k < sweeps && open > 0; k++ {
		changed := false
		for i := range m.RowLower {
			vars, coefs := m.RowTerms(model.Row(i))
			changed = b.sweep(m, row{vars, coefs, low(m.RowLower[i]), high(m.RowUpper[i])}) || changed
		}
		for _, r := range extra {
			changed = b.sweep(m, r) || changed
		}
		if !changed {
			break
		}
	}
	return b
}

// sweep draws limits from both sides of a row.
func (b *box) sweep(m *model.Model, r row) bool {
	changed := false
	if !math.IsInf(r.up, 0) {
		changed = b.from(m, r, 1, r.up)
	}
	if !math.IsInf(r.lo, 0) {
		changed = b.from(m, r, -1, -r.lo) || changed
	}
	return changed
}

// from draws limits from Σ sign·coefs·x ≤ side: each term is at most the side less the least sum of the others.
func (b *box) from(m *model.Model, r row, sign, side float64) bool {
	least, infinite, which := 0.0, 0, -1
	for k, j := range r.vars {
		t := b.leastTerm(sign*r.coefs[k], j)
		if math.IsInf(t, 0) {
			infinite, which = infinite+1, k
			continue
		}
		least = down(least + t)
	}
	if infinite > 1 || math.IsInf(least, 0) || math.IsNaN(least) {
		return false
	}
	changed := false
	for k, j := range r.vars {
		if infinite == 1 && k != which {
			continue
		}
		a := sign * r.coefs[k]
		others := least
		if infinite == 0 {
			others = down(least - up(-down(-b.leastTerm(a, j))))
		}
		changed = b.limit(m, j, a, up(side-others)) || changed
	}
	return changed
}

// leastTerm is a lower bound on a·x_j over the box.
func (b *box) leastTerm(a float64, j model.Var) float64 {
	at := b.lo[j]
	if a < 0 {
		at = b.up[j]
	}
	if at == 0 {
		return 0
	}
	return down(a * at)
}

// limit applies a·x_j ≤ room to a side of column j that is infinite in the model. Gains below a thousandth are left.
func (b *box) limit(m *model.Model, j model.Var, a, room float64) bool {
	q := room / a
	switch {
	case math.IsNaN(q) || math.Abs(q) >= model.InfiniteFrom:
		return false
	case a > 0 && math.IsInf(high(m.Upper[j]), 0):
		if q = up(q); q < b.up[j]-1e-3*math.Abs(q) {
			b.up[j] = q
			return true
		}
	case a < 0 && math.IsInf(low(m.Lower[j]), 0):
		if q = down(q); q > b.lo[j]+1e-3*math.Abs(q) {
			b.lo[j] = q
			return true
		}
	}
	return false
}

// down and up move a rounded result past the true one: rounding to nearest errs by at most half of that step.
func down(v float64) float64 { return math.Nextafter(v, math.Inf(-1)) }
func up(v float64) float64   { return math.Nextafter(v, math.Inf(1)) }
