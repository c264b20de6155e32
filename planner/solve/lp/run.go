package lp

import (
	"context"
	"math"
	"time"

	"feedline/planner/solve"
	"feedline/planner/solve/internal/lu"
)

const (
	// roundBudget is how often one call may go from one method to the other before it gives up.
	roundBudget = 12
	// quickRun is the number of iterations up to which a run's updated values are trusted if they satisfy A·x + s = 0.
	quickRun = 50
	// residualTol is the violation of a scaled row equation that counts as rounding.
	residualTol = 1e-9
	// rowRounding is the same in relation to the magnitudes in the row.
	rowRounding = 1e-12
	// stallAfter is the number of iterations of a warm run after which costs are perturbed.
	stallAfter = 300
)

// Solve optimises from the current basis: the dual method, then the primal one for what is left. The solver stays
// valid whatever the reason to stop.
func (s *Solver) Solve(ctx context.Context, lim Limits) solve.Stop {
	s.begin(ctx, lim)
	s.stop = s.run()
	s.finish()
	return s.stop
}

func (s *Solver) begin(ctx context.Context, lim Limits) {
	s.ctx, s.lim = ctx, lim
	s.startIter, s.startWork = s.iterations, s.Work()
	s.pollAt = 0
	s.deadline = time.Time{}
	if s.opts.Time > 0 {
		s.deadline = time.Now().Add(s.opts.Time)
	}
	s.why = solve.NotRun
	s.haveOut, s.ray = false, nil
	s.rng = s.opts.Seed
	s.f.Threshold = lu.ThresholdStart
}

// stopNow tells whether a limit is reached, and sets s.why.
func (s *Solver) stopNow() bool {
	if s.lim.Iterations > 0 && s.iterations-s.startIter >= s.lim.Iterations {
		s.why = solve.WorkLimit
		return true
	}
	w := s.Work()
	if s.lim.Work > 0 && w-s.startWork >= s.lim.Work || s.opts.Work > 0 && w-s.startWork >= s.opts.Work {
		s.why = solve.WorkLimit
		return true
	}
	if w < s.pollAt {
		return false
	}
	s.pollAt = w + pollEvery
	if s.progress != nil {
		s.progress(s.iterations - s.startIter)
	}
	if s.ctx.Err() != nil {
		s.why = solve.Cancelled
		return true
	}
	if !s.deadline.IsZero() && time.Now().After(s.deadline) {
		s.why = solve.TimeLimit
		return true
	}
	return false
}

// run alternates between the methods until a verdict holds or the budget is spent.
func (s *Solver) run() solve.Stop {
	if s.crossed > 0 {
		s.ray = make([]float64, s.m) // no combination of rows is needed
		return solve.Infeasible
	}
	if !s.settled && !s.valid() {
		return solve.Numerical
	}
	s.warm = !s.atSlack()
	quick := s.settled && s.applyChanges()
	s.settled = false
	for round := 0; round < roundBudget; round++ {
		if s.stopNow() {
			return s.why
		}
		bad := 0
		if !quick {
			bad = s.restart()
		}
		infeasible := s.primalInfeasible()
		if bad == 0 && !infeasible {
			if s.tighten() {
				quick = false
				continue
			}
			s.settled = true
			return solve.Optimal
		}
		s.fresh = bad == 0
		var e ending
		if infeasible {
			e = s.runDual(round, bad)
		} else {
			e = s.primal()
		}
		quick = e == endOptimal && infeasible && !s.shifted && s.iterations-s.startIter <= quickRun && s.balancedBasis()
		switch e {
		case endInfeasible:
			s.settled = !s.shifted
			return solve.Infeasible
		case endUnbounded:
			return solve.Unbounded
		case endStopped:
			s.settled = s.why == solve.ObjectiveLimit && !s.shifted
			return s.why
		case endTrouble:
			s.escalate(round)
		}
	}
	return solve.Numerical
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

// escalate prepares another round after numerical trouble: stricter pivots, later a new start.
func (s *Solver) escalate(round int) {
	s.f.Threshold = math.Min(lu.ThresholdMax, s.f.Threshold*2)
	s.stale = true
	if round >= roundBudget/2 {
		s.slackBasis()
		s.warm = false
	}
}

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

func (s *Solver) recompute() int {
	s.computeDuals(s.wc)
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

func (s *Solver) atSlack() bool {
	for _, v := range s.head {
		if int(v) < s.n {
			return false
		}
	}
	return true
}

// runDual runs the dual method, through its first phase if d has bad infeasibilities.
func (s *Solver) runDual(round, bad int) ending {
	if !s.warm && round == 0 || round == 3 || round == 6 {
		s.perturb()
		s.fresh = false
	}
	if bad > 0 && round == 0 {
		if e := s.phaseOne(); e == endStopped {
			return e
		}
		s.fresh = false
	}
	return s.dual()
}

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

// stalling perturbs the costs of a warm run that turns out to be long; it tells whether it did.
func (s *Solver) stalling() bool {
	if s.shifted || s.iterations-s.startIter < stallAfter {
		return false
	}
	s.perturb()
	return true
}

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
