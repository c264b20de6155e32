package lp

import "math"

const (
	// refactorMax and refactorRows bound the number of updates that one factorisation carries: the one plus the
	// number of rows divided by the other.
	refactorMax  = 100
	refactorRows = 10
	// refactorMin is the number of updates before the cost of iterations is judged.
	refactorMin = 20
	// rebuildWeight is what a work unit of a rebuild costs in units of an iteration's.
	rebuildWeight = 3
)

// clock judges when fresh factors pay: as long as the average cost of an iteration, the rebuild before it
// included, goes down, they don't.
type clock struct {
	begin   int64   // work at the start of the rebuild
	rebuild float64 // cost of the rebuild
	last    int64   // work at the last look
	sum     float64 // cost of the iterations since
	recent  float64 // smoothed cost of one iteration
}

// rebuilt starts the clock after a rebuild that began when Work was c.begin.
func (s *Solver) rebuilt() {
	now := s.Work()
	s.clock = clock{rebuild: rebuildWeight * float64(now-s.clock.begin), last: now}
}

// needsRefactor is asked once an iteration and tells whether it is time for fresh factors.
func (s *Solver) needsRefactor() bool {
	k := s.f.Updates()
	if k == 0 {
		return false
	}
	now := s.Work()
	cost := float64(now - s.clock.last)
	s.clock.last = now
	s.clock.sum += cost
	if s.clock.recent == 0 {
		s.clock.recent = cost
	}
	s.clock.recent += 0.1 * (cost - s.clock.recent)
	if k >= refactorMax+s.m/refactorRows {
		return true
	}
	return k >= refactorMin && s.clock.recent*float64(k) > s.clock.rebuild+s.clock.sum
}

// computeDuals computes y from the working costs and d for all nonbasic variables, y left in s.tau.
func (s *Solver) computeDuals(cost []float64) {
	y := s.tau
	y.Clear()
	for p, v := range s.head {
		if c := cost[v]; c != 0 {
			y.Set(int32(p), c)
		}
	}
	s.f.Btran(y, nil, 1)
	for j := 0; j < s.n; j++ {
		if s.where[j] >= 0 {
			s.d[j] = 0
			continue
		}
		idx, val := s.a.Line(j)
		t := cost[j]
		for k, i := range idx {
			t -= val[k] * y.Val[i]
		}
		s.d[j] = t
	}
	for i := 0; i < s.m; i++ {
		if v := s.n + i; s.where[v] >= 0 {
			s.d[v] = 0
		} else {
			s.d[v] = cost[v] - y.Val[i]
		}
	}
	s.work += int64(len(s.a.Idx) + s.m)
}

// computePrimals computes the values of the basic variables and their violations.
func (s *Solver) computePrimals() {
	r := s.flipCol
	r.Clear()
	for j := 0; j < s.n; j++ {
		if x := s.x[j]; s.where[j] < 0 && x != 0 {
			idx, val := s.a.Line(j)
			for k, i := range idx {
				r.Val[i] -= val[k] * x
			}
			s.work += int64(len(idx))
		}
	}
	for i := 0; i < s.m; i++ {
		if v := s.n + i; s.where[v] < 0 {
			r.Val[i] -= s.x[v]
		}
	}
	r.N = -1
	r.Pack(0)
	s.f.Ftran(r, nil, 1)
	copy(s.xb, r.Val)
	r.Clear()
	s.work += int64(s.n + s.m)
	s.listViolations()
}

// listViolations finds the violation of every position from scratch.
func (s *Solver) listViolations() {
	for _, p := range s.cand {
		s.inCand[p] = false
	}
	for _, p := range s.short {
		s.inShort[p] = false
	}
	s.cand, s.short, s.cut = s.cand[:0], s.short[:0], math.Inf(1)
	clear(s.inf)
	for p := range s.xb {
		s.violation(int32(p))
	}
}

// violation brings inf[p] up to date.
func (s *Solver) violation(p int32) {
	x := s.xb[p]
	t := s.lb[p] - x
	if u := x - s.ub[p]; u > t {
		t = u
	}
	if t <= s.ptol {
		s.inf[p] = 0
		return
	}
	s.inf[p] = t * t
	if !s.inCand[p] {
		s.inCand[p] = true
		s.cand = append(s.cand, p)
	}
	if t*t > s.cut*s.w[p] && !s.inShort[p] {
		s.inShort[p] = true
		s.short = append(s.short, p)
	}
}

// primalInfeasible tells whether a basic variable violates a bound.
func (s *Solver) primalInfeasible() bool {
	for _, p := range s.cand {
		if s.inf[p] > 0 {
			return true
		}
	}
	return false
}

// setBoundsOf makes the working bounds the true ones and puts nonbasic variables on them.
func (s *Solver) trueBounds() {
	copy(s.wl, s.lo)
	copy(s.wu, s.hi)
	for p, v := range s.head {
		s.lb[p], s.ub[p] = s.wl[v], s.wu[v]
	}
	for v, p := range s.where {
		if p < 0 {
			s.place(v, s.wl[v], s.wu[v])
		}
	}
}

// fixDuals makes d dual feasible where that is free: boxed variables on the wrong bound change it, unless keepSides says
// no. It returns how many other nonbasic variables have a wrong-signed d. The basic values must be computed afterwards.
func (s *Solver) fixDuals() int {
	bad := 0
	for v, mv := range s.move {
		d := s.d[v]
		switch mv {
		case stay:
			continue
		case up:
			if d >= -s.dtol {
				continue
			}
			if u := s.wu[v]; !s.keepSides && !math.IsInf(u, 1) {
				s.move[v], s.x[v] = down, u
				continue
			}
		case down:
			if d <= s.dtol {
				continue
			}
			if l := s.wl[v]; !s.keepSides && !math.IsInf(l, -1) {
				s.move[v], s.x[v] = up, l
				continue
			}
		case either:
			if d >= -s.dtol && d <= s.dtol {
				continue
			}
		}
		bad++
	}
	return bad
}

// stuckDuals counts nonbasic variables with a wrong-signed d that no other bound makes right.
func (s *Solver) stuckDuals() int {
	n := 0
	for v, mv := range s.move {
		switch d := s.d[v]; {
		case mv == up && d < -s.dtol && math.IsInf(s.wu[v], 1),
			mv == down && d > s.dtol && math.IsInf(s.wl[v], -1),
			mv == either && (d < -s.dtol || d > s.dtol):
			n++
		}
	}
	return n
}

// shiftDuals makes d dual feasible by changing working costs; to be called after fixDuals.
func (s *Solver) shiftDuals() {
	for v, mv := range s.move {
		d := s.d[v]
		if mv == up && d < 0 || mv == down && d > 0 || mv == either && d != 0 {
			if mv != either && d >= -s.dtol && d <= s.dtol {
				continue
			}
			s.wc[v] -= d
			s.d[v] = 0
			s.shifted = true
		}
	}
}
