package presolve_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/internal/presolve"
)

// sparse is a feasible model of decimal coefficients from 0.05 to 150, with singleton rows and columns,
// two-column equations and rows that nearly force their columns. (With coefficients down to 0.001 the
// optimum of some of these models moves by 0.1 % within the tolerance of feasibility, and proves nothing.)
func sparse(r *rand.Rand) *model.Model {
	m := &model.Model{}
	n := 10 + r.IntN(40)
	x := make([]float64, n)
	for j := range n {
		x[j] = math.Round(r.NormFloat64()*1000) / 100
		lo, up := x[j]-r.Float64()*10, x[j]+r.Float64()*10
		switch r.IntN(6) {
		case 0:
			lo = x[j]
		case 1:
			up = math.Inf(1)
		case 2:
			lo = math.Inf(-1)
		case 3:
			lo, up = 0, math.Inf(1)
			x[j] = math.Abs(x[j])
		}
		m.AddVar("", lo, up, math.Round(r.NormFloat64()*100)/7*float64(r.IntN(3)))
	}
	for range n/2 + r.IntN(n) {
		sparseRow(r, m, x)
	}
	return m
}

func sparseRow(r *rand.Rand, m *model.Model, x []float64) {
	size := []int{1, 2, 2, 3, 3, 4, 6}[r.IntN(7)]
	var terms []model.Term
	sum, low, high := 0.0, 0.0, 0.0
	for _, j := range r.Perm(len(x))[:size] {
		a := math.Round(math.Exp(r.Float64()*8-3)*1000) / 1000 * float64(2*r.IntN(2)-1)
		terms = append(terms, model.Term{Var: model.Var(j), Coef: a})
		sum += a * x[j]
		low += math.Min(a*m.Lower[j], a*m.Upper[j])
		high += math.Max(a*m.Lower[j], a*m.Upper[j])
	}
	lo, up := sum, sum
	switch r.IntN(6) {
	case 0, 1:
		lo = math.Inf(-1)
	case 2, 3:
		up = math.Inf(1)
	case 4:
		lo, up = sum-r.Float64(), sum+r.Float64()
	}
	if r.IntN(8) == 0 && !math.IsInf(high, 0) {
		up = high - 1e-9*float64(r.IntN(3)) // redundant, or nearly
	}
	if r.IntN(8) == 0 && !math.IsInf(low, 0) {
		lo = math.Min(up, low+1e-9*float64(r.IntN(3)))
	}
	m.AddRow("", math.Min(lo, sum), math.Max(up, sum), terms...)
}

// prices is how far the objective may move, by weak duality, for each unit by which all rows and
// bounds are missed: points that are feasible up to the tolerance differ by that much.
func prices(p presolve.Point) float64 {
	t := 1.0
	for _, v := range p.Y {
		t += math.Abs(v)
	}
	for _, v := range p.D {
		t += math.Abs(v)
	}
	return t
}

// seeds is how many such models an everyday run tries.
const seeds = 600

// TestScaledRelaxations: as for the small models with whole coefficients, on larger ones whose numbers are not nice.
func TestScaledRelaxations(t *testing.T) {
	optimal := 0
	for seed := range uint64(seeds) {
		m := sparse(rand.New(rand.NewPCG(seed, 1)))
		stop, want, direct, _ := solveLinear(m)
		r, v := presolve.Run(m, presolve.Options{})
		if v.Outcome != presolve.Open {
			if stop == solve.Optimal {
				t.Fatalf("seed %d: presolve says %v, without it the model is optimal", seed, v)
			}
			continue
		}
		stopR, z, q, _ := solveLinear(r.Model)
		if (stop == solve.Optimal) != (stopR == solve.Optimal) {
			t.Fatalf("seed %d: reduced model ends %v, the original %v; rules %s", seed, stopR, stop, presolve.Applied(r))
		}
		if stop != solve.Optimal {
			continue
		}
		optimal++
		p := r.Postsolve(q)
		leeway := 1e-7 * math.Max(math.Abs(want), math.Max(prices(p), prices(direct)))
		if math.Abs(z-want) > leeway {
			t.Errorf("seed %d: optimum %.12g, without presolve %.12g; rules %s", seed, z, want, presolve.Applied(r))
		}
		if err := presolve.CheckOptimal(m, direct, 1e-7); err != nil {
			t.Logf("seed %d: the solver's own point: %v", seed, err)
		}
		if err := presolve.CheckOptimal(m, p, 1e-7); err != nil {
			t.Errorf("seed %d: %v; rules %s", seed, err, presolve.Applied(r))
		}
		if stop, z, n := restart(m, p); stop != solve.Optimal || n > 2 || math.Abs(z-want) > leeway {
			t.Errorf("seed %d: restarted %v, %d iterations, %.12g, want %.12g", seed, stop, n, z, want)
		}
	}
	if optimal < 100 {
		t.Errorf("only %d of the models have an optimum", optimal)
	}
	t.Logf("%d optimal", optimal)
}
