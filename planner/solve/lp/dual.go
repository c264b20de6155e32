package lp

import "math"

// ending says how a run of one method ended.
type ending int8

const (
	endOptimal    ending = iota // nothing violated (dual), nothing to gain (primal)
	endInfeasible               // no entering variable for a violated row
	endUnbounded                // no leaving variable for an improving column
	endStopped                  // a limit or the context; s.why says which
	endTrouble                  // the arithmetic cannot be trusted
	endLost                     // the method's own feasibility got lost
)

const (
	// weightTrust is the part of the true weight that an updated one may not fall below without another choice.
	weightTrust = 0.25
	// pivotAgree is the relative difference tolerated between a pivot computed by column and by row.
	pivotAgree = 1e-7
	// troubleBudget is how many suspicious pivots one run may meet before it gives up.
	troubleBudget = 50
	// shortCut is the part of the best price from which a position is on the short list.
	shortCut = 0.6
	// pollEvery is the work between looks at the clock and the context: about a millisecond.
	pollEvery = 500_000
)

// dual runs the dual simplex method on the working costs and bounds, from a basis with dual feasible d.
func (s *Solver) dual() ending {
	trouble, start := 0, s.iterations
	for {
		if s.fresh {
			s.tried = s.tried[:0]
			s.startBound()
			s.clock.last = s.Work()
		} else if e, done := s.dualRebuild(); done {
			return e
		}
		s.fresh = false
		e := s.dualIterations(&trouble)
		switch {
		case e == endLost && (trouble > troubleBudget || s.endless(start)):
			return endTrouble
		case e != endLost:
			return e
		}
	}
}

// dualRebuild refactorises if there were updates and recomputes everything that is updated.
func (s *Solver) dualRebuild() (ending, bool) {
	if s.stopNow() {
		return endStopped, true
	}
	s.clock.begin = s.Work()
	if s.stale || s.f.Updates() > 0 {
		s.refactor()
	}
	s.tried = s.tried[:0]
	s.computeDuals(s.wc)
	if s.fixDuals() > 0 {
		s.shiftDuals()
	}
	s.computePrimals()
	s.rebuilt()
	s.startBound()
	if s.passedLimit() {
		return endStopped, true
	}
	return 0, false
}

// dualIterations iterates until the factors should be renewed or the method ends.
func (s *Solver) dualIterations(trouble *int) ending {
	for {
		if s.stopNow() {
			return endStopped
		}
		r := s.chooseRow()
		if r < 0 {
			switch {
			case len(s.tried) == 0:
				return endOptimal
			case s.f.Updates() > 0:
				return endLost
			}
			return endTrouble
		}
		var delta float64
		if s.xb[r] < s.lb[r] {
			delta = s.xb[r] - s.lb[r]
		} else {
			delta = s.xb[r] - s.ub[r]
		}
		s.priceRow()
		q := s.ratioTest(delta)
		if q < 0 {
			if s.f.Updates() > 0 {
				return endLost // decide from fresh factors
			}
			if s.farkas(r, delta) {
				return endInfeasible
			}
			s.setAside(r)
			*trouble++
			continue
		}
		s.ftranAq(q)
		if !s.pivotsAgree(r, q) {
			*trouble++
			if s.f.Updates() > 0 {
				return endLost
			}
			s.f.Threshold = math.Min(0.7, s.f.Threshold*2)
			if math.Abs(s.aq.Val[r]) < 1e-7 || *trouble > troubleBudget {
				s.setAside(r)
				continue
			}
		}
		s.dualStep(r, q, delta)
		if s.passedLimit() {
			return endStopped
		}
		if s.needsRefactor() || s.stalling() {
			return endLost
		}
	}
}

// setAside keeps position r out of the choice until the next rebuild.
func (s *Solver) setAside(r int32) {
	s.tried = append(s.tried, r)
	s.inf[r] = 0
}

// chooseRow returns the position with the largest violation² / weight and computes its ρ, or -1.
func (s *Solver) chooseRow() int32 {
	for {
		r := s.scanRows()
		if r < 0 {
			return -1
		}
		s.btranRho(r)
		true2 := s.rho.Norm2()
		held := s.w[r]
		s.w[r] = math.Max(true2, weightFloor)
		if held >= weightTrust*true2 {
			return r
		}
	}
}

// scanRows returns the position with the largest violation² / weight, or -1. Positions that reached shortCut of the
// best at the last full scan, or since, are on the short list; while it has a member the best is there.
func (s *Solver) scanRows() int32 {
	for {
		best, top := int32(-1), 0.0
		n := 0
		for _, p := range s.short {
			t := s.inf[p] / s.w[p]
			if t <= s.cut {
				s.inShort[p] = false
				continue
			}
			s.short[n] = p
			n++
			if t > top {
				best, top = p, t
			}
		}
		s.work += int64(len(s.short))
		s.short = s.short[:n]
		if best >= 0 || !s.fillShort() {
			return best
		}
	}
}

// fillShort makes a new short list from all violated positions; it tells whether there are any.
func (s *Solver) fillShort() bool {
	top := 0.0
	n := 0
	for _, p := range s.cand {
		if s.inf[p] == 0 {
			s.inCand[p] = false
			continue
		}
		s.cand[n] = p
		n++
		top = math.Max(top, s.inf[p]/s.w[p])
	}
	s.work += int64(2 * len(s.cand))
	s.cand = s.cand[:n]
	s.cut = shortCut * top
	for _, p := range s.cand {
		if s.inf[p] > s.cut*s.w[p] {
			s.short = append(s.short, p)
			s.inShort[p] = true
		}
	}
	return n > 0
}

func (s *Solver) pivotsAgree(r, q int32) bool {
	byCol, byRow := s.aq.Val[r], s.alphaRow.Val[q]
	return math.Abs(byCol-byRow) <= pivotAgree*(1+math.Abs(byCol)) && math.Abs(byCol) > 1e-11
}

// dualStep makes q basic in position r.
func (s *Solver) dualStep(r, q int32, delta float64) {
	alpha := s.aq.Val[r]
	if dq, mv := s.d[q], s.move[q]; mv == up && dq < 0 || mv == down && dq > 0 {
		s.wc[q] -= dq // Harris' tolerance let d go past zero
		s.z -= dq * s.x[q]
		s.d[q] = 0
		s.shifted = true
	}
	s.flipBounds()
	theta := s.d[q] / alpha
	s.updateDuals(theta)
	s.d[q] = 0
	out := s.head[r]
	s.d[out] = -theta
	s.updateWeights(r, alpha)

	toLower := delta < 0
	if toLower {
		delta = s.xb[r] - s.lb[r]
	} else {
		delta = s.xb[r] - s.ub[r]
	}
	s.z += theta * delta
	step := delta / alpha
	s.moveBasics(step)
	s.f.Update(r, s.spike, s.save, alpha)
	s.exchange(r, q, s.x[q]+step, toLower)
	s.iterations++
}

// updateDuals subtracts θ times the pivot row from d.
func (s *Solver) updateDuals(theta float64) {
	if theta == 0 {
		return
	}
	d, val := s.d, s.alphaRow.Val
	for _, j := range s.alphaRow.Idx[:s.alphaRow.N] {
		d[j] -= theta * val[j]
	}
}

// flipBounds moves the variables that the ratio test passed to their other bounds.
func (s *Solver) flipBounds() {
	if len(s.flips) == 0 {
		return
	}
	f := s.flipCol
	f.Clear()
	for _, j := range s.flips {
		from := s.x[j]
		if s.move[j] == up {
			s.move[j], s.x[j] = down, s.wu[j]
		} else {
			s.move[j], s.x[j] = up, s.wl[j]
		}
		dx := s.x[j] - from
		s.z += s.d[j] * dx
		s.addColumn(j, dx)
	}
	s.moveByFlip()
}

// addColumn adds dx times column v to flipCol.
func (s *Solver) addColumn(v int32, dx float64) {
	if v >= int32(s.n) {
		s.addTo(v-int32(s.n), dx)
		return
	}
	idx, val := s.a.Line(int(v))
	for t, i := range idx {
		s.addTo(i, val[t]*dx)
	}
	s.work += int64(len(idx))
}

// moveByFlip changes the basic values by the column sum collected in flipCol.
func (s *Solver) moveByFlip() {
	f := s.flipCol
	if f.N == 0 {
		return
	}
	s.f.Ftran(f, nil, s.dens.flip)
	smooth(&s.dens.flip, float64(f.N)/float64(s.m))
	for _, p := range f.Idx[:f.N] {
		s.xb[p] -= f.Val[p]
		s.violation(p)
	}
	f.Clear()
}

func (s *Solver) addTo(i int32, v float64) {
	f := s.flipCol
	if f.Val[i] == 0 {
		f.Idx[f.N] = i
		f.N++
	}
	f.Val[i] += v
	if f.Val[i] == 0 {
		f.Val[i] = 1e-50
	}
}

// moveBasics lets the entering variable move by step.
func (s *Solver) moveBasics(step float64) {
	val := s.aq.Val
	for _, p := range s.aq.Idx[:s.aq.N] {
		s.xb[p] -= step * val[p]
		s.violation(p)
	}
}

// updateWeights computes the steepest edge weights after the exchange in position r; w[r] is exact before.
func (s *Solver) updateWeights(r int32, alpha float64) {
	t := s.tau
	t.Copy(s.rho)
	s.f.Ftran(t, nil, s.dens.tau)
	smooth(&s.dens.tau, float64(t.N)/float64(s.m))
	wr := s.w[r]
	val, tau, w := s.aq.Val, t.Val, s.w
	for _, p := range s.aq.Idx[:s.aq.N] {
		k := val[p] / alpha
		n := w[p] + k*(k*wr-2*tau[p])
		if n < weightFloor {
			n = weightFloor
		}
		w[p] = n
	}
	w[r] = math.Max(wr/(alpha*alpha), weightFloor)
}

// exchange records that q is basic in position r with value x, and where the leaving variable rests.
func (s *Solver) exchange(r, q int32, x float64, toLower bool) {
	out := s.head[r]
	s.where[out] = -1
	lo, hi := s.wl[out], s.wu[out]
	switch {
	case lo == hi:
		s.move[out], s.x[out] = stay, lo
	case toLower:
		s.move[out], s.x[out] = up, lo
	default:
		s.move[out], s.x[out] = down, hi
	}
	s.head[r], s.where[q] = q, r
	s.move[q] = stay
	s.xb[r], s.lb[r], s.ub[r] = x, s.wl[q], s.wu[q]
	s.violation(r)
}
