package mip

import (
	"context"
	"fmt"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/certify"
	"feedline/planner/solve/lp"
)

// Certificate is what can be proven of a search's result without trust in any rounding, presolve or cut.
type Certificate struct {
	// Exactly: with the whole numbers of the solution fixed and its continuous columns solved for in rationals, every row and
	// bound holds without any violation. Feasible: within certify.Feasibility.
	Exactly   bool
	Feasible  bool
	Objective float64 // of that point, to the nearest float64; meaningless unless Feasible

	HasBound bool
	Bound    float64 // proven on the optimum, in the model's own sense; rounded to the safe side
	Nodes    int     // of the tree that the proof took, 1 for the root alone; each leaf's bound or emptiness is exact
	Proven   bool    // Bound is the search's own within certify.Agreement, or the proof that there is no solution is complete
	Words    string
}

// Certify proves again what it can of res, the result of a search on m: the solution's feasibility, and a bound by branching
// on the model as it stands (no presolve, no cuts), each leaf closed by an exact sum over its duals or by an exact Farkas row.
// The tree ends at mostNodes; the bound is then that of its weakest open node, at least the linear relaxation's.
func Certify(ctx context.Context, m *model.Model, res solve.Result, mostNodes int) Certificate {
	var c Certificate
	words := "there is no solution to check"
	if res.Has && len(res.X) == m.NumVars() {
		words = c.point(ctx, m, res)
	}
	p := newProver(m, res)
	if p == nil {
		c.Words = words + "; no bound is certified"
		return c
	}
	p.run(ctx, mostNodes)
	c.Nodes = p.nodes
	c.HasBound = !math.IsInf(p.least, 0)
	c.Bound = p.sign * p.least
	complete := len(p.open) == 0 && p.doubt == ""
	switch {
	case res.Stop == solve.Infeasible:
		c.HasBound = false
		c.Proven = complete && p.leaves == 0
		c.Words = "not proven that there is no solution: that rests on floating-point branch and bound"
		if c.Proven {
			c.Words = fmt.Sprintf("proven that there is no solution: a tree of %d nodes, each leaf exactly empty", p.nodes)
		}
		return c
	case !c.HasBound:
		c.Words = words + "; no bound is certified; the search's bound rests on floating-point branch and bound"
		return c
	}
	c.Proven = complete && p.sign*res.Bound-p.least <= certify.Agreement*math.Max(1, math.Abs(res.Bound)) && (!res.Has || c.Feasible)
	if c.Proven {
		c.Words = fmt.Sprintf("%s; the bound %.12g is proven exactly by a tree of %d nodes", words, c.Bound, p.nodes)
		return c
	}
	c.Words = fmt.Sprintf("%s; the bound %.12g is proven exactly (%d nodes); the search's bound %.12g rests on floating-point branch and bound", words, c.Bound, p.nodes, res.Bound)
	if p.doubt != "" {
		c.Words += " (" + p.doubt + ")"
	}
	return c
}

// point fixes the whole numbers and checks the rest exactly.
func (c *Certificate) point(ctx context.Context, m *model.Model, res solve.Result) string {
	e := certify.Exact(m, res)
	c.Exactly, c.Feasible, c.Objective = e.Exactly, e.Feasible, e.Objective
	if !e.Exactly && m.NumIntegers() < m.NumVars() {
		fixed := m.Relaxation()
		for j, whole := range m.Integer {
			if whole {
				v := math.Round(res.X[j])
				fixed.Lower[j], fixed.Upper[j] = v, v
			}
		}
		if r := lp.Solve(ctx, fixed, solve.Options{}); r.Stop == solve.Optimal {
			if f := certify.Exact(fixed, r); f.Exactly {
				c.Exactly, c.Feasible, c.Objective = true, true, f.Objective
			}
		}
	}
	switch {
	case c.Exactly:
		return fmt.Sprintf("with its whole numbers fixed the solution satisfies every row and bound exactly, objective %.12g", c.Objective)
	case c.Feasible:
		return fmt.Sprintf("the solution satisfies every row and bound within %.2g", math.Max(e.Row.Relative, e.ColumnBound.Relative))
	}
	return fmt.Sprintf("the solution is not feasible: rows %.3g, bounds %.3g, rounding %.3g", e.Row.Size, e.ColumnBound.Size, e.Rounding)
}

// exactTree is the tree of a proof, minimised, explored depth first.
type exactTree struct {
	m      *model.Model // relaxed; its bounds are those of the present node
	s      *lp.Solver
	pseudo *pseudoCosts
	sign   float64
	target float64 // bound from which a leaf is closed
	step   float64 // objective values of solutions lie on gridAt + step·ℤ; 0 means unknown
	gridAt float64
	ints   []int32
	moved  []int32 // columns whose bounds differ from the root's
	lower  []float64
	upper  []float64

	open   []*exactNode
	least  float64 // certified bound of the whole
	leaves int     // closed by a bound, not by emptiness
	nodes  int
	doubt  string
}

// exactNode is a box: the changes on the way to it, and the bound certified above it.
type exactNode struct {
	changes  []boundChange
	bound    float64
	basis    lp.Basis
	value    float64 // of the parent's relaxation
	distance float64
}

// newProver returns the tree at its root; nil when res claims no bound.
func newProver(m *model.Model, res solve.Result) *exactTree {
	p := &exactTree{m: m.Relaxation(), sign: 1, least: inf, lower: m.Lower, upper: m.Upper, pseudo: newPseudoCosts(m.NumVars())}
	if m.Maximize {
		p.sign = -1
	}
	p.target = inf
	if res.Stop != solve.Infeasible {
		if math.IsInf(res.Bound, 0) || math.IsNaN(res.Bound) {
			return nil
		}
		p.target = p.sign*res.Bound - certify.Agreement/10*math.Max(1, math.Abs(res.Bound))
	}
	p.m.Lower, p.m.Upper = append([]float64(nil), m.Lower...), append([]float64(nil), m.Upper...)
	for j, whole := range m.Integer {
		if whole {
			p.ints = append(p.ints, int32(j))
		}
	}
	p.step, p.gridAt = wholeCosts(m)
	p.gridAt *= p.sign
	p.s = lp.NewSolver(p.m, solve.Options{})
	return p
}

// wholeCosts is the grid of the objective when all its costs are whole numbers on whole columns; exact by its nature.
func wholeCosts(m *model.Model) (step, at float64) {
	g := int64(0)
	for j, c := range m.Cost {
		if c == 0 {
			continue
		}
		if !m.Integer[j] || c != math.Trunc(c) || math.Abs(c) > 1e9 {
			return 0, 0
		}
		g = gcd(g, int64(math.Abs(c)))
	}
	if m.Offset != math.Trunc(m.Offset) {
		return 0, 0
	}
	return float64(g), m.Offset
}

// run grows the tree.
func (p *exactTree) run(ctx context.Context, most int) {
	p.open = append(p.open, &exactNode{bound: -inf, basis: p.s.Basis()})
	for len(p.open) > 0 && p.nodes < most && p.doubt == "" && ctx.Err() == nil {
		n := p.open[len(p.open)-1]
		p.open = p.open[:len(p.open)-1]
		p.process(ctx, n)
	}
	for _, n := range p.open {
		p.least = math.Min(p.least, n.bound)
	}
}

// enter moves the bounds to node n's.
func (p *exactTree) enter(n *exactNode) {
	for _, j := range p.moved {
		p.m.Lower[j], p.m.Upper[j] = p.lower[j], p.upper[j]
	}
	was := p.moved
	p.moved = p.moved[:0:0]
	for _, c := range n.changes {
		if p.moved = append(p.moved, c.col); c.upper {
			p.m.Upper[c.col] = math.Min(p.m.Upper[c.col], c.value)
		} else {
			p.m.Lower[c.col] = math.Max(p.m.Lower[c.col], c.value)
		}
	}
	for _, j := range append(was, p.moved...) {
		p.s.SetBounds(model.Var(j), p.m.Lower[j], p.m.Upper[j])
	}
	p.s.SetBasis(n.basis)
}

// process solves node n and closes it exactly, or branches.
func (p *exactTree) process(ctx context.Context, n *exactNode) {
	p.nodes++
	p.enter(n)
	switch p.s.Solve(ctx, lp.Limits{}) {
	case solve.Infeasible:
		if !certify.Farkas(p.m, p.s.Ray()) && !p.crossed() {
			p.keep(n, "an emptiness found in floating point has no exact proof")
		}
		return
	case solve.Optimal:
	default:
		p.keep(n, "")
		return
	}
	z := p.sign * p.s.Objective()
	if len(n.changes) > 0 && n.distance > 0 {
		c, dir := n.changes[len(n.changes)-1], up
		if c.upper {
			dir = down
		}
		p.pseudo.note(c.col, int8(dir), z-n.value, n.distance)
	}
	if n.bound == -inf || p.lift(z) >= p.target {
		if b, ok := certify.Bound(p.m, p.s.Y()); ok {
			n.bound = math.Max(n.bound, p.lift(p.sign*b))
		}
		if n.bound >= p.target {
			p.least = math.Min(p.least, n.bound)
			p.leaves++
			return
		}
	}
	p.branch(n, z)
}

// crossed tells whether the bounds of a column of the node contradict each other.
func (p *exactTree) crossed() bool {
	for _, j := range p.moved {
		if p.m.Lower[j] > p.m.Upper[j] {
			return true
		}
	}
	return false
}

// lift raises a proven bound to the objective's next grid point. The margin is above the rounding of the quotient, which is
// small as only bounds of few steps are lifted; it can only make the result weaker.
func (p *exactTree) lift(b float64) float64 {
	if k := (b - p.gridAt) / p.step; p.step > 0 && math.Abs(k) < 1e6 {
		return math.Max(b, p.gridAt+p.step*math.Ceil(k-1e-9))
	}
	return b
}

// keep puts n back and notes what is in doubt.
func (p *exactTree) keep(n *exactNode, doubt string) {
	p.open = append(p.open, n)
	p.doubt = doubt
	if doubt == "" {
		p.doubt = "the tree was cut short"
	}
}

// branch splits on the column of the best pseudo-cost; without a fractional one on any that is not fixed.
func (p *exactTree) branch(n *exactNode, z float64) {
	x := p.s.X()
	best, score, at := int32(-1), -1.0, 0.0
	for _, j := range p.ints {
		if f := x[j] - math.Floor(x[j]); f > 1e-6 && f < 1-1e-6 {
			if s := p.pseudo.score(j, x[j]); s > score || s == score && math.Abs(f-0.5) < math.Abs(at-math.Floor(at)-0.5) {
				best, score, at = j, s, x[j]
			}
		}
	}
	distance := at - math.Floor(at)
	if best < 0 {
		if best, at = p.undecided(x); best < 0 {
			p.keep(n, "a solution better than the bound")
			return
		}
		distance = 0
	}
	basis := p.s.Basis()
	kid := func(c boundChange, distance float64) {
		changes := append(append(make([]boundChange, 0, len(n.changes)+1), n.changes...), c)
		p.open = append(p.open, &exactNode{changes, n.bound, basis, z, distance})
	}
	kid(boundChange{best, false, math.Floor(at) + 1}, 1-distance)
	kid(boundChange{best, true, math.Floor(at)}, distance)
}

// undecided is a whole column that is not fixed, with a place to split it.
func (p *exactTree) undecided(x []float64) (int32, float64) {
	for _, j := range p.ints {
		if l, u := p.m.Lower[j], p.m.Upper[j]; l < u {
			v := math.Round(x[j])
			if v >= u {
				v = u - 1
			}
			return j, math.Max(l, v)
		}
	}
	return -1, 0
}
