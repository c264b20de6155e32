package planner_test

import (
	"math"
	"testing"

	"feedline/inventory"
	"feedline/planner"
)

// TestWorthIsWhatADeliveryBrings delivers 100 kg more of a material on the first day of each bucket and solves the plant again, from
// the Input on, with the plan's whole numbers: what is saved is the worth that the plan told.
func TestWorthIsWhatADeliveryBrings(t *testing.T) {
	in := workshop()
	p := audited(t, in, quick())
	base, ok := planner.HeldCost(in, quick(), p)
	if !ok || math.Abs(base-float64(p.Objective)) > 1e-5*math.Abs(base) {
		t.Fatalf("with its whole numbers the plan costs %.4f, it says %.4f", base, p.Objective)
	}
	told := map[string]float64{}
	for _, w := range p.Worth {
		if w.Of == planner.OfMaterial && w.Code == "ING" {
			told[p.Buckets[w.Bucket].Span.From.String()] = float64(w.Value)
		}
	}
	if len(told) == 0 {
		t.Fatal("ingots are worth nothing in a plant that is short of them")
	}
	for _, b := range p.Buckets {
		more := workshop()
		more.Deliveries = append(more.Deliveries, inventory.Delivery{Code: "X", Material: "ING", Mass: 100, ETA: b.Span.From, Status: inventory.OnRoad})
		cost, ok := planner.HeldCost(more, quick(), p)
		if !ok {
			t.Fatal("no plan with more feed")
		}
		if got, want := told[b.Span.From.String()], (base-cost)/100; math.Abs(got-want) > 1e-4*(1+want) {
			t.Errorf("%v: told %.6f EUR/kg, a delivery of 100 kg saves %.6f", b.Span.From, got, want)
		}
	}
}

// TestWhyLate makes one limit after another the only one there is, and asks for its name.
func TestWhyLate(t *testing.T) {
	for _, c := range []struct {
		name  string
		want  planner.Resource
		order string
		spoil func(*planner.Input)
	}{
		{"no feed", planner.OfPellets, "O4", func(in *planner.Input) { in.Lots, in.Deliveries, in.Lanes = nil, nil, nil }},
		{"too few hours", planner.OfLineHour, "O4", func(in *planner.Input) {
			plenty(in)
			in.Orders[3].Length = 300000
		}},
		{"overdue", planner.OfTime, "O5", func(in *planner.Input) { plenty(in) }},
		{"slow pelletizer", planner.OfStep, "O4", func(in *planner.Input) {
			plenty(in)
			in.Stock[0].Mass = 100
			in.Steps[1].Rate = 10
		}},
	} {
		in := workshop()
		c.spoil(in)
		p := audited(t, in, quick())
		found := false
		for _, w := range p.WhyLate {
			if w.Order != c.order {
				continue
			}
			found = true
			if w.Limit != c.want || w.Words == "" {
				t.Errorf("%s: order %s is late by %q (%s), want %q", c.name, w.Order, w.Limit, w.Words, c.want)
			}
		}
		if !found {
			t.Errorf("%s: order %s is not late, or not explained: %+v", c.name, c.order, p.WhyLate)
		}
	}
}

// plenty gives the workshop all the feed it wants.
func plenty(in *planner.Input) {
	in.Lots[0].Mass, in.Stock[0].Mass, in.Stock[1].Mass = 200000, 30000, 25000
	in.Grades[0].MinRecycled = 0
	in.Plant.Yard = 0
}

// TestBoundByDemand has nothing short: demand is what bounds output, in every bucket.
func TestBoundByDemand(t *testing.T) {
	in := workshop()
	plenty(in)
	in.Orders, in.Forecasts = in.Orders[3:4], nil
	in.Orders[0].Length = 2000
	p := audited(t, in, quick())
	for _, b := range p.BoundBy {
		if b.By != planner.OfDemand {
			t.Errorf("bucket %d is bound by %s (%v)", b.Bucket, b.By, b.Rents)
		}
	}
	in.Lots, in.Deliveries, in.Lanes, in.Stock = nil, nil, nil, in.Stock[:1]
	in.Orders[0].Length, in.Stock[0].Mass = 60000, 6000
	starved := audited(t, in, quick())
	if last := starved.BoundBy[len(starved.BoundBy)-1]; last.By != planner.OfPellets {
		t.Errorf("without feed the last week is bound by %s: %v", last.By, last.Rents)
	}
}
