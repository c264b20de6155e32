package forecast

import (
	"context"
	"errors"
	"math"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// farmer is the farmer of Birge and Louveaux, Introduction to Stochastic Programming, section 1.1, in a year whose yields are the mean's times factor:
// 500 acres of wheat, corn and beets; tonnes to feed, buy and sell; sugar beets beyond 6,000 t sell at 10.
func farmer(factor float64) *model.Model {
	m := &model.Model{Maximize: true}
	wheat, corn, beets := m.AddVar("wheat", 0, 500, -150), m.AddVar("corn", 0, 500, -230), m.AddVar("beets", 0, 500, -260)
	buyWheat, buyCorn := m.AddVar("buy wheat", 0, model.Infinity, -238), m.AddVar("buy corn", 0, model.Infinity, -210)
	sellWheat, sellCorn := m.AddVar("sell wheat", 0, model.Infinity, 170), m.AddVar("sell corn", 0, model.Infinity, 150)
	sellBeets, excess := m.AddVar("sell beets", 0, 6000, 36), m.AddVar("sell beets over quota", 0, model.Infinity, 10)
	m.AddRow("land", -model.Infinity, 500, model.Term{Var: wheat, Coef: 1}, model.Term{Var: corn, Coef: 1}, model.Term{Var: beets, Coef: 1})
	m.AddRow("wheat", 200, model.Infinity, model.Term{Var: wheat, Coef: 2.5 * factor}, model.Term{Var: buyWheat, Coef: 1}, model.Term{Var: sellWheat, Coef: -1})
	m.AddRow("corn", 240, model.Infinity, model.Term{Var: corn, Coef: 3 * factor}, model.Term{Var: buyCorn, Coef: 1}, model.Term{Var: sellCorn, Coef: -1})
	m.AddRow("beets", 0, model.Infinity, model.Term{Var: beets, Coef: 20 * factor}, model.Term{Var: sellBeets, Coef: -1}, model.Term{Var: excess, Coef: -1})
	return m
}

// Printed in the book: 108,390 with 170, 80 and 250 acres; EVPI 7,016; the mean's plan of 120, 80 and 300 acres earns 107,240, VSS 1,150; with
// foresight 115,406.
func TestFarmer(t *testing.T) {
	p := &TwoStage{First: []model.Var{0, 1, 2}}
	for _, f := range []float64{0.8, 1, 1.2} {
		p.Scenarios = append(p.Scenarios, Scenario{1.0 / 3, farmer(f)})
	}
	w, err := p.Solve(context.Background(), solve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "profit", w.Value, 108390, 0.5)
	near(t, "proven profit", w.Bound, w.Value, 1e-6*w.Value)
	near(t, "EVPI", w.EVPI, 7016, 0.5)
	near(t, "VSS", w.VSS, 1150, 0.5)
	near(t, "profit of the mean's plan", w.MeanValue, 107240, 0.5)
	near(t, "profit with foresight", w.Foresight, 115406, 0.5)
	for i, acres := range []float64{170, 80, 250} {
		near(t, "acres", w.First[i], acres, 1e-6)
	}
	for i, acres := range []float64{120, 80, 300} {
		near(t, "acres for the mean", w.MeanFirst[i], acres, 1e-6)
	}
	if w.Rows != 1+3*3 || w.Columns != 3+3*6 {
		t.Errorf("extensive form of %d rows and %d columns, want 10 and 21: the land once", w.Rows, w.Columns)
	}
}

// newsvendor buys at 0.20 and sells what is asked for at 1; the rest goes at 0.10.
func newsvendor(demand float64) *model.Model {
	m := &model.Model{}
	buy := m.AddVar("buy", 0, model.Infinity, 0.2)
	sell, salvage := m.AddVar("sell", 0, demand, -1), m.AddVar("salvage", 0, model.Infinity, -0.1)
	m.AddRow("papers", 0, 0, model.Term{Var: buy, Coef: 1}, model.Term{Var: sell, Coef: -1}, model.Term{Var: salvage, Coef: -1})
	return m
}

// Demand of 40, 60 or 20 with 0.25, 0.5 and 0.25 (Fukasawa, CO370 notes, 2017): buy 60 for an expected profit of 34.5.
func TestNewsvendor(t *testing.T) {
	p := &TwoStage{First: []model.Var{0}}
	for _, s := range []struct{ probability, demand float64 }{{0.25, 40}, {0.5, 60}, {0.25, 20}} {
		p.Scenarios = append(p.Scenarios, Scenario{s.probability, newsvendor(s.demand)})
	}
	w, err := p.Solve(context.Background(), solve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "papers", w.First[0], 60, 1e-9)
	near(t, "profit", -w.Value, 34.5, 1e-9)
	// The mean demand is 45, for which 45 are bought: sold 40, 45 and 20 of them.
	near(t, "profit of the mean's plan", -w.MeanValue, 0.25*40+0.5*45+0.25*20+0.1*(0.25*5+0.25*25)-0.2*45, 1e-9)
	near(t, "profit with foresight", -w.Foresight, 0.8*45, 1e-9)
}

// TestWholeFirstStage must buy whole bundles of 25; each number of bundles is worked out beside it.
func TestWholeFirstStage(t *testing.T) {
	p := &TwoStage{First: []model.Var{3}}
	for _, s := range []struct{ probability, demand float64 }{{0.25, 40}, {0.5, 60}, {0.25, 20}} {
		m := newsvendor(s.demand)
		bundles := m.AddInt("bundles", 0, 10, 0)
		m.AddRow("bundles", 0, 0, model.Term{Var: 0, Coef: 1}, model.Term{Var: bundles, Coef: -25})
		p.Scenarios = append(p.Scenarios, Scenario{s.probability, m})
	}
	w, err := p.Solve(context.Background(), solve.Options{})
	if err != nil {
		t.Fatal(err)
	}
	profit := func(bought float64) float64 {
		sum := -0.2 * bought
		for _, s := range p.Scenarios {
			sold := min(bought, s.Model.Upper[1])
			sum += s.Probability * (sold + 0.1*(bought-sold))
		}
		return sum
	}
	near(t, "profit", -w.Value, max(profit(25), profit(50), profit(75)), 1e-6*33) // the gap at which branch and cut ends
	near(t, "bundles", w.First[0], 3, 1e-9)
}

func TestScenariosMustFit(t *testing.T) {
	m := newsvendor(1)
	for _, p := range []*TwoStage{{}, {Scenarios: []Scenario{{0.5, m}}}, {Scenarios: []Scenario{{-1, m}, {2, m}}}, {Scenarios: []Scenario{{0.5, m}, {0.5, farmer(1)}}},
		{First: []model.Var{9}, Scenarios: []Scenario{{1, m}}}, {Scenarios: []Scenario{{math.NaN(), m}}}} {
		if _, err := p.Solve(context.Background(), solve.Options{}); !errors.Is(err, ErrScenarios) {
			t.Errorf("error %v, want ErrScenarios", err)
		}
	}
}
