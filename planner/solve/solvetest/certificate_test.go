package solvetest

import (
	"strings"
	"testing"

	"feedline/planner/solve"
)

// TestCheckRefuses changes one thing at a time in a correct answer.
func TestCheckRefuses(t *testing.T) {
	m := Cases()[0].Model
	for _, c := range Cases() {
		if c.Name == "Wyndor" {
			m = c.Model
		}
	}
	good := func() *solve.Result {
		return &solve.Result{Stop: solve.Optimal, Has: true, X: []float64{2, 6}, Objective: 36,
			Y: []float64{0, 1.5, 1}, D: []float64{0, 0}}
	}
	if err := Check(m, good()); err != nil {
		t.Fatal(err)
	}
	for word, change := range map[string]func(r *solve.Result){
		"outside":       func(r *solve.Result) { r.X[1] = 6.001; r.Objective = 36.005 },
		"claimed":       func(r *solve.Result) { r.Objective = 36.001 },
		"c − Aᵀy":       func(r *solve.Result) { r.Y[2] = 1.01 },
		"dual obj":      func(r *solve.Result) { r.X[0] = 1; r.Objective = 33 },
		"wrong sign":    func(r *solve.Result) { r.Y[0], r.D[0] = -1, 1 },
		"without":       func(r *solve.Result) { r.Has = false },
		"for 3 rows":    func(r *solve.Result) { r.Y = r.Y[:2] },
		"for 2 columns": func(r *solve.Result) { r.X = r.X[:1]; r.D = r.D[:1] },
	} {
		r := good()
		change(r)
		if err := Check(m, r); err == nil || !strings.Contains(strings.ReplaceAll(err.Error(), "2 values", "for 2 columns"), word) && !strings.Contains(err.Error(), word) {
			t.Errorf("want an error about %q, got %v", word, err)
		}
	}
}

func TestCheckRefusesRays(t *testing.T) {
	m := build(false, plus(1, 1), []float64{4, inf, 1, 1}, []float64{-inf, 3, 1, 1})
	if err := CheckFarkas(m, []float64{1, -1}); err != nil {
		t.Error(err)
	}
	for _, y := range [][]float64{{0, 0}, {-1, 1}, {1, -2}, {1, 1}, {1}} {
		if CheckFarkas(m, y) == nil {
			t.Errorf("ray %v proves nothing and is accepted", y)
		}
	}
	u := build(true, plus(1, 1), []float64{-inf, 2, 1, -1})
	if err := CheckDirection(u, []float64{1, 1}); err != nil {
		t.Error(err)
	}
	for _, x := range [][]float64{{0, 0}, {1, 0}, {-1, 1}, {0}} {
		if CheckDirection(u, x) == nil {
			t.Errorf("direction %v is accepted", x)
		}
	}
}
