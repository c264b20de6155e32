package presolve

import (
	"math"
	"testing"

	"feedline/planner/model"
)

// build makes a model: columns as lower, upper, cost and rows as lower, coefficients…, upper.
func build(cols [][3]float64, rows ...[]float64) *model.Model {
	m := &model.Model{}
	for _, c := range cols {
		m.AddVar("", c[0], c[1], c[2])
	}
	for _, r := range rows {
		var terms []model.Term
		for j, v := range r[1 : len(r)-1] {
			terms = append(terms, model.Term{Var: model.Var(j), Coef: v})
		}
		m.AddRow("", r[0], r[len(r)-1], terms...)
	}
	return m
}

// Each case is worked out by hand: the rule that must act, and the optimum with its duals.
var handmade = []struct {
	name    string
	m       *model.Model
	rule    Rule
	x, y, d []float64
}{
	{"a singleton row holds its column", // min x, 2x ≥ 6
		build([][3]float64{{0, inf, 1}}, []float64{6, 2, inf}), SingletonRow,
		[]float64{3}, []float64{0.5}, []float64{0}},
	{"a singleton row with a negative coefficient", // min −x, −2x ≥ −6
		build([][3]float64{{0, inf, -1}}, []float64{-6, -2, inf}), SingletonRow,
		[]float64{3}, []float64{0.5}, []float64{0}},
	{"a singleton row that does not bind", // min x, x ≥ 1, 2x ≥ 1
		build([][3]float64{{1, inf, 1}}, []float64{1, 2, inf}), SingletonRow,
		[]float64{1}, []float64{0}, []float64{1}},
	{"a forcing row takes the dual that its columns allow", // min −2x −3z, x+z ≤ 0: y = −3, d_x = 1
		build([][3]float64{{0, 5, -2}, {0, 5, -3}}, []float64{-inf, 1, 1, 0}), ForcingRow,
		[]float64{0, 0}, []float64{-3}, []float64{1, 0}},
	{"an equation of two columns passes a bound on", // min z, x + z = 4, x ≤ 3: z = 1, y = 1, d_x = −1
		build([][3]float64{{0, 3, 0}, {0, 10, 1}, {0, 1, 1}}, []float64{4, 1, 1, 0, 4}, []float64{1, 1, 0, 1, 9}, []float64{0, 0, 1, 1, 20}), DoubletonRow,
		[]float64{3, 1, 0}, []float64{1, 0, 0}, []float64{-1, 0, 1}},
	{"a slack column becomes a range", // min 2x + z, x + z + s = 5, s in 0..2: z = 3, s = 2, y = 1, d_s = −1
		build([][3]float64{{0, 4, 2}, {0, 4, 1}, {0, 2, 0}}, []float64{5, 1, 1, 1, 5}, []float64{1, 1, 2, 0, inf}), SlackColumn,
		[]float64{0, 3, 2}, []float64{1, 0}, []float64{1, 0, -1}},
	{"a free column gives its row's dual", // min 3f + 4x + 6.5z, f + x + 2z ≥ 2, f free, x+z ≥ 1: y = 3, row 2 takes what is left of z's cost
		build([][3]float64{{-inf, inf, 3}, {0, inf, 4}, {0, inf, 6.5}}, []float64{2, 1, 1, 2, inf}, []float64{1, 0, 1, 1, inf}, []float64{-5, 0, 1, -1, 5}), FreeColumn,
		[]float64{0, 0, 1}, []float64{3, 0.5, 0}, []float64{0, 0.5, 0}},
	{"a parallel row with the tighter side holds", // min x + z, x + z ≥ 1, 2x + 2z ≥ 6
		build([][3]float64{{0, 2, 1}, {0, 2, 1.5}}, []float64{1, 1, 1, inf}, []float64{6, 2, 2, inf}), ParallelRow,
		[]float64{2, 1}, []float64{0, 0.75}, []float64{-0.5, 0}},
	{"a dearer parallel column stays at zero", // min x + 3z, x + 2z ≥ 4
		build([][3]float64{{0, inf, 1}, {0, inf, 3}, {0, 1, 0.5}}, []float64{4, 1, 2, 1, inf}, []float64{-3, 1, 2, 0, 8}), ParallelColumn,
		[]float64{3, 0, 1}, []float64{1, 0}, []float64{0, 1, -0.5}},
	{"a column locked one way rests at its bound",
		build([][3]float64{{1, 9, 1}, {0, 4, -1}}, []float64{-inf, 1, 1, 3}, []float64{-inf, 1, 3, 8}), LockedOneWay,
		[]float64{1, 2}, []float64{-1, 0}, []float64{2, 0}},
}

func TestHandmade(t *testing.T) {
	for _, c := range handmade {
		t.Run(c.name, func(t *testing.T) {
			r, v := Run(c.m, Options{})
			if v.Outcome != Open {
				t.Fatal(v)
			}
			if r.Applied[c.rule] == 0 {
				t.Fatalf("the rule %q was not used, but %s", c.rule, applied(r))
			}
			stop, q := solveReference(r.Model)
			if stop != refOptimal {
				t.Fatalf("reduced model ends %v", stop)
			}
			p := r.Postsolve(q)
			for _, pair := range [][2][]float64{{p.X, c.x}, {p.Y, c.y}, {p.D, c.d}} {
				if !close(pair[0], pair[1]) {
					t.Errorf("x %v y %v d %v, want %v %v %v", p.X, p.Y, p.D, c.x, c.y, c.d)
					break
				}
			}
		})
	}
}

func TestVerdicts(t *testing.T) {
	cases := []struct {
		name string
		m    *model.Model
		want Verdict
	}{
		{"row without columns", build([][3]float64{{0, 1, 0}}, []float64{1, 0, 2}), Verdict{Infeasible, 0, -1, ""}},
		{"row out of its columns' reach", build([][3]float64{{0, 1, 1}, {0, 1, 1}}, []float64{-inf, 1, 1, 5}, []float64{3, 1, 1, inf}), Verdict{Infeasible, 1, -1, ""}},
		{"bounds that cross", build([][3]float64{{0, 1, 1}, {3, 2, 1}}), Verdict{Infeasible, -1, 1, ""}},
		{"singleton rows that cross", build([][3]float64{{0, 9, 1}}, []float64{-inf, 1, 2}, []float64{6, 2, inf}), Verdict{Infeasible, 1, -1, ""}},
		{"column that gains in no row", build([][3]float64{{0, 1, 1}, {0, inf, -1}}), Verdict{Unbounded, -1, 1, ""}},
		{"column that gains unhindered", build([][3]float64{{0, 1, 1}, {0, inf, -1}}, []float64{1, 1, 1, inf}), Verdict{Unbounded, -1, 1, ""}},
	}
	for _, c := range cases {
		r, v := Run(c.m, Options{})
		if v.Reason == "" || r != nil {
			t.Errorf("%s: %v without a reason, or with a model", c.name, v)
		}
		if v.Reason = ""; v != c.want {
			t.Errorf("%s: %v, want %v", c.name, v, c.want)
		}
	}
}

// TestWithinTolerance: what misses by less than the linear solver's tolerance is not infeasible.
func TestWithinTolerance(t *testing.T) {
	const miss = DefaultFeasibility / 2
	for name, m := range map[string]*model.Model{
		"row":       build([][3]float64{{0, 1, 1}, {0, 1, 1}}, []float64{2 + miss, 1, 1, inf}),
		"singleton": build([][3]float64{{0, 1, 1}}, []float64{1 + miss, 1, inf}),
		"steep":     build([][3]float64{{0, 1, 1}}, []float64{1000 * (1 + miss), 1000, inf}),
		"flat":      build([][3]float64{{0, 1, 1}}, []float64{1e-3 + miss, 1e-3, inf}),
		"bounds":    build([][3]float64{{1 + miss, 1, 1}}),
		"sides":     build([][3]float64{{0, 1, 1}, {0, 1, 2}}, []float64{1 + miss, 1, 1, 1}),
		"doubleton": build([][3]float64{{0, 1, 1}, {0, 1, 2}, {0, 1, 2}}, []float64{2 + miss, 1, 1, 0, 2 + miss}, []float64{1, 1, 1, 1, 9}),
		"parallel":  build([][3]float64{{0, 1, 1}, {0, 1, 2}}, []float64{1, 1, 1, 1}, []float64{2 + miss, 2, 2, 2 + miss}),
	} {
		if _, v := Run(m, Options{}); v.Outcome != Open {
			t.Errorf("%s: %v", name, v)
		}
	}
}

// TestForcingRowWithSmallCoefficient: a row that is nearly forcing leaves a column of small coefficient room to move.
func TestForcingRowWithSmallCoefficient(t *testing.T) {
	m := build([][3]float64{{0, 1, -1}, {0, 1, -1}}, []float64{-inf, 1e-9, 1, 5e-10})
	r, _ := Run(m, Options{})
	if r.Applied[ForcingRow] != 0 {
		t.Error("the first column may rise to 0.5, and was fixed")
	}
}

func TestTighterCoefficients(t *testing.T) {
	// x ≤ 1000·y with x ≤ 7: the coefficient need not exceed 7.
	m := build([][3]float64{{0, 7, -1}, {0, 1, 3}, {0, 9, -1}}, []float64{-inf, 1, -1000, 0, 0}, []float64{-inf, 1, 0, 1, 9})
	m.Integer[1] = true
	r, v := Run(m, Options{MIP: true, Skip: RuleSet(SlackColumn, FreeColumn)})
	if v.Outcome != Open {
		t.Fatal(v)
	}
	_, coefs := r.Model.RowTerms(0)
	if len(coefs) != 2 || coefs[1] != -7 {
		t.Errorf("coefficients %v, want 1 and −7", coefs)
	}
}

func TestCommonDivisor(t *testing.T) {
	m := build([][3]float64{{0, 9, 1}, {0, 9, 1}, {0, 9, 1}}, []float64{13, 6, 10, 4, 25})
	for j := range m.Integer {
		m.Integer[j] = true
	}
	r, _ := Run(m, Options{MIP: true, Skip: RuleSet(TightenBounds, TightenCoef)})
	if lo, up := r.Model.RowLower[0], r.Model.RowUpper[0]; lo != 14 || up != 24 {
		t.Errorf("sides %g and %g, want 14 and 24", lo, up)
	}
	m = build([][3]float64{{0, 9, 1}, {0, 9, 1}, {0, 9, 1}}, []float64{13, 6, 10, 4, 13})
	for j := range m.Integer {
		m.Integer[j] = true
	}
	if _, v := Run(m, Options{MIP: true}); v.Outcome != Infeasible {
		t.Errorf("13 is no sum of even numbers, but the verdict is %v", v)
	}
}

func TestMapSolutionRefuses(t *testing.T) {
	m := build([][3]float64{{0, 9, 1}, {0, 9, 1}, {0, 9, 1}}, []float64{4, 1, 1, 1, 9}, []float64{3, 1, 2, 0, 9}, []float64{1, 0, 1, -1, 5})
	r, _ := Run(m, Options{})
	if _, ok := r.MapSolution([]float64{0, 0, 0}); ok {
		t.Error("a point that violates every row was taken for a solution")
	}
	if _, ok := r.MapSolution([]float64{3, 1, 0}); !ok {
		t.Error("a solution was refused")
	}
}

// TestSameAgain: two runs give the same reduced model.
func TestSameAgain(t *testing.T) {
	m := handmade[4].m
	a, _ := Run(m, Options{})
	b, _ := Run(m, Options{})
	if show(a.Model) != show(b.Model) {
		t.Errorf("%s\n%s", show(a.Model), show(b.Model))
	}
}

// TestEmpty: a model without rows or columns, and one that presolve solves by itself.
func TestEmpty(t *testing.T) {
	r, v := Run(&model.Model{Offset: 3}, Options{})
	if v.Outcome != Open || r.Model.Objective(nil) != 3 {
		t.Errorf("%v, %v", r, v)
	}
	m := build([][3]float64{{1, 4, 2}, {-inf, 5, -3}})
	m.Maximize = true
	_, v = Run(m, Options{})
	if v.Outcome != Unbounded {
		t.Errorf("%v, want unbounded", v)
	}
	m.Lower[1] = -2
	r, _ = Run(m, Options{})
	p := r.Postsolve(Point{X: []float64{}, Y: []float64{}, D: []float64{}, Cols: []Status{}, Rows: []Status{}})
	if !close(p.X, []float64{4, -2}) || !close(p.D, []float64{2, -3}) || math.Abs(r.Model.Offset-14) > 1e-12 {
		t.Errorf("%v, offset %g", p, r.Model.Offset)
	}
}
