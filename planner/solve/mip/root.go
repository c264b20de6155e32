package mip

import (
	"context"
	"math"

	"feedline/planner/solve/lp"
)

// Limits of cutting at the root.
const (
	maxCutRounds   = 60
	stallRounds    = 6    // rounds in a row of little gain that end it
	stallGain      = 2e-3 // little: this share of the gain so far, and …
	stallRelative  = 1e-5 // … this relative to the bound
	slackRounds    = 4    // rounds of slackness after which a cut leaves
	cutWorkFactor  = 20   // work for cutting, in root relaxations …
	cutWorkAtLeast = 250_000_000
	// Nested searches, and the model that small models are derived from, have less.
	nestedCutShare, nestedCutFactor = 25, 2
	beatCutShare                    = 8 // likewise, of the work allowed, where a value is to be beaten
	baseCutShare, baseCutFactor     = 4, 12
)

// cutBudget is the work for cutting at the root.
func (s *search) cutBudget() int64 {
	b := max(cutWorkAtLeast, cutWorkFactor*s.root.work)
	switch {
	case s.opts.Beat != nil && s.opts.Work > 0:
		b = max(s.opts.Work/beatCutShare, nestedCutFactor*s.root.work)
	case s.depth > 0:
		b = max(cutWorkAtLeast/nestedCutShare, nestedCutFactor*s.root.work)
	case s.onlyRoot:
		b = max(cutWorkAtLeast/baseCutShare, baseCutFactor*s.root.work)
	}
	return b
}

// rootState is what the root leaves behind for the tree.
type rootState struct {
	done     bool
	basis    *lp.Basis
	value    float64     // objective of the last root relaxation
	bound    float64     // proven by it
	x, price []float64   // its optimum and reduced costs
	first    float64     // bound before cuts
	work     int64       // of the root relaxation
	treeWork int64       // of the slots in the tree
	keep     *relaxation // the relaxation with cuts, for small models of large ones; nil for small ones
	tight    float64     // value held at the last root tightening
}

// solveRoot solves the root relaxation, cuts, tries the root heuristics and sets up the slots. False when the search
// is over.
func (s *search) solveRoot(ctx context.Context) bool {
	s.root = &rootState{tight: inf}
	if s.best.x != nil || !math.IsInf(s.given, 1) {
		s.box.setCutoff(s.pruneAt(s.best.value))
	}
	for i := range s.p.m {
		s.box.enqueue(int32(i))
	}
	if !s.box.propagate() {
		s.finishEmpty()
		return false
	}
	s.box.commit()
	r := s.seed
	if r == nil {
		r = newRelaxation(s.p, s.relaxationOptions())
	}
	r.follow(s.box.lower, s.box.upper)
	t := newSlot(s, 0, r)
	s.slots = append(s.slots, t)
	start := r.s.Work()
	v := r.solve(ctx, s.pruneAt(s.best.value), 0)
	s.root.work = r.s.Work() - start
	s.take(t)
	if done := s.settle(ctx, v, r); done {
		return false
	}
	if v == solved {
		s.root.first = r.bound
		s.report("relaxation")
		ok := s.rootCuts(ctx, r)
		if s.onlyRoot && !s.exhausted {
			s.rememberRoot(r, v)
		}
		if !ok || s.onlyRoot {
			return false
		}
	}
	for k := 1; k < slotCount; k++ {
		s.slots = append(s.slots, newSlot(s, k, r.clone()))
	}
	s.rememberRoot(r, v)
	if v == solved && s.root.work > deriveFrom {
		s.root.keep = r.clone()
	}
	return s.rootHeuristics(ctx)
}

// settle handles verdicts that end the search at the root.
func (s *search) settle(ctx context.Context, v verdict, r *relaxation) bool {
	switch v {
	case solved:
		s.proven = math.Max(s.proven, r.bound)
	case empty, beyond:
		s.finishEmpty()
		return true
	case stopped:
		return true
	case unlimited:
		s.unlimitedRoot(ctx, r)
		return true
	}
	return false
}

// finishEmpty ends the search at the root: nothing beats what is held or given.
func (s *search) finishEmpty() {
	s.floor = math.Min(s.pruneAt(s.best.value), s.floor)
	s.root.done, s.exhausted = true, true
}

// rememberRoot keeps the root's basis, optimum and reduced costs.
func (s *search) rememberRoot(r *relaxation, v verdict) {
	basis := r.s.Basis()
	s.root.basis = &basis
	s.root.x = append([]float64(nil), r.x...)
	for _, t := range s.slots {
		copy(t.x, r.x)
	}
	if v == solved {
		s.root.value, s.root.bound = r.objective, r.bound
		s.root.price = append([]float64(nil), r.s.D()...)
	}
}

// rootCuts strengthens the root relaxation. False when it shows that nothing better is left, or time ran out.
func (s *search) rootCuts(ctx context.Context, r *relaxation) bool {
	if s.seed != nil {
		s.ageCuts(ctx, r, 1)
	}
	sep := newSeparator(s.p)
	sep.ctx = ctx
	start, first, last, idle := r.s.Work(), r.bound, r.bound, 0
	budget := s.cutBudget()
	for round := 0; round < maxCutRounds && idle < stallRounds; round++ {
		list := r.fractional(nil)
		if len(list) == 0 || ctx.Err() != nil || s.workSpent() || r.s.Work()-start+sep.work > budget {
			break
		}
		picked := s.separate(sep, r, len(list), budget)
		if len(picked) == 0 || ctx.Err() != nil {
			break
		}
		r.addCuts(picked)
		v := r.solve(ctx, s.pruneAt(s.best.value), 0)
		s.take(s.slots[0])
		if v == untrusted || v == unfinished {
			s.withdraw(ctx, r, len(picked))
			break
		}
		if s.settle(ctx, v, r) {
			return false
		}
		gain := r.bound - last
		if gain < stallGain*(r.bound-first) || gain < stallRelative*math.Abs(r.bound) {
			idle++
		} else {
			idle = 0
		}
		last = r.bound
		s.ageCuts(ctx, r, slackRounds)
		s.report("cuts")
	}
	s.work += sep.work
	s.ageCuts(ctx, r, 1)
	return ctx.Err() == nil
}

// withdraw takes the last n cuts back after a solve that could not be trusted.
func (s *search) withdraw(ctx context.Context, r *relaxation, n int) {
	from := len(r.cuts) - n
	r.dropCuts(func(k int) bool { return k >= from })
	r.solve(ctx, inf, 0)
}

// ageCuts drops cuts that have been slack for too many rounds and solves again if any went.
func (s *search) ageCuts(ctx context.Context, r *relaxation, rounds int) {
	for _, c := range r.cuts {
		if c.violation(r.x) < -1e-6*c.norm {
			c.age++
		} else {
			c.age = 0
		}
	}
	if r.dropCuts(func(k int) bool { return r.cuts[k].age >= rounds }) > 0 {
		if r.solve(ctx, inf, 0) == solved {
			s.proven = math.Max(s.proven, r.bound)
		}
	}
}

// separate makes cuts for the relaxation's optimum and picks the best of them.
func (s *search) separate(sep *separator, r *relaxation, fractional int, budget int64) []*cut {
	sep.at(r.x, s.box.lower, s.box.upper, r.cuts)
	sep.separateTableau(r, min(fractional, 200))
	sep.separateRows(budget / 10)
	sep.paths.separate()
	sep.nets.separate(budget / 20)
	sep.found = append(sep.found, s.userCuts(r.x)...)
	s.check(sep.found)
	return selectCuts(sep.found, min(500, 50+fractional))
}

// userCuts asks Options.Cutters and translates what they return into the problem's columns.
func (s *search) userCuts(x []float64) []*cut {
	var list []*cut
	if len(s.opts.Cutters) == 0 {
		return nil
	}
	place := make([]int32, len(s.p.fixed))
	for j := range place {
		place[j] = -1
	}
	for k, j := range s.p.kept {
		place[j] = int32(k)
	}
	full := s.p.restore(x)
	row := newSparseRow(s.p.n)
	for _, cutter := range s.opts.Cutters {
		for _, c := range cutter(full) {
			for _, side := range [2]float64{1, -1} {
				rhs := side * c.Upper
				if side < 0 {
					rhs = side * c.Lower
				}
				row.clear()
				for k, j := range c.Vars {
					if place[j] >= 0 {
						row.add(place[j], side*c.Coefs[k])
					} else {
						rhs -= side * c.Coefs[k] * s.p.fixed[j]
					}
				}
				if made := finish(row, rhs, s.p.lower, s.p.upper, x, "user"); made != nil {
					list = append(list, made)
				}
			}
		}
	}
	return list
}

// check reports cuts that cut off the witness, a known solution that tests provide.
func (s *search) check(cuts []*cut) {
	if s.witness == nil {
		return
	}
	x := s.p.project(s.witness)
	for _, c := range cuts {
		if v := c.violation(x); v > 1e-6*math.Max(1, c.norm) {
			s.wrongCut(c, v)
		}
	}
}

// tightenRoot moves bounds that the root's reduced costs and the objective row show useless for beating the solution
// held. False when nothing is left.
func (s *search) tightenRoot() bool {
	if s.best.value >= s.root.tight || s.root.price == nil {
		return true
	}
	s.root.tight = s.best.value
	room := s.pruneAt(s.best.value) - s.root.bound
	for _, j := range s.p.intCols {
		d, l, u := s.root.price[j], s.box.lower[j], s.box.upper[j]
		if l == u || math.Abs(d) < 1e-7 {
			continue
		}
		steps := math.Floor(room/math.Abs(d) + 1e-6)
		if d > 0 && s.root.x[j] <= s.p.lower[j]+integralityTol {
			if !s.box.setUpper(j, s.p.lower[j]+steps) {
				return false
			}
		} else if d < 0 && s.root.x[j] >= s.p.upper[j]-integralityTol {
			if !s.box.setLower(j, s.p.upper[j]-steps) {
				return false
			}
		}
	}
	ok := s.box.propagate()
	s.box.commit()
	return ok
}
