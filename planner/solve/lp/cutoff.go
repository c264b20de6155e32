package lp

import (
	"math"

	"feedline/planner/solve"
)

// startBound computes the dual objective from d and x.
func (s *Solver) startBound() {
	s.zTest = math.Inf(1)
	if !s.lim.HasObjective {
		return
	}
	s.z = 0
	for v, x := range s.x {
		if s.where[v] < 0 && x != 0 {
			s.z += s.d[v] * x
		}
	}
	s.zTest = s.lim.Objective - s.offsetMin()
}

func (s *Solver) offsetMin() float64 {
	if s.maximize {
		return -s.offset
	}
	return s.offset
}

// passedLimit tells whether the true costs prove that the objective limit is passed.
func (s *Solver) passedLimit() bool {
	if s.z < s.zTest {
		return false
	}
	limit := s.lim.Objective - s.offsetMin()
	z := s.trueBound()
	if z >= limit {
		s.why = solve.ObjectiveLimit
		return true
	}
	s.zTest = s.z + math.Max(limit-z, 1e-6*(1+math.Abs(limit)))
	return false
}

// trueBound is the bound that the current basis proves on the objective with the true costs; −∞ if none.
func (s *Solver) trueBound() float64 {
	y := s.flipCol
	y.Clear()
	for p, v := range s.head {
		if c := s.c[v]; c != 0 {
			y.Set(int32(p), c)
		}
	}
	s.f.Btran(y, nil, 1)
	z := 0.0
	for v := range s.where {
		if s.where[v] >= 0 {
			continue
		}
		d := s.c[v]
		if v < s.n {
			idx, val := s.a.Line(v)
			for k, i := range idx {
				d -= val[k] * y.Val[i]
			}
		} else {
			d -= y.Val[v-s.n]
		}
		at := s.lo[v]
		if d < 0 {
			at = s.hi[v]
		}
		if math.IsInf(at, 0) {
			if math.Abs(d) > 1e-9 {
				y.Clear()
				return math.Inf(-1)
			}
			continue
		}
		z += d * at
	}
	y.Clear()
	s.work += int64(len(s.a.Idx))
	return z
}
