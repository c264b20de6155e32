package planner_test

import (
	"math"
	"testing"
	"time"

	"feedline/inventory"
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

// TestLoadsComeAsTheLaneGivesThem: loads ordered as an order-by date says, so many at once, are there before more is owed than those before
// them bring, and of a material that may be only part of the grade no more are told than that part.
func TestLoadsComeAsTheLaneGivesThem(t *testing.T) {
	for _, c := range []struct {
		load   quantity.Mass
		aWeek  float64
		atOnce int
		weeks  int
	}{{3000, 1, 1, 1}, {3000, 2, 2, 1}, {3000, 0.5, 1, 2}, {3000, 0, 0, 0}} {
		in := workshop()
		in.Deliveries, in.Lots = nil, nil
		in.Lanes[0].Load, in.Lanes[0].LoadsAWeek, in.Lanes[0].LeadTime = c.load, c.aWeek, inventory.LeadTime{Distribution: inventory.Fixed, Mean: 9}
		in.Lanes[1].Load, in.Lanes[1].LoadsAWeek = 500, 0
		opt := brief()
		opt.Weeks, opt.Work = 3, 300_000
		p := audited(t, in, opt)
		if len(p.Shortages) == 0 {
			t.Fatal("no shortage to tell of")
		}
		for _, s := range p.Shortages {
			need := 0.0
			for _, r := range p.NeedHave {
				if r.Grade == s.Grade && p.Buckets[r.Bucket].Span.From >= s.First {
					need += float64(r.Need)
				}
			}
			for _, o := range p.OrderBy {
				switch {
				case o.Grade != s.Grade:
				case o.Lane == "bulk": // virgin pellets, at most 40 % of white
					if part := min(float64(s.MassIn4Weeks), 0.4*need); o.Alone() || o.Most != 0.4 || float64(o.Mass) > part+500 || float64(o.Mass) < part {
						t.Errorf("%s of %s: %.0f kg at most %.2f of the feed, want 0.4 of it, %.0f kg", o.Lane, o.Grade, o.Mass, o.Most, part)
					}
				default:
					atOnce, weeks := c.atOnce, c.weeks
					if atOnce == 0 || o.Loads <= atOnce {
						atOnce, weeks = o.Loads, 0
					}
					if o.AtOnce != atOnce || o.Weeks != weeks || !o.Alone() {
						t.Errorf("%v loads a week: %d loads, %d at once, %d weeks between, want %d and %d", c.aWeek, o.Loads, o.AtOnce, o.Weeks, atOnce, weeks)
					}
					for _, r := range p.NeedHave {
						there := 0.0
						for i := range o.Loads {
							if o.By+calendar.Day(9+7*weeks*(i/atOnce)) < p.Buckets[r.Bucket].Span.To {
								there += float64(c.load) * 0.99 * 0.96
							}
						}
						if from := p.Buckets[r.Bucket].Span.From; r.Grade == s.Grade && from < s.First+28 && there < float64(r.Cumulative)-1 {
							t.Errorf("%v loads a week, %d of %s from %v: %.0f kg there by the end of %v, %.0f kg owed", c.aWeek, o.Loads, o.Grade, o.By, there, from, r.Cumulative)
						}
					}
				}
			}
		}
	}
}
