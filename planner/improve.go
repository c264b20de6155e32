package planner

import (
	"context"
	"math"
	"sync"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/mip"
)

// Fix-and-optimize: of a plan in hand all whole numbers are held but those of a neighbourhood, and the small model that is left
// is solved by branch and cut. Two neighbourhoods of a kind, far apart, are tried at a time from the same plan. If both bring
// something their changes are put together; where that is worse than the better of them alone, that one is taken and the other tried
// again later. The course does not depend on the number of workers.
//
// On the demonstration plant this went from 1.521 to 1.470 million in 45 seconds, where mip.FixAndOptimize, which derives its small
// models from one relaxation of the whole, came to 1.513: the reduced models are a tenth of the whole, and so is each step's work.
const (
	tryWork    = 150_000_000 // work units for a neighbourhood on the first pass; doubled on each further one: a second or so
	tryGap     = 5e-4        // a neighbourhood is settled at this gap
	tryAtATime = 2
)

// attempt is a neighbourhood with what is known of it.
type attempt struct {
	free    []model.Var
	settled int // improvements made when it was last solved to its gap without one; -1 for never
}

// improve works on s.best until a pass over the neighbourhoods brings nothing, or until the given share of the limits is spent.
func (s *searching) improve(ctx context.Context, until float64) {
	var list []*attempt
	for _, kind := range s.f.neighbourhoods() {
		half := (len(kind) + 1) / 2
		for i := range half {
			list = append(list, &attempt{kind[i], -1})
			if i+half < len(kind) {
				list = append(list, &attempt{kind[i+half], -1})
			}
		}
	}
	steps := 0
	for work := int64(tryWork); ; work *= 2 {
		before, tried := steps, false
		for queue := list; len(queue) > 0; {
			var now []*attempt
			for len(queue) > 0 && len(now) < tryAtATime {
				if queue[0].settled != steps {
					now = append(now, queue[0])
				}
				queue = queue[1:]
			}
			if s.done(ctx) || s.spentShare() >= until {
				return
			}
			tried = tried || len(now) > 0
			if again := s.try(ctx, now, work, until, &steps); again != nil {
				queue = append(queue[:len(queue):len(queue)], again)
			}
		}
		if !tried || steps == before && work > 8*tryWork {
			return
		}
	}
}

// try solves neighbourhoods side by side from the plan in hand and takes the best result. It returns one that had a better
// plan as well and was not taken, to be tried again.
func (s *searching) try(ctx context.Context, now []*attempt, work int64, until float64, steps *int) *attempt {
	results := make([]solve.Result, len(now))
	workers := s.f.opt.Workers
	var group sync.WaitGroup
	for i, a := range now {
		solveOne := func() { results[i] = s.solveAround(ctx, a.free, work, until) }
		if workers == 1 {
			solveOne()
			continue
		}
		group.Go(solveOne)
	}
	group.Wait()
	best, better := -1, 0
	for i, r := range results {
		s.spent += r.Work
		s.best.Nodes += r.Nodes
		s.best.Iterations += r.Iterations
		if !r.Has || r.Objective >= s.best.Objective-1e-9*math.Abs(s.best.Objective) {
			if r.Stop == solve.Optimal || r.Stop == solve.GapReached {
				now[i].settled = *steps
			}
			continue
		}
		better++
		if best < 0 || r.Objective < results[best].Objective {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	s.best.X, s.best.Objective = results[best].X, results[best].Objective
	*steps++
	var again *attempt
	if better > 1 && !s.combine(ctx, now[best], results[1-best].X, now[1-best]) {
		again = now[1-best]
	}
	s.report("better plan")
	return again
}

// combine adds to the plan in hand, found by freeing one, what other's plan x decides otherwise. False if that is no better.
func (s *searching) combine(ctx context.Context, one *attempt, x []float64, other *attempt) bool {
	own := map[model.Var]bool{}
	for _, v := range one.free {
		own[v] = true
	}
	both := append([]float64(nil), s.best.X...)
	for _, v := range other.free {
		if !own[v] {
			both[v] = x[v]
		}
	}
	r := s.f.holding(ctx, both)
	s.spent += r.Work
	if !r.Has || r.Objective >= s.best.Objective {
		return false
	}
	s.best.X, s.best.Objective = r.X, r.Objective
	return true
}

// solveAround solves the model with all whole numbers but those of free held at the plan in hand.
func (s *searching) solveAround(ctx context.Context, free []model.Var, work int64, until float64) solve.Result {
	m := s.f.m.Clone()
	open := make([]bool, m.NumVars())
	for _, v := range free {
		open[v] = true
	}
	for j, whole := range m.Integer {
		if whole && !open[j] {
			m.Lower[j] = math.Round(s.best.X[j])
			m.Upper[j] = m.Lower[j]
		}
	}
	o := s.options("better plan", until, s.best.X)
	o.Work = work
	o.Gap, o.Workers, o.Progress = tryGap, 1, nil
	return mip.Solve(ctx, m, o)
}
