package mip

import (
	"context"
	"math"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"

	"pgregory.net/rapid"
)

// separateAll solves the relaxation of p and makes the cuts of every kind for its optimum.
func separateAll(p *problem) (*separator, *relaxation, bool) {
	r := newRelaxation(p, solve.Options{})
	if r.solve(context.Background(), inf, 0) != solved {
		return nil, nil, false
	}
	sep := newSeparator(p)
	sep.at(r.x, p.lower, p.upper, r.cuts)
	sep.separateTableau(r, 100)
	sep.separateRows(1e9)
	sep.paths.separate()
	sep.nets.separate(1e9)
	return sep, r, true
}

// TestHandMir: over {z ≤ 1.5 + s, z whole, 0 ≤ z ≤ 10, s ≥ 0} the mixed-integer rounding inequality z ≤ 1 + 2s is a
// facet (Wolsey 1998, Integer Programming, section 8.7; from memory, checked by hand).
func TestHandMir(t *testing.T) {
	m := &model.Model{}
	z, s := m.AddInt("z", 0, 10, -1), m.AddVar("s", 0, 10, 2)
	m.AddRow("", math.Inf(-1), 1.5, model.Term{Var: z, Coef: 1}, model.Term{Var: s, Coef: -1})
	sep, _, _ := separateAll(newProblem(m))
	for _, c := range sep.found {
		if len(c.vars) == 2 && near(c.coefs[1]/c.coefs[0], -2, 1e-9) && near(c.rhs/c.coefs[0], 1, 1e-6) {
			return
		}
	}
	t.Errorf("facet z − 2s ≤ 1 not among %d cuts", len(sep.found))
}

// TestHandCover: for 11a + 6b + 6c + 5d + 5e + 4f + g ≤ 19 the cover b, c, d, e lifts to
// 2a + b + c + d + e + f ≤ 3: any four of b…f weigh at least 20, and beside a only one of them fits (knapsack of Wolsey 1998,
// section 9.3, from memory; the lifting done by hand).
func TestHandCover(t *testing.T) {
	m := &model.Model{}
	var terms []model.Term
	for _, w := range []float64{11, 6, 6, 5, 5, 4, 1} {
		terms = append(terms, model.Term{Var: m.AddInt("", 0, 1, 0), Coef: w})
	}
	m.AddRow("", math.Inf(-1), 19, terms...)
	sep := newSeparator(newProblem(m))
	sep.at([]float64{0, 1, 1, 0.75, 0.65, 0, 0}, m.Lower, m.Upper, nil)
	if !sep.rebuild([]int32{0}, []float64{1}, 1) || !sep.substitute() {
		t.Fatal("no knapsack")
	}
	sep.coverCut()
	if len(sep.found) != 1 {
		t.Fatalf("%d covers", len(sep.found))
	}
	c := sep.found[0]
	want := []float64{2, 1, 1, 1, 1, 1}
	if len(c.vars) != len(want) {
		t.Fatalf("columns %v coefficients %v", c.vars, c.coefs)
	}
	for k := range want {
		if !near(c.coefs[k]/c.coefs[1], want[k], 1e-12) {
			t.Errorf("coefficients %v, want multiples of %v", c.coefs, want)
		}
	}
	if !near(c.rhs/c.coefs[1], 3, 1e-6) {
		t.Errorf("side %v", c.rhs/c.coefs[1])
	}
}

// lotSizing draws a single-item model of 4 periods with production behind a set-up, stock, and perhaps backlog, two
// machines, and bounds on stock.
func lotSizing(t *rapid.T) *model.Model {
	const periods = 4
	m := &model.Model{}
	backlog, machines := rapid.Bool().Draw(t, "backlog"), rapid.IntRange(1, 2).Draw(t, "machines")
	var stock, late []model.Var
	for range periods {
		stock = append(stock, m.AddVar("", 0, float64(rapid.IntRange(3, 40).Draw(t, "store")), 1))
		if backlog {
			late = append(late, m.AddVar("", 0, 30, 3))
		}
	}
	for p := range periods {
		terms := []model.Term{{Var: stock[p], Coef: -1}}
		if p > 0 {
			terms = append(terms, model.Term{Var: stock[p-1], Coef: 1})
		}
		if backlog {
			terms = append(terms, model.Term{Var: late[p], Coef: 1})
			if p > 0 {
				terms = append(terms, model.Term{Var: late[p-1], Coef: -1})
			}
		}
		for range machines {
			x := m.AddVar("", 0, 60, float64(rapid.IntRange(0, 2).Draw(t, "unit")))
			y := m.AddInt("", 0, 1, float64(rapid.IntRange(5, 40).Draw(t, "setup")))
			m.AddRow("", math.Inf(-1), 0, model.Term{Var: x, Coef: 1},
				model.Term{Var: y, Coef: -float64(rapid.IntRange(10, 60).Draw(t, "capacity"))})
			terms = append(terms, model.Term{Var: x, Coef: 1})
		}
		d := float64(rapid.IntRange(-2, 15).Draw(t, "demand"))
		m.AddRow("", d, d, terms...)
	}
	return m
}

// TestCutsHold proves every cut on small models: for each choice of the whole numbers the greatest value of its left side,
// found by the simplex method, may not pass its right side.
func TestCutsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := randomModel(t)
		m.Maximize = false
		switch rapid.IntRange(0, 3).Draw(t, "kind of model") {
		case 0, 1:
			m = lotSizing(t)
		case 2:
			m = network(t)
		}
		p, ok := reduce(m, true)
		if !ok || p.n == 0 {
			return
		}
		sep, _, ok := separateAll(p)
		if !ok {
			return
		}
		for _, c := range sep.found {
			proveCut(t, p.work, c)
		}
	})
}

func proveCut(t *rapid.T, m *model.Model, c *cut) {
	m = m.Clone()
	clear(m.Cost)
	m.Offset = 0
	for k, j := range c.vars {
		m.Cost[j] = -c.coefs[k]
	}
	var walk func(j int)
	walk = func(j int) {
		for j < m.NumVars() && (!m.Integer[j] || m.Lower[j] == m.Upper[j]) {
			j++
		}
		if j == m.NumVars() {
			r := lp.Solve(context.Background(), m, solve.Options{})
			if r.Stop == solve.Optimal && -r.Objective > c.rhs+1e-6*math.Max(1, math.Abs(c.rhs)) {
				t.Fatalf("%s cut %v %v ≤ %v is violated: %v at %v", c.source, c.vars, c.coefs, c.rhs, -r.Objective, r.X)
			}
			return
		}
		l, u := m.Lower[j], m.Upper[j]
		for v := l; v <= u; v++ {
			m.Lower[j], m.Upper[j] = v, v
			walk(j + 1)
		}
		m.Lower[j], m.Upper[j] = l, u
	}
	walk(0)
}

// TestWitness solves public models and then cuts their roots anew: no cut may cut off the optimum found (whose value must be
// the published one).
func TestWitness(t *testing.T) {
	for _, name := range []string{"miplib/p0033", "miplib/p0282", "miplib/p0548", "miplib/khb05250", "miplib/flugpl", "miplib/gr4x6", "miplib/fixnet4", "lotsizing/rgn", "lotsizing/set1al", "lotsizing/trig_X11117A", "examples/ww1958"} {
		t.Run(name, func(t *testing.T) {
			m := load(t, name+".mps")
			r := Solve(context.Background(), m, Options{Options: solve.Options{Gap: 1e-4}})
			if want, _ := published(t, name+".mps"); !near(r.Objective, want, 2e-6) {
				t.Fatalf("objective %v, published %v", r.Objective, want)
			}
			s := newSearch(m, Options{})
			s.strict, s.onlyRoot, s.witness = true, true, r.X
			s.wrongCut = func(c *cut, v float64) { t.Errorf("%s cut violated by %g (norm %g)", c.source, v, c.norm) }
			s.run(context.Background())
		})
	}
}

// TestPathClosure separates path cuts only, until there are none. The bound must be that of the facility location
// reformulation, as the (l,S) inequalities describe the same relaxation: values from shared/reference/worked-examples.md
// (section D.2, computed there with three solvers), 864 for Wagner and Whitin's example.
func TestPathClosure(t *testing.T) {
	for _, c := range []struct {
		name string
		want float64
	}{{"examples/ww1958", 864}, {"lotsizing/trig_F1", 40238.58}, {"lotsizing/trig_X11117A", 8375.80}} {
		m := load(t, c.name+".mps")
		p := newProblem(m)
		r := newRelaxation(p, solve.Options{})
		sep := newSeparator(p)
		for range 60 {
			if v := r.solve(context.Background(), inf, 0); v != solved {
				t.Fatalf("%s: verdict %v", c.name, v)
			}
			sep.at(r.x, p.lower, p.upper, r.cuts)
			sep.paths.separate()
			if len(sep.found) == 0 {
				break
			}
			r.addCuts(sep.found)
		}
		if math.Abs(r.objective-c.want) > 0.006 {
			t.Errorf("%s: bound %.4f, want %.2f", c.name, r.objective, c.want)
		}
	}
}

// network draws a small fixed-charge network: nodes with supplies and demands, gated arcs with capacities, some with losses,
// and rows that are equations or may take more than they must.
func network(t *rapid.T) *model.Model {
	m := &model.Model{}
	nodes := rapid.IntRange(2, 4).Draw(t, "nodes")
	rows := make([][]model.Term, nodes)
	for range rapid.IntRange(2, 6).Draw(t, "arcs") {
		from, to := rapid.IntRange(0, nodes-1).Draw(t, "from"), rapid.IntRange(-1, nodes-1).Draw(t, "to")
		if from == to {
			continue
		}
		x := m.AddVar("", 0, 40, float64(rapid.IntRange(0, 3).Draw(t, "unit")))
		rows[from] = append(rows[from], model.Term{Var: x, Coef: 1})
		if to >= 0 {
			rows[to] = append(rows[to], model.Term{Var: x, Coef: -rapid.SampledFrom([]float64{1, 1, 1, 0.5, 2}).Draw(t, "arriving")})
		}
		if rapid.IntRange(0, 3).Draw(t, "gated") > 0 {
			y := m.AddInt("", 0, 1, float64(rapid.IntRange(1, 30).Draw(t, "open")))
			m.AddRow("", math.Inf(-1), 0, model.Term{Var: x, Coef: 1}, model.Term{Var: y, Coef: -float64(rapid.IntRange(5, 40).Draw(t, "capacity"))})
		}
	}
	for i := range rows {
		lo := float64(rapid.IntRange(-5, 12).Draw(t, "supply"))
		up := lo
		switch rapid.IntRange(0, 4).Draw(t, "side") {
		case 0:
			up = math.Inf(1)
		case 1:
			lo = math.Inf(-1)
		}
		m.AddRow("", lo, up, rows[i]...)
	}
	return m
}
