package planner_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/audit"
)

// auditedFor plans and audits within a property test.
func auditedFor(t *rapid.T, in *planner.Input, opt planner.Options) *planner.Plan {
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	if rep := audit.Plan(in, p); !rep.OK() {
		t.Fatalf("the audit found the plan wrong:\n%s", rep)
	}
	return p
}

// scarce is the shed with feed for some of the demand, a delivery on its way, fitters and a rack that may bind.
func scarce(t *rapid.T) *planner.Input {
	in := drawShed(t).input()
	in.Stock[0].Mass = quantity.Mass(100 * rapid.IntRange(0, 30).Draw(t, "pellets"))
	in.Deliveries = []inventory.Delivery{{Code: "D", Material: "M", Mass: quantity.Mass(100 * rapid.IntRange(1, 40).Draw(t, "delivery")), Ordered: monday - 9, ETA: monday + calendar.Day(rapid.IntRange(0, 4).Draw(t, "eta")), Status: inventory.OnRoad}}
	in.Plant.FitterHours, in.Plant.FitterCost = quantity.Hours(rapid.IntRange(1, 8).Draw(t, "fitters")), 10
	in.Changeovers[0].FitterHours = quantity.Hours(rapid.IntRange(0, 6).Draw(t, "fitter hours"))
	in.Plant.Rack = quantity.Volume(rapid.IntRange(1, 20).Draw(t, "rack"))
	for p := range in.Profiles {
		in.Profiles[p].RackLitresPerMetre = 2
	}
	return in
}

// TestMonotone plans a scarce shed and variants of it, each to the end: what is more, looser or sooner never costs more. Feed is free in
// it, so that what comes sooner does not cost its keep. An order dropped is no such variant: what is in the rack for it then has to be kept.
func TestMonotone(t *testing.T) {
	draws(t, 4)
	rapid.Check(t, func(t *rapid.T) {
		in := scarce(t)
		what := rapid.SampledFrom([]string{"more feed", "more fitters", "more rack", "delivery a day sooner", "shorter changeover"}).Draw(t, "what")
		before := auditedFor(t, in, exact())
		switch what {
		case "more feed":
			in.Lots = append(in.Lots, inventory.Lot{Code: "X", Material: "M", Mass: 700, Received: monday - 2})
		case "more fitters":
			in.Plant.FitterHours += 2
		case "more rack":
			in.Plant.Rack += 3
		case "delivery a day sooner":
			in.Deliveries[0].ETA = max(monday, in.Deliveries[0].ETA-1)
		case "shorter changeover":
			in.Changeovers[0].Hours /= 2
		}
		after := auditedFor(t, in, exact())
		if slack := 1e-5 * (1 + math.Abs(float64(before.Objective))); float64(after.Objective) > float64(before.Objective)+slack {
			t.Fatalf("%s: the plan costs %.6f, before it cost %.6f", what, after.Objective, before.Objective)
		}
	})
}

// TestUnitsDoNotMatter tells the same shed in decimetres for metres and in cents for euros: the plan costs a hundred times as much.
func TestUnitsDoNotMatter(t *testing.T) {
	draws(t, 8)
	rapid.Check(t, func(t *rapid.T) {
		s := drawShed(t)
		euros := auditedFor(t, s.input(), exact())
		for p := range 2 {
			s.rate[p] *= 10
			s.price[p] *= 10 // a hundred for the money, a tenth for the length
			s.stock[p] *= 10
			for d := range 7 {
				s.demand[p][d] *= 10
			}
		}
		s.cost, s.hour = 100*s.cost, 100*s.hour
		in := s.input()
		for p := range in.Profiles {
			in.Profiles[p].PerMetre /= 10
		}
		cents := auditedFor(t, in, exact())
		if d := math.Abs(float64(cents.Objective) - 100*float64(euros.Objective)); d > 1e-5*(1+math.Abs(float64(cents.Objective))) {
			t.Fatalf("%.6f euros, %.6f cents", euros.Objective, cents.Objective)
		}
	})
}

// TestSplitBucketsKeepTotals plans the workshop with one day and with seven told apart: demand, hours and arrivals add up to the same.
func TestSplitBucketsKeepTotals(t *testing.T) {
	totals := func(days int) map[string]float64 {
		opt := brief()
		opt.DailyDays, opt.Work = days, 1
		p, sum := audited(t, workshop(), opt), map[string]float64{}
		for _, r := range p.Rack {
			sum["demand "+r.Profile] += float64(r.Demand)
		}
		for _, u := range p.Lines {
			sum["hours "+u.Line] += float64(u.Available)
		}
		for _, y := range p.Yard {
			sum["arrived "+y.Material] += float64(y.Arrived)
		}
		for _, b := range p.Purchases {
			sum["arrived "+map[string]string{"road": "ING", "bulk": "VIR"}[b.Lane]] -= float64(b.Mass)
		}
		return sum
	}
	weeks, days := totals(1), totals(14)
	for what, want := range weeks {
		if math.Abs(days[what]-want) > 1e-6*(1+math.Abs(want)) {
			t.Errorf("%s: %.6f in weeks, %.6f in days", what, want, days[what])
		}
	}
}
