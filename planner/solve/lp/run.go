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
	roundBudget = 24
	// iterationFactor bounds the iterations of one run of a method: this times rows + columns, and iterationFloor.
	iterationFactor = 40
	iterationFloor  = 20_000
	// quickRun is the number of iterations up to which a run's updated values are trusted if they satisfy A·x + s = 0.
	quickRun = 50
	// residualTol is the violation of a scaled row equation that counts as rounding.
	residualTol = 1e-9
	// rowRounding is the same in relation to the magnitudes in the row.
	rowRounding = 1e-12
	// stallAfter is the number of iterations of a warm run after which costs are perturbed.
	stallAfter = 300
	// settleFrom is the round from which variables stay on the sides where the dual method has left them.
	settleFrom = 2
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

// endless tells that a run of a method that began at iteration start has taken too many to be making progress.
func (s *Solver) endless(start int64) bool {
	return s.iterations-start > iterationFactor*int64(s.m+s.n)+iterationFloor
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
	s.settled, s.ended, s.cleaned = false, false, false
	last := endLost
	for round := 0; round < roundBudget; round++ {
		if s.stopNow() {
			return s.why
		}
		bad := 0
		if !quick {
			// Costs perturbed or shifted are true again. Putting boxed variables on the side that these ask for makes others infeasible,
			// the dual method shifts costs again, and so on: from some round on they stay, and the primal method ends it.
			s.keepSides = last == endOptimal && round >= settleFrom
			bad = s.restart()
			s.keepSides = false
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
		s.cleaned, last = true, e
		quick = e == endOptimal && infeasible && !s.shifted && s.iterations-s.startIter <= quickRun && s.balancedBasis()
		s.ended = e == endOptimal && infeasible && s.shifted
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

// escalate prepares another round after numerical trouble: stricter pivots, later a new start.
func (s *Solver) escalate(round int) {
	s.f.Threshold = math.Min(lu.ThresholdMax, s.f.Threshold*2)
	s.stale = true
	if round >= roundBudget/2 {
		s.slackBasis()
		s.warm = false
	}
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

// stalling perturbs the costs of a warm run that turns out to be long, in its first round alone; it tells whether it did.
func (s *Solver) stalling() bool {
	if s.perturbed || s.cleaned || s.iterations-s.startIter < stallAfter {
		return false
	}
	s.perturb()
	return true
}
