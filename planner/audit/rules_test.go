package audit

import (
	"strings"
	"testing"
	"time"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// TestEachRule changes the book under the hand-made plan, which stays in itself consistent, so that it breaks one limit:
// the audit must name the rule.
func TestEachRule(t *testing.T) {
	for _, c := range []struct {
		name string
		rule Rule
		edit func(in *planner.Input)
	}{
		{"a closure on Tuesday", Hours, func(in *planner.Input) {
			in.Calendar.Closures = []calendar.Closure{{Span: calendar.Span{From: monday + 1, To: monday + 2}}}
		}},
		{"an outage of line A on Thursday", Hours, func(in *planner.Input) {
			in.Calendar.Outages = []calendar.Outage{{Machine: "A", From: hour(3, 7), To: hour(3, 12)}}
		}},
		{"a shorter shift", Hours, func(in *planner.Input) { in.Calendar.Shifts[0].End = 13*time.Hour + 59*time.Minute }},
		{"line A down till Tuesday", Hours, func(in *planner.Input) { in.Lines[0].State, in.Lines[0].DownUntil = lines.Down, monday+1 }},
		{"line B not set up", LineState, func(in *planner.Input) {
			in.Lines[1].State, in.Lines[1].Commissioning = lines.Uncommissioned, lines.Commissioning{Earliest: monday + 1, Days: 1}
		}},
		{"line A stood before the plan", Start, func(in *planner.Input) { in.Lines[0].State = lines.Ready }},
		{"line B ran before the plan", Stay, func(in *planner.Input) { in.Lines[1].State = lines.Running }},
		{"a longer start-up", Start, func(in *planner.Input) { in.Lines[1].Startup.Hours = 2.5 }},
		{"a longer least run", Stay, func(in *planner.Input) { in.Lines[1].MinRunDays = 7 }},
		{"a slower melt", Rate, func(in *planner.Input) { in.Fits[0].Melt = 120 }},
		{"a slower haul-off", Rate, func(in *planner.Input) { in.Fits[1].HaulOff = 4.9 }},
		{"a lower availability", Rate, func(in *planner.Input) { in.Fits[2].Availability = 0.79 }},
		{"a heavier profile", RunPellets, func(in *planner.Input) { in.Profiles[0].PerMetre = 0.51 }},
		{"more start-up scrap", RunPellets, func(in *planner.Input) { in.Lines[1].Startup.Scrap = 9 }},
		{"more changeover scrap", RunPellets, func(in *planner.Input) { in.Changeovers[0].Scrap = 5 }},
		{"another die on line A", Die, func(in *planner.Input) { in.Lines[0].Mounted = "Q" }},
		{"a longer changeover", Setup, func(in *planner.Input) { in.Changeovers[0].Hours = 1.1 }},
		{"one die fewer", Dies, func(in *planner.Input) { in.Profiles[1].Dies = 1 }},
		{"fewer fitters", Fitters, func(in *planner.Input) { in.Plant.FitterHours = 1.9 }},
		{"fewer people", Crew, func(in *planner.Input) { in.Plant.Crew = 2.5 }},
		{"a forbid", Pins, pinned(planner.Pin{Kind: planner.PinForbid, Line: "A", Profile: "P", From: monday, To: monday + 1})},
		{"an idle pin", Pins, pinned(planner.Pin{Kind: planner.PinIdle, Line: "A", From: monday + 2, To: monday + 3})},
		{"a run pin", Pins, pinned(planner.Pin{Kind: planner.PinRun, Line: "A", Profile: "Q", From: monday, To: monday + 1})},
		{"a run pin for any profile", Pins, pinned(planner.Pin{Kind: planner.PinRun, Line: "A", From: monday + 2, To: monday + 3})},
		{"heavier loads", Loads, func(in *planner.Input) { in.Lanes[0].Load = 1001 }},
		{"more loads an order", Loads, func(in *planner.Input) { in.Lanes[0].MinLoads = 2 }},
		{"a lane not yet open", Loads, func(in *planner.Input) { in.Lanes[0].From, in.Lanes[0].To = monday+1, monday+9 }},
		{"dearer freight", Loads, func(in *planner.Input) { in.Lanes[0].Freight = 101 }},
		{"a longer lead time", LeadTime, func(in *planner.Input) { in.Lanes[0].LeadTime.Mean = 4.1 }},
		{"a wider lead time", LeadTime, func(in *planner.Input) { in.Lanes[1].LeadTime.SD = 1.5 }},
		{"a surer arrival", LeadTime, func(in *planner.Input) { in.Plant.ArrivalQuantile = 0.9 }},
		{"a later delivery", Arrivals, func(in *planner.Input) { in.Deliveries[0].ETA++ }},
		{"a wider delivery", Arrivals, func(in *planner.Input) { in.Deliveries[0].Spread = 2 }},
		{"a delivery rejected", Arrivals, func(in *planner.Input) { in.Deliveries[0].Status = inventory.Rejected }},
		{"a lot put on hold", Yard, func(in *planner.Input) { in.Lots[0].Hold = true }},
		{"no recipe for HIPS", Draws, func(in *planner.Input) { in.Ingredients = in.Ingredients[1:] }},
		{"a lower yield", Draws, func(in *planner.Input) { in.Steps[0].Yield = 0.89 }},
		{"a material's own yield", Draws, func(in *planner.Input) { in.Overrides = append(in.Overrides, override("PEL", "HI", 0.75)) }},
		{"a smaller share", Recipe, func(in *planner.Input) { in.Ingredients[2].MaxShare = 0.39 }},
		{"a larger least share", Recipe, func(in *planner.Input) { in.Ingredients[2].MinShare = 0.18 }},
		{"a tighter regrind cap", Recipe, func(in *planner.Input) { in.Grades[0].MaxRegrind = 0.07 }},
		{"a tighter HIPS cap", Recipe, func(in *planner.Input) { in.Grades[0].MaxHIPS = 0.06 }},
		{"more recycled content", Recipe, func(in *planner.Input) { in.Grades[0].MinRecycled = 0.61 }},
		{"a higher least melt flow", Recipe, func(in *planner.Input) { in.Grades[0].MFRMin = 6.7 }},
		{"a lower most melt flow", Recipe, func(in *planner.Input) { in.Grades[0].MFRMax = 7 }},
		{"a slower crusher", Steps, func(in *planner.Input) { in.Steps[0].Rate = 85 }},
		{"one pelletizer", Steps, func(in *planner.Input) { in.Steps[1].Machines, in.Steps[1].Availability = 1, 0.4 }},
		{"fewer pellets counted", Pellets, func(in *planner.Input) { in.Stock[0].Mass = 490 }},
		{"less regrind counted", RegrindRule, func(in *planner.Input) { in.Stock[1].Mass = 15 }},
		{"less scrap recovered", RegrindRule, func(in *planner.Input) { in.Plant.RegrindYield = 0.4 }},
		{"a smaller yard", Space, func(in *planner.Input) { in.Plant.Yard = 2 }},
		{"lots on hold fill the yard", Space, func(in *planner.Input) { in.Lots[1].Mass = 49000 }},
		{"a smaller rack", Space, func(in *planner.Input) { in.Plant.Rack = 9 }},
		{"a larger order", Demand, func(in *planner.Input) { in.Orders[0].Length = 1100 }},
		{"a smaller forecast", Demand, func(in *planner.Input) { in.Forecasts[0].Length = 5000 }},
		{"an order for after the horizon brought forward", Demand, func(in *planner.Input) { in.Orders[5].Due = monday + 13 }},
		{"fewer profiles counted", Rack, func(in *planner.Input) { in.Stock[2].Length = 50 }},
		{"an order brought forward", Orders, func(in *planner.Input) { in.Orders[3].Due = monday + 2 }},
		{"an order swapped for another", Orders, func(in *planner.Input) { in.Orders[0].Length, in.Orders[4].Length = 500, 1000 }},
		{"less feed committed", NeedHave, func(in *planner.Input) { in.Lots[0].Mass, in.Deliveries[0].Mass = 500, 100 }},
		{"another order at risk", Shortages, func(in *planner.Input) { in.Orders[0].Due = monday + 12 }},
		{"a higher service level", OrderBy, func(in *planner.Input) { in.Plant.ServiceLevel = 0.99 }},
		{"dearer crew", Costs, func(in *planner.Input) { in.Plant.CrewCost = 21 }},
		{"dearer fitters", Costs, func(in *planner.Input) { in.Plant.FitterCost = 31 }},
		{"dearer energy", Costs, func(in *planner.Input) { in.Plant.EnergyPrice = 0.21 }},
		{"dearer crushing", Costs, func(in *planner.Input) { in.Steps[0].Cost = 0.11 }},
		{"dearer lateness", Costs, func(in *planner.Input) { in.Plant.LateCostADay = 0.012 }},
		{"dearer good-will", Costs, func(in *planner.Input) { in.Plant.UnmetCost = 0.6 }},
		{"dearer holding", Costs, func(in *planner.Input) { in.Plant.HoldingRate = 0.4 }},
		{"a dearer start", Costs, func(in *planner.Input) { in.Lines[1].Startup.Cost = 45 }},
		{"dearer material", Margin, func(in *planner.Input) { in.Materials[1].Price = 0.52 }},
		{"a dearer order", Margin, func(in *planner.Input) { in.Orders[1].Price = 2.6 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := tinyBook()
			c.edit(in)
			r := Plan(in, tinyPlan())
			if r.OK() || !found(r, c.rule) {
				t.Errorf("the audit does not name the rule %s; it says\n%s", c.rule, findings(r))
			}
		})
	}
}

func hour(day, h int) time.Time {
	return time.Date(2026, time.November, 30+day, h, 0, 0, 0, time.UTC)
}

func pinned(p planner.Pin) func(*planner.Input) {
	return func(in *planner.Input) { in.Pins = append(in.Pins, p) }
}

func found(r Report, rule Rule) bool {
	for _, f := range r.Findings {
		if f.Rule == rule && f.Severity == Wrong {
			return true
		}
	}
	return false
}

func findings(r Report) string {
	var b strings.Builder
	for _, f := range r.Findings {
		b.WriteString(f.String() + "\n")
	}
	return b.String()
}

// paid adds a cost to the plan and to its objective, so that it owns up to what it breaks.
func paid(p *planner.Plan, name string, amount quantity.Money) {
	p.Costs = append(p.Costs, planner.Cost{Name: name, Amount: amount})
	p.Objective += amount
	p.Bound += amount
	p.Gap = 10 / spent(p)
}

// TestPinsNotKeptAreOwned breaks a pin and pays for it; the plan's own list must say so, by so many hours, and name no other.
func TestPinsNotKeptAreOwned(t *testing.T) {
	pin := planner.Pin{Code: "x", Kind: planner.PinIdle, Line: "A", From: monday + 2, To: monday + 3}
	for hours, ok := range map[quantity.Hours]bool{0: false, 7: false, 8: true, 9: false} {
		in, p := tinyBook(), tinyPlan()
		in.Pins = []planner.Pin{pin}
		paid(p, costPins, 8*2000)
		if hours > 0 {
			p.Unkept = []planner.Unkept{{Pin: pin, First: pin.From, Hours: hours}}
		}
		if r := Plan(in, p); r.OK() != ok {
			t.Errorf("a pin broken by 8 h, told as %g h: OK is %v\n%s", float64(hours), r.OK(), findings(r))
		}
	}
}

// TestPaidLimitsAreDoubtful breaks limits that may be broken at a price: a plan that pays holds, with a doubtful finding;
// one that does not pay, or pays too little, is wrong.
func TestPaidLimitsAreDoubtful(t *testing.T) {
	idle := planner.Pin{Code: "x", Kind: planner.PinIdle, Line: "A", From: monday + 2, To: monday + 3}
	for _, c := range []struct {
		name, cost string
		rule       Rule
		amount     quantity.Money
		edit       func(*planner.Input)
	}{
		{"pin", costPins, Pins, 8 * 2000, pinned(idle)},
		{"rack", costOverfull, Space, 0.31 * 1000, func(in *planner.Input) { in.Plant.Rack = 9 }}, // 1862 m of 5 L/m on Tuesday
	} {
		for _, share := range []quantity.Money{0, 0.5, 1} {
			in, p := tinyBook(), tinyPlan()
			c.edit(in)
			if c.rule == Pins {
				p.Unkept = []planner.Unkept{{Pin: idle, First: idle.From, Hours: 8}}
			}
			if share > 0 {
				paid(p, c.cost, share*c.amount)
			}
			r := Plan(in, p)
			if r.OK() != (share == 1) {
				t.Errorf("%s, %g of the price paid: OK is %v\n%s", c.name, float64(share), r.OK(), findings(r))
			}
			if share == 1 && (r.Count(Doubtful) != 1 || r.Findings[0].Rule != c.rule) {
				t.Errorf("%s paid: want one doubtful finding of rule %s, got\n%s", c.name, c.rule, findings(r))
			}
		}
	}
}

// TestMissingPelletsAreDoubtful books a shortfall of pellets in place of a draw: the plan says so and pays.
func TestMissingPelletsAreDoubtful(t *testing.T) {
	in, p := tinyBook(), tinyPlan()
	in.Stock[0].Mass -= 100 // 100 kg fewer counted on Monday, and 100 kg missing
	p.Pellets[0].Opening, p.Pellets[0].Shortfall = 400, 100
	paid(p, costShort, 6000)
	r := Plan(in, p)
	if !r.OK() || r.Count(Doubtful) != 1 || r.Findings[0].Rule != Shortfall {
		t.Errorf("want one doubtful finding of rule %s, got\n%s", Shortfall, findings(r))
	}
}

func TestReport(t *testing.T) {
	p := tinyPlan()
	p.Runs[0].Hours = 9
	r := Plan(tinyBook(), p)
	text := r.String()
	for _, want := range []string{
		"the plan does not hold", "FOUND  rate",
		"wrong: rate: line A, profile P, bucket 0 (2026-11-30): good metres: plan 1280 m, allowed or computed 1440 m",
		"ok     crew",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("report lacks %q:\n%s", want, text)
		}
	}
	for _, x := range rules {
		if !strings.Contains(text, string(x.rule)) || x.says == "" {
			t.Errorf("report lacks the rule %s, or it says nothing", x.rule)
		}
	}
	if d := Plan(tinyBook(), tinyPlan()).Difference; d > 0.01 || d < -0.01 {
		t.Errorf("costs of the right plan differ by %.4f EUR from its objective", float64(d))
	}
}
