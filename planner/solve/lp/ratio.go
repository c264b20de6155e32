package lp

import "math"

// pivotFloor is the smallest |alpha| that may become a pivot, by the number of updates the factors carry.
func (s *Solver) pivotFloor() float64 {
	switch u := s.f.Updates(); {
	case u < 10:
		return 1e-9
	case u < 20:
		return 3e-8
	}
	return 1e-6
}

// ratioTest chooses the entering variable for a leaving position violated by delta (negative: below its
// lower bound) from the pivot row in alphaRow, and lists in flips the boxed variables to be put on their
// other bound. It returns -1 if no variable can enter.
//
// In terms of ã_j = |α_j| for those whose d shrinks and d̃_j = |d_j|: the dual objective rises with slope |delta|
// until the first breakpoint d̃/ã; passing breakpoint j costs slope ã_j·(hi_j − lo_j). Breakpoints are taken in
// groups, each of those within Harris' bound min (d̃+tol)/ã of the rest, while the slope stays positive;
// the pivot is the largest ã of the last group, or of an earlier one if that is too small.
func (s *Solver) ratioTest(delta float64) int32 {
	s.flips = s.flips[:0]
	s.collect(delta)
	if len(s.cj) == 0 {
		return -1
	}
	n := s.nearest(math.Abs(delta))
	s.group(n, math.Abs(delta))
	return s.pickPivot()
}

// collect lists the candidates: nonbasic variables whose d moves towards zero.
func (s *Solver) collect(delta float64) {
	sign := 1.0
	if delta < 0 {
		sign = -1
	}
	floor := s.pivotFloor()
	cj, ca := s.cj[:0], s.ca[:0]
	val := s.alphaRow.Val
	for _, j := range s.alphaRow.Idx[:s.alphaRow.N] {
		a := sign * val[j]
		switch s.move[j] {
		case down:
			a = -a
		case either:
			a = math.Abs(a)
		case stay:
			continue
		}
		if a > floor {
			cj = append(cj, j)
			ca = append(ca, a)
		}
	}
	s.cj, s.ca = cj, ca
	s.work += int64(s.alphaRow.N)
}

// dist is d̃_j, the distance of d_j from zero on its right side (negative by a tolerance at most).
func (s *Solver) dist(j int32) float64 {
	switch s.move[j] {
	case up:
		return s.d[j]
	case down:
		return -s.d[j]
	}
	return 0
}

// nearest moves to the front the candidates up to a step at which the slope is used up, and returns how many.
func (s *Solver) nearest(slope float64) int {
	cj, ca := s.cj, s.ca
	first := math.Inf(1)
	for k, j := range cj {
		if t := (s.dist(j) + s.dtol) / ca[k]; t < first {
			first = t
		}
	}
	n := 0
	for theta := 10*math.Max(first, 0) + 1e-7; ; theta *= 10 {
		for k := n; k < len(cj); k++ {
			j := cj[k]
			if s.dist(j) <= theta*ca[k] {
				slope -= ca[k] * (s.wu[j] - s.wl[j])
				cj[n], cj[k] = cj[k], cj[n]
				ca[n], ca[k] = ca[k], ca[n]
				n++
			}
		}
		if slope < 0 || n == len(cj) {
			return n
		}
	}
}

// group orders the first n candidates into groups by Harris' bound; groups holds their ends.
func (s *Solver) group(n int, slope float64) {
	cj, ca := s.cj, s.ca
	s.groups = s.groups[:0]
	for done := 0; done < n; {
		bound := math.Inf(1)
		for k := done; k < n; k++ {
			if t := s.dist(cj[k]) + s.dtol; t < bound*ca[k] {
				bound = t / ca[k]
			}
		}
		from := done
		for k := done; k < n; k++ {
			j := cj[k]
			if s.dist(j) <= bound*ca[k] {
				slope -= ca[k] * (s.wu[j] - s.wl[j])
				cj[done], cj[k] = cj[k], cj[done]
				ca[done], ca[k] = ca[k], ca[done]
				done++
			}
		}
		s.work += int64(n - from)
		if done == from {
			return
		}
		s.groups = append(s.groups, int32(done))
		if slope < 0 {
			return
		}
	}
}

// pickPivot takes the largest pivot of the last group that has one of a good size, and lists the flips.
func (s *Solver) pickPivot() int32 {
	if len(s.groups) == 0 {
		return -1
	}
	all := 0.0
	for _, a := range s.ca[:s.groups[len(s.groups)-1]] {
		all = math.Max(all, a)
	}
	need := math.Min(0.1*all, 1)
	for g := len(s.groups) - 1; g >= 0; g-- {
		from := int32(0)
		if g > 0 {
			from = s.groups[g-1]
		}
		best := int32(-1)
		big := 0.0
		for k := from; k < s.groups[g]; k++ {
			if s.ca[k] > big {
				big, best = s.ca[k], k
			}
		}
		if big >= need {
			s.flips = append(s.flips, s.cj[:from]...)
			return s.cj[best]
		}
	}
	return -1
}
