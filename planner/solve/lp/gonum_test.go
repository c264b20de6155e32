package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	gonum "gonum.org/v1/gonum/optimize/convex/lp"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// TestAgainstGonum solves small dense programs in standard form, min cᵀx, A·x = b, x ≥ 0, by gonum's dense simplex too.
func TestAgainstGonum(t *testing.T) {
	agreed := 0
	for seed := uint64(0); seed < 300; seed++ {
		r := rand.New(rand.NewPCG(seed, 51))
		rows := 1 + r.IntN(6)
		cols := rows + 1 + r.IntN(8)
		m := &model.Model{}
		c, b := make([]float64, cols), make([]float64, rows)
		x := make([]float64, cols)
		for j := range c {
			c[j] = float64(r.IntN(15) - 3)
			x[j] = float64(r.IntN(5))
			m.AddVar("", 0, math.Inf(1), c[j])
		}
		a := mat.NewDense(rows, cols, nil)
		for i := range b {
			var terms []model.Term
			for j := range c {
				v := float64(r.IntN(11) - 5)
				a.Set(i, j, v)
				b[i] += v * x[j]
				terms = append(terms, model.Term{Var: model.Var(j), Coef: v})
			}
			m.AddRow("", b[i], b[i], terms...)
		}
		want, _, err := gonum.Simplex(c, a, b, 1e-10, nil)
		got := Solve(context.Background(), m, solve.Options{})
		switch err {
		case nil:
			if got.Stop != solve.Optimal || math.Abs(got.Objective-want) > 1e-6*math.Max(1, math.Abs(want)) {
				t.Errorf("seed %d: %v %.9g, gonum %.9g", seed, got.Stop, got.Objective, want)
			}
			agreed++
		case gonum.ErrUnbounded:
			if got.Stop != solve.Unbounded {
				t.Errorf("seed %d: %v, gonum unbounded", seed, got.Stop)
			}
			agreed++
		}
	}
	if agreed < 200 {
		t.Errorf("gonum gave an answer in %d cases only", agreed)
	}
}
