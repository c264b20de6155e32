package planner

import (
	"context"
	"math"
	"slices"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// settling is the linear program that is left of a formulation's model when the whole numbers of the lines are held: what they decide is
// folded into it, so that of a plant's thousands of possible runs only those with a die on a line that is on are columns. Loads stay
// columns, to be held, freed and held otherwise with the basis going on. A settling is used by one goroutine.
type settling struct {
	f     *formulation
	small *model.Model
	vars  []model.Var // of the whole, by column of small
	rows  []int32     // of the whole, by row of small
	x     []float64   // of the whole: held and folded columns
	s     *lp.Solver

	columns model.Columns // of small
	counts  []bool        // by row of small: it has whole numbers alone
}

// standing is a basis told by columns and rows of the whole: columns that are not at their lower bound, rows that are not basic.
type standing struct{ cols, rows map[int]lp.Status }

// settle folds the lines' whole numbers of x into f's model; nil if they are against its limits. from is a basis to start from, or nil.
func (f *formulation) settle(x []float64, from *standing, opt solve.Options) *settling {
	return f.settleBut(f.loadColumns(), x, from, opt)
}

// settleBut does so with other whole numbers than those of loads left free.
func (f *formulation) settleBut(free []bool, x []float64, from *standing, opt solve.Options) *settling {
	g := newFolding(f.m)
	for j, whole := range f.m.Integer {
		if whole && !free[j] {
			g.bound(j, math.Round(x[j]), math.Round(x[j]))
		}
	}
	if !g.run() {
		return nil
	}
	q := &settling{f: f, x: make([]float64, f.m.NumVars())}
	q.take(g, free)
	q.s = lp.NewSolver(q.small, solve.Options{Time: opt.Time, Seed: opt.Seed})
	if from != nil {
		q.s.SetBasis(q.basis(from))
	}
	return q
}

// loadColumns tells the columns of loads and of whether any are ordered.
func (f *formulation) loadColumns() []bool {
	load := make([]bool, f.m.NumVars())
	for s := range f.in.Lanes {
		for t := range f.buckets {
			for _, r := range []ref{f.loads[s][t], f.placed[s][t]} {
				if r.is {
					load[r.v] = true
				}
			}
		}
	}
	return load
}

// take makes the small model of what folding left free. Columns to keep, those of loads, are kept even if one value is left to them.
func (q *settling) take(g *folding, keep []bool) {
	m := q.f.m
	q.small = &model.Model{Name: "settling", Offset: m.Offset}
	place := make([]int32, m.NumVars()) // 1 + column in small
	for j := range m.NumVars() {
		if !keep[j] && g.lower[j] == g.upper[j] {
			q.x[j] = g.lower[j]
			q.small.Offset += m.Cost[j] * q.x[j]
			continue
		}
		q.vars = append(q.vars, model.Var(j))
		place[j] = int32(len(q.vars))
		q.small.AddVar("", g.lower[j], g.upper[j], m.Cost[j])
	}
	for i := range m.NumRows() {
		if g.gone[i] {
			continue
		}
		vars, coefs := m.RowTerms(model.Row(i))
		var terms []model.Term
		held := 0.0
		for k, v := range vars {
			if place[v] == 0 {
				held += coefs[k] * q.x[v]
			} else {
				terms = append(terms, model.Term{Var: model.Var(place[v] - 1), Coef: coefs[k]})
			}
		}
		q.small.AddRow("", m.RowLower[i]-held, m.RowUpper[i]-held, terms...)
		q.rows = append(q.rows, int32(i))
		q.counts = append(q.counts, !slices.ContainsFunc(terms, func(t model.Term) bool { return !keep[q.vars[t.Var]] }))
	}
	q.columns = q.small.Columns()
}

// loose solves with any amount of loads, fractions too.
func (q *settling) loose(ctx context.Context) solve.Result {
	for k, v := range q.vars {
		if q.f.m.Integer[v] {
			q.s.SetBounds(model.Var(k), q.small.Lower[k], q.small.Upper[k])
		}
	}
	return q.solve(ctx)
}

// with solves with the loads of x.
func (q *settling) with(ctx context.Context, x []float64) solve.Result {
	q.hold(x)
	return q.solve(ctx)
}

// below solves with the loads of x as far as to know whether the optimum is below most; else there is no solution.
func (q *settling) below(ctx context.Context, x []float64, most float64) solve.Result {
	q.hold(x)
	return q.solveWithin(ctx, lp.Limits{Objective: most, HasObjective: true})
}

// hold sets the bounds of loads to what they are in x.
func (q *settling) hold(x []float64) {
	for k, v := range q.vars {
		if q.f.m.Integer[v] {
			n := math.Round(x[v])
			q.s.SetBounds(model.Var(k), n, n)
		}
	}
}

func (q *settling) solve(ctx context.Context) solve.Result { return q.solveWithin(ctx, lp.Limits{}) }

func (q *settling) solveWithin(ctx context.Context, limits lp.Limits) solve.Result {
	before, steps := q.s.Work(), q.s.Iterations()
	stop := q.s.Solve(ctx, limits)
	r := solve.Result{Stop: stop, Bound: math.Inf(-1), Work: q.s.Work() - before, Iterations: q.s.Iterations() - steps}
	if stop != solve.Optimal {
		return r
	}
	r.Has, r.Objective = true, q.s.Objective()
	r.X = append([]float64(nil), q.x...)
	for k, v := range q.s.X() {
		r.X[q.vars[k]] = v
	}
	return r
}

// standing is where the solver stands.
func (q *settling) standing() *standing {
	b := q.s.Basis()
	st := &standing{map[int]lp.Status{}, map[int]lp.Status{}}
	for k, s := range b.Cols {
		if s != lp.AtLower {
			st.cols[int(q.vars[k])] = s
		}
	}
	for k, s := range b.Rows {
		if s != lp.Basic {
			st.rows[int(q.rows[k])] = s
		}
	}
	return st
}

// basis is where from stands, as far as its columns and rows are in the small model; what it does not know of a row is basic.
func (q *settling) basis(from *standing) lp.Basis {
	b := lp.Basis{Cols: make([]lp.Status, len(q.vars)), Rows: make([]lp.Status, len(q.rows))}
	for k, v := range q.vars {
		b.Cols[k] = from.cols[int(v)]
	}
	for k, i := range q.rows {
		b.Rows[k] = lp.Basic
		if s, ok := from.rows[int(i)]; ok {
			b.Rows[k] = s
		}
	}
	fillBasis(q.small, b)
	return b
}

// folding carries fixed columns into bounds: a row with one free column left bounds it, a column whose bounds meet is fixed.
type folding struct {
	m            *model.Model
	lower, upper []float64
	act          []float64 // by row: what its fixed columns add up to
	free         []int32   // by row: columns not fixed
	gone         []bool    // by row: folded
	columns      model.Columns
	fixed        []bool
	queue        []int32 // columns newly fixed
	bad          bool
}

// foldTolerance is how far bounds may cross, relative to their size, for x was rounded.
const foldTolerance = 1e-7

func newFolding(m *model.Model) *folding {
	g := &folding{m: m, lower: append([]float64(nil), m.Lower...), upper: append([]float64(nil), m.Upper...), columns: m.Columns(),
		act: make([]float64, m.NumRows()), free: make([]int32, m.NumRows()), gone: make([]bool, m.NumRows()), fixed: make([]bool, m.NumVars())}
	for i := range g.free {
		vars, _ := m.RowTerms(model.Row(i))
		g.free[i] = int32(len(vars))
	}
	return g
}

// bound tightens column j.
func (g *folding) bound(j int, lower, upper float64) {
	if g.fixed[j] {
		if near := foldTolerance * max(1, math.Abs(g.lower[j])); g.lower[j] < lower-near || g.lower[j] > upper+near {
			g.bad = true
		}
		return
	}
	lower, upper = max(lower, g.lower[j]), min(upper, g.upper[j])
	if lower > upper {
		if lower-upper > foldTolerance*max(1, math.Abs(upper)) {
			g.bad = true
		}
		lower = upper
	}
	g.lower[j], g.upper[j] = lower, upper
	if lower == upper {
		g.fixed[j] = true
		g.queue = append(g.queue, int32(j))
	}
}

// run folds until nothing more follows; false if the limits are against it.
func (g *folding) run() bool {
	for j := range g.fixed {
		if !g.fixed[j] && g.lower[j] == g.upper[j] {
			g.fixed[j] = true
			g.queue = append(g.queue, int32(j))
		}
	}
	for i := range g.free {
		g.look(i)
	}
	for len(g.queue) > 0 && !g.bad {
		j := g.queue[len(g.queue)-1]
		g.queue = g.queue[:len(g.queue)-1]
		for k := g.columns.Start[j]; k < g.columns.Start[j+1]; k++ {
			i := g.columns.Index[k]
			g.act[i] += g.columns.Value[k] * g.lower[j]
			g.free[i]--
			g.look(int(i))
		}
	}
	return !g.bad
}

// look folds row i if at most one of its columns is free.
func (g *folding) look(i int) {
	if g.gone[i] || g.free[i] > 1 {
		return
	}
	lower, upper := g.m.RowLower[i]-g.act[i], g.m.RowUpper[i]-g.act[i]
	near := foldTolerance * max(1, math.Abs(g.act[i]))
	vars, coefs := g.m.RowTerms(model.Row(i))
	if g.free[i] == 0 {
		g.bad = g.bad || lower > near || upper < -near
		g.gone[i] = true
		return
	}
	for k, v := range vars {
		if g.fixed[v] {
			continue
		}
		g.gone[i] = true
		if coefs[k] < 0 {
			lower, upper = upper, lower
		}
		g.bound(int(v), lower/coefs[k], upper/coefs[k])
		return
	}
}
