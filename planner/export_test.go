package planner

import (
	"context"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// HeldCost is the cost of in's best plan with the whole numbers of p; for tests. ok is false if there is none.
func HeldCost(in *Input, opt Options, p *Plan) (cost float64, ok bool) {
	f, err := prepare(in, opt)
	if err != nil {
		return 0, false
	}
	r := f.holding(context.Background(), f.wholeOf(p))
	return r.Objective, r.Has
}

// AnswersWithin works the answers of a plan of in out anew, each within so much work; for tests.
func AnswersWithin(in *Input, opt Options, p *Plan, work int64) (*Plan, error) {
	f, err := prepare(in, opt)
	if err != nil {
		return nil, err
	}
	r := f.holding(context.Background(), f.wholeOf(p))
	if !r.Has {
		return nil, ErrStopped
	}
	q := *p
	q.Worth, q.BoundBy, q.WhyLate, q.LineValues, q.Missing = nil, nil, nil, nil, nil
	f.answer(&answering{ctx: context.Background(), most: work}, &q, r.X, nil)
	return &q, nil
}

// Sequence is the order of list by the hours between; for tests.
func Sequence(list []string, first, last string, ends bool, hours func(from, to string) float64) []int {
	return orderOfDies(list, first, last, ends, func(from, to string) change { return change{hours: hours(from, to)} })
}

// HoldsAsTheWhole reports the costs of p's whole numbers by way of the folded program and of the whole model, and whether both exist; for tests.
func HoldsAsTheWhole(in *Input, opt Options, p *Plan) (folded, whole float64, ok bool) {
	f, err := prepare(in, opt)
	if err != nil {
		return 0, 0, false
	}
	x := f.wholeOf(p)
	r := f.holding(context.Background(), x)
	m := f.m.Clone()
	for j, whole := range m.Integer {
		if whole {
			m.Lower[j] = math.Round(x[j])
			m.Upper[j] = m.Lower[j]
		}
	}
	w := lp.Solve(context.Background(), m, solve.Options{})
	return r.Objective, w.Objective, r.Has && w.Has
}

// LotsAllow reports whether a relaxation that knows of lots, of the given stage, has a solution with the runs, changes, stocks and lateness of p, whatever its lots, and
// the optima of the one without lots, of that relaxation and of it with its cuts, of which there are so many; for tests.
func LotsAllow(in *Input, opt Options, p *Plan, stage int) (allowed bool, bounds [3]float64, cuts int) {
	f, err := prepare(in, opt)
	if err != nil {
		return false, bounds, 0
	}
	r := f.holding(context.Background(), f.wholeOf(p))
	at := map[string]float64{}
	for j, name := range f.m.VarName {
		at[name] = r.X[j]
	}
	optimum := func(m *model.Model) (float64, []float64) {
		s := lp.NewSolver(m, solve.Options{})
		if s.Solve(context.Background(), lp.Limits{}) != solve.Optimal {
			return math.NaN(), nil
		}
		return s.Objective(), s.X()
	}
	bounds[0], _ = optimum(relaxed(f.facts).m)
	g := lotted(f.facts, lotStages[stage])
	first, x := optimum(g.m)
	bounds[1] = first
	for x != nil {
		more := g.cuts(x)
		if cuts += len(more); len(more) == 0 {
			break
		}
		bounds[2], x = optimum(g.m)
	}
	for j, name := range g.m.VarName {
		if x, known := at[name]; known {
			g.m.Lower[j], g.m.Upper[j] = x-1e-6*max(1, math.Abs(x)), x+1e-6*max(1, math.Abs(x))
		}
	}
	held, _ := optimum(g.m)
	return r.Has && math.Abs(held-r.Objective) <= 1e-4*math.Abs(r.Objective), bounds, cuts
}

// LotStages is how many relaxations there are that know of lots; for tests.
var LotStages = len(lotStages)

// PromiseByCampaigns has enquiries answered as on large plants, until done is called; for tests.
func PromiseByCampaigns() (done func()) {
	was := promiseWhole
	promiseWhole = 0
	return func() { promiseWhole = was }
}
