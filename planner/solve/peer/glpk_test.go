package peer

import (
	"math"
	"testing"
)

// The heads that glpsol 5.0 writes: where it was stopped before it had a solution its objective is 0, and that is none.
func TestGLPKSolution(t *testing.T) {
	for _, c := range []struct {
		status    string
		objective float64
		optimal   bool
	}{
		{"INTEGER OPTIMAL", 12.5, true}, {"OPTIMAL", 12.5, true}, {"INTEGER NON-OPTIMAL", 12.5, false}, {"FEASIBLE", 12.5, false},
		{"INTEGER UNDEFINED", math.NaN(), false}, {"UNDEFINED", math.NaN(), false}, {"INFEASIBLE (INTERMEDIATE)", math.NaN(), false}, {"INTEGER EMPTY", math.NaN(), false},
	} {
		text := "Problem:    plan\nRows:       3\nColumns:    4\nNon-zeros:  6\nStatus:     " + c.status + "\nObjective:  cost = 12.5 (MINimum)\n"
		objective, optimal := glpkSolution(text)
		if optimal != c.optimal || objective != c.objective && !(math.IsNaN(objective) && math.IsNaN(c.objective)) {
			t.Errorf("%s: objective %v, optimal %v; want %v, %v", c.status, objective, optimal, c.objective, c.optimal)
		}
	}
}
