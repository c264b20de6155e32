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
	Also      [][]float64 // first-stage decisions to be valued too, in the order of First
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
	AlsoValue []float64 // of deciding as each of TwoStage.Also says and adapting later
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

// Solve solves the mean's model, each scenario with and without decisions held, and the extensive form, which starts from the best of those
// decisions. opt limits each of these solves; Stop is that of the extensive form. VSS and EVPI are proven only where all stopped at the optimum.
func (p *TwoStage) Solve(ctx context.Context, opt solve.Options) (*Worth, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	w := new(Worth)
	mean := mip.Solve(ctx, p.mean(), mip.Options{Options: opt})
	if !mean.Has {
		return nil, fmt.Errorf("the program of the scenarios' mean ends with %s", mean.Stop)
	}
	for _, v := range p.First {
		w.MeanFirst = append(w.MeanFirst, mean.X[v])
	}
	best, at, err := p.held(ctx, opt, w.MeanFirst)
	if err != nil {
		return nil, err
	}
	w.MeanValue = best
	for _, first := range p.Also {
		value, x, err := p.held(ctx, opt, first)
		if err != nil {
			return nil, err
		}
		w.AlsoValue = append(w.AlsoValue, value)
		if p.better(value, best) {
			best, at = value, x
		}
	}
	if err := p.foresight(ctx, opt, w); err != nil {
		return nil, err
	}
	return w, p.extensive(ctx, opt, w, at)
}

// better reports whether value a is better than b.
func (p *TwoStage) better(a, b float64) bool {
	if p.Scenarios[0].Model.Maximize {
		return a > b
	}
	return a < b
}

// extensive solves the extensive form, from the scenarios' columns at if there are any.
func (p *TwoStage) extensive(ctx context.Context, opt solve.Options, w *Worth, at [][]float64) error {
	m, place := p.Extensive()
	w.Rows, w.Columns = m.NumRows(), m.NumVars()
	o := mip.Options{Options: opt}
	if at != nil {
		x := make([]float64, m.NumVars())
		for i := range at {
			for v, value := range at[i] {
				x[place(i, model.Var(v))] = value
			}
		}
		o.Incumbents = [][]float64{x}
	}
	r := mip.Solve(ctx, m, o)
	w.Stop = r.Stop
	if !r.Has {
		return fmt.Errorf("the two-stage program ends with %s", r.Stop)
	}
	w.Value, w.Bound = r.Objective, r.Bound
	for _, v := range p.First {
		w.First = append(w.First, r.X[place(0, v)])
	}
	w.VSS, w.EVPI = w.MeanValue-w.Value, w.Value-w.Foresight
	if m.Maximize {
		w.VSS, w.EVPI = -w.VSS, -w.EVPI
	}
	return nil
}

// held is the value of deciding first and adapting later, with each scenario's columns; ±Inf and nil if some scenario then has no way out.
func (p *TwoStage) held(ctx context.Context, opt solve.Options, first []float64) (float64, [][]float64, error) {
	value, at := 0.0, [][]float64(nil)
	for _, s := range p.Scenarios {
		m := s.Model.Clone()
		for k, v := range p.First {
			m.Lower[v], m.Upper[v] = first[k], first[k]
		}
		r := mip.Solve(ctx, m, mip.Options{Options: opt})
		if err := ctx.Err(); err != nil {
			return 0, nil, err
		}
		switch {
		case r.Has:
			value += s.Probability * r.Objective
			at = append(at, r.X)
		case s.Model.Maximize && s.Probability > 0:
			return math.Inf(-1), nil, nil
		case s.Probability > 0:
			return math.Inf(1), nil, nil
		default:
			return value, nil, fmt.Errorf("a scenario without probability ends with %s", r.Stop)
		}
	}
	return value, at, nil
}

// foresight solves each scenario by itself.
func (p *TwoStage) foresight(ctx context.Context, opt solve.Options, w *Worth) error {
	for i, s := range p.Scenarios {
		r := mip.Solve(ctx, s.Model, mip.Options{Options: opt})
		if err := ctx.Err(); err != nil {
			return err
		}
		if !r.Has {
			return fmt.Errorf("scenario %d ends with %s", i, r.Stop)
		}
		w.Foresight += s.Probability * r.Objective
	}
	return nil
}
