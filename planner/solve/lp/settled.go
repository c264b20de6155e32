package lp

import "math"

// applyChanges takes bounds changed since the last run into a settled state; it tells whether the state is still
// dual feasible. If not, or if many bounds changed, everything is to be computed anew.
func (s *Solver) applyChanges() bool {
	if s.stale || len(s.dirty) > s.m/4+10 {
		return false
	}
	f := s.flipCol
	f.Clear()
	for _, v := range s.dirty {
		s.wl[v], s.wu[v] = s.lo[v], s.hi[v]
		if p := s.where[v]; p >= 0 {
			s.lb[p], s.ub[p] = s.lo[v], s.hi[v]
			s.violation(p)
			continue
		}
		from := s.x[v]
		s.place(int(v), s.lo[v], s.hi[v])
		if !s.onRightSide(v) {
			f.Clear()
			return false
		}
		if dx := s.x[v] - from; dx != 0 {
			s.addColumn(v, dx)
		}
	}
	s.dirty = s.dirty[:0]
	s.moveByFlip()
	return true
}

// onRightSide puts nonbasic v on the bound that d_v asks for; false if that is infinite.
func (s *Solver) onRightSide(v int32) bool {
	d, mv := s.d[v], s.move[v]
	switch {
	case mv == up && d < -s.dtol:
		s.move[v], s.x[v] = down, s.wu[v]
	case mv == down && d > s.dtol:
		s.move[v], s.x[v] = up, s.wl[v]
	case mv == either && (d > s.dtol || d < -s.dtol):
		return false
	}
	return !math.IsInf(s.x[v], 0)
}

// restart takes the true bounds and costs and computes everything; it returns the number of dual infeasibilities.
func (s *Solver) restart() int {
	s.dirty = s.dirty[:0]
	s.trueBounds()
	s.trueCosts()
	s.clock.begin = s.Work()
	if s.stale || s.f.Updates() > refactorMax {
		s.refactor()
	}
	bad := s.recompute()
	if s.f.Updates() > 0 && !s.balancedBasis() {
		s.refactor()
		bad = s.recompute()
	}
	if s.f.Updates() == 0 {
		s.rebuilt()
	}
	return bad
}

// recompute computes duals and primals. Boxed variables go to the bound that their d asks for; but where the dual method ended with
// costs shifted and others have a wrong d as well, all stay where they are: the basis violates no bound and is the primal
// method's. Moved, they would be the dual method's again, which would have to shift costs again, and so on.
func (s *Solver) recompute() int {
	s.computeDuals(s.wc)
	if s.ended && s.stuckDuals() > 0 {
		s.computePrimals()
		if !s.primalInfeasible() {
			return 1
		}
	}
	bad := s.fixDuals()
	s.computePrimals()
	return bad
}

// balancedBasis tells whether A·x + s = 0 holds for the current values, within rounding.
func (s *Solver) balancedBasis() bool {
	r := s.flipCol
	r.Clear()
	for j := 0; j < s.n; j++ {
		x := s.value(j)
		if x == 0 {
			continue
		}
		idx, val := s.a.Line(j)
		for t, i := range idx {
			r.Val[i] += val[t] * x
		}
		s.work += int64(len(idx))
	}
	ok := true
	for i, t := range r.Val {
		if t += s.value(s.n + i); t > residualTol || t < -residualTol {
			ok = ok && math.Abs(t) <= rowRounding*s.rowSize(i)
		}
	}
	r.N = -1
	r.Clear()
	return ok
}

// rowSize is the sum of the magnitudes of row i's terms.
func (s *Solver) rowSize(i int) float64 {
	idx, val := s.rows.Line(i)
	t := math.Abs(s.value(s.n + i))
	for k, j := range idx {
		t += math.Abs(val[k] * s.value(int(j)))
	}
	return t
}

func (s *Solver) value(v int) float64 {
	if p := s.where[v]; p >= 0 {
		return s.xb[p]
	}
	return s.x[v]
}

// valid tells whether all numbers are numbers and costs finite.
func (s *Solver) valid() bool {
	sum := 0.0
	for v, c := range s.c {
		sum += 0 * c // NaN unless c is finite
		if s.lo[v] != s.lo[v] || s.hi[v] != s.hi[v] {
			return false
		}
	}
	for _, a := range s.a.Val {
		sum += 0 * a
	}
	return sum == 0
}

// tighten looks for violations that scaling hides and tightens the scaled tolerances if there are any and that is still
// possible; it tells whether it did.
func (s *Solver) tighten() bool {
	p, d := s.worst()
	did := false
	if p > modelTol && s.ptol > tightest {
		s.ptol, did = math.Max(tightest, s.ptol*0.5*modelTol/p), true
	}
	if d > modelTol && s.dtol > tightest {
		s.dtol, did = math.Max(tightest, s.dtol*0.5*modelTol/d), true
	}
	return did
}

// worst is the largest violation of a bound and of a reduced cost's sign, in the model's units.
func (s *Solver) worst() (primal, dual float64) {
	for p, v := range s.head {
		x := s.xb[p]
		if t := math.Max(s.lb[p]-x, x-s.ub[p]); t > 0 {
			u := math.Abs(s.unit(int(v)))
			primal = math.Max(primal, t*u/math.Max(1, math.Abs(x)*u))
		}
	}
	for v, mv := range s.move {
		d := s.d[v]
		switch {
		case mv == stay || mv == up && d >= 0 || mv == down && d <= 0:
			continue
		}
		u := math.Abs(s.unit(v))
		dual = math.Max(dual, math.Abs(d)/math.Max(u, math.Abs(s.c[v])))
	}
	s.work += int64(s.m+s.n) / 8
	return primal, dual
}
