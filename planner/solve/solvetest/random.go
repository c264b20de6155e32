package solvetest

import (
	"math"
	"math/rand/v2"

	"feedline/planner/model"
)

// Random returns a linear program of the given size with all kinds of bounds and rows. A known point satisfies it, and
// a known dual point makes it bounded unless open is set.
func Random(r *rand.Rand, rows, cols int, open bool) *model.Model {
	m := &model.Model{Maximize: r.IntN(2) == 0, Offset: float64(r.IntN(9))}
	point := make([]float64, cols)
	slope := make([]float64, cols) // Aᵀy + d
	for j := range point {
		point[j] = float64(r.IntN(21) - 6)
		lower, upper, d := randomSide(r, point[j])
		slope[j] = d
		m.AddVar("", lower, upper, 0)
	}
	for i := 0; i < rows; i++ {
		terms, sum := randomRow(r, point)
		lower, upper, y := randomSide(r, sum)
		for _, t := range terms {
			slope[t.Var] += y * t.Coef
		}
		m.AddRow("", lower, upper, terms...)
	}
	for j := range slope {
		m.Cost[j] = slope[j]
		if open && r.IntN(3) == 0 {
			m.Cost[j] += float64(r.IntN(7) - 3)
		}
		if m.Maximize {
			m.Cost[j] = -m.Cost[j]
		}
	}
	return m
}

// randomSide returns bounds around v and a dual of the right sign: about half of the time v lies on a bound and
// the dual is not zero.
func randomSide(r *rand.Rand, v float64) (lower, upper, dual float64) {
	lower, upper = math.Inf(-1), math.Inf(1)
	gap := float64(r.IntN(4))
	value := float64(r.IntN(6))
	switch r.IntN(6) {
	case 0:
		return v, v, value - 3
	case 1:
		lower, dual = v, value
	case 2:
		upper, dual = v, -value
	case 3:
		lower, upper, dual = v, v+1+gap, value
	case 4:
		lower, upper = v-gap, v+1
	}
	return lower, upper, dual
}

func randomRow(r *rand.Rand, point []float64) ([]model.Term, float64) {
	var terms []model.Term
	sum := 0.0
	for k := 0; k < 1+r.IntN(6); k++ {
		j := r.IntN(len(point))
		a := float64(r.IntN(17)-8) / 2
		terms = append(terms, model.Term{Var: model.Var(j), Coef: a})
		sum += a * point[j]
	}
	return terms, sum
}

// Permuted returns m with columns and rows in another order, and column units, row units and the objective's unit scaled
// by powers of two up to 2^±span. Feasibility, boundedness and, up to the factor returned, the optimum are the same.
func Permuted(r *rand.Rand, m *model.Model, span int) (*model.Model, float64) {
	power := func() float64 { return math.Ldexp(1, r.IntN(2*span+1)-span) }
	n := m.NumVars()
	w := &model.Model{Maximize: m.Maximize}
	money := power()
	w.Offset = m.Offset * money
	to, unit := r.Perm(n), make([]float64, n)
	from := make([]int, n)
	for j, k := range to {
		from[k] = j
	}
	for _, j := range from {
		unit[j] = power()
		w.AddVar("", m.Lower[j]/unit[j], m.Upper[j]/unit[j], m.Cost[j]*unit[j]*money)
	}
	for _, i := range r.Perm(m.NumRows()) {
		vars, coefs := m.RowTerms(model.Row(i))
		f := power()
		var terms []model.Term
		for k, j := range vars {
			terms = append(terms, model.Term{Var: model.Var(to[j]), Coef: coefs[k] * unit[j] * f})
		}
		w.AddRow("", m.RowLower[i]*f, m.RowUpper[i]*f, terms...)
	}
	return w, money
}

// Dual returns the dual of m as a model of its own: minimising m becomes maximising it and the other way about. Row
// i's multiplier is split into parts for its two sides where it has both, and so are the reduced costs of columns.
// Both models have the same optimum.
func Dual(m *model.Model) *model.Model {
	sign := 1.0
	if m.Maximize {
		sign = -1
	}
	d := &model.Model{Maximize: true, Offset: sign * m.Offset}
	terms := make([][]model.Term, m.NumVars())
	for i := range m.RowLower {
		vars, coefs := m.RowTerms(model.Row(i))
		for _, y := range multipliers(d, m.RowLower[i], m.RowUpper[i]) {
			for k, j := range vars {
				terms[j] = append(terms[j], model.Term{Var: y, Coef: coefs[k]})
			}
		}
	}
	for j := range terms {
		for _, z := range multipliers(d, m.Lower[j], m.Upper[j]) {
			terms[j] = append(terms[j], model.Term{Var: z, Coef: 1})
		}
		d.AddRow("", sign*m.Cost[j], sign*m.Cost[j], terms[j]...)
	}
	return d
}

// multipliers adds the dual variables of a range to d.
func multipliers(d *model.Model, lower, upper float64) []model.Var {
	if lower == upper {
		return []model.Var{d.AddVar("", -inf, inf, lower)}
	}
	var v []model.Var
	if !math.IsInf(lower, -1) {
		v = append(v, d.AddVar("", 0, inf, lower))
	}
	if !math.IsInf(upper, 1) {
		v = append(v, d.AddVar("", -inf, 0, upper))
	}
	return v
}
