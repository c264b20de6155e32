package mip

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// verdict is what one solve of a relaxation says of its box.
type verdict int

const (
	solved     verdict = iota // an optimum is held in x, with a bound
	empty                     // no point of the relaxation lies in the box
	beyond                    // every point is worse than the cutoff
	unfinished                // an iteration limit ended it; the bound is still valid
	stopped                   // cancelled or out of time
	untrusted                 // the arithmetic failed; nothing is known of the box
	unlimited                 // the objective improves without end
)

// relaxation is a linear program over the problem's rows and the cuts in force, warm from solve to solve.
// Only the whole-number columns' bounds follow the tree; continuous ones keep their own.
type relaxation struct {
	p            *problem
	s            *lp.Solver
	cuts         []*cut    // rows p.m, p.m+1, … of s
	lower, upper []float64 // bounds as s has them
	x            []float64 // of the last solve that ended solved
	objective    float64   // likewise
	bound        float64   // proven for the box at the last solve, −Inf if nothing is known
	price        []float64 // scratch: reduced costs recomputed
}

func newRelaxation(p *problem, opts solve.Options) *relaxation {
	return &relaxation{p: p, s: lp.NewSolver(p.work, opts),
		lower: append([]float64(nil), p.lower...), upper: append([]float64(nil), p.upper...),
		x: make([]float64, p.n), price: make([]float64, p.n)}
}

// clone is an independent copy for another slot.
func (r *relaxation) clone() *relaxation {
	return &relaxation{p: r.p, s: r.s.Clone(), cuts: append([]*cut(nil), r.cuts...),
		lower: append([]float64(nil), r.lower...), upper: append([]float64(nil), r.upper...),
		x: append([]float64(nil), r.x...), objective: r.objective, bound: r.bound, price: make([]float64, r.p.n)}
}

// load moves the whole-number columns' bounds to those of the box.
func (r *relaxation) load(d *domain) {
	for _, j := range r.p.intCols {
		r.setBounds(j, d.lower[j], math.Max(d.lower[j], d.upper[j]))
	}
}

func (r *relaxation) setBounds(j int32, lower, upper float64) {
	if r.lower[j] != lower || r.upper[j] != upper {
		r.lower[j], r.upper[j] = lower, upper
		r.s.SetBounds(model.Var(j), lower, upper)
	}
}

// limits for one solve: stop at iterations (0: none) and once the objective is proven at least cutoff.
func limits(cutoff float64, iterations int64) lp.Limits {
	l := lp.Limits{Iterations: iterations}
	if !math.IsInf(cutoff, 1) {
		l.Objective, l.HasObjective = cutoff, true
	}
	return l
}

// solve re-solves and classifies. Claims of emptiness and of passing the cutoff are believed only after the
// multipliers behind them were checked against the rows; otherwise the solve is repeated from the slack basis,
// and failing that nothing is claimed.
func (r *relaxation) solve(ctx context.Context, cutoff float64, iterations int64) verdict {
	for try := 0; ; try++ {
		v := r.solveOnce(ctx, cutoff, iterations)
		if v != untrusted || try == 2 {
			return v
		}
		r.s.SetBasis(r.slackBasis())
		iterations = 0
		if try == 1 {
			cutoff = inf
		}
	}
}

func (r *relaxation) solveOnce(ctx context.Context, cutoff float64, iterations int64) verdict {
	r.bound = -inf
	stop := r.s.Solve(ctx, limits(cutoff, iterations))
	switch stop {
	case solve.Optimal:
		copy(r.x, r.s.X())
		r.objective = r.s.Objective()
		r.bound = r.provenBound(r.s.Y())
		if !(math.Abs(r.bound-r.objective) > boundTrust*math.Max(1, math.Abs(r.objective))) || math.IsInf(r.bound, -1) {
			r.bound = r.objective
		}
		return solved
	case solve.Infeasible:
		if r.refutes(r.s.Ray()) {
			return empty
		}
	case solve.ObjectiveLimit:
		if r.bound = r.provenBound(r.s.Y()); r.bound >= cutoff-boundTrust*math.Max(1, math.Abs(cutoff)) {
			return beyond
		}
	case solve.WorkLimit:
		r.bound = r.provenBound(r.s.Y())
		return unfinished
	case solve.Cancelled, solve.TimeLimit:
		return stopped
	case solve.Unbounded:
		return unlimited
	}
	return untrusted
}

func (r *relaxation) slackBasis() lp.Basis {
	b := lp.Basis{Cols: make([]lp.Status, r.p.n), Rows: make([]lp.Status, r.p.m+len(r.cuts))}
	for i := range b.Rows {
		b.Rows[i] = lp.Basic
	}
	for j := range b.Cols {
		switch {
		case r.lower[j] > -inf:
			b.Cols[j] = lp.AtLower
		case r.upper[j] < inf:
			b.Cols[j] = lp.AtUpper
		default:
			b.Cols[j] = lp.Free
		}
	}
	return b
}

// combine adds up the rows with the multipliers y: r.price becomes base − Aᵀy, and the return value is the least
// and greatest value of y·r over the rows' sides. Multipliers on an infinite side that are mere dust are dropped.
func (r *relaxation) combine(y []float64, base []float64) (least, most float64) {
	if base == nil {
		clear(r.price)
	} else {
		copy(r.price, base)
	}
	for i, w := range y {
		if w == 0 {
			continue
		}
		lo, up, vars, coefs := r.rowAt(i)
		if w < 0 {
			lo, up = up, lo
		}
		if math.Abs(w) < 1e-9 && (math.IsInf(lo, 0) || base == nil && math.IsInf(up, 0)) {
			continue
		}
		least += w * lo
		most += w * up
		for k, j := range vars {
			r.price[j] -= w * coefs[k]
		}
	}
	return least, most
}

func (r *relaxation) rowAt(i int) (lo, up float64, vars []int32, coefs []float64) {
	if i < r.p.m {
		vars, coefs = r.p.row(i)
		return r.p.rowLo[i], r.p.rowUp[i], vars, coefs
	}
	c := r.cuts[i-r.p.m]
	return -inf, c.rhs, c.vars, c.coefs
}

// provenBound is the bound that the multipliers y prove on the box (Neumaier and Shcherbina 2004, "Safe bounds in
// linear and mixed-integer linear programming"): cᵀx ≥ Σ min y_i·r_i + Σ min (c − Aᵀy)_j·x_j, whatever y is.
func (r *relaxation) provenBound(y []float64) float64 {
	bound, _ := r.combine(y, r.p.cost)
	bound += r.p.work.Offset
	for j, d := range r.price {
		switch {
		case d > 0 && r.lower[j] > -inf:
			bound += d * r.lower[j]
		case d < 0 && r.upper[j] < inf:
			bound += d * r.upper[j]
		case math.Abs(d) > 1e-7*math.Max(1, math.Abs(r.p.cost[j])):
			return -inf
		}
	}
	return bound
}

// refutes checks a claim of emptiness: no value of y·(A·x) over the box meets one of y·r over the rows' sides.
func (r *relaxation) refutes(y []float64) bool {
	if len(y) != r.p.m+len(r.cuts) {
		return false
	}
	least, most := r.combine(y, nil)
	var a activity
	for j, g := range r.price {
		g = -g
		if math.Abs(g) < 1e-12 {
			continue
		}
		a.add(g, r.lower[j], r.upper[j])
	}
	noise := 1e-9 * math.Max(1e-3, a.size)
	above := a.maxInf == 0 && least > a.max+noise
	below := a.minInf == 0 && most < a.min-noise
	return above || below
}

// addCuts appends rows to the relaxation.
func (r *relaxation) addCuts(cuts []*cut) {
	rows := make([]lp.Cut, len(cuts))
	for k, c := range cuts {
		vars := make([]model.Var, len(c.vars))
		for n, j := range c.vars {
			vars[n] = model.Var(j)
		}
		rows[k] = lp.Cut{Lower: -inf, Upper: c.rhs, Vars: vars, Coefs: c.coefs}
	}
	r.s.AddRows(rows)
	r.cuts = append(r.cuts, cuts...)
}

// dropCuts deletes the cuts for which drop is true; only slack ones should go.
func (r *relaxation) dropCuts(drop func(k int) bool) int {
	var rows []model.Row
	kept := r.cuts[:0:0]
	for k, c := range r.cuts {
		if drop(k) {
			rows = append(rows, model.Row(r.p.m+k))
		} else {
			kept = append(kept, c)
		}
	}
	if len(rows) > 0 {
		r.s.DeleteRows(rows)
		r.cuts = kept
	}
	return len(rows)
}

// fractional lists the whole-number columns whose value is not whole.
func (r *relaxation) fractional(list []int32) []int32 {
	list = list[:0]
	for _, j := range r.p.intCols {
		if v := r.x[j]; math.Abs(v-math.Round(v)) > integralityTol {
			list = append(list, j)
		}
	}
	return list
}
