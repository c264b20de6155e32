package certify

import (
	"encoding/json"
	"math"
	"math/big"
	"strings"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
	"pgregory.net/rapid"
)

var inf = math.Inf(1)

// build makes a model from columns (lower, upper, cost) and rows (lower, upper, coefficients of all columns).
func build(maximize bool, cols [][3]float64, rows ...[]float64) *model.Model {
	m := &model.Model{Maximize: maximize}
	for _, c := range cols {
		m.AddVar("", c[0], c[1], c[2])
	}
	for _, r := range rows {
		var terms []model.Term
		for j, a := range r[2:] {
			terms = append(terms, model.Term{Var: model.Var(j), Coef: a})
		}
		m.AddRow("", r[0], r[1], terms...)
	}
	return m
}

// Hillier and Lieberman, Introduction to Operations Research: Wyndor Glass, x = (2, 6), shadow prices (0, 3/2, 1), 36
// (from memory; recomputed with glpsol in the reference set's worked examples).
func wyndor() (*model.Model, solve.Result) {
	m := build(true, [][3]float64{{0, inf, 3}, {0, inf, 5}}, []float64{-inf, 4, 1, 0}, []float64{-inf, 12, 0, 2}, []float64{-inf, 18, 3, 2})
	return m, solve.Result{Stop: solve.Optimal, Has: true, X: []float64{2, 6}, Objective: 36, Bound: 36,
		Y: []float64{0, 1.5, 1}, D: []float64{0, 0}}
}

// GLPK reference manual's first example: max 10x₁+6x₂+4x₃, 733.333 at (33.333, 66.667, 0), duals (3.3333, 0.66667, 0),
// reduced cost −2.66667. Its thirds are no float64 values, so the duals can't be exact.
func glpkExample() (*model.Model, solve.Result) {
	m := build(true, [][3]float64{{0, inf, 10}, {0, inf, 6}, {0, inf, 4}},
		[]float64{-inf, 100, 1, 1, 1}, []float64{-inf, 600, 10, 4, 5}, []float64{-inf, 300, 2, 2, 6})
	return m, solve.Result{Stop: solve.Optimal, Has: true, X: []float64{100. / 3, 200. / 3, 0}, Objective: 2200. / 3, Bound: 2200. / 3,
		Y: []float64{10. / 3, 2. / 3, 0}, D: []float64{0, 0, -8. / 3}}
}

func TestTextbookAnswersAreProven(t *testing.T) {
	m, res := wyndor()
	if r := Check(m, res); !r.OK() || !r.HasBound || r.ProvenBound != 36 || r.Slackness != 0 {
		t.Errorf("Wyndor: %+v", r)
	}
	if e := Exact(m, res); !e.Proven || !e.Exactly || e.Bound != 36 || e.Gap != 0 {
		t.Errorf("Wyndor: %+v", e)
	}
	m, res = glpkExample()
	r, e := Check(m, res), Exact(m, res)
	if !r.OK() || !e.Proven || !e.Feasible {
		t.Errorf("GLPK's example: %v\n%+v", r, e)
	}
	// 2200/3 exactly is the optimum: an upper bound below it would be false.
	bound := new(big.Rat).SetFloat64(e.Bound)
	if bound.Cmp(big.NewRat(2200, 3)) < 0 || e.Gap > 1e-12 {
		t.Errorf("GLPK's example: bound %v, not above 2200/3 or too far from it", e.Bound)
	}
	if r.String() == "" || !strings.Contains(e.String(), "duals prove the bound") {
		t.Errorf("%s%s", r, e)
	}
}

// Each spoiled answer has to be refused, and the reason named.
func TestWrongAnswersAreRefused(t *testing.T) {
	cases := map[string]struct {
		spoil  func(*model.Model, *solve.Result)
		word   string
		proven bool // what Exact may still say
	}{
		"row":       {func(m *model.Model, r *solve.Result) { r.X[1], r.Objective = 6.001, 36.005 }, "row R2", false},
		"bound":     {func(m *model.Model, r *solve.Result) { r.X[0], r.Objective = -1, 27 }, "column C1", false},
		"objective": {func(m *model.Model, r *solve.Result) { r.Objective = 36.01 }, "claimed 36.01", false},
		"worse":     {func(m *model.Model, r *solve.Result) { r.X[0], r.Objective, r.Bound = 1, 33, 33 }, "apart", false},
		"dual":      {func(m *model.Model, r *solve.Result) { r.Y[2], r.D = 1.01, nil }, "apart", false},
		"sign":      {func(m *model.Model, r *solve.Result) { r.Y, r.D = []float64{-1, 1.5, 1}, []float64{1, 0} }, "wrong sign", true}, // with −1 set to zero the bound stands
		"reduced":   {func(m *model.Model, r *solve.Result) { r.D[0] = 0.5 }, "reduced costs differ", true},
		"side":      {func(m *model.Model, r *solve.Result) { r.Bound = 35 }, "wrong side", true},
		"whole": {func(m *model.Model, r *solve.Result) {
			m.Integer[0] = true
			m.Upper[0] = 8
			r.X[0], r.Objective = 1.5, 34.5
		}, "whole number", false},
		"length":    {func(m *model.Model, r *solve.Result) { r.X = r.X[:1] }, "entries", false},
		"no number": {func(m *model.Model, r *solve.Result) { r.X[0] = math.NaN() }, "NaN", false},
		"nothing":   {func(m *model.Model, r *solve.Result) { r.Has, r.X = false, nil }, "without a solution", false},
		"no duals":  {func(m *model.Model, r *solve.Result) { r.Y, r.D = nil, nil }, "no duals", false},
		"model":     {func(m *model.Model, r *solve.Result) { m.Cost[0] = math.NaN() }, "no number", false},
		"better":    {func(m *model.Model, r *solve.Result) { r.X, r.Objective, r.Bound = []float64{2, 7}, 41, 41 }, "no point is better", false},
	}
	for name, c := range cases {
		m, res := wyndor()
		c.spoil(m, &res)
		r := Check(m, res)
		if r.OK() || !strings.Contains(strings.Join(r.Problems, "; "), c.word) {
			t.Errorf("%s: problems %q, want one with %q", name, r.Problems, c.word)
		}
		if e := Exact(m, res); e.Proven != c.proven {
			t.Errorf("%s: proven=%v: %s", name, e.Proven, e.Words)
		}
		if _, err := json.Marshal(r); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A violation within the tolerance is feasible, one of a millionth part beyond it is not; both are measured exactly.
func TestExactViolation(t *testing.T) {
	m := build(false, [][3]float64{{0, 10, 1}, {0, 10, 1}}, []float64{1, inf, 1, 1})
	x := []float64{0.5, 0.5 - 0x1p-21} // 4.8e-7 short
	e := Exact(m, solve.Result{Has: true, X: x})
	if !e.Feasible || e.Exactly || e.Row.Size != 0x1p-21 {
		t.Errorf("%+v", e)
	}
	x[1] = 0.5 - 0x1p-19 // 1.9e-6 short
	if e := Exact(m, solve.Result{Has: true, X: x}); e.Feasible || e.Row.Size != 0x1p-19 {
		t.Errorf("%+v", e)
	}
	m.Integer[0] = true
	e = Exact(m, solve.Result{Has: true, X: []float64{1 - 0x1p-20, 0}, Objective: 1})
	if !e.Exactly || e.Rounding != 0x1p-20 || e.Objective != 1 || e.Proven {
		t.Errorf("rounded: %+v", e)
	}
}

// Sums that float64 gets wrong: 1e16 + 1 − 1e16 is 1, not 0.
func TestExactSum(t *testing.T) {
	e := newExact()
	e.add(1e16, 1)
	e.add(1, 1)
	e.add(-1e16, 1)
	tiny := newExact()
	tiny.add(math.SmallestNonzeroFloat64, math.SmallestNonzeroFloat64)
	tiny.addScaled(e, math.MaxFloat64)
	tiny.addScaled(e, -math.MaxFloat64)
	if e.nearest() != 1 || tiny.sign() != 1 || tiny.floor() != 0 || tiny.ceil() != math.SmallestNonzeroFloat64 {
		t.Errorf("%v %v [%v, %v]", e.nearest(), tiny.sign(), tiny.floor(), tiny.ceil())
	}
}

// Infeasible and unbounded programs with the proofs that textbooks give (Chvátal, Linear Programming, 1983, ch. 9 and 16,
// from memory), and rays that prove nothing.
func TestRays(t *testing.T) {
	m := build(false, [][3]float64{{0, inf, 1}, {0, inf, 1}}, []float64{4, inf, 1, 1}, []float64{-inf, 3, 1, 1})
	judge := func(ray []float64, stop solve.Stop, want bool) {
		t.Helper()
		res := solve.Result{Stop: stop, Ray: ray}
		if r, e := Check(m, res), Exact(m, res); r.OK() != want || r.RayProves != want || e.Proven != want {
			t.Errorf("%s by %v: %v, %s; want %v", stop, ray, r.Problems, e.Words, want)
		}
	}
	judge([]float64{1, -1}, solve.Infeasible, true)
	judge([]float64{2, -2}, solve.Infeasible, true)
	judge([]float64{1, 1}, solve.Infeasible, true) // the second sign is dropped, and a shift puts −1 in its place
	for _, y := range [][]float64{{0, 0}, {-1, 1}, {1, -2}, {1}, nil, {math.NaN(), 1}} {
		judge(y, solve.Infeasible, false)
	}
	m = build(true, [][3]float64{{0, inf, 1}, {0, inf, 1}}, []float64{-inf, 2, 1, -1}, []float64{0, inf, 1, 0})
	judge([]float64{1, 1}, solve.Unbounded, true)
	judge([]float64{0, 1}, solve.Unbounded, true)
	for _, x := range [][]float64{{0, 0}, {1, 0}, {-1, -1}, {2, 1}, {1}, nil} {
		judge(x, solve.Unbounded, false)
	}
	m = build(false, [][3]float64{{2, 1, 1}})
	judge(nil, solve.Infeasible, true)
}

// A free column whose reduced cost misses zero by rounding allows no bound, and that is said; once a row limits the
// column there is one.
func TestNoBoundIsSaid(t *testing.T) {
	free := [][3]float64{{-inf, inf, 0.1}, {-inf, inf, 0.3}}
	m := build(false, free, []float64{1, inf, 1, 3})
	res := solve.Result{Stop: solve.Optimal, Has: true, X: []float64{1, 0}, Objective: 0.1, Bound: 0.1, Y: []float64{0.1}}
	r := Check(m, res)
	if r.HasBound || !strings.Contains(r.BoundNote, "column C2") || !r.OK() {
		t.Errorf("3·0.1 is not 0.3: %+v", r)
	}
	m.AddRow("", -50, 50, model.Term{Var: 1, Coef: 1})
	res.Y = []float64{0.1, 0}
	if r := Check(m, res); !r.HasBound || r.ProvenBound > 0.1 || r.ProvenBound < 0.1-1e-12 {
		t.Errorf("limited: %+v", r)
	}
}

// Any duals of any program give a bound that no feasible point passes. The rows are laid around a point, whose
// exact objective is held against the bound; sides, signs and infinities are drawn at will.
func TestAnyDualsGiveAValidBound(t *testing.T) {
	bounded := 0
	rapid.Check(t, func(t *rapid.T) {
		small := rapid.Map(rapid.IntRange(-8, 8), func(i int) float64 { return float64(i) / 4 })
		number := rapid.OneOf(small, rapid.Float64Range(-3, 3))
		m := &model.Model{Maximize: rapid.Bool().Draw(t, "max"), Offset: small.Draw(t, "offset")}
		n, rows := rapid.IntRange(1, 5).Draw(t, "n"), rapid.IntRange(0, 5).Draw(t, "rows")
		around := func(v float64) (lo, up float64) {
			lo, up = v-math.Abs(small.Draw(t, "below")), v+math.Abs(small.Draw(t, "above"))
			switch rapid.IntRange(0, 5).Draw(t, "open") {
			case 0:
				lo = -inf
			case 1:
				up = inf
			}
			return lo, up
		}
		x := make([]float64, n)
		for j := range x {
			x[j] = small.Draw(t, "x")
			lo, up := around(x[j])
			m.AddVar("", lo, up, small.Draw(t, "cost"))
		}
		y := make([]float64, rows)
		for i := range y {
			var terms []model.Term
			for j := range x {
				terms = append(terms, model.Term{Var: model.Var(j), Coef: small.Draw(t, "a")})
			}
			s := 0.0 // quarters times quarters: exact
			for j := range x {
				s += terms[j].Coef * x[j]
			}
			lo, up := around(s)
			m.AddRow("", lo, up, terms...)
			y[i] = number.Draw(t, "y")
		}
		z := m.Objective(x)
		for _, res := range []solve.Result{{Y: y}, {Has: true, X: x, Objective: z, Bound: z, Y: y}} {
			e := Exact(m, res)
			if res.Has && !e.Exactly {
				t.Fatalf("the point is not feasible: %s", e.Words)
			}
			if !e.HasBound {
				continue
			}
			bounded++
			if sense(m)*(e.Bound-z) > 0 {
				t.Fatalf("the bound %v passes the objective %v of a feasible point (%s)", e.Bound, z, e.Words)
			}
		}
		if Farkas(m, y) {
			t.Fatalf("%v proves a feasible program infeasible", y)
		}
	})
	if bounded == 0 {
		t.Error("no drawn program had a bound: the test shows nothing")
	}
}

// Implied limits hold at every feasible point: rows are laid around a point, which has to stay inside.
func TestImpliedLimitsHold(t *testing.T) {
	closed := 0
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-10, 10)
		m := &model.Model{}
		n := rapid.IntRange(1, 4).Draw(t, "n")
		x := make([]float64, n)
		for j := range x {
			x[j] = math.Abs(number.Draw(t, "x"))
			m.AddVar("", 0, inf, 0)
		}
		for range rapid.IntRange(1, 4).Draw(t, "rows") {
			s := newExact()
			var terms []model.Term
			for j := range x {
				a := number.Draw(t, "a")
				terms = append(terms, model.Term{Var: model.Var(j), Coef: a})
				s.add(a, x[j])
			}
			m.AddRow("", -inf, s.ceil(), terms...)
		}
		b := implied(m)
		for j, v := range x {
			if v < b.lo[j] || v > b.up[j] {
				t.Fatalf("column %d at %v outside [%v, %v]", j, v, b.lo[j], b.up[j])
			}
			if !math.IsInf(b.up[j], 0) {
				closed++
			}
		}
	})
	if closed == 0 {
		t.Error("no limit was implied: the test shows nothing")
	}
}
