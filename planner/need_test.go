package planner_test

import (
	"math"
	"testing"
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// spareHours is the shed with one order, due on the fourth day, that takes the line two hours of the week. Feed has a price, so that a
// rack filled with more is worth something at the end. The figures of the test are a product of metres and kilograms a metre.
func spareHours(metres, pellets float64) *planner.Input {
	s := shed{rate: [2]float64{60, 60}, price: [2]float64{3, 3}, setup: 2}
	s.demand[0][3] = metres
	in := s.input()
	in.Materials[0].Price = 2
	in.Stock[0].Mass = quantity.Mass(pellets)
	return in
}

// TestNeedIsWhatDemandCallsFor: hours to spare do not make need of what nobody has asked for.
func TestNeedIsWhatDemandCallsFor(t *testing.T) {
	const metres, perMetre = 1200.0, 0.5
	for _, c := range []struct {
		name           string
		pellets, short float64
		target         float64 // stock target, m
		from           calendar.Day
	}{
		{"just enough", metres * perMetre, 0, 0, 0},
		{"100 kg too little", metres*perMetre - 100, 100, 0, monday + 3},
		{"none", 0, metres * perMetre, 0, monday + 2}, // 1,200 m take 20 of the 24 h of a day
		{"a stock target", metres * perMetre, 150, 300, monday},
	} {
		in := spareHours(metres, c.pellets)
		in.Profiles[0].StockTarget = quantity.Length(c.target)
		p := audited(t, in, exact())
		need := 0.0
		for _, r := range p.NeedHave {
			need += float64(r.Need)
		}
		if want := (metres + c.target) * perMetre; math.Abs(need-want) > 1e-3 {
			t.Errorf("%s: need adds up to %.3f kg, %.0f m at %.1f kg/m are asked for: %.3f kg", c.name, need, metres+c.target, perMetre, want)
		}
		switch {
		case c.short == 0 && len(p.Shortages) > 0:
			t.Errorf("%s: told to be short: %+v", c.name, p.Shortages)
		case c.short > 0 && len(p.Shortages) == 0:
			t.Errorf("%s: not told to be short by %.0f kg", c.name, c.short)
		case c.short > 0:
			if s := p.Shortages[0]; math.Abs(float64(s.Mass)-c.short) > 1e-3 || s.First < c.from || s.First > monday+3 {
				t.Errorf("%s: short by %.3f kg from %v, want %.0f kg from %v, %v at the latest", c.name, s.Mass, s.First, c.short, c.from, monday+3)
			}
		}
	}
}

// TestTooLateIsCountedFromTheDayOfPlanning: an order-by day is too late if it lies before the day on which the plan is made, whether
// the plan begins on that day, later or earlier.
func TestTooLateIsCountedFromTheDayOfPlanning(t *testing.T) {
	in := workshop() // lanes that take orders on any day
	in.Deliveries, in.Lots = nil, nil
	at := func(day calendar.Day) *planner.Plan {
		opt := brief()
		opt.Now, opt.Weeks, opt.Work = day.UTC().Add(6*time.Hour), 3, 2_000_000
		p := audited(t, in, opt)
		if p.MadeOn(in) != day || p.Start != monday || len(p.OrderBy) == 0 {
			t.Fatalf("made on %s, want %s; from %s, %d order-by dates", p.MadeOn(in), day, p.Start, len(p.OrderBy))
		}
		for _, o := range p.OrderBy {
			if o.TooLate != (o.By < day) {
				t.Errorf("made on %s from %s: %s on %s by %s, too late: %t", day, p.Start, o.Grade, o.Lane, o.By, o.TooLate)
			}
		}
		return p
	}
	first, last := monday, monday
	for _, o := range at(monday).OrderBy {
		first, last = min(first, o.By), max(last, o.By)
	}
	if first >= monday || last <= monday {
		t.Fatalf("order-by dates from %s to %s, want some before and some after %s", first, last, monday)
	}
	at(first)
	at(last + 1)
}
