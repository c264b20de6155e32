package presolve

import "math"

// fixedColumn removes a column whose bounds are equal.
func (s *state) fixedColumn(j int32) bool {
	if s.skip.Has(FixedColumn) || s.lower[j] != s.upper[j] {
		return false
	}
	s.counts[FixedColumn]++
	s.fix(j, AtLower, true)
	return true
}

// fix removes column j at its lower bound, at its upper bound or at zero (Free). equal says that
// its bounds are equal, so that its reduced cost may have any sign.
func (s *state) fix(j int32, st Status, equal bool) {
	if s.colGone[j] {
		return
	}
	v := 0.0
	switch st {
	case AtLower:
		v = s.lower[j]
	case AtUpper:
		v = s.upper[j]
	}
	t := fixed{col: j, value: v, cost: s.cost[j], terms: s.colTerms(j, none), status: st, equal: equal}
	s.steps = append(s.steps, t)
	s.offset += s.cost[j] * v
	for _, k := range t.terms {
		s.shiftRow(k.at, -k.val*v)
	}
	s.dropColumn(j)
}

// fixed is a column held at a value.
type fixed struct {
	col         int32
	value, cost float64
	terms       []term
	status      Status
	equal       bool
}

func (t fixed) undo(p *point) {
	p.x[t.col] = t.value
	if p.y == nil {
		return
	}
	p.d[t.col] = p.price(t.cost, t.terms)
	p.cols[t.col] = t.status
	if t.equal {
		p.cols[t.col] = bySign(p.d[t.col])
	}
}

// emptyColumn fixes a column that stands in no row at its cheaper bound.
func (s *state) emptyColumn(j int32) bool {
	if s.skip.Has(EmptyColumn) || s.colLen[j] > 0 {
		return false
	}
	c, lo, up := s.cost[j], s.lower[j], s.upper[j]
	st := AtLower
	switch {
	case c > zeroCost && lo == -inf, c < -zeroCost && up == inf:
		s.unbounded(j, "a column in no row gains without limit")
		return true
	case lo == -inf && up == inf:
		st = Free
	case lo == -inf, c < 0 && up < inf, c == 0 && math.Abs(up) < math.Abs(lo):
		st = AtUpper
	}
	s.counts[EmptyColumn]++
	s.fix(j, st, lo == up)
	return true
}

// unlockedColumn deals with a column that can go to its cheaper side without harm to any row.
func (s *state) unlockedColumn(j int32) bool {
	down, up := s.free(j)
	c := s.cost[j]
	switch {
	case down && c >= 0:
		return s.sink(j, AtLower, s.lower[j], c)
	case up && c <= 0:
		return s.sink(j, AtUpper, s.upper[j], -c)
	}
	return false
}

// free says whether no row hinders column j from falling, and from rising.
func (s *state) free(j int32) (down, up bool) {
	down, up = true, true
	for e := s.colHead[j]; e != none && (down || up); e = s.ent[e].colNext {
		i := s.ent[e].row
		hasLo, hasUp := s.rlo[i] > -inf, s.rup[i] < inf
		if s.ent[e].val < 0 {
			hasLo, hasUp = hasUp, hasLo
		}
		down, up = down && !hasLo, up && !hasUp
	}
	return down, up
}

// sink fixes column j at a bound where it costs least and harms nothing. Without such a bound the
// program is unbounded, or if the column costs nothing it satisfies all its rows by itself.
func (s *state) sink(j int32, st Status, bound, gain float64) bool {
	switch {
	case math.Abs(bound) < inf:
		if s.skip.Has(LockedOneWay) {
			return false
		}
		s.counts[LockedOneWay]++
		s.fix(j, st, false)
		return true
	case gain > zeroCost:
		s.unbounded(j, "a column gains without limit and no row hinders it")
		return true
	case gain == 0 && s.colLen[j] <= maxUnlocked && !s.skip.Has(UnlockedColumn):
		s.unlock(j, st == AtLower)
		return true
	}
	return false
}

// unlock removes a costless column together with all its rows.
func (s *state) unlock(j int32, falls bool) {
	t := unlocked{col: j, falls: falls, whole: s.whole[j], far: s.upper[j]}
	if !falls {
		t.far = s.lower[j]
	}
	for e := s.colHead[j]; e != none; e = s.colHead[j] {
		i, a := s.ent[e].row, s.ent[e].val
		side := s.rup[i]
		if a < 0 == falls {
			side = s.rlo[i]
		}
		t.rows = append(t.rows, satisfied{i, a, side, s.rowTerms(i, j)})
		s.dropRow(i)
	}
	s.took(UnlockedColumn, t)
	s.dropColumn(j)
}

// unlocked is a column that could satisfy all its rows.
type unlocked struct {
	col   int32
	falls bool    // towards −∞, otherwise +∞
	far   float64 // its bound at the other end
	whole bool
	rows  []satisfied
}

// satisfied is a row, with the side that limits an unlocked column in it.
type satisfied struct {
	row        int32
	coef, side float64
	terms      []term // without that column
}

// undo puts the column where the first limit stops it on the way from its unbounded end.
func (t unlocked) undo(p *point) {
	x, holds := t.far, -1
	for k, r := range t.rows {
		if v := (r.side - p.rowSum(r.terms)) / r.coef; t.falls && v < x || !t.falls && v > x {
			x, holds = v, k
		}
	}
	free := math.Abs(t.far) == inf && (t.falls && x >= 0 || !t.falls && x <= 0)
	if free {
		x, holds = 0, -1
	}
	p.x[t.col] = t.rounded(x)
	if p.y == nil {
		return
	}
	for _, r := range t.rows {
		p.y[r.row], p.rows[r.row] = 0, Basic
	}
	p.d[t.col] = 0
	switch {
	case holds >= 0:
		p.cols[t.col] = Basic
		p.rows[t.rows[holds].row] = AtUpper
		if t.rows[holds].coef < 0 == t.falls {
			p.rows[t.rows[holds].row] = AtLower
		}
	case free:
		p.cols[t.col] = Free
	case t.falls:
		p.cols[t.col] = AtUpper
	default:
		p.cols[t.col] = AtLower
	}
}

func (t unlocked) rounded(x float64) float64 {
	switch {
	case !t.whole:
		return x
	case t.falls:
		return math.Floor(x + roundTol)
	}
	return math.Ceil(x - roundTol)
}
