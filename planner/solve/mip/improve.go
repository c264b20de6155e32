package mip

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Improvement by small models beside the tree. Each fixes most whole-number columns and searches what is left with a
// nested search that must beat the solution held. They run in pairs, one a slot, and their work is held to a share of
// the whole. Which columns are left free:
//
//   - agreement: those on which the relaxation and the solution held differ (RINS; Danna, Rothberg and Le Pape 2005);
//   - ball: those nearest, over shared rows, to a column drawn at random;
//   - group: a neighbourhood named by the caller;
//   - rounding: without a solution, those fractional in the relaxation, between its two roundings (RENS; Berthold 2014).
type freeing int

const (
	byAgreement freeing = iota
	byBall
	byGroup
	byRounding
	freeings
)

const (
	// improveShare is the share of all work that improvement may take; every improveFades calls in a row that bring
	// nothing halve it, down to improveLeast.
	improveShare = 0.25
	improveFades = 4
	improveLeast = 0.03
	// improveAtLeast is the work that improvement may take before the share counts.
	improveAtLeast = 10_000_000
	// smallWork is the work for one small model to begin with, and in root relaxations.
	smallWork       = 20_000_000
	smallWorkFactor = 5
)

// heuristicLog steers the small models: how much they leave free and which groups had their turn.
type heuristicLog struct {
	calls int
	idle  int               // calls in a row that brought nothing
	share [freeings]float64 // of the whole-number columns left free
	group int
	rng   uint64
}

// next is a 64-bit pseudo-random number (splitmix64).
func (l *heuristicLog) next() uint64 {
	l.rng += 0x9e3779b97f4a7c15
	z := l.rng
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// rootHeuristics dives from the root optimum, one set of rules a slot, and tries the caller's. False when time ran out.
func (s *search) rootHeuristics(ctx context.Context) bool {
	s.askHeuristics(ctx)
	s.tries.rng = s.opts.Seed + 1
	for k := range s.tries.share {
		s.tries.share[k] = 0.3
	}
	rules := [slotCount][]diveRule{{diveFractional, divePseudo}, {diveLocks, diveLength}}
	if s.depth > 0 {
		rules = [slotCount][]diveRule{{divePseudo}, {diveFractional}}
	}
	if !math.IsInf(s.given, 1) {
		return ctx.Err() == nil // the tree finds what is better than a good solution sooner than dives from the root do
	}
	prune := s.pruneAt(s.best.value)
	for _, t := range s.slots {
		t.begin(prune)
	}
	budget := max(smallWork, 5*s.root.work)
	s.parallel(slotCount, func(k int) {
		t := s.slots[k]
		for n, rule := range rules[k] {
			t.returnToRoot(ctx)
			if k == 0 && n == 0 && s.depth == 0 {
				t.propagateRounding(ctx)
				t.returnToRoot(ctx)
			}
			t.dive(ctx, rule, budget)
		}
	})
	for _, t := range s.slots {
		s.merge(t)
	}
	return ctx.Err() == nil
}

// returnToRoot re-solves the root relaxation in the slot.
func (t *slot) returnToRoot(ctx context.Context) {
	t.d.back(0)
	t.r.load(t.d)
	t.r.s.SetBasis(*t.s.root.basis)
	t.r.solve(ctx, inf, 0)
	copy(t.x, t.r.x)
}

// askHeuristics offers the caller's proposals.
func (s *search) askHeuristics(ctx context.Context) {
	for _, h := range s.opts.Heuristics {
		if x := h(s.p.restore(s.root.x)); len(x) == s.model.NumVars() {
			s.offer(s.complete(ctx, x))
		}
	}
}

// propagateRounding rounds the point in t.x column by column with propagation, the most decided columns first.
func (t *slot) propagateRounding(ctx context.Context) {
	if y, ok := fixAndPropagate(t.d, t.x, t.byDecidedness()); ok {
		t.offer(ctx, y)
	}
}

// byDecidedness orders the whole-number columns by their distance from a whole number.
func (t *slot) byDecidedness() []int32 {
	var buckets [6][]int32
	for _, j := range t.s.p.intCols {
		b := int(math.Abs(t.x[j]-math.Round(t.x[j])) * 10)
		if t.s.p.upper[j]-t.s.p.lower[j] > 1 {
			b = 5 // general ones last
		}
		buckets[b] = append(buckets[b], j)
	}
	var order []int32
	for _, b := range buckets {
		order = append(order, b...)
	}
	return order
}

// cheapHeuristics tries roundings of the node's optimum, and dives now and then. The relaxation is brought back to
// basis afterwards if it was moved.
func (t *slot) cheapHeuristics(ctx context.Context, n *node, basis *lp.Basis) {
	moved := false
	if y, ok := t.s.p.roundByLocks(t.x, t.fractional); ok && t.s.p.value(y) < t.prune {
		moved = true
		t.offer(ctx, y)
	}
	without := math.IsInf(t.best.value, 1)
	if t.s.depth == 0 && (t.nodes%16 == 1 && without || t.nodes%64 == 1) {
		moved = true
		t.propagateRounding(ctx)
	}
	if t.diveDue(without) {
		t.r.load(t.d)
		if moved {
			t.r.s.SetBasis(*basis)
			t.r.solve(ctx, inf, 0)
		}
		moved = true
		t.dives++
		before := t.totalWork()
		t.dive(ctx, diveRule(t.dives)%diveRules, max(smallWork/4, 10*t.s.root.work))
		t.diveWork += t.totalWork() - before
	}
	if moved {
		t.r.load(t.d)
		t.r.s.SetBasis(*basis)
	}
}

// diveDue holds dives to a share of the slot's work.
func (t *slot) diveDue(without bool) bool {
	share := 0.08
	if without {
		share = 0.5
	}
	return t.nodes%8 == 3 && float64(t.diveWork) < share*float64(t.totalWork())
}

// improve runs a pair of small models if their share of the work allows.
func (s *search) improve(ctx context.Context) {
	if s.depth >= maxDepth || float64(s.heuristicWork) > s.improveAllowance() {
		return
	}
	if len(s.p.intCols) < 20 || s.rounds < 1 {
		return
	}
	prune := s.pruneAt(s.best.value)
	for _, t := range s.slots {
		t.begin(prune)
	}
	var kinds [slotCount]freeing
	var models [slotCount]*model.Model
	for k := range kinds {
		kinds[k], models[k] = s.pickSmall(k)
	}
	inner := make([]*search, slotCount)
	results := make([]solve.Result, slotCount)
	for k, m := range models {
		if m != nil {
			inner[k] = s.smallSearch(m, prune)
		}
	}
	s.parallel(slotCount, func(k int) {
		if inner[k] == nil {
			return
		}
		inner[k].run(ctx)
		results[k] = inner[k].result(ctx)
		if results[k].Has {
			s.slots[k].offer(ctx, results[k].X)
		}
	})
	held := s.best.value
	defer func() {
		s.tries.idle++
		if s.best.value < held {
			s.tries.idle = 0
		}
	}()
	for k, t := range s.slots {
		if inner[k] != nil {
			s.heuristicWork += inner[k].work
			s.account(inner[k])
			s.adapt(kinds[k], results[k])
		}
		s.merge(t)
	}
}

// smallSearch is the search over a model of the problem's rows with other bounds, for values below cutoff.
func (s *search) smallSearch(m *model.Model, cutoff float64) *search {
	work := max(smallWork, smallWorkFactor*s.root.work)
	opts := solve.Options{Work: work, Gap: math.Max(1e-4, s.gap), Workers: 1, Seed: s.opts.Seed}
	in := newSearch(m, Options{Options: opts})
	if s.root.keep != nil {
		in = s.nest(s.p.derived(m.Lower, m.Upper, s.p.integer), s.root.keep, opts)
	}
	in.depth, in.given = s.depth+1, cutoff
	return in
}

// improveAllowance is the work that improvement may have taken by now.
func (s *search) improveAllowance() float64 {
	share := math.Max(improveLeast, improveShare*math.Exp2(-float64(s.tries.idle)/improveFades))
	a := share * float64(s.work)
	if s.depth == 0 {
		a += improveAtLeast
	}
	return a
}

// adapt leaves more free after a small model that was solved, less after one that was not.
func (s *search) adapt(kind freeing, r solve.Result) {
	f := &s.tries.share[kind]
	switch {
	case r.Stop == solve.WorkLimit && !r.Has:
		*f = math.Max(0.02, *f*0.7)
	case r.Stop != solve.WorkLimit:
		*f = math.Min(0.8, *f*1.4)
	}
}

// pickSmall chooses the small model for slot k; nil when there is nothing sensible to try.
func (s *search) pickSmall(k int) (freeing, *model.Model) {
	l := &s.tries
	l.calls++
	if s.guide == nil {
		if k == 0 && l.calls <= 4 {
			return byRounding, s.roundingModel(s.slots[0].x)
		}
		return byRounding, nil
	}
	free := make([]bool, s.p.n)
	kind := byBall
	switch {
	case len(s.opts.Neighbourhoods) > 0 && (l.calls/2)%2 == 0:
		kind = byGroup
		s.freeGroup(free)
	case k == 0:
		kind = byAgreement
		s.freeDifferences(free, s.slots[(l.calls/2)%slotCount].x)
	default:
		s.freeBall(free, int(l.share[byBall]*float64(len(s.p.intCols))))
	}
	return kind, s.holdModel(free)
}

// freeGroup frees the next of the caller's neighbourhoods.
func (s *search) freeGroup(free []bool) {
	group := s.opts.Neighbourhoods[s.tries.group%len(s.opts.Neighbourhoods)]
	s.tries.group++
	in := make(map[model.Var]bool, len(group.Vars))
	for _, j := range group.Vars {
		in[j] = true
	}
	for k, j := range s.p.kept {
		free[k] = in[model.Var(j)]
	}
}

// freeDifferences frees columns where x and the solution held differ; columns drawn at random bring the free share
// to its aim.
func (s *search) freeDifferences(free []bool, x []float64) {
	n := 0
	for _, j := range s.p.intCols {
		if math.Abs(x[j]-s.guide[j]) > 0.1 {
			free[j] = true
			n++
		}
	}
	aim := int(s.tries.share[byAgreement] * float64(len(s.p.intCols)))
	for try := 0; n < aim && try < 4*aim; try++ {
		j := s.p.intCols[s.tries.next()%uint64(len(s.p.intCols))]
		if !free[j] {
			free[j] = true
			n++
		}
	}
}

// freeBall frees whole-number columns in the order in which a breadth-first walk over shared rows from a random one
// meets them. Rows of many columns are not walked through.
func (s *search) freeBall(free []bool, aim int) {
	p := s.p
	seen := make([]bool, p.n)
	seenRow := make([]bool, p.m+1)
	seenRow[p.m] = true
	start := p.intCols[s.tries.next()%uint64(len(p.intCols))]
	queue := []int32{start}
	seen[start] = true
	longest := max(20, p.n/10)
	for n := 0; len(queue) > 0 && n < aim; queue = queue[1:] {
		j := queue[0]
		if p.integer[j] {
			free[j] = true
			n++
		}
		rows, _ := p.col(int(j))
		for _, i := range rows {
			vars, _ := p.row(int(i))
			if seenRow[i] || len(vars) > longest {
				continue
			}
			seenRow[i] = true
			for _, v := range vars {
				if !seen[v] {
					seen[v] = true
					queue = append(queue, v)
				}
			}
		}
	}
}

// holdModel is the reduced problem in the present box with all whole-number columns but the free ones held at the solution.
func (s *search) holdModel(free []bool) *model.Model {
	m := s.boxModel()
	held := 0
	for _, j := range s.p.intCols {
		v := math.Round(s.guide[j])
		if !free[j] && v >= m.Lower[j] && v <= m.Upper[j] {
			m.Lower[j], m.Upper[j] = v, v
			held++
		}
	}
	if held*10 < len(s.p.intCols) {
		return nil
	}
	return m
}

// roundingModel restricts whole-number columns to the two roundings of x.
func (s *search) roundingModel(x []float64) *model.Model {
	m := s.boxModel()
	for _, j := range s.p.intCols {
		m.Lower[j] = math.Max(m.Lower[j], math.Floor(x[j]+integralityTol))
		m.Upper[j] = math.Min(m.Upper[j], math.Ceil(x[j]-integralityTol))
		if m.Lower[j] > m.Upper[j] {
			return nil
		}
	}
	return m
}

// boxModel is the reduced problem with the present box's whole-number bounds. It shares what is not changed.
func (s *search) boxModel() *model.Model {
	m := *s.p.work
	m.Lower, m.Upper = append([]float64(nil), s.p.lower...), append([]float64(nil), s.p.upper...)
	for _, j := range s.p.intCols {
		m.Lower[j], m.Upper[j] = s.box.lower[j], s.box.upper[j]
	}
	return &m
}
