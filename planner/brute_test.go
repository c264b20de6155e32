package planner_test

import (
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
	dense "gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// shed is one line with two profiles of two die families over a week of days, in numbers that a test draws. Feed is free and ample.
type shed struct {
	rate   [2]float64 // m/h
	demand [2][7]float64
	stock  [2]float64
	setup  float64 // h
	cost   float64 // of a changeover
	hour   float64 // energy an hour of running
	price  [2]float64
}

func drawShed(t *rapid.T) shed {
	s := shed{setup: float64(rapid.IntRange(1, 12).Draw(t, "setup")), cost: float64(rapid.IntRange(0, 400).Draw(t, "cost")), hour: float64(rapid.IntRange(0, 20).Draw(t, "hour"))}
	for p := range 2 {
		s.rate[p] = float64(rapid.IntRange(40, 120).Draw(t, "rate"))
		s.price[p] = float64(rapid.IntRange(1, 4).Draw(t, "price"))
		s.stock[p] = float64(100 * rapid.IntRange(0, 15).Draw(t, "stock"))
		for d := range 7 {
			if rapid.IntRange(0, 2).Draw(t, "ordered") == 0 {
				s.demand[p][d] = float64(100 * rapid.IntRange(1, 25).Draw(t, "metres"))
			}
		}
	}
	return s
}

var shedProfiles = [2]string{"P0", "P1"}

func (s shed) input() *planner.Input {
	in := &planner.Input{
		Plant:       planner.Plant{Name: "Shed", Currency: "EUR", Zone: "UTC", EnergyPrice: 1, HoldingRate: 0.5, LateCostADay: 0.05, UnmetCost: 0.2, ShortfallPrice: 50},
		Calendar:    everyDay(),
		Materials:   []inventory.Material{{Code: "M", Name: "M", Form: inventory.Virgin, Source: inventory.VirginSource, Polymer: "GPPS", BulkDensity: 600}},
		Grades:      []inventory.Grade{{Code: "G", Name: "G", MaxRegrind: 1, MaxHIPS: 1}},
		Ingredients: []inventory.Ingredient{{Grade: "G", Material: "M", MaxShare: 1}},
		Lines:       []lines.Line{{Code: "L", State: lines.Running, Mounted: "P0", BaseKW: s.hour}},
		Changeovers: []lines.Changeover{{From: "*", To: "*", Hours: quantity.Hours(s.setup), Cost: quantity.Money(s.cost)}},
		Stock:       []inventory.Stock{{Kind: inventory.PelletStock, Code: "G", Mass: 1e5}},
	}
	for p, code := range shedProfiles {
		in.Profiles = append(in.Profiles, lines.Profile{Code: code, Name: code, Grade: "G", PerMetre: 0.5, DieFamily: "F" + code, Dies: 1, Price: quantity.LengthPrice(s.price[p])})
		in.Fits = append(in.Fits, lines.Fit{Line: "L", Profile: code, HaulOff: quantity.Speed(s.rate[p] / 60), Strands: 1, Availability: 1, Quality: 1})
		if s.stock[p] > 0 {
			in.Stock = append(in.Stock, inventory.Stock{Kind: inventory.ProfileStock, Code: code, Length: quantity.Length(s.stock[p])})
		}
		for d, metres := range s.demand[p] {
			if metres > 0 {
				in.Orders = append(in.Orders, planner.Order{Code: code + string(rune('a'+d)), Customer: "c", Profile: code, Length: quantity.Length(metres), Due: monday + calendar.Day(d), Priority: 1})
			}
		}
	}
	return in
}

// exact are options that plan one week of days to the end.
func exact() planner.Options {
	return planner.Options{Now: monday.UTC().Add(6 * time.Hour), Start: monday, Weeks: 1, DailyDays: 7, Work: 2_000_000_000, Gap: 1e-7}
}

// least is the cost of the best plan: every sequence of dies over the seven days, one changeover a day at most, is tried, and the
// hours of each are decided by gonum's simplex method on a linear program written out here by hand.
func (s shed) least(t *rapid.T) float64 {
	best := math.Inf(1)
	for pattern := range 1 << 7 {
		best = min(best, s.costOf(t, pattern))
	}
	return best
}

// costOf is the cost with a changeover on the days whose bit is set. Columns a day and profile: run (h), rack, late (m); slack of the line's hours.
func (s shed) costOf(t *rapid.T, pattern int) float64 {
	const days, each = 7, 7
	cost := make([]float64, days*each)
	rows := mat.NewDense(days*3, days*each, nil)
	side := make([]float64, days*3)
	on, fixed := 0, 0.0
	for d := range days {
		may, hours := [2]bool{on == 0, on == 1}, 24.0
		if pattern>>d&1 == 1 {
			on, hours, fixed = 1-on, hours-s.setup, fixed+s.cost
			may = [2]bool{true, true}
		}
		at := d * each
		rows.Set(d*3+2, at+6, 1)
		side[d*3+2] = hours
		for p := range 2 {
			run, rack, late := at+3*p, at+3*p+1, at+3*p+2
			cost[run], cost[rack], cost[late] = s.hour, s.price[p]*0.5/365.25, s.price[p]*0.05
			if d == days-1 {
				cost[late] += 1.2 * s.price[p]
			}
			side[d*3+p] = s.demand[p][d]
			rows.Set(d*3+2, run, 1)
			if may[p] {
				rows.Set(d*3+p, run, s.rate[p])
			}
			rows.Set(d*3+p, rack, -1)
			rows.Set(d*3+p, late, 1)
			if d > 0 {
				rows.Set(d*3+p, rack-each, 1)
				rows.Set(d*3+p, late-each, -1)
			} else {
				side[d*3+p] -= s.stock[p]
			}
		}
	}
	z, _, err := dense.Simplex(cost, rows, side, 1e-9, nil)
	if err != nil {
		t.Fatalf("gonum on pattern %07b: %v", pattern, err)
	}
	return z + fixed
}

// TestBruteForce: the plan costs what the best of all sequences of dies costs.
func TestBruteForce(t *testing.T) {
	draws(t, 8)
	rapid.Check(t, func(t *rapid.T) {
		s := drawShed(t)
		p := auditedFor(t, s.input(), exact())
		if want := s.least(t); math.Abs(float64(p.Objective)-want) > 1e-5*(1+math.Abs(want)) {
			t.Fatalf("the plan costs %.6f (bound %.6f, %s), the best of all sequences %.6f: %+v", p.Objective, p.Bound, p.Stop, want, s)
		}
	})
}
