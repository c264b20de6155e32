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
	for name, c := range map[string]struct {
		in  *planner.Input
		opt planner.Options
	}{
		"workshop":  {workshop(), brief()},
		"late":      {late, brief()},
		"bench":     {benchplant.Input(benchplant.Size{Name: "small", Lines: 2, Profiles: 5, Weeks: 13}, 1), benchplant.Options()},
		"bench two": {benchplant.Input(benchplant.Size{Name: "small", Lines: 3, Profiles: 9, Weeks: 10}, 2), benchplant.Options()},
	} {
		t.Run(name, func(t *testing.T) {
			c.opt.Work, c.opt.Time, c.opt.Brief = 100_000_000, 0, true
			p := audited(t, c.in, c.opt)
			for stage := range planner.LotStages {
				allowed, lots, without := planner.LotsAllow(c.in, c.opt, p, stage)
				if !allowed {
					t.Errorf("stage %d forbids the plan", stage)
				}
				if lots < without*(1-1e-6) {
					t.Errorf("stage %d has a bound of %.2f, below %.2f without lots", stage, lots, without)
				}
				t.Logf("cost %.0f, bound with lots %.0f, without %.0f", p.Objective, lots, without)
			}
		})
	}
}
