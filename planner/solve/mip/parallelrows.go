package mip

import (
	"math"
	"slices"
)

// dropParallel keeps one of each set of rows that are multiples of one another, with the tighter sides.
func (r *reducer) dropParallel() {
	seen := make(map[uint64][]int)
	for i := range r.alive {
		if !r.alive[i] {
			continue
		}
		vars, coefs := r.sortedRow(i)
		if len(vars) == 0 {
			continue
		}
		h := hashRow(vars, coefs)
		for _, k := range seen[h] {
			if f, ok := r.factor(k, vars, coefs); ok {
				r.merge(k, i, f)
				break
			}
		}
		if r.alive[i] {
			seen[h] = append(seen[h], i)
		}
	}
}

// sortedRow is row i without fixed columns, by column.
func (r *reducer) sortedRow(i int) ([]int32, []float64) {
	vars, coefs := r.row(i)
	order := make([]int, 0, len(vars))
	for k, j := range vars {
		if coefs[k] != 0 && r.lower[j] != r.upper[j] {
			order = append(order, k)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return int(vars[a]) - int(vars[b]) })
	v, c := make([]int32, len(order)), make([]float64, len(order))
	for n, k := range order {
		v[n], c[n] = vars[k], coefs[k]
	}
	return v, c
}

// hashRow hashes the columns and the ratios of the coefficients to the first, coarsely.
func hashRow(vars []int32, coefs []float64) uint64 {
	h := uint64(14695981039346656037)
	for k, j := range vars {
		h = (h ^ uint64(uint32(j))) * 1099511628211
		h = (h ^ uint64(int64(math.Round(coefs[k]/coefs[0]*1e4)))) * 1099511628211
	}
	return h
}

// factor is f with row k = f · (vars, coefs), if there is one.
func (r *reducer) factor(k int, vars []int32, coefs []float64) (float64, bool) {
	v, c := r.sortedRow(k)
	if !slices.Equal(v, vars) {
		return 0, false
	}
	f := c[0] / coefs[0]
	for n := range c {
		if math.Abs(c[n]-f*coefs[n]) > 1e-12*math.Abs(c[n]) {
			return 0, false
		}
	}
	return f, true
}

// merge moves the sides of row i = row k ÷ f into row k and drops row i.
func (r *reducer) merge(k, i int, f float64) {
	shift := func(row int) float64 {
		s := 0.0
		vars, coefs := r.row(row)
		for n, j := range vars {
			if r.lower[j] == r.upper[j] {
				s += coefs[n] * r.lower[j]
			}
		}
		return s
	}
	rest, restK := shift(i), shift(k)
	lo, up := f*(r.rowLo[i]-rest)+restK, f*(r.rowUp[i]-rest)+restK
	if f < 0 {
		lo, up = up, lo
	}
	r.rowLo[k], r.rowUp[k] = math.Max(r.rowLo[k], lo), math.Min(r.rowUp[k], up)
	if lo, up := r.rowLo[k], r.rowUp[k]; lo > up {
		if lo > up+feasibilityTol*math.Max(1, math.Abs(up)) {
			r.infeasible = true
		}
		r.rowLo[k] = up
	}
	r.kill(i)
}
