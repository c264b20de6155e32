package mip

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// The work for one neighbourhood's model on the first pass, in work units, or in relaxations of the whole model if that is
// more; each later pass over the neighbourhoods doubles it.
const (
	neighbourhoodWork   = 20_000_000
	neighbourhoodFactor = 2
)

// FixAndOptimize improves the solution x0 of m: for each neighbourhood in turn its columns are free and all other
// whole-number columns held, and the small model that is left is solved. It goes on until a whole pass brings nothing and
// no neighbourhood ran into its limit, or until the limits in opts are met. x0 has NumVars entries; its whole numbers
// count, its continuous values are recomputed, NaN entries are completed. If m rejects x0 the result has no solution.
//
// Neighbourhoods are tried in pairs that start from the same solution, on two workers if there are, and merged in
// order; the result does not depend on the number of workers. The result's Bound is that of the relaxation with cuts, and
// its Stop says what ended the run: NotRun when no neighbourhood brings anything any more and nothing is proven.
func FixAndOptimize(ctx context.Context, m *model.Model, x0 []float64, neighbourhoods [][]model.Var, opts Options) solve.Result {
	s := newSearch(m, opts)
	ctx, cancel := s.withLimit(ctx)
	defer cancel()
	if len(x0) == m.NumVars() {
		s.offer(s.complete(ctx, x0))
	}
	s.startFrom(ctx)
	if s.best.x != nil {
		if b := s.prepareBase(ctx); b != nil {
			o := newMoves(s, b, neighbourhoods)
			for ctx.Err() == nil && !s.workSpent() && o.pass(ctx) {
			}
		}
	}
	return s.partResult(ctx)
}

// moves is the state of a fix-and-optimize run. Groups are of the base's columns.
type moves struct {
	s       *search
	b       *base
	anchor  *relaxation // solved with all whole numbers at those of the solution held
	at      int         // improvements made when the anchor was solved; −1 for never
	groups  [][]int32
	settled []int // improvements made before the group was last solved to the end; −1 for never
	steps   int   // improvements made
	work    int64
}

func newMoves(s *search, b *base, groups [][]model.Var) *moves {
	o := &moves{s: s, b: b, anchor: b.r.clone(), at: -1, work: b.smallBudget(neighbourhoodFactor, neighbourhoodWork)}
	for _, g := range groups {
		if list := b.varsOf(g); len(list) > 0 {
			o.groups, o.settled = append(o.groups, list), append(o.settled, -1)
		}
	}
	return o
}

// pass tries every group that may still bring something. False when none is left.
func (o *moves) pass(ctx context.Context) bool {
	any := false
	for k := 0; k < len(o.groups) && ctx.Err() == nil && !o.s.workSpent(); {
		var pair []int
		for ; k < len(o.groups) && len(pair) < 2; k++ {
			if o.settled[k] != o.steps {
				pair = append(pair, k)
			}
		}
		if len(pair) > 0 {
			any = true
			o.try(ctx, pair)
		}
	}
	o.work *= 2
	return any
}

// try solves the models of the groups in pair from the same solution and merges what they found.
func (o *moves) try(ctx context.Context, pair []int) {
	o.dropAnchor(ctx)
	inner := make([]*search, len(pair))
	results := make([]solve.Result, len(pair))
	for n, k := range pair {
		inner[n] = o.prepare(o.groups[k])
	}
	o.s.parallel(len(pair), func(n int) {
		inner[n].run(ctx)
		results[n] = inner[n].result(ctx)
	})
	before := o.steps
	for n, k := range pair {
		o.s.account(inner[n])
		if results[n].Has {
			o.merge(ctx, results[n].X, o.groups[k], o.steps > before)
		}
	}
	for n, k := range pair {
		if st := results[n].Stop; st != solve.WorkLimit && st != solve.TimeLimit && st != solve.Cancelled && o.steps == before {
			o.settled[k] = o.steps
		}
	}
	o.s.report("fix and optimize")
}

// dropAnchor solves the relaxation at the solution held, if that has moved: the basis that the small models start from.
func (o *moves) dropAnchor(ctx context.Context) {
	if o.at == o.steps {
		return
	}
	o.at = o.steps
	x := o.b.p.project(o.s.best.x)
	for _, j := range o.b.p.intCols {
		v := math.Max(o.b.p.lower[j], math.Min(o.b.p.upper[j], math.Round(x[j])))
		o.anchor.setBounds(j, v, v)
	}
	before, it := o.anchor.s.Work(), o.anchor.s.Iterations()
	o.anchor.solve(ctx, inf, 0)
	o.s.work += o.anchor.s.Work() - before
	o.s.iterations += o.anchor.s.Iterations() - it
}

// prepare makes the search over one group's model, which must beat the solution held.
func (o *moves) prepare(group []int32) *search {
	s, p := o.s, o.b.p
	lower, upper, integer := p.wholeBounds()
	x := p.project(s.best.x)
	for _, j := range p.intCols {
		v := math.Max(lower[j], math.Min(upper[j], math.Round(x[j])))
		lower[j], upper[j] = v, v
	}
	for _, j := range group {
		lower[j], upper[j] = p.lower[j], p.upper[j]
	}
	opts := s.innerOptions(o.work, 1e-4)
	opts.Workers = 1
	in := s.nest(p.derived(lower, upper, integer), o.anchor, opts)
	in.priority = mapPriority(s.opts.Priority, p)
	in.given = s.best.value - math.Max(absoluteGap, 1e-6*math.Abs(s.best.value))
	return in
}

// merge takes an improved point. When the solution has moved since its model was made, the group's whole numbers are put
// into the solution held and the rest solved for.
func (o *moves) merge(ctx context.Context, x []float64, group []int32, moved bool) {
	full := o.b.p.restore(x)
	inc, ok := o.s.accept(append([]float64(nil), full...))
	if !ok {
		inc, _ = o.s.fixAndSolve(ctx, full, &o.s.work)
	}
	if o.s.offer(inc) {
		o.steps++
	}
	if !moved {
		return
	}
	mixed := append([]float64(nil), o.s.best.x...)
	for _, k := range group {
		j := o.b.p.kept[k]
		mixed[j] = full[j]
	}
	if inc, what := o.s.fixAndSolve(ctx, mixed, &o.s.work); what == accepted && o.s.offer(inc) {
		o.steps++
	}
}
