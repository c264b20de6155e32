package lp

import "math"

const (
	// primalPivot is the smallest |alpha| that may become a pivot of the primal method.
	primalPivot = 1e-9
	// keepWeights is the number of primal iterations for which the dual weights are carried along.
	keepWeights = 500
	// idleSteps is the number of primal steps of no length in a row after which bounds are loosened.
	idleSteps = 300
	// loosening is the size of that in relation to the bound.
	loosening = 1e-6
)

// primal runs the primal simplex method on the true costs and bounds from a basis that violates no bound.
func (s *Solver) primal() ending {
	s.startPricing()
	start, trouble := s.iterations, 0
	for {
		if s.stopNow() {
			return endStopped
		}
		s.clock.begin = s.Work()
		if s.stale || s.f.Updates() > 0 {
			s.refactor()
			s.computePrimals()
			if s.primalInfeasible() {
				return endLost
			}
		}
		s.computeDuals(s.wc)
		s.forgetColumns()
		s.rebuilt()
		e := s.primalIterations(start, &trouble)
		switch {
		case e == endStopped || trouble > troubleBudget || s.endless(start):
			if e != endStopped {
				e = endTrouble
			}
			return e
		case e == endOptimal || e == endUnbounded:
			if s.f.Updates() == 0 {
				return e
			}
		}
	}
}

// loosen moves the bounds of basic variables outwards by small random amounts, so that steps get lengths again.
// The next restart takes the true bounds, and the dual method what then violates them.
func (s *Solver) loosen() {
	s.loose = true
	for _, v := range s.head {
		s.wl[v] -= loosening * (0.5 + s.random()) * math.Max(1, math.Abs(s.wl[v]))
		s.wu[v] += loosening * (0.5 + s.random()) * math.Max(1, math.Abs(s.wu[v]))
	}
	s.stale = true
}

// primalIterations iterates until the factors should be renewed or the method ends.
func (s *Solver) primalIterations(start int64, trouble *int) ending {
	for {
		if s.stopNow() {
			return endStopped
		}
		q := s.chooseColumn()
		if q < 0 {
			return endOptimal
		}
		s.ftranAq(q)
		if s.f.Updates() > 0 && !s.columnConfirmed(q) {
			*trouble++
			return endLost
		}
		dir := 1.0
		if s.d[q] > 0 {
			dir = -1
		}
		r, step, toLower := s.primalRatio(q, dir)
		if math.IsInf(step, 1) {
			if s.f.Updates() > 0 {
				return endLost
			}
			if s.direction(q, dir) {
				return endUnbounded
			}
			*trouble++
			s.prices.weight[q] = math.Inf(1) // out of the choice
			continue
		}
		s.iterations++
		if s.idle++; step > 0 {
			s.idle = 0
		}
		if s.idle >= idleSteps && !s.loose {
			s.loosen()
			return endLost
		}
		if r < 0 {
			s.primalFlip(q, dir*step)
			continue
		}
		if !s.primalStep(r, q, dir*step, toLower, s.iterations-start <= keepWeights) {
			*trouble++
			return endLost
		}
		if s.needsRefactor() {
			return endLost
		}
	}
}

// columnConfirmed tells whether d_q, computed anew from α_q, still improves.
func (s *Solver) columnConfirmed(q int32) bool {
	d := s.wc[q]
	for _, p := range s.aq.Idx[:s.aq.N] {
		d -= s.aq.Val[p] * s.wc[s.head[p]]
	}
	return math.Abs(d-s.d[q]) <= 1e-6*(1+math.Abs(d)) && d*s.d[q] > 0
}

// primalRatio finds how far q can move in direction dir and which position blocks (-1: its own other bound).
func (s *Solver) primalRatio(q int32, dir float64) (r int32, step float64, toLower bool) {
	limit := math.Inf(1)
	for _, p := range s.aq.Idx[:s.aq.N] {
		rate := dir * s.aq.Val[p]
		switch {
		case rate > primalPivot:
			if t := s.xb[p] - s.lb[p] + s.ptol; t < limit*rate {
				limit = math.Max(t, 0) / rate
			}
		case rate < -primalPivot:
			if t := s.ub[p] - s.xb[p] + s.ptol; t < -limit*rate {
				limit = -math.Max(t, 0) / rate
			}
		}
	}
	if span := s.wu[q] - s.wl[q]; span <= limit {
		return -1, span, false
	}
	if math.IsInf(limit, 1) {
		return -1, limit, false
	}
	r, big := -1, 0.0
	for _, p := range s.aq.Idx[:s.aq.N] {
		rate := dir * s.aq.Val[p]
		switch {
		case rate > primalPivot && rate > big:
			if t := s.xb[p] - s.lb[p]; t <= limit*rate {
				r, big, step, toLower = p, rate, t/rate, true
			}
		case rate < -primalPivot && -rate > big:
			if t := s.ub[p] - s.xb[p]; t <= -limit*rate {
				r, big, step, toLower = p, -rate, -t/rate, false
			}
		}
	}
	s.work += int64(2 * s.aq.N)
	return r, math.Max(step, 0), toLower
}

// primalFlip moves q to its other bound.
func (s *Solver) primalFlip(q int32, by float64) {
	s.moveBasics(by)
	if by > 0 {
		s.move[q], s.x[q] = down, s.wu[q]
	} else {
		s.move[q], s.x[q] = up, s.wl[q]
	}
}

// primalStep makes q basic in position r after moving it by step.
func (s *Solver) primalStep(r, q int32, step float64, toLower, weights bool) bool {
	alpha := s.aq.Val[r]
	s.btranRho(r)
	s.priceRow()
	byRow := s.alphaRow.Val[q]
	if math.Abs(byRow-alpha) > 1e-6*(1+math.Abs(alpha)) && s.f.Updates() > 0 {
		return false
	}
	s.primalDuals(r, q, alpha)
	s.moveBasics(step)
	if weights {
		s.w[r] = math.Max(s.rho.Norm2(), weightFloor)
		s.updateWeights(r, alpha)
	} else {
		s.w[r] = 1
	}
	s.f.Update(r, s.spike, s.save, alpha)
	out := s.head[r]
	s.exchange(r, q, s.x[q]+step, toLower)
	s.noteColumn(out)
	return true
}
