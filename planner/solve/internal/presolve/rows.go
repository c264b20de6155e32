package presolve

import "math"

// emptyRow removes a row without coefficients, whose activity is zero.
func (s *state) emptyRow(i int32) {
	if s.skip.Has(EmptyRow) {
		return
	}
	if s.rlo[i] > s.feas || s.rup[i] < -s.feas {
		s.infeasible(i, -1, "a row without columns excludes zero")
		return
	}
	s.took(EmptyRow, slackRow{i})
	s.dropRow(i)
}

// slackRow is a row that limits nothing: its activity is basic.
type slackRow struct{ row int32 }

func (t slackRow) undo(p *point) {
	if p.y != nil {
		p.y[t.row], p.rows[t.row] = 0, Basic
	}
}

// singletonRow turns lo ≤ a·x ≤ up into bounds of x.
func (s *state) singletonRow(i int32) bool {
	e := s.rowHead[i]
	j, a := s.ent[e].col, s.ent[e].val
	if s.skip.Has(SingletonRow) || math.Abs(a) < singletonLeast {
		return false
	}
	lo, up := s.rlo[i]/a, s.rup[i]/a
	if a < 0 {
		lo, up = up, lo
	}
	t := singletonRow{row: i, col: j, coef: a, merged: merged{lowerFrom: lo > s.lower[j], upperFrom: up < s.upper[j]}}
	lo, up, ok := s.meet(j, lo, up, math.Abs(a))
	if !ok {
		s.infeasible(i, -1, "the row's only column cannot satisfy it")
		return true
	}
	t.equal = lo == up
	s.took(SingletonRow, t)
	s.dropRow(i)
	s.setBounds(j, lo, up)
	return true
}

// meet intersects column j's bounds with lo … up, which come from a relation that is satisfied up
// to the tolerance after multiplication by weight. Bounds that cross within the tolerance
// of either are made equal, at the place that violates the less sensitive of the two.
func (s *state) meet(j int32, lo, up, weight float64) (float64, float64, bool) {
	newLo, newUp := math.Max(lo, s.lower[j]), math.Min(up, s.upper[j])
	if newLo <= newUp {
		return newLo, newUp, true
	}
	if !((newLo-newUp)*math.Min(1, weight) <= s.feas*scale(newLo, newUp)) {
		return 0, 0, false
	}
	fromRow := weight > 1
	if (newLo == s.lower[j]) == fromRow { // the upper bound is to be kept
		return newUp, newUp, true
	}
	return newLo, newLo, true
}

type singletonRow struct {
	row, col int32
	coef     float64
	merged   // the column's bounds
}

// undo: if the column stands at a bound that the row gave, the row holds it and the column is basic.
func (t singletonRow) undo(p *point) {
	if p.y == nil {
		return
	}
	st, byRow := t.split(p.cols[t.col], p.d[t.col])
	p.cols[t.col] = st
	if !byRow {
		p.y[t.row], p.rows[t.row] = 0, Basic
		return
	}
	p.y[t.row], p.d[t.col] = p.d[t.col]/t.coef, 0
	p.cols[t.col] = Basic
	if t.coef < 0 {
		st = st.opposite()
	}
	p.rows[t.row] = st
}

// boundedRow compares row i with what its columns' bounds allow: infeasible, redundant, forcing, or
// one of its sides redundant. It says whether the row is gone or the program decided.
func (s *state) boundedRow(i int32) bool {
	act := s.activityOf(i)
	low, high := act.lowest(), act.highest()
	noise := sumNoise * act.size
	lo, up := s.rlo[i], s.rup[i]
	if low > up+s.feas*scale(up)+noise || high < lo-s.feas*scale(lo)-noise {
		s.infeasible(i, -1, "the columns' bounds cannot satisfy the row")
		return true
	}
	loFree := lo == -inf || low >= lo-redundantTol*scale(lo)
	upFree := up == inf || high <= up+redundantTol*scale(up)
	switch {
	case loFree && upFree:
		return s.redundantRow(i)
	case up < inf && s.forces(i, up-low):
		s.forcingRow(i, true)
		return true
	case lo > -inf && s.forces(i, high-lo):
		s.forcingRow(i, false)
		return true
	}
	s.dropSide(i, loFree, upFree)
	return false
}

func (s *state) redundantRow(i int32) bool {
	if s.skip.Has(RedundantRow) {
		return false
	}
	s.took(RedundantRow, slackRow{i})
	s.dropRow(i)
	return true
}

// dropSide removes a redundant side of row i, so that it locks its columns no more.
func (s *state) dropSide(i int32, lower, upper bool) {
	if s.skip.Has(RedundantRow) {
		return
	}
	changed := lower && s.rlo[i] > -inf || upper && s.rup[i] < inf
	if lower {
		s.rlo[i] = -inf
	}
	if upper {
		s.rup[i] = inf
	}
	if changed {
		s.touchRowColumns(i)
	}
}

// forces says whether a row with the given room between its side and the opposite end of its activity leaves
// no column any room: what is left for each, room ÷ |coefficient|, must be within the tolerance too.
func (s *state) forces(i int32, room float64) bool {
	if s.skip.Has(ForcingRow) || !(room <= redundantTol) {
		return false
	}
	if room <= 0 {
		return true
	}
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		if room > redundantTol*math.Abs(s.ent[e].val) {
			return false
		}
	}
	return true
}

// forcingRow fixes all columns of row i at the bounds that make its activity least (the upper
// side forces) or greatest.
func (s *state) forcingRow(i int32, upper bool) {
	t := forcingRow{row: i, upper: upper, terms: s.arena.take(s.rowLen[i])}
	s.eachOfRow(i, func(j int32, a float64) {
		if s.lower[j] < s.upper[j] {
			t.terms = append(t.terms, term{j, a})
		}
	})
	t.loose = len(t.terms)
	s.eachOfRow(i, func(j int32, a float64) {
		if s.lower[j] == s.upper[j] {
			t.terms = append(t.terms, term{j, a})
		}
	})
	s.took(ForcingRow, t)
	s.dropRow(i)
	for k, q := range t.terms {
		st := AtUpper
		if q.val > 0 == upper {
			st = AtLower
		}
		s.fix(q.at, st, k >= t.loose)
	}
}

func (s *state) eachOfRow(i int32, f func(j int32, a float64)) {
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		f(s.ent[e].col, s.ent[e].val)
	}
}

type forcingRow struct {
	row   int32
	upper bool   // the row stands at its upper side
	terms []term // the first loose ones had different bounds
	loose int
}

// undo: without the row the reduced costs of its columns may have the wrong signs. The row's dual is the one of
// least magnitude that puts all of them right, and the column that asks for it becomes basic.
func (t forcingRow) undo(p *point) {
	if p.y == nil {
		return
	}
	y, basic := 0.0, none
	for _, k := range t.terms[:t.loose] {
		if q := p.d[k.at] / k.val; t.upper && q < y || !t.upper && q > y {
			y, basic = q, k.at
		}
	}
	p.y[t.row], p.rows[t.row] = y, Basic
	if basic == none {
		return
	}
	p.rows[t.row] = AtLower
	if t.upper {
		p.rows[t.row] = AtUpper
	}
	for k, q := range t.terms {
		p.d[q.at] -= q.val * y
		if k >= t.loose {
			p.cols[q.at] = bySign(p.d[q.at])
		}
	}
	p.cols[basic], p.d[basic] = Basic, 0
}
