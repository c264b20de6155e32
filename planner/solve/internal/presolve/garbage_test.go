package presolve

import (
	"math"
	"math/rand/v2"
	"testing"

	"feedline/planner/model"
)

// TestGarbage: numbers that make no sense end in some verdict or model, not in a panic or an endless loop.
func TestGarbage(t *testing.T) {
	odd := []float64{0, 1, -1, 2, 1e-300, 1e300, -1e300, 1e20, -1e20, 1e-12, 1e12, math.NaN(), math.Inf(1), math.Inf(-1)}
	for seed := range uint64(3000) {
		r := rand.New(rand.NewPCG(seed, 2))
		pick := func() float64 { return odd[r.IntN(len(odd))] }
		m := &model.Model{Maximize: r.IntN(2) == 0, Offset: pick()}
		n := 1 + r.IntN(6)
		for range n {
			m.Integer[m.AddVar("", pick(), pick(), pick())] = r.IntN(3) == 0
		}
		for range r.IntN(8) {
			var terms []model.Term
			for j := range n {
				if r.IntN(2) == 0 {
					terms = append(terms, model.Term{Var: model.Var(j), Coef: pick()})
				}
			}
			m.AddRow("", pick(), pick(), terms...)
		}
		red, v := Run(m, Options{MIP: r.IntN(2) == 0})
		if v.Outcome != Open {
			continue
		}
		w := red.Model
		red.Postsolve(Point{X: make([]float64, w.NumVars()), Y: make([]float64, w.NumRows()), D: make([]float64, w.NumVars())})
		red.MapSolution(make([]float64, n))
	}
}
