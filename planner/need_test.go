package planner_test

import (
	"math"
	"testing"

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
