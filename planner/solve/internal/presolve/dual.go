package presolve

import "math"

// dualRange is what is known of a row's dual: from the row's missing sides, and narrower from a column
// that stands in this row only and lacks a bound.
type dualRange struct {
	lo, up         float64
	byLower, byUp  int32 // the column that gave the bound, or none
	signLo, signUp float64
}

// dualBounds finds columns whose reduced cost, and rows whose dual, has a known sign.
//
// A column k without upper bound has d_k = c_k − a·y ≥ 0, one without lower bound d_k ≤ 0. Where it stands in
// one row only this bounds that row's dual, as long as the column stays in the program.
// In a mixed-integer program the argument holds for each choice of the whole numbers, hence
// with continuous columns k only.
func (s *state) dualBounds() {
	if s.skip.Has(DominatedColumn) && s.skip.Has(TightRow) || !s.going() {
		return
	}
	y := s.dualRanges()
	for j := range s.cost {
		if !s.colGone[j] && s.colLen[j] >= 1 && s.lower[j] < s.upper[j] && s.going() {
			s.dominated(int32(j), y)
		}
	}
	for i := range s.rlo {
		if !s.rowGone[i] && s.going() {
			s.tightRow(int32(i), y)
		}
	}
	s.work -= int64(s.count)
}

func (s *state) dualRanges() []dualRange {
	y := make([]dualRange, len(s.rlo))
	for i := range y {
		y[i] = dualRange{lo: -inf, up: inf, byLower: none, byUp: none}
		if s.rlo[i] == -inf {
			y[i].up = 0
		}
		if s.rup[i] == inf {
			y[i].lo = 0
		}
		y[i].signLo, y[i].signUp = y[i].lo, y[i].up
	}
	for j := range s.cost {
		if s.colGone[j] || s.colLen[j] != 1 || s.whole[j] {
			continue
		}
		e := &s.ent[s.colHead[j]]
		if math.Abs(e.val) < pivotLeast {
			continue
		}
		y[e.row].learn(int32(j), s.cost[j]/e.val, s.upper[j] == inf, s.lower[j] == -inf, e.val > 0)
	}
	return y
}

// learn takes in what column j, of quotient q = cost ÷ coefficient, says.
func (r *dualRange) learn(j int32, q float64, rises, falls, positive bool) {
	if (rises && positive || falls && !positive) && q < r.up {
		r.up, r.byUp = q, j
	}
	if (rises && !positive || falls && positive) && q > r.lo {
		r.lo, r.byLower = q, j
	}
}

// bounds is the range as known without column j and without columns that are gone.
func (r *dualRange) bounds(j int32, gone []bool) (float64, float64) {
	lo, up := r.lo, r.up
	if r.byLower != none && (r.byLower == j || gone[r.byLower]) {
		lo = r.signLo
	}
	if r.byUp != none && (r.byUp == j || gone[r.byUp]) {
		up = r.signUp
	}
	return lo, up
}

// dominated fixes column j if its reduced cost cannot have both signs.
func (s *state) dominated(j int32, y []dualRange) {
	if s.skip.Has(DominatedColumn) {
		return
	}
	least, most, size := s.cost[j], s.cost[j], math.Abs(s.cost[j])
	for e := s.colHead[j]; e != none; e = s.ent[e].colNext {
		lo, up := y[s.ent[e].row].bounds(j, s.colGone)
		lo, up = termRange(s.ent[e].val, lo, up)
		least, most = least-up, most-lo
		size += finite(lo) + finite(up)
	}
	switch tol := strictDual * math.Max(1, size); {
	case least > tol && s.lower[j] > -inf:
		s.fix(j, AtLower, false)
	case most < -tol && s.upper[j] < inf:
		s.fix(j, AtUpper, false)
	case least > tol, most < -tol:
		s.unbounded(j, "no row duals give the column's reduced cost the sign it needs")
		return
	default:
		return
	}
	s.counts[DominatedColumn]++
}

// finite is |v|, or 0 if v is infinite.
func finite(v float64) float64 {
	if math.IsInf(v, 0) {
		return 0
	}
	return math.Abs(v)
}

// tightRow makes row i an equation if its dual cannot be zero.
func (s *state) tightRow(i int32, y []dualRange) {
	if s.skip.Has(TightRow) || s.equality(i) {
		return
	}
	lo, up := y[i].bounds(none, s.colGone)
	switch {
	case lo > strictDual*scale(lo) && s.rlo[i] > -inf:
		s.took(TightRow, tightRow{i, AtLower})
		s.rup[i] = s.rlo[i]
	case up < -strictDual*scale(up) && s.rup[i] < inf:
		s.took(TightRow, tightRow{i, AtUpper})
		s.rlo[i] = s.rup[i]
	default:
		return
	}
	s.touchRow(i)
	s.touchRowColumns(i)
}

// tightRow is an inequality that its dual's sign made an equation.
type tightRow struct {
	row  int32
	side Status
}

func (t tightRow) undo(p *point) {
	if p.y != nil && p.rows[t.row] != Basic {
		p.rows[t.row] = t.side
	}
}
