package presolve

import "math"

// The rules of this file change the linear relaxation but not the set of whole-number solutions
// of the program at hand, and leave no step: a point of the tighter program is one of the looser.

// tightenRow makes row i sharper: whole-number sides, bounds it implies, smaller coefficients.
func (s *state) tightenRow(i int32) {
	if !s.skip.Has(CommonDivisor) {
		s.commonDivisor(i)
	}
	if !s.skip.Has(TightenBounds) && s.going() {
		s.tightenBounds(i)
	}
	if !s.skip.Has(TightenCoef) && s.going() {
		s.tightenCoefs(i)
	}
}

// tightenBounds gives the columns of row i the bounds that the row implies.
func (s *state) tightenBounds(i int32) {
	act := s.activityOf(i)
	if (s.rup[i] == inf || act.minInf > 1) && (s.rlo[i] == -inf || act.maxInf > 1) {
		return
	}
	for e := s.rowHead[i]; e != none && s.going(); e = s.ent[e].rowNext {
		j := s.ent[e].col
		if s.tightened[j] >= maxTightenings {
			continue
		}
		lo, up, noise := s.implied(e)
		lo, up = s.useful(j, lo-noise, up+noise)
		if lo > s.lower[j] || up < s.upper[j] {
			s.counts[TightenBounds]++
			s.tightened[j]++
			s.setBounds(j, math.Max(lo, s.lower[j]), math.Min(up, s.upper[j]))
		}
	}
}

// useful drops what is not worth recording of implied bounds lo and up.
func (s *state) useful(j int32, lo, up float64) (float64, float64) {
	if s.whole[j] {
		return math.Ceil(lo - roundTol), math.Floor(up + roundTol)
	}
	gain := tightenGain * (s.upper[j] - s.lower[j])
	if math.IsInf(gain, 0) {
		gain = redundantTol
	}
	if !(lo > s.lower[j]+math.Max(gain, redundantTol*scale(lo))) || math.Abs(lo) > tightenLargest {
		lo = -inf
	}
	if !(up < s.upper[j]-math.Max(gain, redundantTol*scale(up))) || math.Abs(up) > tightenLargest {
		up = inf
	}
	return snap(lo), snap(up)
}

// snap removes the rounding error of a bound that is as good as whole.
func snap(v float64) float64 {
	if r := math.Round(v); math.Abs(v-r) <= cancelTol*scale(v) {
		return r
	}
	return v
}

// tightenCoefs reduces coefficients of whole numbers in a row with one side. For Σ a·x ≤ b with
// x_j ≤ u whole and a_j > 0: if the row cannot bind for x_j ≤ u−1, by a slack δ = b − (max Σ − a_j) > 0, then
// a_j − δ and b − δ·u leave the same whole-number solutions. Likewise at the lower bound for a_j < 0,
// with a_j + δ and b + δ·l.
func (s *state) tightenCoefs(i int32) {
	sign, side := 1.0, s.rup[i]
	if s.rlo[i] > -inf {
		sign, side = -1, -s.rlo[i]
	}
	if s.rlo[i] > -inf && s.rup[i] < inf || math.IsInf(side, 0) {
		return
	}
	act := s.activityOf(i)
	most, noise := act.highest(), sumNoise*act.size
	if sign < 0 {
		most = -act.lowest()
	}
	if most == inf {
		return
	}
	largest := s.largestContinuous(i)
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		j, a := s.ent[e].col, sign*s.ent[e].val
		slack := side - most + math.Abs(a)
		left := math.Abs(a) - slack // = most − side
		if !s.whole[j] || slack-noise < coefGain*math.Abs(a) || left < coefLeast*largest+noise {
			continue
		}
		at := s.upper[j]
		if a < 0 {
			at = s.lower[j]
			slack = -slack
		}
		// The term's most, a·at, falls by slack·at, and so does the side.
		s.ent[e].val = sign * (a - slack)
		side, most = plus(side, -slack*at), plus(most, -slack*at)
		s.counts[TightenCoef]++
		s.actValid[i] = false
		s.rowQueue.push(i)
		s.colQueue.push(j)
	}
	if sign > 0 {
		s.rup[i] = side
	} else {
		s.rlo[i] = -side
	}
}

// largestContinuous is the largest magnitude in row i, at least 1, of a continuous column's coefficient.
func (s *state) largestContinuous(i int32) float64 {
	t := 1.0
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		if !s.whole[s.ent[e].col] {
			t = math.Max(t, math.Abs(s.ent[e].val))
		}
	}
	return t
}

// commonDivisor rounds the sides of a row of whole numbers and whole coefficients to multiples of the coefficients'
// greatest common divisor.
func (s *state) commonDivisor(i int32) {
	g := 0.0
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		a := math.Abs(s.ent[e].val)
		if !s.whole[s.ent[e].col] || a != math.Trunc(a) || a > largestExact {
			return
		}
		g = divisor(a, g)
	}
	lo, up := g*math.Ceil(s.rlo[i]/g-roundTol), g*math.Floor(s.rup[i]/g+roundTol)
	if lo > up {
		s.infeasible(i, -1, "the row's common divisor divides nothing between its sides")
		return
	}
	if math.Max(lo, s.rlo[i]) != s.rlo[i] || math.Min(up, s.rup[i]) != s.rup[i] {
		s.counts[CommonDivisor]++
		s.rlo[i], s.rup[i] = math.Max(lo, s.rlo[i]), math.Min(up, s.rup[i])
		s.touchRow(i)
	}
}

// largestExact is the largest coefficient of which common divisors are sought.
const largestExact = 1 << 40

// divisor is the greatest common divisor of whole a > 0 and b ≥ 0.
func divisor(a, b float64) float64 {
	for b > 0 {
		a, b = b, math.Mod(a, b)
	}
	return a
}
