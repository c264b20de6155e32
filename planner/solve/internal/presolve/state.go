package presolve

import (
	"math"

	"feedline/planner/model"
)

// state is the program being reduced, always minimised, with its work queues and the steps taken.
type state struct {
	matrix
	cost, lower, upper []float64
	rlo, rup           []float64
	whole              []bool
	offset             float64
	rowGone, colGone   []bool
	liveRows, liveCols int

	mip  bool
	feas float64
	skip Rules

	act      []activity
	actValid []bool

	rowQueue, colQueue queue
	work               int64
	tightened          []uint8 // times tightenRow changed a column's bounds

	place  []int32 // scratch: the entry of a column in the row at hand, or none
	steps  []step
	arena  arena
	counts [numRules]int

	verdict Verdict
}

func newState(m *model.Model, opt Options) *state {
	rows, cols := m.NumRows(), m.NumVars()
	s := &state{
		cost:  append([]float64(nil), m.Cost...),
		lower: tamed(m.Lower), upper: tamed(m.Upper),
		rlo: tamed(m.RowLower), rup: tamed(m.RowUpper),
		whole:   make([]bool, cols),
		offset:  m.Offset,
		rowGone: make([]bool, rows), colGone: make([]bool, cols),
		liveRows: rows, liveCols: cols,
		mip: opt.MIP, skip: opt.Skip,
		feas: max(opt.Feasibility, leastFeasibility),
		act:  make([]activity, rows), actValid: make([]bool, rows),
		rowQueue: newQueue(rows), colQueue: newQueue(cols),
		tightened: make([]uint8, cols),
		place:     filled(cols, none),
		verdict:   Verdict{Row: -1, Col: -1},
	}
	if opt.Feasibility == 0 {
		s.feas = DefaultFeasibility
	}
	if opt.MIP {
		copy(s.whole, m.Integer)
	}
	if m.Maximize {
		s.offset = -s.offset
		for j := range s.cost {
			s.cost[j] = -s.cost[j]
		}
	}
	s.load(m)
	s.work = workFactor * int64(rows+cols+s.count+100)
	return s
}

// tamed copies bounds with everything of magnitude InfiniteFrom or more made infinite.
func tamed(b []float64) []float64 {
	t := append([]float64(nil), b...)
	for i, v := range t {
		if math.Abs(v) >= model.InfiniteFrom {
			t[i] = math.Copysign(inf, v)
		}
	}
	return t
}

// queueAll checks that the bounds do not cross and queues everything.
func (s *state) queueAll() {
	for i := range s.rlo {
		s.settleRow(int32(i))
		s.rowQueue.push(int32(i))
	}
	for j := range s.lower {
		s.setBounds(int32(j), s.lower[j], s.upper[j])
		s.colQueue.push(int32(j))
	}
}

// settleRow makes a row's bounds meet if they cross within the tolerance.
func (s *state) settleRow(i int32) {
	lo, up := s.rlo[i], s.rup[i]
	if lo <= up && lo < inf && up > -inf {
		return
	}
	if !(lo-up <= s.feas*scale(lo, up)) {
		s.infeasible(i, -1, "the row's bounds exclude each other")
		return
	}
	s.rlo[i], s.rup[i] = (lo+up)/2, (lo+up)/2
}

func (s *state) infeasible(i, j int32, reason string) {
	s.verdict = Verdict{Infeasible, model.Row(i), model.Var(j), reason}
}

func (s *state) unbounded(j int32, reason string) {
	s.verdict = Verdict{Unbounded, -1, model.Var(j), reason}
}

// equality says whether row i has a single right-hand side.
func (s *state) equality(i int32) bool { return s.rlo[i] == s.rup[i] }

// touchRow notes that row i has changed.
func (s *state) touchRow(i int32) {
	s.actValid[i] = false
	s.rowQueue.push(i)
}

// touchRowColumns queues the columns of row i, whose locks may have changed.
func (s *state) touchRowColumns(i int32) {
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		s.colQueue.push(s.ent[e].col)
	}
}

// setBounds gives column j new bounds, rounded inwards for a whole number. If they cross within
// the tolerance they are made equal, otherwise the program is infeasible.
func (s *state) setBounds(j int32, lo, up float64) {
	if s.whole[j] {
		lo, up = math.Ceil(lo-roundTol), math.Floor(up+roundTol)
	}
	if lo > up || lo == inf || up == -inf {
		if !(lo-up <= s.feas*scale(lo, up)) {
			s.infeasible(-1, j, "the column's bounds exclude each other")
			return
		}
		lo = up
	}
	if lo == s.lower[j] && up == s.upper[j] {
		return
	}
	s.lower[j], s.upper[j] = lo, up
	s.colQueue.push(j)
	for e := s.colHead[j]; e != none; e = s.ent[e].colNext {
		s.touchRow(s.ent[e].row)
	}
}

// dropRow removes row i and its entries.
func (s *state) dropRow(i int32) {
	for e := s.rowHead[i]; e != none; {
		next := s.ent[e].rowNext
		s.colQueue.push(s.ent[e].col)
		s.remove(e)
		e = next
	}
	s.rowGone[i] = true
	s.liveRows--
}

// dropColumn removes column j and its entries.
func (s *state) dropColumn(j int32) {
	for e := s.colHead[j]; e != none; {
		next := s.ent[e].colNext
		s.touchRow(s.ent[e].row)
		s.remove(e)
		e = next
	}
	s.colGone[j] = true
	s.liveCols--
}

// shiftRow adds v to both sides of row i.
func (s *state) shiftRow(i int32, v float64) {
	if v == 0 {
		return
	}
	equal := s.equality(i)
	s.rlo[i], s.rup[i] = plus(s.rlo[i], v), plus(s.rup[i], v)
	if equal {
		s.rup[i] = s.rlo[i]
	}
	s.touchRow(i)
}

// rowTerms copies row i without column skip.
func (s *state) rowTerms(i, skip int32) []term {
	t := s.arena.take(s.rowLen[i])
	s.work -= int64(s.rowLen[i])
	for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
		if s.ent[e].col != skip {
			t = append(t, term{s.ent[e].col, s.ent[e].val})
		}
	}
	return t
}

// colTerms copies column j without row skip.
func (s *state) colTerms(j, skip int32) []term {
	t := s.arena.take(s.colLen[j])
	s.work -= int64(s.colLen[j])
	for e := s.colHead[j]; e != none; e = s.ent[e].colNext {
		if s.ent[e].row != skip {
			t = append(t, term{s.ent[e].row, s.ent[e].val})
		}
	}
	return t
}

// took records a step of the given rule.
func (s *state) took(r Rule, st step) {
	s.counts[r]++
	if st != nil {
		s.steps = append(s.steps, st)
	}
}

// queue holds indices first in, first out, each at most once at a time.
type queue struct {
	in   []bool
	item []int32
	head int
}

func newQueue(n int) queue { return queue{in: make([]bool, n), item: make([]int32, 0, n)} }

func (q *queue) push(i int32) {
	if !q.in[i] {
		q.in[i] = true
		q.item = append(q.item, i)
	}
}

func (q *queue) pop() (int32, bool) {
	if q.head == len(q.item) {
		q.item, q.head = q.item[:0], 0
		return 0, false
	}
	i := q.item[q.head]
	q.head++
	if q.head > 4096 && 2*q.head > len(q.item) {
		q.item = q.item[:copy(q.item, q.item[q.head:])]
		q.head = 0
	}
	q.in[i] = false
	return i, true
}
