package lp

import (
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/internal/sparse"
)

// Extract is a part of a Solver's program: some rows and some columns of it, scaled as they are there. The other rows do not limit, the other
// columns count as 0. Where few rows bind and few columns move, as when one program is solved for many right-hand sides, a
// Solver of the part does most of the steps for a fraction of their cost; Whole takes its basis back, and one of the
// whole program decides. Safe for concurrent use once made.
type Extract struct {
	whole          *Solver
	rows           []model.Row
	cols           []model.Var
	rowTo, colTo   []int32 // number in the part of each row and column; -1 for those left out
	a              sparse.Matrix
	m, n           int // of the whole
	partM, partN   int
	rowScale, cost []float64
	colScale       []float64
}

// Extract makes the part of the given rows and columns, in ascending order. It copies the coefficients and costs of now. Bounds of
// the columns left out must contain 0. Cost: the entries of the columns.
func (s *Solver) Extract(rows []model.Row, cols []model.Var) *Extract {
	x := &Extract{whole: s, rows: rows, cols: cols, rowTo: absent(s.m), colTo: absent(s.n), m: s.m, n: s.n, partM: len(rows), partN: len(cols)}
	x.rowScale, x.colScale, x.cost = make([]float64, len(rows)), make([]float64, len(cols)), make([]float64, len(cols))
	for i, r := range rows {
		x.rowTo[r], x.rowScale[i] = int32(i), s.rowScale[r]
	}
	x.a.Beg = append(x.a.Beg, 0)
	for j, c := range cols {
		x.colTo[c], x.colScale[j], x.cost[j] = int32(j), s.colScale[c], s.c[c]
		idx, val := s.a.Line(int(c))
		for t, i := range idx {
			if to := x.rowTo[i]; to >= 0 {
				x.a.Idx, x.a.Val = append(x.a.Idx, to), append(x.a.Val, val[t])
			}
		}
		x.a.Beg = append(x.a.Beg, int32(len(x.a.Idx)))
	}
	return x
}

func absent(n int) []int32 {
	list := make([]int32, n)
	for i := range list {
		list[i] = -1
	}
	return list
}

// Row is the number in the part of row r of the whole; false if it is left out.
func (x *Extract) Row(r model.Row) (model.Row, bool) { return model.Row(x.rowTo[r]), x.rowTo[r] >= 0 }

// Col is the number in the part of column j of the whole; false if it is left out.
func (x *Extract) Col(j model.Var) (model.Var, bool) { return model.Var(x.colTo[j]), x.colTo[j] >= 0 }

// Solver makes a Solver of the part with the whole's bounds as they were when the part was made.
func (x *Extract) Solver(opts solve.Options) *Solver {
	w := x.whole
	s := &Solver{opts: opts, maximize: w.maximize, offset: w.offset, m: x.partM, n: x.partN, a: x.a.Clone(), rowScale: x.rowScale, colScale: x.colScale}
	s.ptol, s.dtol = primalTol, dualTol
	s.c, s.lo, s.hi = make([]float64, s.n+s.m), make([]float64, s.n+s.m), make([]float64, s.n+s.m)
	copy(s.c, x.cost)
	for j, c := range x.cols {
		s.lo[j], s.hi[j] = w.lo[c], w.hi[c]
	}
	for i, r := range x.rows {
		s.lo[s.n+i], s.hi[s.n+i] = w.lo[w.n+int(r)], w.hi[w.n+int(r)]
	}
	for v := range s.lo {
		s.crossed += crossing(s.lo[v], s.hi[v])
	}
	s.rows = s.a.Transpose(s.m)
	s.allocate()
	s.slackBasis()
	return s
}

// Part is p, a place of the whole, in the part; false if a row left out binds there, or a column left out does not rest at its lower bound.
func (x *Extract) Part(p Place) (Place, bool) {
	q := Place{make([]int32, 0, x.partM), make([]int8, x.partN+x.partM), make([]float64, 0, x.partM)}
	outside := 0
	for i, v := range p.head {
		to := int32(-1)
		if int(v) < x.n {
			if to = x.colTo[v]; to < 0 {
				return Place{}, false
			}
		} else if to = x.rowTo[int(v)-x.n]; to < 0 {
			outside++
			continue
		} else {
			to += int32(x.partN)
		}
		q.head, q.w = append(q.head, to), append(q.w, p.w[i])
	}
	for v, mv := range p.move {
		switch {
		case v >= x.n:
			if to := x.rowTo[v-x.n]; to >= 0 {
				q.move[x.partN+int(to)] = mv
			}
		case x.colTo[v] >= 0:
			q.move[x.colTo[v]] = mv
		case mv == down || mv == either:
			return Place{}, false
		}
	}
	return q, outside == x.m-x.partM
}

// Whole is p, a place of the part, in the whole: rows left out do not bind, columns left out rest at their lower bound. The steepest
// edge weights of the part's rows are exact there too; those of the others are taken for 1, the least that they can be.
func (x *Extract) Whole(p Place) Place {
	q := Place{make([]int32, 0, x.m), make([]int8, x.n+x.m), make([]float64, 0, x.m)}
	for v := range q.move {
		if v < x.n && x.colTo[v] < 0 {
			q.move[v] = up
		}
	}
	for j, c := range x.cols {
		q.move[c] = p.move[j]
	}
	for i, r := range x.rows {
		q.move[x.n+int(r)] = p.move[x.partN+i]
	}
	for i, v := range p.head {
		if int(v) < x.partN {
			v = int32(x.cols[v])
		} else {
			v = int32(x.n) + int32(x.rows[int(v)-x.partN])
		}
		q.head, q.w = append(q.head, v), append(q.w, p.w[i])
	}
	for r, to := range x.rowTo {
		if to < 0 {
			q.head, q.w = append(q.head, int32(x.n+r)), append(q.w, 1)
		}
	}
	return q
}

// Adopt makes s, a Solver of the whole program, stand where part does, a Solver of x that has ended Optimal, and tells whether that is known to be an
// optimum of s's program as it is now: no row left out is violated, and no column left out would gain by leaving 0. Then X, Y, D and
// Objective are as after Solve, without factors having been made. Else Solve goes on from there. Cost: the entries of the program.
func (s *Solver) Adopt(x *Extract, part *Solver) bool {
	part.outputs()
	s.Return(x.Whole(part.Place()))
	clear(s.outX)
	clear(s.outY)
	for j, c := range x.cols {
		s.outX[c], s.outD[c] = part.outX[j], part.outD[j]
	}
	for i, r := range x.rows {
		s.outY[r] = part.outY[i]
	}
	s.work += int64(len(s.a.Idx) + s.n + s.m)
	if !s.rowsHold(x) || !s.columnsRest(x, part) {
		return false
	}
	s.objective, s.haveOut = part.objective, true
	return true
}

// rowsHold tells whether outX, of part of the columns, satisfies the rows left out.
func (s *Solver) rowsHold(x *Extract) bool {
	for i, to := range x.rowTo {
		if to >= 0 {
			continue
		}
		v, act := s.n+i, 0.0
		idx, val := s.rows.Line(i)
		for t, j := range idx {
			act -= val[t] * (s.outX[j] / s.colScale[j])
		}
		over := max(s.lo[v]-act, act-s.hi[v])
		if u := math.Abs(s.unit(v)); over > s.ptol || over*u > modelTol*max(1, math.Abs(act)*u) {
			return false
		}
	}
	return true
}

// columnsRest computes the reduced costs of the columns left out, and tells whether they may rest at 0, their lower bound.
func (s *Solver) columnsRest(x *Extract, part *Solver) bool {
	sign := 1.0
	if s.maximize {
		sign = -1
	}
	for j, to := range x.colTo {
		if to >= 0 {
			continue
		}
		d := s.c[j]
		idx, val := s.a.Line(j)
		for t, i := range idx {
			if r := x.rowTo[i]; r >= 0 {
				d += val[t] * part.d[part.n+int(r)] // a row's dual is minus its logical variable's reduced cost
			}
		}
		u := s.unit(j)
		if s.lo[j] != 0 || s.hi[j] > 0 && (d < -s.dtol || -d > modelTol*max(u, math.Abs(s.c[j]))) {
			return false
		}
		s.outD[j] = sign * d / s.colScale[j]
	}
	return true
}
