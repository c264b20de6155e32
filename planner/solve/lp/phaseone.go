package lp

import "math"

// phaseOne looks for a dual feasible basis by the dual method on an artificially boxed problem.
func (s *Solver) phaseOne() ending {
	lim := s.lim
	s.lim.HasObjective = false
	for v := range s.wl {
		s.wl[v], s.wu[v] = artificialBox(s.lo[v], s.hi[v])
	}
	for p, v := range s.head {
		s.lb[p], s.ub[p] = s.wl[v], s.wu[v]
	}
	for v, p := range s.where {
		if p < 0 {
			s.place(v, s.wl[v], s.wu[v])
		}
	}
	e := s.dual()
	s.lim = lim
	s.trueBoundsFromBox()
	return e
}

func artificialBox(lo, hi float64) (float64, float64) {
	loInf, hiInf := math.IsInf(lo, -1), math.IsInf(hi, 1)
	switch {
	case loInf && hiInf:
		return -1000, 1000
	case hiInf:
		return 0, 1
	case loInf:
		return -1, 0
	}
	return 0, 0
}

// trueBoundsFromBox returns to the true bounds; boxed variables go where their d belongs.
func (s *Solver) trueBoundsFromBox() {
	for v, p := range s.where {
		if p < 0 && s.move[v] == stay {
			s.move[v] = up
			if s.d[v] < 0 {
				s.move[v] = down
			}
		}
	}
	s.trueBounds()
}
