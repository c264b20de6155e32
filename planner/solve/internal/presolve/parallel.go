package presolve

import (
	"math"
	"sort"
)

// Parallel rows and columns are found by a hash of their pattern and of their coefficients relative to the one of
// lowest index, coarsely rounded; equal hashes are then compared in full.

// hashed is a row or column with its hash and the coefficient it was scaled by.
type hashed struct {
	key  uint64
	at   int32
	lead float64
}

// mix scrambles a word (the finaliser of the SplitMix64 generator, Steele, Lea, Flood 2014).
func mix(x uint64) uint64 {
	x ^= x >> 30
	x *= 0xbf58476d1ce4e5b9
	x ^= x >> 27
	x *= 0x94d049bb133111eb
	return x ^ x>>31
}

// ratioStep is the coarseness to which coefficient ratios are rounded before hashing.
const ratioStep = 1 << 20

func hashTerms(at int32, terms []term) hashed {
	lead := terms[0]
	for _, t := range terms[1:] {
		if t.at < lead.at {
			lead = t
		}
	}
	var key uint64
	for _, t := range terms {
		mant, exp := math.Frexp(t.val / lead.val)
		key += mix(uint64(t.at)<<32 ^ uint64(int64(math.Round(mant*ratioStep))) ^ uint64(int64(exp))<<22)
	}
	return hashed{key, at, lead.val}
}

// parallels calls same for pairs of equal hash until it says that the second of the pair is gone,
// with their ratio second ÷ first.
func parallels(list []hashed, gone []bool, same func(a, b int32, ratio float64)) {
	sort.Slice(list, func(p, q int) bool {
		if list[p].key != list[q].key {
			return list[p].key < list[q].key
		}
		return list[p].at < list[q].at
	})
	for p := range list {
		for q := p + 1; q < len(list) && q <= p+maxTwins && list[q].key == list[p].key; q++ {
			if gone[list[p].at] {
				break
			}
			if !gone[list[q].at] {
				same(list[p].at, list[q].at, list[q].lead/list[p].lead)
			}
		}
	}
}

// maxTwins limits the comparisons that one row or column is the first of.
const maxTwins = 8

// equalTerms says whether b = ratio·a; at is zero everywhere, before and after, and as long as the places go.
func equalTerms(a, b []term, ratio float64, at []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for _, t := range a {
		at[t.at] = t.val
	}
	same := true
	for _, t := range b {
		if v := at[t.at]; v == 0 || math.Abs(t.val-ratio*v) > parallelTol*math.Abs(t.val) {
			same = false
			break
		}
	}
	for _, t := range a {
		at[t.at] = 0
	}
	return same
}

// parallelRows merges rows that are multiples of one another.
func (s *state) parallelRows() {
	if s.skip.Has(ParallelRow) {
		return
	}
	var list []hashed
	var buf []term
	for i := range s.rlo {
		if !s.rowGone[i] && s.rowLen[i] >= 2 {
			buf = s.appendRow(buf[:0], int32(i))
			list = append(list, hashTerms(int32(i), buf))
		}
	}
	s.work -= int64(s.count)
	at, other := make([]float64, len(s.cost)), []term(nil)
	parallels(list, s.rowGone, func(a, b int32, ratio float64) {
		buf, other = s.appendRow(buf[:0], a), s.appendRow(other[:0], b)
		if s.going() && equalTerms(buf, other, ratio, at) {
			s.mergeRows(a, b, ratio)
		}
	})
}

func (s *state) appendRow(t []term, i int32) []term {
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		t = append(t, term{s.ent[e].col, s.ent[e].val})
	}
	return t
}

func (s *state) appendColumn(t []term, j int32) []term {
	for e := s.colHead[j]; e != none; e = s.ent[e].colNext {
		t = append(t, term{s.ent[e].row, s.ent[e].val})
	}
	return t
}

// mergeRows removes row b, which is ratio times row a, after giving its sides to a.
func (s *state) mergeRows(a, b int32, ratio float64) {
	lo, up := s.rlo[b]/ratio, s.rup[b]/ratio
	if ratio < 0 {
		lo, up = up, lo
	}
	t := parallelRow{kept: a, gone: b, ratio: ratio, merged: merged{lowerFrom: lo > s.rlo[a], upperFrom: up < s.rup[a]}}
	lo, up = math.Max(lo, s.rlo[a]), math.Min(up, s.rup[a])
	if lo > up {
		if !((lo-up)*math.Min(1, math.Abs(ratio)) <= s.feas*scale(lo, up)) {
			s.infeasible(b, -1, "the row contradicts a multiple of it")
			return
		}
		lo = s.middle(lo, up, a)
		up = lo
	}
	t.equal = lo == up
	s.took(ParallelRow, t)
	s.dropRow(b)
	s.rlo[a], s.rup[a] = lo, up
	s.touchRow(a)
	s.touchRowColumns(a)
}

// middle is where two sides that cross by rounding meet: at row a's if it is an equation.
func (s *state) middle(lo, up float64, a int32) float64 {
	if s.equality(a) {
		return s.rlo[a]
	}
	return (lo + up) / 2
}

type parallelRow struct {
	kept, gone int32
	ratio      float64
	merged     // the kept row's sides
}

func (t parallelRow) undo(p *point) {
	if p.y == nil {
		return
	}
	st, byGone := t.split(p.rows[t.kept], p.y[t.kept])
	p.rows[t.kept] = st
	if !byGone {
		p.y[t.gone], p.rows[t.gone] = 0, Basic
		return
	}
	if t.ratio < 0 {
		st = st.opposite()
	}
	p.y[t.gone], p.rows[t.gone] = p.y[t.kept]/t.ratio, st
	p.y[t.kept], p.rows[t.kept] = 0, Basic
}

// parallelColumns merges columns that are multiples of one another in rows and cost, and fixes those that a
// parallel one makes needless.
func (s *state) parallelColumns() {
	if s.skip.Has(ParallelColumn) || !s.going() {
		return
	}
	var list []hashed
	var buf []term
	for j := range s.cost {
		if !s.colGone[j] && s.colLen[j] >= 1 && s.lower[j] < s.upper[j] {
			buf = s.appendColumn(buf[:0], int32(j))
			list = append(list, hashTerms(int32(j), buf))
		}
	}
	s.work -= int64(s.count)
	at, other := make([]float64, len(s.rlo)), []term(nil)
	parallels(list, s.colGone, func(a, b int32, ratio float64) {
		buf, other = s.appendColumn(buf[:0], a), s.appendColumn(other[:0], b)
		if s.going() && equalTerms(buf, other, ratio, at) {
			s.twinColumns(a, b, ratio)
		}
	})
}

// twinColumns deals with column b = ratio · column a.
func (s *state) twinColumns(a, b int32, ratio float64) {
	dear := plus(s.cost[b], -ratio*s.cost[a])
	switch {
	case s.needless(a, b, ratio, dear):
	case s.needless(b, a, 1/ratio, -dear/ratio):
	case dear == 0 && s.mergeable(a, b, ratio):
		s.mergeColumns(a, b, ratio)
	case dear == 0 && s.mergeable(b, a, 1/ratio):
		s.mergeColumns(b, a, 1/ratio)
	}
}

// needless fixes column b = ratio · column a at a bound if a can take its place: b's reduced cost is
// ratio·d_a + dear, and the sign of d_a is known where a has no bound.
func (s *state) needless(a, b int32, ratio, dear float64) bool {
	if s.whole[a] && !(s.whole[b] && isWhole(ratio)) {
		return false
	}
	rises, falls := s.upper[a] == inf, s.lower[a] == -inf // d_a ≥ 0, d_a ≤ 0
	if ratio < 0 {
		rises, falls = falls, rises
	}
	switch {
	case dear >= 0 && rises && s.lower[b] > -inf:
		s.fix(b, AtLower, false)
	case dear <= 0 && falls && s.upper[b] < inf:
		s.fix(b, AtUpper, false)
	default:
		return false
	}
	s.counts[ParallelColumn]++
	return true
}

// mergeable says whether x_a + ratio·x_b can stand for both columns and be taken apart again.
func (s *state) mergeable(a, b int32, ratio float64) bool {
	bothFree := s.unbounds(a) && s.unbounds(b)
	lo, up := termRange(ratio, s.lower[b], s.upper[b])
	if s.lower[a]+lo == -inf && s.upper[a]+up == inf && !bothFree {
		return false
	}
	if !s.whole[a] && !s.whole[b] {
		return true
	}
	return s.whole[a] && s.whole[b] && isWhole(ratio) && s.upper[a]-s.lower[a] >= math.Abs(ratio)-1
}

func (s *state) unbounds(j int32) bool { return s.lower[j] == -inf && s.upper[j] == inf }

// mergeColumns removes column b; column a becomes x_a + ratio·x_b.
func (s *state) mergeColumns(a, b int32, ratio float64) {
	t := parallelColumn{kept: a, gone: b, ratio: ratio, whole: s.whole[b],
		lower: s.lower[a], upper: s.upper[a], goneLower: s.lower[b], goneUpper: s.upper[b]}
	if t.whole {
		t.ratio = math.Round(ratio)
	}
	lo, up := termRange(t.ratio, s.lower[b], s.upper[b])
	s.took(ParallelColumn, t)
	s.dropColumn(b)
	s.setBounds(a, s.lower[a]+lo, s.upper[a]+up)
}

type parallelColumn struct {
	kept, gone           int32
	ratio                float64
	whole                bool
	lower, upper         float64
	goneLower, goneUpper float64
}

// undo takes the sum apart so that at most one of the two columns is off its bounds.
func (t parallelColumn) undo(p *point) {
	sum := p.x[t.kept]
	x, st := t.start(sum)
	rest := sum - t.ratio*x
	at := Basic
	switch {
	case rest < t.lower:
		rest, at = t.lower, AtLower
	case rest > t.upper:
		rest, at = t.upper, AtUpper
	}
	if at != Basic {
		x, st = (sum-rest)/t.ratio, Basic
		if t.whole {
			x, rest = t.wholeParts(sum, x)
		}
	}
	if p.y != nil {
		p.d[t.gone] = t.ratio * p.d[t.kept]
		if p.cols[t.kept] == AtLower || p.cols[t.kept] == AtUpper {
			t.atBound(p)
			return
		}
		if p.cols[t.kept] == Free {
			at = Free
		}
		p.cols[t.kept], p.cols[t.gone] = at, st
	}
	p.x[t.kept], p.x[t.gone] = rest, x
}

// start is the bound, or zero, at which the removed column is tried first.
func (t parallelColumn) start(sum float64) (float64, Status) {
	lower := t.goneLower
	if lower == -inf && t.goneUpper == inf {
		return 0, Free
	}
	if lower > -inf {
		return lower, AtLower
	}
	return t.goneUpper, AtUpper
}

// wholeParts rounds x so that the kept column, of sum − ratio·x, stays within its bounds.
func (t parallelColumn) wholeParts(sum, x float64) (float64, float64) {
	for _, v := range []float64{math.Floor(x + roundTol), math.Ceil(x - roundTol)} {
		if rest := sum - t.ratio*v; rest >= t.lower-roundTol && rest <= t.upper+roundTol {
			return v, rest
		}
	}
	v := math.Round(x)
	return v, sum - t.ratio*v
}

// atBound puts both columns at the bounds that the sum's bound is made of.
func (t parallelColumn) atBound(p *point) {
	st := p.cols[t.kept]
	p.x[t.kept] = pick(st, t.lower, t.upper)
	if t.ratio < 0 {
		st = st.opposite()
	}
	p.cols[t.gone] = st
	p.x[t.gone] = pick(st, t.goneLower, t.goneUpper)
}

func pick(st Status, lower, upper float64) float64 {
	if st == AtLower {
		return lower
	}
	return upper
}

// down merges an original point's columns.
func (t parallelColumn) down(x []float64) { x[t.kept] += t.ratio * x[t.gone] }
