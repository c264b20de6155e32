package mip

import (
	"context"
	"math"
	"strings"
	"testing"

	"feedline/planner/solve"

	"pgregory.net/rapid"
)

// TestCertifyPublished proves small public models from the model alone: the certified bound meets the optimum that index.tsv
// gives, with its sources, and the incumbent is feasible without any violation.
func TestCertifyPublished(t *testing.T) {
	for _, name := range []string{"miplib/gr4x6", "miplib/p0033", "examples/tariff", "examples/ww1958"} {
		t.Run(name, func(t *testing.T) {
			m := load(t, name+".mps")
			want, _ := published(t, name+".mps")
			r := Solve(context.Background(), m, Options{Options: solve.Options{Gap: 1e-4}})
			c := Certify(context.Background(), m, r, 5000)
			if !c.Proven || !c.Exactly || !near(c.Bound, want, 1.1e-4) || !near(c.Objective, want, 2e-6) {
				t.Errorf("%+v, published %v", c, want)
			}
			t.Log(c.Words)
		})
	}
}

// TestCertifyRefuses: a claim beyond the optimum is not certified, nor one that there is no solution; a tree that is cut
// short proves less, and says what the rest stands on.
func TestCertifyRefuses(t *testing.T) {
	m := load(t, "miplib/p0033.mps")
	r := Solve(context.Background(), m, Options{})
	wrong := r
	wrong.Bound = 3095 // published optimum 3089
	if c := Certify(context.Background(), m, wrong, 5000); c.Proven || c.Bound > 3089 {
		t.Errorf("a bound beyond the optimum: %+v", c)
	}
	if c := Certify(context.Background(), m, solve.Result{Stop: solve.Infeasible}, 5000); c.Proven {
		t.Errorf("no solution claimed: %+v", c)
	}
	c := Certify(context.Background(), m, r, 1)
	if c.Proven || !c.HasBound || c.Bound > 2521 || c.Bound < 2520.57 || !strings.Contains(c.Words, "floating-point") { // relaxation 2520.5717, costs whole
		t.Errorf("the root alone: %+v", c)
	}
}

// TestCertifyRandom: on small random models the exact tree confirms each answer, and never a bound beyond the enumeration's
// optimum.
func TestCertifyRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := randomModel(t)
		best, has := enumerate(m)
		r := Solve(context.Background(), m, Options{Options: solve.Options{Workers: 1}})
		c := Certify(context.Background(), m, r, 2000)
		sign := 1.0
		if m.Maximize {
			sign = -1
		}
		if has && (!c.HasBound || sign*(c.Bound-best) > 1e-6*math.Max(1, math.Abs(best))) {
			t.Fatalf("bound %v, enumeration %v: %s", c.Bound, best, c.Words)
		}
		if !c.Proven {
			t.Fatalf("not confirmed: %s (stop %v, bound %v, best %v)", c.Words, r.Stop, r.Bound, best)
		}
	})
}
