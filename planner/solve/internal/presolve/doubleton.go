package presolve

import "math"

// doubleton uses an equation a·x + b·z = side to remove x, whose bounds become bounds of z.
func (s *state) doubleton(i int32) bool {
	if s.skip.Has(DoubletonRow) || !s.equality(i) {
		return false
	}
	e, f := s.rowHead[i], s.ent[s.rowHead[i]].rowNext
	if s.colLen[s.ent[f].col] < s.colLen[s.ent[e].col] {
		e, f = f, e
	}
	switch {
	case s.aggregates(e, f):
	case s.aggregates(f, e):
		e, f = f, e
	default:
		return false
	}
	s.aggregate(i, e, f)
	return true
}

// aggregates says whether entry e's column can be expressed by f's in safe numbers and, for a whole
// number, in whole ones.
func (s *state) aggregates(e, f int32) bool {
	a, b := s.ent[e].val, s.ent[f].val
	if math.Abs(a) < pivotRatio*math.Abs(b) || math.Abs(a) > math.Abs(b)/pivotRatio || !s.modest(e) {
		return false
	}
	return !s.whole[s.ent[e].col] || s.wholeRatios(e)
}

func (s *state) aggregate(i, e, f int32) {
	j, k := s.ent[e].col, s.ent[f].col
	a, b, side := s.ent[e].val, s.ent[f].val, s.rlo[i]
	t := doubleton{lower: s.lower[j], upper: s.upper[j], other: k, otherCoef: b}
	lo, up := (side-a*s.upper[j])/b, (side-a*s.lower[j])/b
	t.flipped = a > 0 != (b > 0)
	if t.flipped {
		lo, up = up, lo
	}
	t.bounds.lowerFrom = lo > s.lower[k]+cancelTol*scale(lo, side/b)
	t.bounds.upperFrom = up < s.upper[k]-cancelTol*scale(up, side/b)
	if !t.bounds.lowerFrom {
		lo = s.lower[k]
	}
	if !t.bounds.upperFrom {
		up = s.upper[k]
	}
	lo, up, ok := s.meet(k, lo, up, math.Abs(b/a))
	if !ok {
		s.infeasible(i, -1, "the bounds of the equation's two columns exclude each other")
		return
	}
	t.bounds.equal = lo == up
	s.substitute(DoubletonRow, i, j, AtLower, true)
	last := len(s.steps) - 1
	t.substituted = s.steps[last].(substituted)
	s.steps[last] = t
	s.setBounds(k, lo, up)
}

// doubleton is a substituted column whose bounds were passed to the equation's other column.
type doubleton struct {
	substituted
	lower, upper float64 // of the removed column
	other        int32
	otherCoef    float64
	flipped      bool   // the removed column's lower bound became a lower bound of the other
	bounds       merged // of the other
}

// undo: if the remaining column stands at a bound that it had from the removed one, it is the removed one that stands
// there, and the remaining one is basic.
func (t doubleton) undo(p *point) {
	t.substituted.undo(p)
	if p.y == nil {
		return
	}
	k := t.other
	st, byGone := t.bounds.split(p.cols[k], p.d[k])
	p.cols[k] = st
	if !byGone {
		return
	}
	if !t.flipped {
		st = st.opposite()
	}
	p.cols[t.col], p.cols[k] = st, Basic
	p.x[t.col] = t.upper
	if st == AtLower {
		p.x[t.col] = t.lower
	}
	p.y[t.row] += p.d[k] / t.otherCoef
	p.d[t.col], p.d[k] = -t.coef*p.d[k]/t.otherCoef, 0
	p.rows[t.row] = bySign(p.y[t.row])
}
