package lp

import (
	"math"
	"slices"

	"feedline/planner/model"
	"feedline/planner/solve/internal/lu"
	"feedline/planner/solve/internal/sparse"
)

// AddRows appends rows; their logical variables become basic, so that a dual feasible basis stays so. Terms
// on the same variable are added up. Cost: all nonzeros of the problem.
func (s *Solver) AddRows(cuts []Cut) {
	if len(cuts) == 0 {
		return
	}
	old := s.m
	for _, c := range cuts {
		s.appendRow(c)
	}
	s.a = s.rows.Transpose(s.n)
	s.m = len(s.rowScale)
	s.resize(old)
	for i, c := range cuts {
		v := s.n + old + i
		s.setBounds(v, c.Lower, c.Upper)
		s.head[old+i], s.where[v] = int32(v), int32(old+i)
		s.move[v], s.w[old+i] = stay, 1
	}
	s.stale, s.haveOut, s.settled = true, false, false
}

// appendRow adds c's scaled coefficients to the row-wise copy.
func (s *Solver) appendRow(c Cut) {
	terms := c.merged()
	lo, hi := math.Inf(1), 0.0
	for _, t := range terms {
		v := math.Abs(t.Coef * s.colScale[t.Var])
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	r := 1.0
	if hi > 0 {
		r = nearPower(1 / math.Sqrt(lo*hi))
	}
	for _, t := range terms {
		s.rows.Idx = append(s.rows.Idx, int32(t.Var))
		s.rows.Val = append(s.rows.Val, t.Coef*s.colScale[t.Var]*r)
	}
	s.rows.Beg = append(s.rows.Beg, int32(len(s.rows.Idx)))
	s.rowScale = append(s.rowScale, r)
}

// merged is c's terms by ascending variable, those on the same variable added up, negligible ones dropped.
func (c *Cut) merged() []model.Term {
	terms := make([]model.Term, len(c.Vars))
	for k, j := range c.Vars {
		terms[k] = model.Term{Var: j, Coef: c.Coefs[k]}
	}
	slices.SortStableFunc(terms, func(a, b model.Term) int { return int(a.Var) - int(b.Var) })
	n := 0
	for _, t := range terms {
		if n > 0 && terms[n-1].Var == t.Var {
			terms[n-1].Coef += t.Coef
			continue
		}
		terms[n] = t
		n++
	}
	return slices.DeleteFunc(terms[:n], func(t model.Term) bool { return math.Abs(t.Coef) < smallCoef })
}

// resize gives everything that depends on the number of rows its new length, keeping the first keep rows.
func (s *Solver) resize(keep int) {
	m, t := s.m, s.n+s.m
	for _, v := range []*[]float64{&s.c, &s.lo, &s.hi, &s.wc, &s.wl, &s.wu, &s.x, &s.d, &s.oldW} {
		*v = fitted(*v, t, s.n+keep)
	}
	for _, v := range []*[]float64{&s.xb, &s.lb, &s.ub, &s.w, &s.inf, &s.outY, &s.activity} {
		*v = fitted(*v, m, keep)
	}
	s.move = fitted(s.move, t, s.n+keep)
	s.where = fitted(s.where, t, s.n+keep)
	s.head = fitted(s.head, m, keep)
	s.inCand, s.cand = make([]bool, m), make([]int32, 0, m)
	s.inShort, s.short = make([]bool, m), make([]int32, 0, m)
	s.f = s.freshFactor()
	for _, v := range []**sparse.Vec{&s.rho, &s.save, &s.aq, &s.spike, &s.tau, &s.flipCol} {
		*v = sparse.NewVec(m)
	}
	s.alphaRow = sparse.NewVec(t)
	s.stale = true
}

// freshFactor is an empty factor that goes on counting work.
func (s *Solver) freshFactor() *lu.Factor {
	f := lu.New(s.m)
	f.Work = s.f.Work
	return f
}

// fitted is v with length n; its first keep entries are kept, others zero.
func fitted[T any](v []T, n, keep int) []T {
	if n <= cap(v) {
		w := v[:n]
		clear(w[min(keep, n):])
		return w
	}
	w := make([]T, n, n+n/4)
	copy(w, v[:keep])
	return w
}

// DeleteRows removes rows; the remaining ones keep their order. The logical variable of a removed row is made basic
// first if it is not, so that the rest stays a basis. Cost: all nonzeros, and a column solve for each row that was
// not basic.
func (s *Solver) DeleteRows(rows []model.Row) {
	if len(rows) == 0 {
		return
	}
	gone := make([]bool, s.m)
	for _, r := range rows {
		gone[r] = true
	}
	for i, g := range gone {
		if g && s.where[s.n+i] < 0 {
			s.makeBasic(int32(s.n+i), gone)
		}
	}
	s.dropRows(gone)
}

// makeBasic exchanges the logical variable v with a basic variable that is not the logical of a row to go.
func (s *Solver) makeBasic(v int32, gone []bool) {
	s.ready()
	if s.where[v] >= 0 {
		return // the repair of a singular basis did it
	}
	s.ftranAq(v)
	r, big := int32(-1), 0.0
	for _, p := range s.aq.Idx[:s.aq.N] {
		if h := int(s.head[p]) - s.n; h >= 0 && gone[h] {
			continue
		}
		if a := math.Abs(s.aq.Val[p]); a > big {
			r, big = p, a
		}
	}
	if r < 0 {
		panic("lp: an identity column depends on others of the identity")
	}
	s.btranRho(r)
	s.f.Update(r, s.spike, s.save, s.aq.Val[r])
	out := s.head[r]
	s.where[out], s.head[r], s.where[v] = -1, v, r
	s.move[v], s.move[out] = stay, stay
	s.rest(int(out))
	s.w[r] = 1
	if s.f.Updates() > refactorMax || big < 1e-5 {
		s.stale = true
	}
}

// dropRows removes rows whose logical variables are all basic.
func (s *Solver) dropRows(gone []bool) {
	n := s.n
	k := 0
	rows := sparse.Matrix{Beg: []int32{0}}
	to := make([]int32, s.m) // new index of each row
	for i, g := range gone {
		to[i] = -1
		if v := n + i; g {
			s.crossed -= crossing(s.lo[v], s.hi[v])
			continue
		}
		to[i] = int32(k)
		idx, val := s.rows.Line(i)
		rows.Idx, rows.Val = append(rows.Idx, idx...), append(rows.Val, val...)
		rows.Beg = append(rows.Beg, int32(len(rows.Idx)))
		for _, f := range [][]float64{s.c, s.lo, s.hi, s.wc, s.x, s.d} {
			f[n+k] = f[n+i]
		}
		s.move[n+k], s.rowScale[k] = s.move[n+i], s.rowScale[i]
		k++
	}
	s.rows, s.a = rows, rows.Transpose(n)
	s.rowScale = s.rowScale[:k]
	s.renumber(to, k)
}

// renumber takes the rows' new indices into the basis.
func (s *Solver) renumber(to []int32, m int) {
	for v := range s.where {
		s.where[v] = -1
	}
	k := 0
	for p, v := range s.head {
		if v >= int32(s.n) {
			i := to[v-int32(s.n)]
			if i < 0 {
				continue
			}
			v = int32(s.n) + i
		}
		s.head[k], s.w[k] = v, s.w[p]
		s.where[v] = int32(k)
		k++
	}
	s.m = m
	s.resize(m)
	s.haveOut, s.settled = false, false
	s.dirty = s.dirty[:0]
}

// Clone returns an independent copy with the same basis, for a second worker or a dive.
func (s *Solver) Clone() *Solver {
	c := *s
	c.a, c.rows = s.a.Clone(), s.rows.Clone()
	c.allocate()
	for _, v := range [][2][]float64{{c.wc, s.wc}, {c.wl, s.wl}, {c.wu, s.wu}, {c.x, s.x}, {c.d, s.d}, {c.w, s.w},
		{c.xb, s.xb}, {c.lb, s.lb}, {c.ub, s.ub}, {c.outX, s.outX}, {c.outY, s.outY}, {c.outD, s.outD},
		{c.activity, s.activity}} {
		copy(v[0], v[1])
	}
	copy(c.move, s.move)
	copy(c.head, s.head)
	copy(c.where, s.where)
	c.colScale, c.rowScale = slices.Clone(s.colScale), slices.Clone(s.rowScale)
	c.c, c.lo, c.hi = slices.Clone(s.c), slices.Clone(s.lo), slices.Clone(s.hi)
	c.ray = slices.Clone(s.ray)
	c.f.Work = s.f.Work
	c.groups, c.flips, c.tried, c.prices = nil, nil, nil, columnPrices{}
	c.dirty = nil
	c.stale, c.settled = true, false
	return &c
}
