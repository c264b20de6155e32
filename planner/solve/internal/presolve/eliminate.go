package presolve

import "math"

// singletonColumn deals with a column that stands in one row only.
func (s *state) singletonColumn(j int32) bool {
	e := s.colHead[j]
	i, a := s.ent[e].row, s.ent[e].val
	if s.rowLen[i] == 1 || !s.pivotable(e) || s.whole[j] && !s.wholeRatios(e) {
		return false
	}
	lower, upper := s.impliedBy(e)
	if lower && upper && !s.skip.Has(FreeColumn) {
		return s.freeColumn(i, j, s.cost[j]/a)
	}
	if s.skip.Has(SlackColumn) || !s.equality(i) && s.cost[j] != 0 {
		return false
	}
	s.slackColumn(i, j, a)
	return true
}

// pivotable says whether entry e is large enough in its row, and by itself, to solve the row for its column.
func (s *state) pivotable(e int32) bool {
	a := math.Abs(s.ent[e].val)
	if a < pivotLeast {
		return false
	}
	for k := s.rowHead[s.ent[e].row]; k != none; k = s.ent[k].rowNext {
		if a < pivotRatio*math.Abs(s.ent[k].val) {
			return false
		}
	}
	return true
}

// wholeRatios says whether entry e's row, an equation, makes its column whole whenever the others are.
func (s *state) wholeRatios(e int32) bool {
	i, a := s.ent[e].row, s.ent[e].val
	if !s.equality(i) || !isWhole(s.rlo[i]/a) {
		return false
	}
	for k := s.rowHead[i]; k != none; k = s.ent[k].rowNext {
		if !s.whole[s.ent[k].col] || !isWhole(s.ent[k].val/a) {
			return false
		}
	}
	return true
}

// freeColumn solves row i for its column j, whose bounds cannot bind and whose reduced cost is
// therefore zero: y is the row's dual, and its sign says at which side the row stands.
func (s *state) freeColumn(i, j int32, y float64) bool {
	side, st := s.rlo[i], AtLower
	if y < 0 || y == 0 && side == -inf {
		side, st = s.rup[i], AtUpper
	}
	if math.Abs(side) == inf {
		if math.Abs(y) > zeroCost {
			s.unbounded(j, "a column gains without limit at the cost of a row without limit")
			return true
		}
		return false
	}
	equal := s.equality(i)
	s.rlo[i], s.rup[i] = side, side
	s.substitute(FreeColumn, i, j, st, equal)
	return true
}

// slackColumn takes column j out of row i, an equation or a row in which j costs nothing, and widens the row by j's range.
// The cost of j passes to the row's other columns.
func (s *state) slackColumn(i, j int32, a float64) {
	lo, up := termRange(a, s.lower[j], s.upper[j])
	t := slackColumn{row: i, col: j, coef: a, cost: s.cost[j], whole: s.whole[j], equal: s.equality(i),
		rlo: s.rlo[i], rup: s.rup[i], lower: s.lower[j], upper: s.upper[j], terms: s.rowTerms(i, j)}
	s.took(SlackColumn, t)
	s.passCost(s.cost[j]/a, t.terms, s.rlo[i])
	s.dropColumn(j)
	s.rlo[i], s.rup[i] = plus(s.rlo[i], -up), plus(s.rup[i], -lo)
	s.touchRow(i)
	s.touchRowColumns(i)
}

// passCost subtracts y times the terms from the costs, for a row that equals side.
func (s *state) passCost(y float64, terms []term, side float64) {
	if y == 0 {
		return
	}
	s.offset += y * side
	for _, k := range terms {
		s.cost[k.at] = plus(s.cost[k.at], -y*k.val)
		s.colQueue.push(k.at)
	}
}

type slackColumn struct {
	row, col     int32
	coef, cost   float64
	whole, equal bool
	rlo, rup     float64 // of the row before
	lower, upper float64
	terms        []term // of the row, without the column
}

// undo: a row held at an end of its widened range holds the column at a bound as well. Otherwise the column takes up
// what the row lacks.
func (t slackColumn) undo(p *point) {
	sum := p.rowSum(t.terms)
	if p.y == nil {
		p.x[t.col], _ = t.fill(sum)
		return
	}
	held, rest := p.rows[t.row], p.y[t.row]
	p.y[t.row] += t.cost / t.coef
	p.d[t.col] = -t.coef * rest
	if held == AtLower || held == AtUpper {
		t.hold(p, held)
		return
	}
	var st Status
	p.x[t.col], st = t.fill(sum)
	p.d[t.col] = 0
	p.cols[t.col] = st
	if st == Basic {
		p.rows[t.row] = AtLower
		if v := sum + t.coef*p.x[t.col]; !t.equal && (t.rlo == -inf || math.Abs(v-t.rup) < math.Abs(v-t.rlo)) {
			p.rows[t.row] = AtUpper
		} else if t.equal {
			p.rows[t.row] = bySign(p.y[t.row])
		}
	}
}

// hold puts the column at the bound that belongs to the row's side.
func (t slackColumn) hold(p *point, side Status) {
	st := side.opposite()
	if t.coef < 0 {
		st = side
	}
	p.cols[t.col] = st
	p.x[t.col] = t.upper
	if st == AtLower {
		p.x[t.col] = t.lower
	}
	p.rows[t.row] = side
	if t.equal {
		p.rows[t.row] = bySign(p.y[t.row])
	}
}

// fill is a value of the column that satisfies the row whose other terms add up to sum, at a bound
// of the column if one will do.
func (t slackColumn) fill(sum float64) (float64, Status) {
	lo, up := (t.rlo-sum)/t.coef, (t.rup-sum)/t.coef
	if t.coef < 0 {
		lo, up = up, lo
	}
	if t.whole {
		lo, up = math.Round(lo), math.Round(up)
	}
	if !t.equal {
		switch {
		case t.lower > -inf && lo <= t.lower && t.lower <= up:
			return t.lower, AtLower
		case t.upper < inf && lo <= t.upper && t.upper <= up:
			return t.upper, AtUpper
		case t.lower == -inf && t.upper == inf && lo <= 0 && 0 <= up:
			return 0, Free
		}
	}
	if lo > -inf && (lo >= t.lower || up == inf || up > t.upper) {
		return lo, Basic
	}
	return up, Basic
}

// substitute solves equation i for column j and puts the result into j's other rows and the objective; row and
// column are gone then. st is the side at which the row stands, unless it was an equation before.
func (s *state) substitute(r Rule, i, j int32, st Status, equal bool) {
	e := s.find(i, j)
	t := substituted{row: i, col: j, coef: s.ent[e].val, side: s.rlo[i], cost: s.cost[j], whole: s.whole[j],
		status: st, equal: equal, rowTerms: s.rowTerms(i, j), colTerms: s.colTerms(j, i)}
	s.took(r, t)
	s.passCost(t.cost/t.coef, t.rowTerms, t.side)
	for _, k := range t.colTerms {
		s.addMultiple(k.at, -k.val/t.coef, t.rowTerms)
		s.shiftRow(k.at, -k.val/t.coef*t.side)
	}
	s.dropRow(i)
	s.dropColumn(j)
}

// addMultiple adds f times the terms to row r.
func (s *state) addMultiple(r int32, f float64, terms []term) {
	s.work -= int64(s.rowLen[r]) + int64(len(terms))
	if len(terms) == 1 {
		s.addTerm(r, terms[0].at, f*terms[0].val, s.find(r, terms[0].at))
	} else {
		for e := s.rowHead[r]; e != none; e = s.ent[e].rowNext {
			s.place[s.ent[e].col] = e
		}
		for _, k := range terms {
			s.addTerm(r, k.at, f*k.val, s.place[k.at])
		}
		for e := s.rowHead[r]; e != none; e = s.ent[e].rowNext {
			s.place[s.ent[e].col] = none
		}
	}
	s.touchRow(r)
	s.touchRowColumns(r)
}

// addTerm adds v to the coefficient at row r, column k, which entry e holds unless it is none.
func (s *state) addTerm(r, k int32, v float64, e int32) {
	if e == none {
		s.insert(r, k, v)
		return
	}
	t := s.ent[e].val + v
	if math.Abs(t) <= cancelTol*math.Abs(v) {
		s.place[k] = none
		s.remove(e)
		s.colQueue.push(k)
		return
	}
	s.ent[e].val = t
}

// substituted is a basic column, defined by an equation.
type substituted struct {
	row, col           int32
	coef, side, cost   float64
	whole              bool
	status             Status
	equal              bool
	rowTerms, colTerms []term // without the pivot
}

func (t substituted) undo(p *point) {
	x := (t.side - p.rowSum(t.rowTerms)) / t.coef
	if t.whole {
		x = math.Round(x)
	}
	p.x[t.col] = x
	if p.y == nil {
		return
	}
	y := p.price(t.cost, t.colTerms) / t.coef
	p.y[t.row], p.rows[t.row] = y, t.status
	if t.equal {
		p.rows[t.row] = bySign(y)
	}
	p.d[t.col], p.cols[t.col] = 0, Basic
}

// substituteImplied removes columns of few rows, one of them an equation, whose bounds other
// rows or the equation imply.
func (s *state) substituteImplied() {
	if s.skip.Has(ImpliedColumn) {
		return
	}
	for j := range s.cost {
		if !s.going() {
			return
		}
		if n := s.colLen[j]; !s.colGone[j] && n >= 2 && n <= maxColumn {
			s.impliedColumn(int32(j))
		}
	}
}

func (s *state) impliedColumn(j int32) {
	pivot := s.bestPivot(j)
	if pivot == none {
		return
	}
	lower, upper := false, false
	for e := s.colHead[j]; e != none && !(lower && upper); e = s.ent[e].colNext {
		lo, up := s.impliedBy(e)
		lower, upper = lower || lo, upper || up
	}
	if lower && upper {
		s.substitute(ImpliedColumn, s.ent[pivot].row, j, AtLower, true)
	}
}

// bestPivot is the entry of column j in the equation that adds fewest nonzeros when solved for j, or none.
func (s *state) bestPivot(j int32) int32 {
	best, least := none, int32(maxFill+1)
	for e := s.colHead[j]; e != none; e = s.ent[e].colNext {
		i := s.ent[e].row
		rowLen, colLen := s.rowLen[i], s.colLen[j]
		fill := (rowLen-1)*(colLen-1) - rowLen - colLen + 1
		if !s.equality(i) || fill >= least || !s.pivotable(e) || !s.modest(e) || s.whole[j] && !s.wholeRatios(e) {
			continue
		}
		best, least = e, fill
	}
	return best
}

// modest says whether eliminating with entry e adds no large multiple of its row to another.
func (s *state) modest(e int32) bool {
	a := math.Abs(s.ent[e].val)
	for k := s.colHead[s.ent[e].col]; k != none; k = s.ent[k].colNext {
		if math.Abs(s.ent[k].val) > growthLimit*a {
			return false
		}
	}
	return true
}
