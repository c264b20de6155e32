package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/solvetest"
)

// mirror is a model that follows the changes made to a solver.
type mirror struct {
	*model.Model
}

func (m *mirror) dropRows(gone map[model.Row]bool) {
	w := &model.Model{Maximize: m.Maximize, Offset: m.Offset}
	for j := range m.Cost {
		w.AddVar("", m.Lower[j], m.Upper[j], m.Cost[j])
	}
	for i := range m.RowLower {
		if !gone[model.Row(i)] {
			w.AddRow("", m.RowLower[i], m.RowUpper[i], m.terms(model.Row(i))...)
		}
	}
	m.Model = w
}

func (m *mirror) terms(i model.Row) []model.Term {
	var terms []model.Term
	vars, coefs := m.RowTerms(i)
	for k := range vars {
		terms = append(terms, model.Term{Var: vars[k], Coef: coefs[k]})
	}
	return terms
}

// change makes one random change to both.
func (m *mirror) change(r *rand.Rand, s *Solver) {
	pick := func() float64 { return float64(r.IntN(21) - 8) }
	j := r.IntN(m.NumVars())
	around := math.Round(s.X()[j])
	if r.IntN(4) == 0 {
		around = pick()
	}
	switch r.IntN(8) {
	case 0, 1, 2:
		lo, up := math.Inf(-1), math.Inf(1)
		switch r.IntN(4) {
		case 0:
			lo = around - float64(r.IntN(4))
		case 1:
			up = around + float64(r.IntN(4))
		case 2:
			lo = around - float64(r.IntN(4))
			up = lo + float64(r.IntN(8))
		}
		m.Lower[j], m.Upper[j] = lo, up
		s.SetBounds(model.Var(j), lo, up)
	case 3:
		m.Lower[j], m.Upper[j] = around, around
		s.SetBounds(model.Var(j), around, around)
	case 4:
		m.Cost[j] = pick()
		s.SetCost(model.Var(j), m.Cost[j])
	case 5:
		if m.NumRows() > 0 {
			i := model.Row(r.IntN(m.NumRows()))
			m.RowLower[i] = math.Round(s.RowActivity()[i]) - float64(r.IntN(9))
			m.RowUpper[i] = m.RowLower[i] + float64(r.IntN(19))
			s.SetRowBounds(i, m.RowLower[i], m.RowUpper[i])
		}
	case 6:
		c := Cut{Lower: math.Inf(-1), Upper: 3 * math.Abs(pick())}
		for k := 0; k < 1+r.IntN(4); k++ {
			c.Vars = append(c.Vars, model.Var(r.IntN(m.NumVars())))
			c.Coefs = append(c.Coefs, float64(r.IntN(9)-4))
		}
		var terms []model.Term
		for k := range c.Vars {
			terms = append(terms, model.Term{Var: c.Vars[k], Coef: c.Coefs[k]})
		}
		m.AddRow("", c.Lower, c.Upper, terms...)
		s.AddRows([]Cut{c})
	case 7:
		gone := map[model.Row]bool{}
		var rows []model.Row
		for i := range m.RowLower {
			if r.IntN(5) == 0 {
				gone[model.Row(i)] = true
				rows = append(rows, model.Row(i))
			}
		}
		m.dropRows(gone)
		s.DeleteRows(rows)
	}
}

// TestChangesAgainstFreshSolves makes random changes to one solver and compares every re-solve with a new solver on the
// changed model; now and then it stops the solver in the middle, takes another basis, or goes on with a clone.
func TestChangesAgainstFreshSolves(t *testing.T) {
	seen := map[solve.Stop]int{}
	for seed := uint64(0); seed < 100; seed++ {
		r := rand.New(rand.NewPCG(seed, 21))
		m := &mirror{solvetest.Random(r, r.IntN(25), 1+r.IntN(25), false)}
		s := NewSolver(m.Model, solve.Options{})
		for step := 0; step < 25; step++ {
			for k := 0; k <= r.IntN(3); k++ {
				m.change(r, s)
			}
			switch r.IntN(8) {
			case 0:
				s.Solve(context.Background(), Limits{Iterations: 1 + r.Int64N(5)})
			case 1:
				s = s.Clone()
			case 2:
				s.SetBasis(randomBasis(r, m.Model))
			case 3:
				s.SetBasis(s.Basis())
			}
			stop := s.Solve(context.Background(), Limits{})
			res := solve.Result{Stop: stop}
			s.fill(&res)
			if err := solvetest.Check(m.Model, &res); err != nil {
				t.Fatalf("seed %d step %d: %v: %v", seed, step, stop, err)
			}
			want := NewSolver(m.Model, solve.Options{})
			w := want.Solve(context.Background(), Limits{})
			seen[w]++
			if stop != w && !(stop == solve.Unbounded && w == solve.Infeasible || stop == solve.Infeasible && w == solve.Unbounded) {
				t.Fatalf("seed %d step %d: stopped %v, fresh %v", seed, step, stop, w)
			}
			if stop == solve.Optimal && math.Abs(res.Objective-want.Objective()) > 1e-7*math.Max(1, math.Abs(res.Objective)) {
				t.Fatalf("seed %d step %d: %.12g, fresh %.12g", seed, step, res.Objective, want.Objective())
			}
		}
	}
	t.Log(seen)
}

// randomBasis has any number of basic variables in any place.
func randomBasis(r *rand.Rand, m *model.Model) Basis {
	b := Basis{Cols: make([]Status, m.NumVars()), Rows: make([]Status, m.NumRows())}
	for j := range b.Cols {
		b.Cols[j] = Status(r.IntN(4))
	}
	for i := range b.Rows {
		b.Rows[i] = Status(r.IntN(4))
	}
	return b
}

// stopAfter is a context that is cancelled at its n-th look.
type stopAfter struct {
	context.Context
	n int
}

func (c *stopAfter) Err() error {
	c.n--
	if c.n < 0 {
		return context.Canceled
	}
	return nil
}

// TestCancelledAnywhere cancels a solve after each number of looks at the context, and goes on afterwards.
func TestCancelledAnywhere(t *testing.T) {
	m := lotSizing(3, 4, 12, 40)
	want := Solve(context.Background(), m, solve.Options{})
	cancelled := 0
	for n := 0; n < 40; n++ {
		s := NewSolver(m, solve.Options{})
		if s.Solve(&stopAfter{context.Background(), n}, Limits{}) == solve.Cancelled {
			cancelled++
		}
		s.X()
		if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
			t.Fatalf("after a stop at look %d: %v", n, stop)
		}
		if z := s.Objective(); math.Abs(z-want.Objective) > 1e-7*math.Abs(z) {
			t.Fatalf("after a stop at look %d: objective %.12g, want %.12g", n, z, want.Objective)
		}
	}
	if cancelled < 1 {
		t.Fatal("no solve was cancelled")
	}
}

// TestOwnBasisIsOptimal takes an optimal basis into a new solver and into the same one: no iterations.
func TestOwnBasisIsOptimal(t *testing.T) {
	m := lotSizing(2, 3, 8, 20)
	s := NewSolver(m, solve.Options{})
	s.Solve(context.Background(), Limits{})
	b, z := s.Basis(), s.Objective()
	for _, next := range []*Solver{s, s.Clone(), NewSolver(m, solve.Options{})} {
		before := next.Iterations()
		next.SetBasis(b)
		if stop := next.Solve(context.Background(), Limits{}); stop != solve.Optimal || next.Iterations() != before {
			t.Errorf("%v after %d iterations", stop, next.Iterations()-before)
		}
		if math.Abs(next.Objective()-z) > 1e-9*math.Abs(z) {
			t.Errorf("objective %.15g, was %.15g", next.Objective(), z)
		}
	}
}
