package planner_test

import (
	"context"
	"math"
	"testing"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner"
	"feedline/planner/benchplant"
)

// TestFromSameInput starts from a plan of the same input: the plan is no dearer than that one, at hardly any work.
func TestFromSameInput(t *testing.T) {
	opt := brief()
	opt.Work /= 4
	first := audited(t, workshop(), opt)
	opt.From, opt.Work = first, 1
	again := audited(t, workshop(), opt)
	if float64(again.Objective) > float64(first.Objective)+1e-6*math.Abs(float64(first.Objective)) {
		t.Errorf("started from a plan of %.2f, the plan costs %.2f", first.Objective, again.Objective)
	}
}

// TestRedo: a plan done again in its own input costs what it costs; one made with more work of a what-if that takes something away costs less in the
// input without that than the hurried plan of it, since nothing hinders it.
func TestRedo(t *testing.T) {
	opt := brief()
	opt.Work = 1
	hurried := audited(t, workshop(), opt)
	cost, ok := planner.Redo(context.Background(), workshop(), opt, hurried)
	if slack := 1e-6 * math.Abs(float64(hurried.Objective)); !ok || math.Abs(float64(cost-hurried.Objective)) > slack {
		t.Errorf("done again %v, %.2f, it costs %.2f", ok, float64(cost), float64(hurried.Objective))
	}
	less := workshop()
	less.Pins = []planner.Pin{{Code: "x", Kind: planner.PinIdle, Line: "A", From: monday + 30, To: monday + 31}}
	o := brief()
	o.From = hurried
	p := audited(t, less, o)
	cost, ok = planner.Redo(context.Background(), workshop(), opt, p)
	if !ok || cost > p.Objective+1 || cost >= hurried.Objective {
		t.Errorf("a what-if of %.2f done without it %v, %.2f, the hurried plan costs %.2f", float64(p.Objective), ok, float64(cost), float64(hurried.Objective))
	}
	wrong := workshop()
	wrong.Profiles[0].Grade = "none"
	if _, ok := planner.Redo(context.Background(), wrong, opt, hurried); ok {
		t.Error("done in an input that is refused")
	}
}

// TestMoreFreedomCostsNoMore gives a plan's plant more fitters: what the plan did can be done as it is, so that a plan made from it, at hardly any
// work, is no dearer.
func TestMoreFreedomCostsNoMore(t *testing.T) {
	in, opt := benchplant.Input(benchplant.S, 2), benchplant.Options()
	opt.Work, opt.Brief = 500_000_000, true
	base := audited(t, in, opt)
	in.Plant.FitterHours = 40
	opt.From, opt.Work = base, 1
	if p := audited(t, in, opt); p.Objective > base.Objective+quantity.Money(1e-6*math.Abs(float64(base.Objective))) {
		t.Errorf("with more fitters %.2f, before %.2f", float64(p.Objective), float64(base.Objective))
	}
}

// TestFromOlderInput starts from a plan of an input that has changed since. The plans obey the new input, which the audit sees, and none
// is dearer than the plan that the rules make of the new input from nothing by more than a twentieth.
func TestFromOlderInput(t *testing.T) {
	usual := brief()
	usual.Work /= 4
	first := audited(t, workshop(), usual)
	for name, change := range map[string]func(in *planner.Input, opt *planner.Options){
		"line down":      func(in *planner.Input, _ *planner.Options) { down(in, "A") },
		"line gone":      func(in *planner.Input, _ *planner.Options) { in.Lines, in.Fits = in.Lines[:1], in.Fits[:3] },
		"delivery lost":  func(in *planner.Input, _ *planner.Options) { in.Deliveries = nil },
		"lanes gone":     func(in *planner.Input, _ *planner.Options) { in.Lanes, in.Deliveries = nil, nil },
		"no crew for it": func(in *planner.Input, _ *planner.Options) { in.Plant.Crew = 2 },
		"no fitters":     func(in *planner.Input, _ *planner.Options) { in.Plant.FitterHours = 1 },
		"order added": func(in *planner.Input, _ *planner.Options) {
			in.Orders = append(in.Orders, planner.Order{Code: "O9", Customer: "west", Profile: "SL40", Length: 9000, Due: monday + 12, Priority: 1})
		},
		"three days later": func(_ *planner.Input, opt *planner.Options) { opt.Start += 3 },
		"weeks into days":  func(_ *planner.Input, opt *planner.Options) { opt.DailyDays = 21 },
		"days into weeks":  func(_ *planner.Input, opt *planner.Options) { opt.DailyDays = 1 },
		"longer horizon":   func(_ *planner.Input, opt *planner.Options) { opt.Weeks = 7 },
		"long after":       func(in *planner.Input, opt *planner.Options) { opt.Start, in.Deliveries = opt.Start+70, nil },
		"line to be set up": func(in *planner.Input, _ *planner.Options) {
			in.Lines[1].State, in.Lines[1].Commissioning = lines.Uncommissioned, lines.Commissioning{Earliest: monday, Days: 5, Cost: 1000}
		},
		"larger least orders": func(in *planner.Input, _ *planner.Options) { in.Lanes[0].MinLoads, in.Lanes[0].LoadsAWeek = 2, 0.5 },
		"more feed": func(in *planner.Input, _ *planner.Options) {
			in.Lots = append(in.Lots, inventory.Lot{Code: "L9", Material: "ING", Supplier: "S1", Mass: 9000, Received: monday - 1})
		},
	} {
		t.Run(name, func(t *testing.T) {
			in, opt := workshop(), brief()
			change(in, &opt)
			opt.Work = 1
			rules := audited(t, in, opt)
			opt.From = first
			resumed := audited(t, in, opt)
			if slack := 0.05 * math.Abs(float64(rules.Objective)); float64(resumed.Objective) > float64(rules.Objective)+slack {
				t.Errorf("resumed the plan costs %.2f, by the rules %.2f", resumed.Objective, rules.Objective)
			}
		})
	}
}

// TestWhatIfIsWorthItsPlan has a line of bench plant S stand for three weeks, or run half as fast again, planned from nothing and from a plan
// without that: with the same work the second is no worse than by a hundredth, or the what-if would tell a change for dearer than it is.
func TestWhatIfIsWorthItsPlan(t *testing.T) {
	in, opt := benchplant.Input(benchplant.S, 1), benchplant.Options()
	opt.Work, opt.Brief = 500_000_000, true
	base := audited(t, in, opt)
	start := planner.StartDay(in, opt)
	for what, change := range map[string]func(in *planner.Input){
		"stands": func(in *planner.Input) {
			in.Pins = []planner.Pin{{Code: "x", Kind: planner.PinIdle, Line: in.Lines[0].Code, From: start + 30, To: start + 51}}
		},
		"faster": func(in *planner.Input) {
			for i := range in.Fits {
				if in.Fits[i].Line == in.Lines[0].Code {
					in.Fits[i].Melt *= 1.5
					in.Fits[i].HaulOff *= 1.5
				}
			}
		},
	} {
		in, opt := benchplant.Input(benchplant.S, 1), opt
		change(in)
		fresh := audited(t, in, opt)
		opt.From = base
		if p := audited(t, in, opt); p.Objective > 1.01*fresh.Objective {
			t.Errorf("%s: from a plan %.0f, from nothing %.0f", what, float64(p.Objective), float64(fresh.Objective))
		}
	}
}
