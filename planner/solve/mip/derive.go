package mip

import (
	"context"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// Small models are made in one of two ways: by reducing the model anew with some columns fixed, which shrinks it but starts
// its relaxation from nothing, or by moving bounds in a copy of a relaxation that is solved already, cuts included.
// On the reference plant (2,430 rows, 4,500 columns) a stage's relaxation took 200 simplex steps the second way and
// 4,400 the first (3,000 from the mapped basis), so that large models go the second way: derived problems.

// deriveFrom is the work of a root relaxation from which a search makes its small models the second way.
const deriveFrom = 10_000_000

// derived is the problem with other bounds of the whole-number columns and some of them no longer whole. It shares the rows.
func (p *problem) derived(lower, upper []float64, integer []bool) *problem {
	q := *p
	w := *p.work
	w.Lower, w.Upper, w.Integer = lower, upper, integer
	q.work, q.lower, q.upper, q.integer = &w, lower, upper, integer
	q.intCols, q.kept, q.keptRows = nil, make([]int32, p.n), nil
	q.fixed = make([]float64, p.n)
	for j := range p.n {
		q.kept[j] = int32(j)
		if integer[j] {
			q.intCols = append(q.intCols, int32(j))
		}
	}
	q.findVarBounds()
	q.step, q.gridAt = objectiveGrid(&q)
	return &q
}

// on is a copy of the relaxation for a derived problem; its bounds are still those of the one it was copied from.
func (r *relaxation) on(q *problem) *relaxation {
	c := r.clone()
	c.p = q
	for k, old := range c.cuts {
		own := *old // ages differ from search to search
		c.cuts[k] = &own
	}
	return c
}

// follow moves all bounds of whole-number columns, of the model it was derived from too, to those of the problem.
func (r *relaxation) follow(lower, upper []float64) {
	for j, whole := range r.p.work.Integer {
		if whole {
			r.setBounds(int32(j), lower[j], upper[j])
		}
	}
}

// base is a model reduced and cut once, for the many small models derived from it.
type base struct {
	p     *problem
	r     *relaxation
	place []int32 // model column → reduced column, −1 if gone
	work  int64   // of its first relaxation
}

// prepareBase reduces the model without losing solutions, solves its relaxation and cuts. It raises the bound that s has
// proven. Nil, with s.stop set where the model is decided, when there is nothing to derive from.
func (s *search) prepareBase(ctx context.Context) *base {
	in := newSearch(s.model, Options{Options: solve.Options{Workers: 1, Seed: s.opts.Seed, Progress: s.opts.Progress}, Cutters: s.opts.Cutters})
	in.onlyRoot, in.strict = true, true
	if s.opts.Work > 0 {
		in.opts.Work = max(1, (s.opts.Work-s.work)/4)
	}
	cutting, cancel := baseShare(ctx)
	defer cancel()
	in.run(cutting)
	s.account(in)
	s.proven = max(s.proven, in.proven)
	if len(in.slots) == 0 || in.root.basis == nil {
		switch v := in.result(ctx); v.Stop {
		case solve.Infeasible, solve.Unbounded:
			s.stop, s.ray = v.Stop, v.Ray
		}
		return nil
	}
	b := &base{p: in.p, r: in.slots[0].r, work: in.root.work, place: make([]int32, s.model.NumVars())}
	for j := range b.place {
		b.place[j] = -1
	}
	for k, j := range in.p.kept {
		b.place[j] = int32(k)
	}
	return b
}

// baseShare leaves two thirds of the time for the small models.
func baseShare(ctx context.Context) (context.Context, context.CancelFunc) {
	if end, ok := ctx.Deadline(); ok {
		return context.WithTimeout(ctx, time.Until(end)/3)
	}
	return context.WithCancel(ctx)
}

// nest is a search over a problem derived from b, starting from a copy of r. Its work is limited to a few relaxations.
func (s *search) nest(q *problem, r *relaxation, opts solve.Options) *search {
	in := newSearch(q.work, Options{Options: opts})
	in.depth, in.p, in.seed = s.depth+1, q, r.on(q)
	return in
}

// wholeBounds copies the bounds of p for a derived problem.
func (p *problem) wholeBounds() (lower, upper []float64, integer []bool) {
	return append([]float64(nil), p.lower...), append([]float64(nil), p.upper...), append([]bool(nil), p.integer...)
}

// mapPriority translates priorities into reduced columns.
func mapPriority(priority []int, p *problem) []int {
	if priority == nil {
		return nil
	}
	list := make([]int, p.n)
	for k, j := range p.kept {
		list[k] = priority[j]
	}
	return list
}

// smallBudget is the work for one small model: some relaxations' worth.
func (b *base) smallBudget(factor, atLeast int64) int64 { return max(atLeast, factor*b.work) }

// innerOptions are the options of a small model solved on the way.
func (s *search) innerOptions(work int64, gap float64) solve.Options {
	o := solve.Options{Work: work, Gap: max(gap, s.opts.Gap), Workers: s.opts.Workers, Seed: s.opts.Seed}
	if s.opts.Work > 0 {
		o.Work = max(1, min(o.Work, s.opts.Work-s.work))
	}
	return o
}

// account adds a nested search's effort.
func (s *search) account(inner *search) {
	s.work += inner.work
	s.nodes += inner.nodes
	s.iterations += inner.iterations
}

// varsOf lists the reduced columns of a group.
func (b *base) varsOf(group []model.Var) []int32 {
	var list []int32
	for _, j := range group {
		if k := b.place[j]; k >= 0 && b.p.integer[k] {
			list = append(list, k)
		}
	}
	return list
}
