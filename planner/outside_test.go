package planner_test

import (
	"context"
	"math"
	"os"
	"testing"
	"time"

	"feedline/planner"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/peer"
)

// TestOutsideSolversAgree solves the model of a small plan, as it is written to MPS, with glpsol, CBC and SciPy's HiGHS: the relaxation's
// optimum agrees to 1e-6, and the plan lies between what they prove and what they find, within the gaps.
func TestOutsideSolversAgree(t *testing.T) {
	in, opt := workshop(), brief()
	opt.Weeks = 2
	m, err := planner.Model(in, opt)
	if err != nil {
		t.Fatal(err)
	}
	plan := audited(t, in, opt)
	relaxed := lp.Solve(context.Background(), m, solve.Options{})
	if relaxed.Stop != solve.Optimal {
		t.Fatalf("relaxation: %s", relaxed.Stop)
	}
	for _, name := range peer.Names {
		s, err := peer.Find(name)
		if err != nil {
			if os.Getenv("FEEDLINE_CI") == "1" {
				t.Fatal(err)
			}
			t.Logf("skipped: %v", err)
			continue
		}
		theirs, err := s.Solve(context.Background(), m, peer.Options{Relax: true})
		if err != nil || !theirs.Optimal {
			t.Fatalf("%s: %v\n%s", name, err, theirs.Log)
		}
		if d := math.Abs(theirs.Objective - relaxed.Objective); d > 1e-6*math.Abs(relaxed.Objective) {
			t.Errorf("%s: relaxation %.6f, ours %.6f", name, theirs.Objective, relaxed.Objective)
		}
		if name == "glpsol" {
			continue // its branch and cut can't prove a plan of this size in the time of a test
		}
		whole, err := s.Solve(context.Background(), m, peer.Options{Time: 20 * time.Second, Gap: 0.005})
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, whole.Log)
		}
		if slack := 1e-6 * math.Abs(whole.Objective); !math.IsNaN(whole.Objective) && float64(plan.Bound) > whole.Objective+slack {
			t.Errorf("%s found a plan of %.4f, ours is proven to cost at least %.4f", name, whole.Objective, plan.Bound)
		}
		if slack := 1e-6 * math.Abs(whole.Bound); !math.IsNaN(whole.Bound) && float64(plan.Objective) < whole.Bound-slack {
			t.Errorf("%s proves that no plan costs less than %.4f, ours is said to cost %.4f", name, whole.Bound, plan.Objective)
		}
		t.Logf("%s: plan %.2f, bound %.2f; ours %.2f, %.2f", name, whole.Objective, whole.Bound, plan.Objective, plan.Bound)
	}
}
