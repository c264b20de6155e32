package planner_test

import (
	"testing"

	"feedline/planner"
	"feedline/planner/benchplant"
)

// TestLotsAllowEveryPlan holds plans of several plants in the relaxation that knows of lots: it must allow each of them, at the plan's cost, and
// be no lower than the relaxation without lots.
func TestLotsAllowEveryPlan(t *testing.T) {
	late := workshop() // with too little feed, and orders that are late from the start
	late.Deliveries = nil
	all := 0
	for name, c := range map[string]struct {
		in  *planner.Input
		opt planner.Options
	}{
		"workshop":  {workshop(), brief()},
		"late":      {late, brief()},
		"bench":     {benchplant.Input(benchplant.Size{Name: "small", Lines: 2, Profiles: 5, Weeks: 10}, 1), benchplant.Options()},
		"bench two": {benchplant.Input(benchplant.Size{Name: "small", Lines: 3, Profiles: 8, Weeks: 8}, 2), benchplant.Options()},
	} {
		t.Run(name, func(t *testing.T) {
			c.opt.Work, c.opt.Time, c.opt.Brief = 100_000_000, 0, true
			p := audited(t, c.in, c.opt)
			for stage := range planner.LotStages {
				allowed, bounds, cuts := planner.LotsAllow(c.in, c.opt, p, stage)
				if !allowed {
					t.Errorf("stage %d forbids the plan", stage)
				}
				if bounds[1] < bounds[0]*(1-1e-6) || cuts > 0 && bounds[2] < bounds[1]*(1-1e-6) {
					t.Errorf("stage %d has bounds of %.2f without lots, %.2f with them and %.2f with cuts: they do not rise", stage, bounds[0], bounds[1], bounds[2])
				}
				t.Logf("cost %.0f, bound without lots %.0f, with them %.0f, with %d cuts %.0f", p.Objective, bounds[0], bounds[1], cuts, bounds[2])
				all += cuts
			}
		})
	}
	if all == 0 {
		t.Error("no cut was tried")
	}
}
