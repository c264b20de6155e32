package forecast

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"feedline/planner"
	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Where a sample's dual simplex starts decides how long it runs. Every basis that is optimal in some world is dual feasible in all of them, since worlds
// move right-hand sides and upper bounds only, and its duals bound every world's optimum from below. So the optima of some first samples
// are kept, and each later sample starts from the one whose bound is highest: the dual method climbs from there. (Grouping worlds
// by their bases is bunching: Birge and Louveaux, Introduction to Stochastic Programming, title seen only.) The first samples start
// from the optimum in the plan's own world. Which start a sample takes depends on the seed and its number alone.
//
// Of the rows few ever bind and of the columns few ever move. Once there are some optima the rows and columns that do in any of them make up a
// part of the program, half its size, where the steps are done; the basis found there is taken to the whole program, where it is mostly optimal
// as it is, else after few steps more (see lp.Extract, Adopt). So a sample's answer is an optimum of the whole program.
//
// On bench plant M the best of 500 starts and a sample's optimum differ in 92 basic variables, and the dual method takes 130 steps from one to the
// other; one step from start to sample at a time along the line between their worlds is a quarter more steps (parametric right-hand sides). Cheaper steps without
// exact steepest edge weights are more steps: 669 for 385 with weights of a reference frame, 817 with the start's; both took longer. What
// optima differ in lies in the program itself: see gainStock in planner.

// start is an optimum that a sample may start from. Its bound in a world is rest + Σ slope·(the world's moved sides).
type start struct {
	place  lp.Place
	part   lp.Place
	inPart bool
	slope  []float64
	rest   float64
}

// starts are the optima of a program.
type starts struct {
	model *model.Model
	base  *lp.Solver // never moved
	part  *lp.Extract
	moved moved
	list  []start

	live   []int       // numbers of the sides moved on which any bound depends
	slopes [][]float64 // by start: of these
}

// rounds are how many samples are solved before the next ones have their optima to start from; from the last of them on none are kept.
var rounds = []int{2, 4, 8, 16, 32, 64, 100, 150, 225, 330, 500}

const (
	// partFrom is the number of optima from which rows and columns that have never mattered are left out at first.
	partFrom = 9
	// widenBelow is the number from which those next to what has mattered are left out too: few optima don't show enough.
	widenBelow = 150
)

// moved is what worlds move: rows' sides, and columns' upper bounds.
type moved struct {
	rows []model.Row
	cols []model.Var
}

func (m *moved) SetBounds(j model.Var, _, _ float64)    { m.cols = append(m.cols, j) }
func (m *moved) SetRowBounds(r model.Row, _, _ float64) { m.rows = append(m.rows, r) }

// worlds is a program that worlds move: a planner.Replan or planner.Supply.
type worlds interface {
	Apply(w *planner.World, to planner.Bounds)
}

// startFrom is the starts of m with the optimum at basis b. all is a world that moves all that worlds may move.
func startFrom(ctx context.Context, m *model.Model, b lp.Basis, program worlds, all *planner.World) *starts {
	p := &starts{model: m, base: lp.NewSolver(m, solve.Options{})}
	program.Apply(all, &p.moved)
	s := p.base.Clone()
	s.SetBasis(b)
	s.Solve(ctx, lp.Limits{})
	p.list = append(p.list, p.startAt(s))
	return p
}

// with is other starts of the same program, with the first of p alone.
func (p *starts) again() *starts {
	q := *p
	q.list = slices.Clone(p.list[:1])
	return &q
}

// startAt is the optimum that s, a solver of p's program in some world, stands on.
func (p *starts) startAt(s *lp.Solver) start {
	st := start{place: s.Place()}
	m, y, d := p.model, slices.Clone(s.Y()), slices.Clone(s.D())
	for _, r := range p.moved.rows {
		st.slope = append(st.slope, proven(y[r], m.RowLower[r], m.RowUpper[r]))
		y[r] = 0
	}
	for _, j := range p.moved.cols {
		st.slope = append(st.slope, min(0, proven(d[j], m.Lower[j], m.Upper[j])))
		st.rest += float64(max(0, d[j]) * m.Lower[j])
		d[j] = 0
	}
	for i, v := range y {
		st.rest += held(v, m.RowLower[i], m.RowUpper[i])
	}
	for j, v := range d {
		st.rest += held(v, m.Lower[j], m.Upper[j])
	}
	return st
}

// proven is the dual v of something between lower and upper, without what is rounding: a sign for which there is no bound.
func proven(v, lower, upper float64) float64 {
	if v > 0 && math.IsInf(lower, -1) || v < 0 && math.IsInf(upper, 1) {
		return 0
	}
	return v
}

// held is what the dual v contributes to the bound.
func held(v, lower, upper float64) float64 {
	switch v = proven(v, lower, upper); {
	case v > 0:
		return float64(v * lower)
	case v < 0:
		return float64(v * upper)
	}
	return 0
}

// keep adds an optimum.
func (p *starts) keep(st start) { p.list = append(p.list, st) }

// ready prepares for samples to start from the optima kept.
func (p *starts) ready() {
	p.packSlopes()
	p.makePart()
}

// packSlopes lists the slopes that are not 0 for all starts.
func (p *starts) packSlopes() {
	p.live, p.slopes = p.live[:0], p.slopes[:0]
	for k := range p.list[0].slope {
		for i := range p.list {
			if p.list[i].slope[k] != 0 {
				p.live = append(p.live, k)
				break
			}
		}
	}
	all := make([]float64, len(p.list)*len(p.live))
	for i := range p.list {
		line := all[i*len(p.live):][:len(p.live)]
		for t, k := range p.live {
			line[t] = p.list[i].slope[k]
		}
		p.slopes = append(p.slopes, line)
	}
}

// makePart makes the part of the program that matters in p's optima: rows that bind and columns that move in any of them, and those that
// could make a basis of the part dual infeasible in the whole, columns without an upper bound.
func (p *starts) makePart() {
	if len(p.list) < partFrom {
		return
	}
	m := p.model
	binds, moves := make([]bool, m.NumRows()), make([]bool, m.NumVars())
	for i := range binds {
		binds[i] = m.RowLower[i] == m.RowUpper[i]
	}
	for j := range moves {
		moves[j] = math.IsInf(m.Upper[j], 1) || m.Lower[j] != 0
	}
	for k := range p.list {
		p.list[k].place.Mark(binds, moves)
	}
	if len(p.list) < widenBelow {
		widen(binds)
		widen(moves)
	}
	var rows []model.Row
	var cols []model.Var
	for i, is := range binds {
		if is {
			rows = append(rows, model.Row(i))
		}
	}
	for j, is := range moves {
		if is {
			cols = append(cols, model.Var(j))
		}
	}
	p.part = p.base.Extract(rows, cols)
	for k := range p.list {
		st := &p.list[k]
		st.part, st.inPart = p.part.Part(st.place)
	}
}

// widen adds the neighbours of what is there: the next week's, or another's of the same week.
func widen(is []bool) {
	last := false
	for i, yes := range is {
		is[i] = yes || last || i+1 < len(is) && is[i+1]
		last = yes
	}
}

// best is the start with the highest bound for the sides and bounds of w; the earliest of equals.
func (p *starts) best(w *sides) *start {
	at, top := 0, math.Inf(-1)
	v := w.gather(p)
	for i, slope := range p.slopes {
		if z := p.list[i].rest + floats.Dot(slope, v); z > top {
			at, top = i, z
		}
	}
	return &p.list[at]
}
