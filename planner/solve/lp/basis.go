package lp

import "math"

// slackBasis makes all logical variables basic.
func (s *Solver) slackBasis() {
	for j := 0; j < s.n; j++ {
		s.where[j] = -1
		s.rest(j)
	}
	for i := range s.head {
		s.head[i] = int32(s.n + i)
		s.where[s.n+i] = int32(i)
		s.move[s.n+i] = stay
		s.w[i] = 1
	}
	s.stale = true
}

// rest puts nonbasic variable v where its true bounds and its last place allow: it keeps the side that it is
// on if that side is finite.
func (s *Solver) rest(v int) {
	s.place(v, s.lo[v], s.hi[v])
}

// place puts nonbasic variable v on a bound of [lo, hi], keeping its side if it can.
func (s *Solver) place(v int, lo, hi float64) {
	loInf, hiInf := math.IsInf(lo, -1), math.IsInf(hi, 1)
	switch {
	case lo == hi:
		s.move[v], s.x[v] = stay, lo
	case loInf && hiInf:
		s.move[v], s.x[v] = either, 0
	case hiInf || !loInf && s.onLower(v, lo, hi):
		s.move[v], s.x[v] = up, lo
	default:
		s.move[v], s.x[v] = down, hi
	}
}

// onLower tells whether v, boxed, belongs on its lower bound: by its last side if it had one, else by its cost's
// sign, else by magnitude.
func (s *Solver) onLower(v int, lo, hi float64) bool {
	switch {
	case s.move[v] == up:
		return true
	case s.move[v] == down:
		return false
	case s.c[v] != 0:
		return s.c[v] > 0
	}
	return math.Abs(lo) <= math.Abs(hi)
}

// Basis returns the current basis.
func (s *Solver) Basis() Basis {
	b := Basis{Cols: make([]Status, s.n), Rows: make([]Status, s.m)}
	for j := range b.Cols {
		b.Cols[j] = s.status(j)
	}
	for i := range b.Rows {
		switch t := s.status(s.n + i); t {
		case AtLower:
			b.Rows[i] = AtUpper // the logical variable is the negated activity
		case AtUpper:
			b.Rows[i] = AtLower
		default:
			b.Rows[i] = t
		}
	}
	return b
}

func (s *Solver) status(v int) Status {
	switch {
	case s.where[v] >= 0:
		return Basic
	case s.move[v] == down:
		return AtUpper
	case s.move[v] == either:
		return Free
	case s.move[v] == stay && s.d[v] < 0:
		return AtUpper // fixed: the side that its reduced cost speaks of
	}
	return AtLower
}

// SetBasis makes b the current basis. A basis of the wrong size, with too many or too few basic
// variables or with dependent columns is repaired with logical variables. Factors are kept if the basic variables
// are those of the current basis, and steepest edge weights of variables that stay basic in any case.
func (s *Solver) SetBasis(b Basis) {
	s.haveOut, s.settled = false, false
	same := s.sameBasic(b)
	n := 0
	if same {
		n = s.m
	} else {
		for p, v := range s.head {
			s.oldW[v], s.where[v] = s.w[p], wasBasic
		}
	}
	for v := range s.where {
		t := s.statusIn(b, v)
		switch {
		case t == Basic && same:
			continue
		case t == Basic && n < s.m:
			s.makeHead(v, n)
			n++
			continue
		case t == AtUpper:
			s.move[v] = down
		case t == AtLower:
			s.move[v] = up
		default:
			s.move[v] = stay
		}
		s.rest(v)
	}
	for v := s.n; v < s.n+s.m && n < s.m; v++ {
		if s.where[v] != placed {
			s.makeHead(v, n)
			n++
		}
	}
	if !same {
		s.numberHead()
	}
}

// Marks in where while a new basis is put together.
const (
	wasBasic int32 = -2 // basic in the old basis
	placed   int32 = -3 // basic in the new one
)

// makeHead makes v basic in position p of a basis being put together.
func (s *Solver) makeHead(v, p int) {
	if s.where[v] != wasBasic {
		s.oldW[v] = 1
	}
	s.head[p], s.where[v], s.move[v] = int32(v), placed, stay
}

// numberHead finishes a basis put together.
func (s *Solver) numberHead() {
	for v := range s.where {
		s.where[v] = -1
	}
	for p, v := range s.head {
		s.where[v] = int32(p)
		s.w[p] = s.oldW[v]
	}
	s.stale = true
}

// sameBasic tells whether b has the basic variables of the current basis.
func (s *Solver) sameBasic(b Basis) bool {
	for v, p := range s.where {
		if (p >= 0) != (s.statusIn(b, v) == Basic) {
			return false
		}
	}
	return true
}

// statusIn is variable v's status in b, in terms of the logical variable for rows.
func (s *Solver) statusIn(b Basis, v int) Status {
	if v < s.n {
		if v < len(b.Cols) {
			return b.Cols[v]
		}
		return AtLower
	}
	i := v - s.n
	if i >= len(b.Rows) {
		return Basic
	}
	switch t := b.Rows[i]; t {
	case AtLower:
		return AtUpper
	case AtUpper:
		return AtLower
	default:
		return t
	}
}

// refactor factorises the basis anew, carries the weights along and repairs a singular basis.
func (s *Solver) refactor() {
	for p, v := range s.head {
		s.oldW[v] = s.w[p]
	}
	s.f.Factor(&s.a, s.n, s.head)
	for _, sw := range s.f.Swaps {
		s.oldW[s.n+int(sw.Row)] = 1
		s.where[sw.Out] = -1
		s.move[sw.Out] = stay
		s.move[s.n+int(sw.Row)] = stay
		s.place(int(sw.Out), s.wl[sw.Out], s.wu[sw.Out])
	}
	for p, v := range s.head {
		s.where[v] = int32(p)
		s.w[p] = s.oldW[v]
		s.lb[p], s.ub[p] = s.wl[v], s.wu[v]
	}
	s.stale = false
}

// BasicVar names the variable basic in position i, 0 ≤ i < number of rows.
func (s *Solver) BasicVar(i int) (isRow bool, index int) {
	v := int(s.head[i])
	if v >= s.n {
		return true, v - s.n
	}
	return false, v
}

// TableauRow computes row i of B⁻¹[A I], i a basis position, in the model's units: cols (len NumVars) and rows
// (len NumRows) with
//
//	Σ cols[j]·x_j = Σ rows[k]·r_k   for all x, r = A·x the row activities.
//
// The basic variable's entry is 1 (for a basic row: rows[k] = 1). rows is the combination of rows that gives cols.
func (s *Solver) TableauRow(i int, cols, rows []float64) {
	s.ready()
	s.rho.Clear()
	s.rho.Set(int32(i), 1)
	s.f.Btran(s.rho, nil, s.dens.rho)
	u := s.unit(int(s.head[i]))
	if u < 0 {
		u = -u
	}
	clear(cols[:s.n])
	clear(rows[:s.m])
	for _, k := range s.rho.Idx[:s.rho.N] {
		v := s.rho.Val[k]
		rows[k] = u * v * s.rowScale[k]
		idx, val := s.rows.Line(int(k))
		for t, j := range idx {
			cols[j] += u * v * val[t] / s.colScale[j]
		}
	}
}

// ready makes sure that the factors belong to the basis.
func (s *Solver) ready() {
	if !s.stale {
		return
	}
	copy(s.wl, s.lo)
	copy(s.wu, s.hi)
	s.refactor()
}
