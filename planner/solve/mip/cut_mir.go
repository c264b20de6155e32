package mip

import (
	"math"
	"slices"
)

// Complemented mixed-integer rounding (Marchand and Wolsey 2001).
//
// Given Σ c_j·z_j + Σ g_k·t_k ≤ b with z ≥ 0 whole and t ≥ 0, and any δ > 0 with f = frac(b/δ) > 0,
//
//	Σ G(c_j/δ)·z_j + Σ_{g_k<0} (g_k/δ)/(1−f)·t_k ≤ ⌊b/δ⌋,   G(d) = ⌊d⌋ + max(0, frac(d) − f)/(1 − f)
//
// is valid. The row is brought into this form by measuring every continuous column from its nearest bound, variable
// bounds first (that is what makes flow covers come out), and every whole-number column from its nearest bound.
// G is continuous, so that small errors in c_j/δ do no harm; f is kept away from 0 and 1 because the right-hand side is not.
const (
	minFraction   = 0.02
	maxFraction   = 0.98
	maxDeltas     = 12
	maxComplement = 15
)

// knapsack is the combination after substitution: whole-number columns densely, continuous terms that matter in a list.
type knapsack struct {
	ints    *sparseRow
	rhs     float64
	terms   []contTerm
	surplus float64 // Σ coef·value of the terms and slacks at the point, ≤ 0
	flipped []bool  // per entry of ints.list: measured from the upper bound
	coefs   []float64
	values  []float64 // of the measured columns at the point
	widths  []float64
}

// contTerm is coef·t with t = x − (bound) or (bound) − x; bound = vb.coef·x_y + vb.constant, y = −1 for a plain bound.
type contTerm struct {
	col   int32
	upper bool
	vb    varBound
	coef  float64
}

// substitute measures continuous columns from their nearest bounds. False when one has no bound to measure from.
func (s *separator) substitute() bool {
	k := &s.kn
	k.ints.clear()
	k.rhs, k.terms, k.surplus = s.rhs, k.terms[:0], 0
	largest := 0.0
	for _, j := range s.base.list {
		largest = math.Max(largest, math.Abs(s.base.coef[j]))
	}
	for _, j := range s.base.list {
		a := s.base.coef[j]
		switch {
		case a == 0:
		case math.Abs(a) < 1e-10*largest:
			if !s.relaxAway(j, a) {
				return false
			}
		case s.p.integer[j]:
			k.ints.add(j, a)
		case !s.measure(j, a):
			return false
		}
	}
	for _, t := range s.slacks {
		k.surplus += t.coef * t.value
	}
	return s.orient()
}

// relaxAway removes a coefficient that is rounding dust by its bound.
func (s *separator) relaxAway(j int32, a float64) bool {
	end := s.lower[j]
	if a < 0 {
		end = s.upper[j]
	}
	if math.IsInf(end, 0) {
		return false
	}
	s.kn.rhs -= a * end
	return true
}

func (s *separator) measure(j int32, a float64) bool {
	lb, hasLb, lo := s.bestLower(j)
	ub, hasUb, up := s.bestUpper(j)
	if math.IsInf(lo, -1) && math.IsInf(up, 1) {
		return false
	}
	fromUpper := up-s.x[j] < s.x[j]-lo-1e-9 || (up-s.x[j] < s.x[j]-lo+1e-9 && hasUb && !hasLb)
	vb, has, at := lb, hasLb, lo
	coef := a
	if fromUpper {
		vb, has, at, coef = ub, hasUb, up, -a
	}
	if !has {
		vb = varBound{-1, 0, at, -1}
	} else {
		s.kn.ints.add(vb.y, a*vb.coef)
	}
	s.kn.rhs -= a * vb.constant
	if coef < 0 {
		s.kn.terms = append(s.kn.terms, contTerm{j, fromUpper, vb, coef})
		s.kn.surplus += coef * math.Max(0, math.Abs(s.x[j]-at))
	}
	return true
}

// orient measures whole-number columns from their nearest bound.
func (s *separator) orient() bool {
	k := &s.kn
	k.flipped, k.coefs, k.values, k.widths = k.flipped[:0], k.coefs[:0], k.values[:0], k.widths[:0]
	for _, j := range k.ints.list {
		l, u := s.lower[j], s.upper[j]
		if math.IsInf(l, -1) && math.IsInf(u, 1) {
			return false
		}
		c, x := k.ints.coef[j], s.x[j]
		flip := u-x < x-l
		k.flipped = append(k.flipped, flip)
		k.widths = append(k.widths, u-l)
		if flip {
			k.coefs, k.values = append(k.coefs, -c), append(k.values, math.Max(0, u-x))
			k.rhs -= c * u
		} else {
			k.coefs, k.values = append(k.coefs, c), append(k.values, math.Max(0, x-l))
			k.rhs -= c * l
		}
	}
	return len(k.coefs) > 0
}

// flip measures entry n from its other bound; that one must be finite.
func (k *knapsack) flip(n int) {
	k.rhs -= k.coefs[n] * k.widths[n]
	k.coefs[n] = -k.coefs[n]
	k.values[n] = math.Max(0, k.widths[n]-k.values[n])
	k.flipped[n] = !k.flipped[n]
}

// rounding is G for a given f.
func rounding(d, f float64) float64 {
	w := math.Floor(d)
	return w + math.Max(0, d-w-f)/(1-f)
}

// efficacy is the approximate distance that rounding with δ cuts off.
func (k *knapsack) efficacy(delta float64) float64 {
	b := k.rhs / delta
	f := b - math.Floor(b)
	if f < minFraction || f > maxFraction {
		return -inf
	}
	v, square := -math.Floor(b), 0.0
	for n, c := range k.coefs {
		g := rounding(c/delta, f)
		v += g * k.values[n]
		square += g * g
	}
	scale := 1 / (delta * (1 - f))
	v += k.surplus * scale
	for _, t := range k.terms {
		square += t.coef * t.coef * scale * scale
	}
	if square < 1e-12 {
		return -inf
	}
	return v / math.Sqrt(square)
}

// roundMixed looks for the δ and the set of complemented columns that cut deepest, and makes that cut.
func (s *separator) roundMixed(source string) {
	k := &s.kn
	best, delta := -inf, 0.0
	try := func(d float64) {
		s.work += int64(len(k.coefs))
		if e := k.efficacy(d); e > best {
			best, delta = e, d
		}
	}
	for _, d := range k.deltas() {
		try(d)
	}
	if best < -0.5 || delta == 0 {
		return
	}
	for _, q := range []float64{2, 4, 8} {
		try(delta / q)
	}
	s.complementMore(&best, delta)
	if best > minEfficacy {
		s.emitMixed(delta, source)
	}
}

// deltas are the magnitudes of whole-number coefficients strictly between their bounds, and one beyond the greatest.
func (k *knapsack) deltas() []float64 {
	var list []float64
	largest := 0.0
	for n, c := range k.coefs {
		a := math.Abs(c)
		largest = math.Max(largest, a)
		if k.values[n] > 1e-6 && k.values[n] < k.widths[n]-1e-6 && a > 1e-6 {
			near := slices.ContainsFunc(list, func(d float64) bool { return math.Abs(d-a) < 1e-6*a })
			if !near && len(list) < maxDeltas {
				list = append(list, a)
			}
		}
	}
	if largest > 1e-6 {
		list = append(list, largest+1)
	}
	return list
}

// complementMore flips columns strictly between their bounds, the most undecided first, as long as the cut gains.
func (s *separator) complementMore(best *float64, delta float64) {
	k := &s.kn
	var list []int
	for n, v := range k.values {
		if v > 1e-6 && v < k.widths[n]-1e-6 && k.widths[n] < 1e6 {
			list = append(list, n)
		}
	}
	slices.SortStableFunc(list, func(a, b int) int {
		da, db := math.Abs(k.values[a]-k.widths[a]/2), math.Abs(k.values[b]-k.widths[b]/2)
		switch {
		case da < db:
			return -1
		case da > db:
			return 1
		}
		return 0
	})
	for c, n := range list {
		if c == maxComplement {
			break
		}
		s.work += int64(len(k.coefs))
		k.flip(n)
		if e := k.efficacy(delta); e > *best {
			*best = e
		} else {
			k.flip(n)
		}
	}
}

// emitMixed writes the rounded row in the problem's columns.
func (s *separator) emitMixed(delta float64, source string) {
	k := &s.kn
	b := k.rhs / delta
	f := b - math.Floor(b)
	rhs := math.Floor(b)
	s.out.clear()
	for n, j := range k.ints.list {
		g := rounding(k.coefs[n]/delta, f)
		if g == 0 {
			continue
		}
		if k.flipped[n] {
			s.out.add(j, -g)
			rhs -= g * s.upper[j]
		} else {
			s.out.add(j, g)
			rhs += g * s.lower[j]
		}
	}
	rhs = s.putBack(rhs, 1/(delta*(1-f)))
	if c := finish(s.out, rhs, s.lower, s.upper, s.x, source); c != nil {
		s.found = append(s.found, c)
	}
}

// putBack adds scale times the continuous terms and slacks to out, in the problem's columns; it returns the new side.
func (s *separator) putBack(rhs, scale float64) float64 {
	for _, t := range s.kn.terms {
		g := t.coef * scale
		if t.upper {
			g = -g
		}
		s.out.add(t.col, g)
		if t.vb.y >= 0 {
			s.out.add(t.vb.y, -g*t.vb.coef)
		}
		rhs += g * t.vb.constant
	}
	for _, t := range s.slacks {
		g := t.coef * scale
		lo, up, vars, coefs := s.rowAt(t.row)
		side := lo
		if t.upper {
			g, side = -g, up
		}
		for n, j := range vars {
			s.out.add(j, g*coefs[n])
		}
		rhs += g * side
	}
	return rhs
}
