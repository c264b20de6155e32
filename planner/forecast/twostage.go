package forecast

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/mip"
)

// TwoStage is a stochastic program in two stages: the First columns are decided before it is known which scenario comes, all others after.
// Each scenario is a whole model of the same columns, rows and sense; costs, bounds, sides and coefficients may differ.
type TwoStage struct {
	First     []model.Var
	Scenarios []Scenario
}

// Scenario is a model with its probability.
type Scenario struct {
	Probability float64
	Model       *model.Model
}

// Worth is the solved program. Values are expected ones in the models' sense of optimisation.
type Worth struct {
	First     []float64 // the first stage's columns, in the order of TwoStage.First
	Value     float64   // of deciding now and adapting later: the recourse problem
	Bound     float64   // proven for Value
	MeanFirst []float64 // what is decided now for the mean of all scenarios
	MeanValue float64   // of deciding so and adapting later; ±Inf if some scenario then has no way out
	Foresight float64   // of deciding with the scenario known: wait and see
	VSS       float64   // value of the stochastic solution: what Value is better than MeanValue, ≥ 0
	EVPI      float64   // expected value of perfect information: what Foresight is better than Value, ≥ 0
	Stop      solve.Stop
	Rows      int // of the extensive form
	Columns   int
}

// ErrScenarios says that a TwoStage's parts do not fit together.
var ErrScenarios = errors.New("scenarios do not fit together")

// Check reports what is wrong: no scenario, probabilities that are negative or do not add up to 1 within 1e-9, models of different sizes.
func (p *TwoStage) Check() error {
	if len(p.Scenarios) == 0 {
		return fmt.Errorf("%w: there is none", ErrScenarios)
	}
	sum, first := 0.0, p.Scenarios[0].Model
	for i, s := range p.Scenarios {
		if !(s.Probability >= 0) {
			return fmt.Errorf("%w: probability %v of scenario %d, allowed: 0 to 1", ErrScenarios, s.Probability, i)
		}
		if s.Model.NumVars() != first.NumVars() || s.Model.NumRows() != first.NumRows() || s.Model.Maximize != first.Maximize {
			return fmt.Errorf("%w: scenario %d has %d columns and %d rows, the first %d and %d", ErrScenarios, i, s.Model.NumVars(), s.Model.NumRows(), first.NumVars(), first.NumRows())
		}
		sum += s.Probability
	}
	if math.Abs(sum-1) > 1e-9 {
		return fmt.Errorf("%w: probabilities add up to %v, allowed: 1", ErrScenarios, sum)
	}
	for _, v := range p.First {
		if v < 0 || int(v) >= first.NumVars() {
			return fmt.Errorf("%w: there is no column %d", ErrScenarios, v)
		}
	}
	return nil
}

// Extensive is the program as one model: the first stage's columns once, the others once a scenario with their costs weighted by its
// probability. Rows of first-stage columns alone are there once if all scenarios agree on them. at maps a scenario's column to its own.
func (p *TwoStage) Extensive() (m *model.Model, at func(scenario int, v model.Var) model.Var) {
	core := p.Scenarios[0].Model
	m = &model.Model{Name: "twostage", Maximize: core.Maximize}
	columns := make([][]model.Var, len(p.Scenarios))
	shared := make([]bool, core.NumVars())
	for i := range columns {
		columns[i] = make([]model.Var, core.NumVars())
	}
	for _, v := range p.First {
		shared[v] = true
		x := addLike(m, core, v, core.VarName[v], 0)
		for i, s := range p.Scenarios {
			m.Cost[x] += s.Probability * s.Model.Cost[v]
			m.Lower[x], m.Upper[x] = max(m.Lower[x], s.Model.Lower[v]), min(m.Upper[x], s.Model.Upper[v])
			columns[i][v] = x
		}
	}
	for i, s := range p.Scenarios {
		m.Offset += s.Probability * s.Model.Offset
		for v := range shared {
			if !shared[v] {
				columns[i][v] = addLike(m, s.Model, model.Var(v), fmt.Sprintf("%s.%d", s.Model.VarName[v], i), s.Probability*s.Model.Cost[v])
			}
		}
	}
	for r := range core.RowLower {
		p.addRows(m, model.Row(r), columns, shared)
	}
	return m, func(scenario int, v model.Var) model.Var { return columns[scenario][v] }
}

func addLike(m, like *model.Model, v model.Var, name string, cost float64) model.Var {
	if like.Integer[v] {
		return m.AddInt(name, like.Lower[v], like.Upper[v], cost)
	}
	return m.AddVar(name, like.Lower[v], like.Upper[v], cost)
}

// addRows adds row r of each scenario, once if all agree on it and it is of the first stage alone.
func (p *TwoStage) addRows(m *model.Model, r model.Row, columns [][]model.Var, shared []bool) {
	core := p.Scenarios[0].Model
	vars, coefs := core.RowTerms(r)
	once := true
	for _, v := range vars {
		once = once && shared[v]
	}
	for _, s := range p.Scenarios[1:] {
		v, c := s.Model.RowTerms(r)
		once = once && slices.Equal(v, vars) && slices.Equal(c, coefs) && s.Model.RowLower[r] == core.RowLower[r] && s.Model.RowUpper[r] == core.RowUpper[r]
	}
	for i, s := range p.Scenarios {
		vars, coefs := s.Model.RowTerms(r)
		terms := make([]model.Term, len(vars))
		for k, v := range vars {
			terms[k] = model.Term{Var: columns[i][v], Coef: coefs[k]}
		}
		name := fmt.Sprintf("%s.%d", s.Model.RowName[r], i)
		if once {
			name = s.Model.RowName[r]
		}
		m.AddRow(name, s.Model.RowLower[r], s.Model.RowUpper[r], terms...)
		if once {
			return
		}
	}
}

// mean is the model of the scenarios' mean data. A bound or side that is infinite in some scenario is infinite.
func (p *TwoStage) mean() *model.Model {
	core := p.Scenarios[0].Model
	m := &model.Model{Name: "mean", Maximize: core.Maximize}
	average := func(value func(*model.Model) float64) float64 {
		sum := 0.0
		for _, s := range p.Scenarios {
			if s.Probability > 0 {
				sum += s.Probability * value(s.Model)
			}
		}
		return sum
	}
	m.Offset = average(func(x *model.Model) float64 { return x.Offset })
	for v := range core.Cost {
		x := addLike(m, core, model.Var(v), core.VarName[v], average(func(x *model.Model) float64 { return x.Cost[v] }))
		m.Lower[x], m.Upper[x] = average(func(x *model.Model) float64 { return x.Lower[v] }), average(func(x *model.Model) float64 { return x.Upper[v] })
	}
	for r := range core.RowLower {
		var terms []model.Term
		for _, s := range p.Scenarios {
			vars, coefs := s.Model.RowTerms(model.Row(r))
			for k, v := range vars {
				terms = append(terms, model.Term{Var: v, Coef: s.Probability * coefs[k]})
			}
		}
		m.AddRow(core.RowName[r], average(func(x *model.Model) float64 { return x.RowLower[r] }), average(func(x *model.Model) float64 { return x.RowUpper[r] }), terms...)
	}
	return m
}

// Solve solves the extensive form, the mean's model and each scenario, with and without the mean's decision. opt limits each of these solves;
// Stop is that of the extensive form. VSS and EVPI are proven only where all stopped at the optimum.
func (p *TwoStage) Solve(ctx context.Context, opt solve.Options) (*Worth, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	m, at := p.Extensive()
	w := &Worth{Rows: m.NumRows(), Columns: m.NumVars()}
	r := mip.Solve(ctx, m, mip.Options{Options: opt})
	w.Stop = r.Stop
	if !r.Has {
		return nil, fmt.Errorf("the two-stage program ends with %s", r.Stop)
	}
	w.Value, w.Bound = r.Objective, r.Bound
	for _, v := range p.First {
		w.First = append(w.First, r.X[at(0, v)])
	}
	mean := mip.Solve(ctx, p.mean(), mip.Options{Options: opt})
	if !mean.Has {
		return nil, fmt.Errorf("the program of the scenarios' mean ends with %s", mean.Stop)
	}
	for _, v := range p.First {
		w.MeanFirst = append(w.MeanFirst, mean.X[v])
	}
	return w, p.values(ctx, opt, w)
}

// values solves each scenario with foresight and with the mean's decision.
func (p *TwoStage) values(ctx context.Context, opt solve.Options, w *Worth) error {
	for i, s := range p.Scenarios {
		r := mip.Solve(ctx, s.Model, mip.Options{Options: opt})
		if !r.Has {
			return fmt.Errorf("scenario %d ends with %s", i, r.Stop)
		}
		w.Foresight += s.Probability * r.Objective
		held := s.Model.Clone()
		for k, v := range p.First {
			held.Lower[v], held.Upper[v] = w.MeanFirst[k], w.MeanFirst[k]
		}
		r = mip.Solve(ctx, held, mip.Options{Options: opt})
		switch {
		case r.Has:
			w.MeanValue += s.Probability * r.Objective
		case s.Probability > 0 && s.Model.Maximize:
			w.MeanValue = math.Inf(-1)
		case s.Probability > 0:
			w.MeanValue = math.Inf(1)
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	w.VSS, w.EVPI = w.MeanValue-w.Value, w.Value-w.Foresight
	if p.Scenarios[0].Model.Maximize {
		w.VSS, w.EVPI = -w.VSS, -w.EVPI
	}
	return nil
}
