package mip

import (
	"context"
	"math"

	"feedline/planner/solve/lp"
)

// slot explores subtrees with state of its own. Between begin and the merge it shares nothing that changes.
type slot struct {
	s      *search
	id     int
	r      *relaxation
	d      *domain
	pseudo *pseudoCosts

	open        openNodes
	current     *node // whose changes d holds; nil for none
	best        incumbent
	prune       float64
	floor, lost float64
	nodes       int64
	made        uint64
	dives       int
	diveWork    int64

	x                        []float64 // optimum at the present node
	fractional               []int32
	nodeWork, trialWork      int64
	seenWork, seenIterations int64
}

func newSlot(s *search, id int, r *relaxation) *slot {
	t := &slot{s: s, id: id, r: r, d: newDomain(s.p), pseudo: newPseudoCosts(s.p.n), x: make([]float64, s.p.n),
		prune: inf, floor: inf, lost: inf, best: incumbent{value: inf}}
	t.mark()
	return t
}

func (t *slot) totalWork() int64 { return t.r.s.Work() + t.d.work }

// spent is the work since the last mark.
func (t *slot) spent() int64 { return t.totalWork() - t.seenWork }

func (t *slot) mark() { t.seenWork, t.seenIterations = t.totalWork(), t.r.s.Iterations() }

// begin takes over the shared state for a round.
func (t *slot) begin(prune float64) {
	t.d.back(0)
	copy(t.d.lower, t.s.box.lower)
	copy(t.d.upper, t.s.box.upper)
	t.d.cutoff = t.s.box.cutoff
	t.current = nil
	t.pseudo.copyFrom(t.s.pseudo)
	t.best = incumbent{value: t.s.best.value}
	t.prune, t.floor, t.lost, t.nodes = prune, inf, inf, 0
}

// explore works on the slot's open nodes until the budget is spent: the node with the least bound, then a dive from it.
func (t *slot) explore(ctx context.Context, budget int64) {
	var n *node
	for ctx.Err() == nil {
		if n == nil {
			if len(t.open) == 0 || t.spent() > budget {
				return
			}
			n = t.open.pop()
		}
		if t.s.p.lift(n.bound) >= t.prune {
			t.drop(n.bound)
			n = nil
			continue
		}
		if t.spent() > budget {
			break
		}
		n = t.process(ctx, n)
	}
	if n != nil {
		t.open.push(n)
	}
}

// drop closes a node whose solutions are proven to be at least bound.
func (t *slot) drop(bound float64) { t.floor = math.Min(t.floor, t.s.p.lift(bound)) }

// enter brings the slot's box to node n. False when propagation shows it empty.
func (t *slot) enter(n *node) bool {
	if n.parent == nil || t.current != n.parent {
		t.d.back(0)
		t.current = nil
		if n.basis != nil {
			t.r.s.SetBasis(*n.basis)
		}
		var path []*node
		for a := n; a != nil; a = a.parent {
			path = append(path, a)
		}
		for k := len(path) - 1; k > 0; k-- {
			if !path[k].change.apply(t.d) {
				return false
			}
		}
	}
	t.current = n
	return n.change.apply(t.d) && t.d.propagate()
}

// process solves node n and branches. It returns the child to go on with, or nil.
func (t *slot) process(ctx context.Context, n *node) *node {
	t.nodes++
	if !t.enter(n) {
		t.current = nil
		t.drop(t.prune)
		return nil
	}
	t.r.load(t.d)
	before := t.r.s.Work()
	v := t.r.solve(ctx, t.prune, 0)
	t.nodeWork += t.r.s.Work() - before
	switch v {
	case empty, beyond: // empty, given that bounds may have been moved by the value held
		t.drop(t.prune)
		return nil
	case stopped:
		t.open.push(n)
		return nil
	case solved:
		t.learn(n)
		n.bound = math.Max(n.bound, t.r.bound)
		if t.s.p.lift(n.bound) >= t.prune {
			t.drop(n.bound)
			return nil
		}
		return t.expand(ctx, n)
	}
	copy(t.x, t.d.lower)
	return t.splitBlind(n, unclear)
}

// learn records what branching on the way to n did to the objective.
func (t *slot) learn(n *node) {
	if n.change.col >= 0 && n.distance > 0 {
		dir := int8(up)
		if n.change.upper {
			dir = down
		}
		t.pseudo.note(n.change.col, dir, t.r.objective-n.parentValue, n.distance)
	}
}

// expand branches at n, whose optimum the relaxation holds.
func (t *slot) expand(ctx context.Context, n *node) *node {
	copy(t.x, t.r.x)
	z := t.r.objective
	t.fractional = t.r.fractional(t.fractional)
	if len(t.fractional) == 0 {
		return t.whole(ctx, n)
	}
	t.tightenByCost(n.bound)
	basis := t.r.s.Basis()
	t.cheapHeuristics(ctx, n, &basis)
	if t.s.p.lift(n.bound) >= t.prune {
		t.drop(n.bound)
		return nil
	}
	return t.branch(t.branchOn(ctx, t.fractional, z), n, z, &basis)
}

// tightenByCost moves bounds that the reduced costs show useless for beating the solution held.
func (t *slot) tightenByCost(bound float64) {
	if math.IsInf(t.prune, 1) {
		return
	}
	d, room := t.r.s.D(), t.prune-bound
	for _, j := range t.s.p.intCols {
		l, u := t.d.lower[j], t.d.upper[j]
		if l == u || math.Abs(d[j]) < 1e-7 {
			continue
		}
		if steps := math.Floor(room/math.Abs(d[j]) + 1e-6); d[j] > 0 && t.r.x[j] <= l+integralityTol && steps < u-l {
			t.d.setUpper(j, l+steps)
		} else if d[j] < 0 && t.r.x[j] >= u-integralityTol && steps < u-l {
			t.d.setLower(j, u-steps)
		}
	}
}

// branch makes the children of n for a decision and returns the one to dive into.
func (t *slot) branch(b decision, n *node, z float64, basis *lp.Basis) *node {
	f := b.value - math.Floor(b.value)
	kids := [2]*node{
		t.child(n, boundChange{b.col, true, math.Floor(b.value)}, b.bounds[down], z, f, basis),
		t.child(n, boundChange{b.col, false, math.Ceil(b.value)}, b.bounds[up], z, 1-f, basis),
	}
	first := down
	if (1-f)*t.pseudo.unit(b.col, up) < f*t.pseudo.unit(b.col, down) {
		first = up
	}
	if math.IsInf(b.bounds[first], 1) {
		first = 1 - first
	}
	for side, kid := range kids {
		switch {
		case math.IsInf(b.bounds[side], 1):
			t.drop(t.prune)
			kids[side] = nil
		case side != first:
			t.open.push(kid)
		}
	}
	return kids[first]
}

func (t *slot) child(n *node, c boundChange, bound, z, distance float64, basis *lp.Basis) *node {
	t.made++
	seq := uint64(t.s.rounds)<<32 | uint64(t.id)<<28 | t.made&(1<<28-1)
	return &node{parent: n, change: c, bound: math.Max(n.bound, bound), depth: n.depth + 1, seq: seq,
		basis: basis, parentValue: z, distance: distance}
}

// whole handles a node whose relaxation's optimum is whole: verify it, and if it is as good as the node's bound
// the node is done.
func (t *slot) whole(ctx context.Context, n *node) *node {
	inc, what := t.verify(ctx, t.x)
	t.current = nil
	if what == accepted {
		t.found(inc)
		if inc.value <= n.bound+1e-7*math.Max(1, math.Abs(n.bound)) || t.s.p.lift(n.bound) >= t.prune {
			t.drop(n.bound)
			return nil
		}
	}
	if ctx.Err() != nil {
		t.open.push(n)
		return nil
	}
	return t.splitBlind(n, what)
}

// found keeps an incumbent of the slot's own and lowers the pruning value.
func (t *slot) found(inc incumbent) {
	if inc.value < t.best.value {
		t.best = inc
		t.prune = math.Min(t.prune, t.s.pruneAt(inc.value))
		t.d.setCutoff(t.prune)
	}
}

// splitBlind branches without a fractional column to go by: on the first column that is not fixed yet, beside its
// value in t.x. With none left the node is decided by what verification said.
func (t *slot) splitBlind(n *node, what fitting) *node {
	t.current = nil
	lower, upper := t.boundsAt(n)
	for _, j := range t.s.p.intCols {
		l, u := lower[j], upper[j]
		if l >= u {
			continue
		}
		v := math.Max(l, math.Min(u, math.Round(t.x[j])))
		if math.IsInf(v, 0) || math.IsNaN(v) {
			v = math.Max(l, math.Min(u, 0))
		}
		if v == u {
			v--
		}
		t.open.push(t.child(n, boundChange{j, false, v + 1}, n.bound, 0, 0, n.basis))
		t.open.push(t.child(n, boundChange{j, true, v}, n.bound, 0, 0, n.basis))
		return nil
	}
	if what == refused {
		return nil
	}
	t.lost = math.Min(t.lost, n.bound)
	return nil
}

// boundsAt are the bounds that branching alone put on node n's columns.
func (t *slot) boundsAt(n *node) (lower, upper []float64) {
	t.d.back(0)
	lower, upper = append([]float64(nil), t.s.p.lower...), append([]float64(nil), t.s.p.upper...)
	for a := n; a != nil; a = a.parent {
		if c := a.change; c.col >= 0 && c.upper {
			upper[c.col] = math.Min(upper[c.col], c.value)
		} else if c.col >= 0 {
			lower[c.col] = math.Max(lower[c.col], c.value)
		}
	}
	return lower, upper
}
