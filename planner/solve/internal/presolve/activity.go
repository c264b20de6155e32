package presolve

import "math"

// activity is what the columns' bounds allow a row to sum up to: finite parts and counts of infinite terms.
type activity struct {
	min, max       float64
	minInf, maxInf int32
	size           float64 // sum of the magnitudes of the finite terms, the scale of rounding errors
}

// activityOf returns row i's activity, computed anew if anything in the row has changed.
func (s *state) activityOf(i int32) *activity {
	t := &s.act[i]
	if s.actValid[i] {
		return t
	}
	s.work -= int64(s.rowLen[i])
	*t = activity{}
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		j := s.ent[e].col
		lo, up := termRange(s.ent[e].val, s.lower[j], s.upper[j])
		if lo > -inf {
			t.min += lo
			t.size += math.Abs(lo)
		} else {
			t.minInf++
		}
		if up < inf {
			t.max += up
			t.size += math.Abs(up)
		} else {
			t.maxInf++
		}
	}
	s.actValid[i] = true
	return t
}

// termRange is the range of a·x for lo ≤ x ≤ up.
func termRange(a, lo, up float64) (float64, float64) {
	if a > 0 {
		return a * lo, a * up
	}
	return a * up, a * lo
}

func (t *activity) lowest() float64 {
	if t.minInf > 0 {
		return -inf
	}
	return t.min
}

func (t *activity) highest() float64 {
	if t.maxInf > 0 {
		return inf
	}
	return t.max
}

// without is the range of the row's sum with one term, of range lo to up, left out.
func (t *activity) without(lo, up float64) (float64, float64) {
	least, most := -inf, inf
	switch {
	case t.minInf == 0:
		least = t.min - lo
	case t.minInf == 1 && lo == -inf:
		least = t.min
	}
	switch {
	case t.maxInf == 0:
		most = t.max - up
	case t.maxInf == 1 && up == inf:
		most = t.max
	}
	return least, most
}

// implied is the range that the row of entry e leaves its column, given the bounds of the row's other
// columns, with the error that rounding may have put into it.
func (s *state) implied(e int32) (lo, up, noise float64) {
	t := &s.ent[e]
	act := s.activityOf(t.row)
	a := t.val
	least, most := act.without(termRange(a, s.lower[t.col], s.upper[t.col]))
	lo, up = (s.rlo[t.row]-most)/a, (s.rup[t.row]-least)/a
	if a < 0 {
		lo, up = up, lo
	}
	return lo, up, sumNoise * act.size / math.Abs(a)
}

// impliedBy says which of column e's bounds can never bind because its row implies them.
func (s *state) impliedBy(e int32) (lower, upper bool) {
	j := s.ent[e].col
	lower, upper = s.lower[j] == -inf, s.upper[j] == inf
	if lower && upper || math.Abs(s.ent[e].val) < pivotLeast {
		return lower, upper
	}
	lo, up, noise := s.implied(e)
	lower = lower || lo-noise >= s.lower[j]-redundantTol*scale(s.lower[j])
	upper = upper || up+noise <= s.upper[j]+redundantTol*scale(s.upper[j])
	return lower, upper
}
