package mip

import (
	"context"
	"math"
	"runtime"
	"sync"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// slotCount is the number of subtrees that grow at the same time. It is fixed, whatever Options.Workers says, because
// the course of the search depends on it.
const slotCount = 2

// search is one branch-and-cut run. Values and bounds are minimised throughout.
type search struct {
	model    *model.Model
	opts     Options
	sign     float64 // −1 when the model maximises
	start    time.Time
	gap      float64
	given    float64   // value that solutions must beat from the start, +Inf if none
	depth    int       // how many searches this one is nested in
	priority []int     // by reduced column
	guide    []float64 // the solution held, in reduced columns; nil for none

	enough   int64 // work that is enough once there is a solution; 0 for no such limit
	onlyRoot bool  // stop after the root's cuts
	strict   bool  // keep every solution in the reduction, not only an optimal one

	p     *problem
	seed  *relaxation // a solved relaxation to start from; nil to start anew
	root  *rootState
	box   *domain // bounds valid for every solution better than the one held
	slots []*slot
	open  openNodes
	best  incumbent

	pseudo *pseudoCosts
	floor  float64 // least bound of a node that was dropped because it was no better than the gap asks for
	lost   float64 // least bound of a node given up for numerical reasons
	proven float64 // bound proven before the tree was there

	stop              solve.Stop
	exhausted         bool // every part of the tree was explored or given up in lost
	ray               []float64
	nodes, iterations int64
	work              int64
	heuristicWork     int64
	rounds            int64
	lastReport        time.Time
	improvedAt        int64 // round of the last improvement
	tries             heuristicLog
	witness           []float64 // a known solution that no cut may cut off, for tests; original columns
	wrongCut          func(c *cut, violation float64)
}

func newSearch(m *model.Model, opts Options) *search {
	s := &search{model: m, opts: opts, sign: 1, start: time.Now(), gap: math.Max(defaultGap, opts.Gap),
		given: inf, floor: inf, lost: inf, proven: -inf, best: incumbent{value: inf}}
	if m.Maximize {
		s.sign = -1
	}
	return s
}

// run reduces, solves the root and grows the tree until a limit is met or nothing is open.
func (s *search) run(ctx context.Context) {
	s.startFrom(ctx)
	if s.p == nil {
		p, ok := reduce(s.model, s.strict)
		if !ok {
			s.noneLeft()
			return
		}
		s.p = p
		s.priority = mapPriority(s.opts.Priority, p)
	}
	s.pseudo = newPseudoCosts(s.p.n)
	s.box = newDomain(s.p)
	if s.solveRoot(ctx) {
		s.grow(ctx)
	}
}

// noneLeft records that no better solution exists than what is held or given.
func (s *search) noneLeft() {
	s.proven, s.exhausted = math.Min(s.best.value, s.given), true
}

// pruneAt is the bound from which a node is not worth exploring.
func (s *search) pruneAt(best float64) float64 {
	c := math.Min(s.given, s.p.cutoff(best))
	if !math.IsInf(best, 1) {
		c = math.Min(c, best-math.Max(absoluteGap/2, s.gap*math.Abs(best)*0.999))
	}
	return c
}

// lowerBound is the bound proven for the whole model.
func (s *search) lowerBound() float64 {
	b := math.Min(s.floor, s.lost)
	if s.root == nil || !s.root.done {
		b = math.Min(b, s.proven)
	}
	if len(s.open) > 0 {
		b = math.Min(b, s.open[0].bound) // the least of them
	}
	if s.p != nil {
		b = s.p.lift(b)
	}
	if s.root != nil && s.root.done {
		b = math.Max(b, s.proven)
	}
	return math.Min(b, math.Min(s.best.value, s.given))
}

func (s *search) workSpent() bool {
	return s.opts.Work > 0 && s.work >= s.opts.Work || s.enough > 0 && s.best.x != nil && s.work >= s.enough
}

// offer keeps an incumbent if it beats the one held.
func (s *search) offer(inc incumbent) bool {
	if inc.x == nil || !(inc.value < s.best.value) {
		return false
	}
	s.best = inc
	s.improvedAt = s.rounds
	if s.p != nil && s.box != nil {
		s.guide = s.p.project(inc.x)
		s.box.setCutoff(s.pruneAt(inc.value))
	}
	return true
}

// parallel runs task for 0..n−1 on as many goroutines as Options.Workers allows.
func (s *search) parallel(n int, task func(k int)) {
	workers := s.opts.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	if workers == 1 || n == 1 {
		for k := range n {
			task(k)
		}
		return
	}
	var wg sync.WaitGroup
	gate := make(chan struct{}, workers)
	for k := range n {
		gate <- struct{}{}
		wg.Go(func() {
			defer func() { <-gate }()
			task(k)
		})
	}
	wg.Wait()
}

// grow explores the tree in rounds: the open nodes with the least bounds are dealt out to the slots, each explores
// its own for a while, and what they found and left open is merged in the order of the slots.
func (s *search) grow(ctx context.Context) {
	s.open.push(&node{change: boundChange{col: -1}, bound: s.proven, basis: s.root.basis, parentValue: s.root.value})
	s.root.done = true
	for len(s.open) > 0 && ctx.Err() == nil && !s.workSpent() {
		if s.closed() {
			return
		}
		s.improve(ctx)
		if !s.tightenRoot() {
			s.dropAll()
			return
		}
		s.round(ctx)
		s.report("search")
	}
	s.exhausted = len(s.open) == 0
}

// closed says whether the gap asked for is reached.
func (s *search) closed() bool {
	if s.best.x == nil {
		return false
	}
	b := s.lowerBound()
	return solve.Gap(true, s.best.value, b) <= s.gap || s.best.value-b <= absoluteGap
}

// dropAll empties the tree when propagation shows that nothing better than the solution held is left.
func (s *search) dropAll() {
	s.floor = math.Min(s.floor, s.pruneAt(s.best.value))
	s.open = s.open[:0]
	s.exhausted = true
}

func (s *search) round(ctx context.Context) {
	s.rounds++
	prune := s.pruneAt(s.best.value)
	for _, t := range s.slots {
		t.begin(prune)
	}
	for k := 0; k < slotCount*4 && len(s.open) > 0; k++ {
		t := s.slots[k%slotCount]
		t.open.push(s.open.pop())
	}
	budget := s.roundBudget()
	s.parallel(slotCount, func(k int) { s.slots[k].explore(ctx, budget) })
	for _, t := range s.slots {
		s.merge(t)
	}
}

// roundBudget is the work a slot does in a round: some twenty nodes.
func (s *search) roundBudget() int64 {
	each := s.root.work / 10
	if s.nodes > 10 {
		each = s.root.treeWork / s.nodes
	}
	budget := max(20*each, 300_000)
	if s.opts.Work > 0 {
		budget = min(budget, (s.opts.Work-s.work)/slotCount+1)
	}
	return budget
}

// merge takes over what slot t found in its round.
func (s *search) merge(t *slot) {
	s.offer(t.best)
	for _, n := range t.pseudo.news {
		s.pseudo.apply(n)
	}
	for _, n := range t.open {
		s.open.push(n)
	}
	t.open = t.open[:0]
	s.floor, s.lost = math.Min(s.floor, t.floor), math.Min(s.lost, t.lost)
	s.nodes += t.nodes
	s.root.treeWork += t.spent()
	s.take(t)
}

// take adds a slot's work to the accounts.
func (s *search) take(t *slot) {
	s.work += t.spent()
	s.iterations += t.r.s.Iterations() - t.seenIterations
	t.mark()
}

// report calls Options.Progress, at most ten times a second.
func (s *search) report(phase string) {
	if s.opts.Progress == nil || time.Since(s.lastReport) < 100*time.Millisecond {
		return
	}
	s.lastReport = time.Now()
	s.opts.Progress(solve.Progress{Phase: phase, Elapsed: time.Since(s.start), Has: s.best.x != nil,
		Objective: s.sign * s.best.value, Bound: s.sign * s.lowerBound(), Nodes: s.nodes, Iterations: s.iterations})
}
