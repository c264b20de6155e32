package presolve

import (
	"flag"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"feedline/planner/model"
)

// drawModel draws a small model of the kinds of rows and columns that the rules look for: short rows,
// equations, repeated rows and columns, missing bounds, costless columns. Most have a feasible point.
func drawModel(t *rapid.T, whole bool) *model.Model {
	m := &model.Model{Maximize: rapid.Bool().Draw(t, "max"), Offset: float64(rapid.IntRange(-3, 3).Draw(t, "offset"))}
	large := rapid.IntRange(0, 5).Draw(t, "large") == 0
	most := 6
	if large && !whole {
		most = 16
	}
	n := rapid.IntRange(1, most).Draw(t, "columns")
	point := make([]float64, n)
	for j := range n {
		point[j] = drawColumn(t, m, whole)
	}
	coef := rapid.SampledFrom([]float64{0, 0, 0, 1, 1, -1, 2, -2, 3, 0.5, -4, 5})
	if most > 6 {
		coef = rapid.SampledFrom([]float64{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, -1, 2, 0.3, -1.7, 5})
	}
	for i := range rapid.IntRange(0, most).Draw(t, "rows") {
		terms := make([]model.Term, 0, n)
		sum := 0.0
		if i > 0 && rapid.IntRange(0, 4).Draw(t, "repeat") == 0 {
			terms, sum = repeatRow(m, model.Row(i-1), rapid.SampledFrom([]float64{1, -1, 2, -0.5}).Draw(t, "factor"), point)
		} else {
			for j := range n {
				if v := coef.Draw(t, "a"); v != 0 {
					terms = append(terms, model.Term{Var: model.Var(j), Coef: v})
					sum += v * point[j]
				}
			}
		}
		drawSides(t, m, terms, sum)
	}
	if n > 1 && rapid.IntRange(0, 3).Draw(t, "twin") == 0 {
		return twinned(m, rapid.SampledFrom([]float64{1, -1, 2, -0.5, -2}).Draw(t, "ratio"), rapid.IntRange(-1, 1).Draw(t, "dear"))
	}
	return m
}

func drawColumn(t *rapid.T, m *model.Model, whole bool) float64 {
	v := float64(rapid.IntRange(-2, 3).Draw(t, "x"))
	lo, up := v-float64(rapid.IntRange(0, 2).Draw(t, "below")), v+float64(rapid.IntRange(0, 2).Draw(t, "above"))
	isInt := whole && rapid.Bool().Draw(t, "whole")
	if isInt && rapid.Bool().Draw(t, "binary") {
		lo, up, v = 0, 1, math.Max(0, math.Min(1, v))
	}
	open := rapid.IntRange(0, 7).Draw(t, "open")
	if !isInt && (open == 1 || open == 2 || open == 3 || open == 5) {
		up = inf
	}
	if !isInt && (open == 2 || open == 4) {
		lo = -inf
	}
	c := float64(rapid.SampledFrom([]int{0, 0, 1, 1, 2, 3, -1, -2}).Draw(t, "cost"))
	j := m.AddVar("", lo, up, c)
	m.Integer[j] = isInt
	return v
}

func repeatRow(m *model.Model, r model.Row, f float64, point []float64) ([]model.Term, float64) {
	vars, coefs := m.RowTerms(r)
	var terms []model.Term
	sum := 0.0
	for k, j := range vars {
		terms = append(terms, model.Term{Var: j, Coef: f * coefs[k]})
		sum += f * coefs[k] * point[j]
	}
	return terms, sum
}

func drawSides(t *rapid.T, m *model.Model, terms []model.Term, sum float64) {
	gap := func() float64 { return float64(rapid.SampledFrom([]int{0, 0, 1, 2, 5}).Draw(t, "gap")) }
	lo, up := sum, sum
	switch rapid.IntRange(0, 9).Draw(t, "sides") {
	case 0, 1, 2:
		up = sum + gap()
		lo = -inf
	case 3, 4, 5:
		lo = sum - gap()
		up = inf
	case 6:
		lo, up = sum-gap(), sum+gap()
	case 7:
		up = sum - 1 // likely infeasible
		lo = -inf
	}
	m.AddRow("", lo, up, terms...)
}

// twinned is m with one column more, ratio times the first, of cost ratio·c + dear.
func twinned(m *model.Model, ratio float64, dear int) *model.Model {
	w := &model.Model{Maximize: m.Maximize, Offset: m.Offset}
	for j := range m.Cost {
		w.AddVar("", m.Lower[j], m.Upper[j], m.Cost[j])
		w.Integer[j] = m.Integer[j]
	}
	twin := w.AddVar("", m.Lower[1], m.Upper[1], ratio*m.Cost[0]+float64(dear))
	w.Integer[twin] = m.Integer[1]
	for i := range m.RowLower {
		vars, coefs := m.RowTerms(model.Row(i))
		var terms []model.Term
		for k, j := range vars {
			terms = append(terms, model.Term{Var: j, Coef: coefs[k]})
			if j == 0 {
				terms = append(terms, model.Term{Var: twin, Coef: ratio * coefs[k]})
			}
		}
		w.AddRow("", m.RowLower[i], m.RowUpper[i], terms...)
	}
	return w
}

// show writes a model for a failure report.
func show(m *model.Model) string {
	var b strings.Builder
	fmt.Fprintf(&b, "max %v offset %g\n", m.Maximize, m.Offset)
	for j := range m.Cost {
		fmt.Fprintf(&b, "x%d cost %g in [%g, %g] whole %v\n", j, m.Cost[j], m.Lower[j], m.Upper[j], m.Integer[j])
	}
	for i := range m.RowLower {
		fmt.Fprintf(&b, "row %d: %g ≤", i, m.RowLower[i])
		vars, coefs := m.RowTerms(model.Row(i))
		for k, j := range vars {
			fmt.Fprintf(&b, " %+g·x%d", coefs[k], j)
		}
		fmt.Fprintf(&b, " ≤ %g\n", m.RowUpper[i])
	}
	return b.String()
}

// applied names the rules used, for a failure report.
func applied(r *Reduced) string {
	var b strings.Builder
	for k, n := range r.Applied {
		if n > 0 {
			fmt.Fprintf(&b, "%v %d, ", Rule(k), n)
		}
	}
	return b.String()
}

// many runs a property on more examples than rapid's own count of one check.
func many(t *testing.T, property func(*rapid.T)) {
	for range 40 {
		if rapid.Check(t, property); t.Failed() {
			return
		}
	}
}

// sameSeed says that rapid was given a seed: all rounds of many are the same one then, and too few to meet every rule.
func sameSeed() bool { return flag.Lookup("rapid.seed").Value.String() != "0" }

// drawSkip is no rule in most cases, so that the rules meet one another, otherwise any set.
func drawSkip(t *rapid.T) Rules {
	if rapid.IntRange(0, 2).Draw(t, "some rules") > 0 {
		return 0
	}
	return Rules(rapid.Uint32().Draw(t, "skip"))
}

// TestRandomRelaxations: the reduced model's optimum, taken back, is an optimum of the original by its own
// certificate and a basis of it, and equals the optimum found without presolve.
func TestRandomRelaxations(t *testing.T) {
	var used [numRules]int
	many(t, func(t *rapid.T) {
		m := drawModel(t, false)
		r := checkRelaxation(t, m, Options{Skip: drawSkip(t)})
		if r != nil {
			for k, n := range r.Applied {
				used[k] += n
			}
		}
	})
	for k, n := range used[:TightenBounds] {
		if n == 0 && !sameSeed() {
			t.Errorf("no random model used the rule %q", Rule(k))
		}
	}
}

// logicalPoint is the point of the basis of all row activities, which is rarely optimal or even feasible.
func logicalPoint(m *model.Model) Point {
	r := newReference(m)
	inv, _ := invert(r.basis())
	r.values(inv)
	return Point{X: r.x[:r.n], Y: make([]float64, r.m), D: m.Cost, Cols: r.status[:r.n], Rows: r.status[r.n:]}
}

// anyBasis says what keeps p's statuses from being a basis of m, optimal or not.
func anyBasis(m *model.Model, p Point) error {
	if n := basics(p); n != m.NumRows() {
		return fmt.Errorf("%d basic for %d rows", n, m.NumRows())
	}
	r := newReference(m)
	r.status = append(append([]Status(nil), p.Cols...), p.Rows...)
	r.head = r.head[:0]
	for j, st := range r.status {
		switch {
		case st == Basic:
			r.head = append(r.head, j)
		case st == AtLower && r.lo[j] == -inf, st == AtUpper && r.up[j] == inf:
			return fmt.Errorf("variable %d stands at a bound that it does not have", j)
		}
	}
	if _, ok := invert(r.basis()); !ok {
		return fmt.Errorf("singular basis %v %v", p.Cols, p.Rows)
	}
	return nil
}

// close says whether a and b agree up to rounding.
func close(a, b []float64) bool {
	for k, v := range a {
		if math.Abs(v-b[k]) > 1e-8*scale(v) {
			return false
		}
	}
	return len(a) == len(b)
}

func checkRelaxation(t *rapid.T, m *model.Model, opt Options) *Reduced {
	stop, want := solveReference(m)
	if stop == refGaveUp {
		t.Skip("the reference gave up")
	}
	r, v := Run(m, opt)
	if v.Outcome != Open {
		if stop == refOptimal || v.Outcome == Infeasible && stop != refInfeasible {
			t.Fatalf("presolve says %v, the reference %v\n%s", v, stop, show(m))
		}
		return nil
	}
	stopR, q := solveReference(r.Model)
	if stopR == refGaveUp {
		t.Skip("the reference gave up")
	}
	if (stopR == refOptimal) != (stop == refOptimal) {
		t.Fatalf("reduced model ends %v, the original %v; rules %s\n%s\nreduced\n%s", stopR, stop, applied(r), show(m), show(r.Model))
	}
	if stop != refOptimal {
		return r
	}
	p := r.Postsolve(q)
	if z, zr := m.Objective(want.X), r.Model.Objective(q.X); math.Abs(z-zr) > 1e-7*scale(z) {
		t.Fatalf("reduced optimum %g, original %g; rules %s\n%s", zr, z, applied(r), show(m))
	}
	if err := checkOptimal(m, p, 1e-7); err != nil {
		t.Fatalf("%v; rules %s\n%s\nreduced\n%s\npoint %v", err, applied(r), show(m), show(r.Model), p)
	}
	if err := checkBasis(m, p); err != nil {
		t.Fatalf("%v; rules %s\n%s", err, applied(r), show(m))
	}
	if down, ok := r.MapSolution(p.X); !ok || !close(down, q.X) {
		t.Fatalf("taken back and down again %v is %v, %v; rules %s\n%s", q.X, down, ok, applied(r), show(m))
	}
	if err := anyBasis(m, r.Postsolve(logicalPoint(r.Model))); err != nil {
		t.Fatalf("from the logical basis: %v; rules %s\n%s", err, applied(r), show(m))
	}
	q.Cols, q.Rows = nil, nil
	if err := checkOptimal(m, r.Postsolve(q), 1e-7); err != nil {
		t.Fatalf("without statuses: %v; rules %s\n%s", err, applied(r), show(m))
	}
	if x := r.Postsolve(Point{X: q.X}).X; math.Abs(m.Objective(x)-m.Objective(want.X)) > 1e-7*scale(m.Objective(x)) {
		t.Fatalf("primal values alone: %g, want %g; rules %s\n%s", m.Objective(x), m.Objective(want.X), applied(r), show(m))
	}
	return r
}
