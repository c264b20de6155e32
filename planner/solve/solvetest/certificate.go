// Package solvetest is the conformance suite that every solver of linear and mixed-integer programs must pass, and the
// checker of certificates that it rests on. It knows solvers only as functions.
package solvetest

import (
	"fmt"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// Tolerances of the checker, relative to the sizes of the numbers involved.
const (
	// Feasibility is the violation of a bound or row that a solution may have.
	Feasibility = 1e-6
	// Equality is the relative difference allowed between objectives that ought to be equal.
	Equality = 1e-7
	// rayRounding is what a ray's combination of coefficients may miss zero by, relative to its terms.
	rayRounding = 1e-8
)

// Check recomputes from the model whatever an LP result claims: feasibility of X, the sign and definition of Y and D,
// complementary slackness and equal objectives when Optimal; that the ray proves it when Infeasible or Unbounded. Nil
// if all holds; other stop reasons claim nothing but a feasible X if there is one.
func Check(m *model.Model, r *solve.Result) error {
	if r.Has {
		if err := Feasible(m, r.X, false); err != nil {
			return err
		}
		if z := m.Objective(r.X); differ(z, r.Objective, 1e-9) {
			return fmt.Errorf("objective of x is %.12g, claimed %.12g", z, r.Objective)
		}
	}
	switch r.Stop {
	case solve.Optimal:
		if !r.Has {
			return fmt.Errorf("optimal without a solution")
		}
		return checkDuals(m, r)
	case solve.Infeasible:
		return CheckFarkas(m, r.Ray)
	case solve.Unbounded:
		return CheckDirection(m, r.Ray)
	}
	return nil
}

func differ(a, b, tol float64) bool {
	return !(math.Abs(a-b) <= tol*math.Max(1, math.Max(math.Abs(a), math.Abs(b))))
}

// bound reads magnitudes from InfiniteFrom on as infinite.
func bound(b float64) float64 {
	if math.Abs(b) >= model.InfiniteFrom {
		return math.Inf(int(math.Copysign(1, b)))
	}
	return b
}

// Feasible checks x against the model's bounds and rows and, if whole is set, its integrality.
func Feasible(m *model.Model, x []float64, whole bool) error {
	if len(x) != m.NumVars() {
		return fmt.Errorf("%d values for %d columns", len(x), m.NumVars())
	}
	for j, v := range x {
		if err := within(v, m.Lower[j], m.Upper[j], math.Abs(v)); err != nil {
			return fmt.Errorf("column %d: %w", j, err)
		}
		if whole && m.Integer[j] && math.Abs(v-math.Round(v)) > 1e-5 {
			return fmt.Errorf("column %d: %g is not whole", j, v)
		}
	}
	for i := range m.RowLower {
		sum, size := activity(m, i, x)
		if err := within(sum, m.RowLower[i], m.RowUpper[i], size); err != nil {
			return fmt.Errorf("row %d: %w", i, err)
		}
	}
	return nil
}

func activity(m *model.Model, i int, x []float64) (sum, size float64) {
	vars, coefs := m.RowTerms(model.Row(i))
	for k, j := range vars {
		t := coefs[k] * x[j]
		sum += t
		size = math.Max(size, math.Abs(t))
	}
	return sum, size
}

func within(v, lower, upper, size float64) error {
	tol := Feasibility * math.Max(1, size)
	if !(v >= bound(lower)-tol && v <= bound(upper)+tol) {
		return fmt.Errorf("%.12g is outside %g … %g", v, lower, upper)
	}
	return nil
}

// checkDuals checks Y and D in the minimised sense.
func checkDuals(m *model.Model, r *solve.Result) error {
	if len(r.Y) != m.NumRows() || len(r.D) != m.NumVars() {
		return fmt.Errorf("%d row duals for %d rows, %d reduced costs for %d columns", len(r.Y), m.NumRows(), len(r.D), m.NumVars())
	}
	sign := 1.0
	if m.Maximize {
		sign = -1
	}
	d, size := reduced(m, r.Y)
	dual, scale := sign*m.Offset, math.Abs(m.Offset)
	for j := range d {
		if math.Abs(d[j]-r.D[j]) > 1e-7*math.Max(1, size[j]) {
			return fmt.Errorf("column %d: reduced cost %g, but c − Aᵀy is %g", j, r.D[j], d[j])
		}
		t, err := term(sign*r.D[j], m.Lower[j], m.Upper[j], size[j])
		if err != nil {
			return fmt.Errorf("column %d: %w", j, err)
		}
		dual += t
		scale = math.Max(scale, math.Abs(t))
	}
	for i, y := range r.Y {
		t, err := term(sign*y, m.RowLower[i], m.RowUpper[i], math.Abs(y))
		if err != nil {
			return fmt.Errorf("row %d: %w", i, err)
		}
		dual += t
		scale = math.Max(scale, math.Abs(t))
	}
	if z := sign * r.Objective; math.Abs(z-dual) > Equality*math.Max(1, math.Max(math.Abs(z), 1e-2*scale)) {
		return fmt.Errorf("primal objective %.12g, dual objective %.12g", z, dual)
	}
	return nil
}

// reduced returns c − Aᵀy and the largest term of each entry.
func reduced(m *model.Model, y []float64) (d, size []float64) {
	d = append([]float64(nil), m.Cost...)
	size = make([]float64, len(d))
	for j, c := range d {
		size[j] = math.Abs(c)
	}
	for i := range m.RowLower {
		vars, coefs := m.RowTerms(model.Row(i))
		for k, j := range vars {
			t := coefs[k] * y[i]
			d[j] -= t
			size[j] = math.Max(size[j], math.Abs(t))
		}
	}
	return d, size
}

// term is the least of d·v for lower ≤ v ≤ upper.
func term(d, lower, upper, size float64) (float64, error) {
	at := bound(lower)
	if d < 0 {
		at = bound(upper)
	}
	if math.IsInf(at, 0) {
		if math.Abs(d) > 1e-6*math.Max(1, size) {
			return 0, fmt.Errorf("dual %g has the wrong sign for %g … %g", d, lower, upper)
		}
		return 0, nil
	}
	return d * at, nil
}

// CheckFarkas checks that y (one a row) proves that the model has no feasible point: the least yᵀr within the row
// bounds exceeds the largest (Aᵀy)ᵀx within the column bounds. Contradictory bounds of one row or column need no y.
func CheckFarkas(m *model.Model, y []float64) error {
	if len(y) != m.NumRows() {
		return fmt.Errorf("ray of %d entries for %d rows", len(y), m.NumRows())
	}
	for j := range m.Lower {
		if m.Lower[j] > m.Upper[j] {
			return nil
		}
	}
	g := make([]float64, m.NumVars())
	size := make([]float64, m.NumVars())
	low, scale := 0.0, 0.0
	for i, v := range y {
		if m.RowLower[i] > m.RowUpper[i] {
			return nil
		}
		t, err := term(v, m.RowLower[i], m.RowUpper[i], 0)
		if err != nil || math.Abs(v) > 0 && t == 0 && math.IsInf(side(v, m.RowLower[i], m.RowUpper[i]), 0) {
			return fmt.Errorf("row %d: multiplier %g on an infinite bound", i, v)
		}
		low += t
		scale += math.Abs(t)
		vars, coefs := m.RowTerms(model.Row(i))
		for k, j := range vars {
			g[j] += coefs[k] * v
			size[j] += math.Abs(coefs[k] * v)
		}
	}
	high := 0.0
	for j, v := range g {
		if math.Abs(v) <= rayRounding*size[j] && math.IsInf(side(-v, m.Lower[j], m.Upper[j]), 0) {
			continue
		}
		if v == 0 {
			continue
		}
		at := side(-v, m.Lower[j], m.Upper[j])
		if math.IsInf(at, 0) {
			return fmt.Errorf("column %d: combined coefficient %g on an infinite bound", j, v)
		}
		high += v * at
		scale += math.Abs(v * at)
	}
	if !(low-high > 1e-9*scale) {
		return fmt.Errorf("ray proves nothing: rows allow %.12g, columns %.12g", low, high)
	}
	return nil
}

// side is the bound that minimises d·v.
func side(d, lower, upper float64) float64 {
	if d < 0 {
		return bound(upper)
	}
	return bound(lower)
}

// CheckDirection checks that the objective improves along ray (one a column) and that rows and bounds let it go on
// without end.
func CheckDirection(m *model.Model, ray []float64) error {
	if len(ray) != m.NumVars() {
		return fmt.Errorf("ray of %d entries for %d columns", len(ray), m.NumVars())
	}
	gain, scale := 0.0, 0.0
	for j, v := range ray {
		if v > 0 && !math.IsInf(bound(m.Upper[j]), 1) || v < 0 && !math.IsInf(bound(m.Lower[j]), -1) {
			return fmt.Errorf("column %d: direction %g runs into a bound", j, v)
		}
		gain += m.Cost[j] * v
		scale += math.Abs(m.Cost[j] * v)
	}
	if m.Maximize {
		gain = -gain
	}
	if !(gain < -1e-9*scale) {
		return fmt.Errorf("objective changes by %g along the direction", gain)
	}
	for i := range m.RowLower {
		sum, size := activity(m, i, ray)
		tol := 1e-7 * math.Max(size, 1e-300)
		if sum > tol && !math.IsInf(bound(m.RowUpper[i]), 1) || sum < -tol && !math.IsInf(bound(m.RowLower[i]), -1) {
			return fmt.Errorf("row %d: direction %g runs into a bound", i, sum)
		}
	}
	return nil
}
