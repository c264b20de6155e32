package planner_test

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"feedline/inventory"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/audit"
	"feedline/planner/solve"
	"feedline/yield"
)

// monday is the start of every plan in these tests.
var monday = calendar.Date(2027, time.January, 4)

// everyDay is a calendar of three shifts round the clock, every day, in UTC.
func everyDay() calendar.Calendar {
	all := [7]bool{true, true, true, true, true, true, true}
	return calendar.Calendar{Zone: time.UTC, Shifts: []calendar.Shift{{Code: "all", Weekdays: all, End: 24 * time.Hour}}}
}

// workshop is a small plant with two lines, three profiles in two die families, two grades and two lanes.
func workshop() *planner.Input {
	return &planner.Input{
		Plant: planner.Plant{Name: "Workshop", Currency: "EUR", Zone: "UTC", Yard: 400, Rack: 200, Crew: 4, CrewCost: 25, FitterHours: 16, FitterCost: 30,
			EnergyPrice: 0.2, RegrindYield: 0.95, HoldingRate: 0.15, LateCostADay: 0.02, UnmetCost: 0.2, ShortfallPrice: 50, ArrivalQuantile: 0.8, ServiceLevel: 0.95},
		Calendar: everyDay(),
		Materials: []inventory.Material{
			{Code: "ING", Name: "white ingots", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "GPPS", Colour: "white", MFR: 6, Price: 0.7, BulkDensity: 700},
			{Code: "VIR", Name: "virgin pellets", Form: inventory.Virgin, Source: inventory.VirginSource, Polymer: "GPPS", Colour: "clear", MFR: 3, Price: 1.6, BulkDensity: 620},
		},
		Grades: []inventory.Grade{
			{Code: "WHT", Name: "white", Silo: 40000, MFRMin: 2, MFRMax: 8, MinRecycled: 0.5, MaxRegrind: 0.25, MaxHIPS: 1},
			{Code: "GRY", Name: "grey", Silo: 30000, MaxRegrind: 0.3, MaxHIPS: 1},
		},
		Ingredients: []inventory.Ingredient{{Grade: "WHT", Material: "ING", MaxShare: 1}, {Grade: "WHT", Material: "VIR", MaxShare: 0.4}, {Grade: "GRY", Material: "ING", MaxShare: 1}},
		Steps: []yield.Step{
			{Code: "crush", Name: "crusher", Order: 1, Forms: []string{"ingot", "block"}, Yield: 0.99, Rate: 900, Machines: 1, Availability: 0.9, Cost: 0.01},
			{Code: "pellet", Name: "pelletizer", Order: 2, Forms: []string{"ingot", "block", "flake", "regrind"}, Yield: 0.96, Rate: 500, Machines: 1, Availability: 0.85, Cost: 0.06},
		},
		Profiles: []lines.Profile{
			{Code: "SK60", Name: "skirting 60", Grade: "WHT", PerMetre: 0.35, DieFamily: "skirting", Dies: 1, Price: 1.6, RackLitresPerMetre: 1.5},
			{Code: "SK90", Name: "skirting 90", Grade: "WHT", PerMetre: 0.5, DieFamily: "skirting", Dies: 1, Price: 2.2, RackLitresPerMetre: 2.2, StockTarget: 500},
			{Code: "SL40", Name: "slat 40", Grade: "GRY", PerMetre: 0.28, DieFamily: "slat", Dies: 2, Price: 1.2, RackLitresPerMetre: 1.1},
		},
		Lines: []lines.Line{
			{Code: "A", Name: "line A", State: lines.Running, Mounted: "SK60", Crew: 1.5, Startup: lines.Startup{Hours: 3, Scrap: 40, Cost: 60}, ScrewMM: 75, BaseKW: 20, KWhPerKg: 0.3},
			{Code: "B", Name: "line B", State: lines.Ready, Crew: 1.5, Startup: lines.Startup{Hours: 4, Scrap: 60, Cost: 80}, ScrewMM: 75, BaseKW: 20, KWhPerKg: 0.3, MinRunDays: 3, MinStopDays: 2},
		},
		Fits: []lines.Fit{
			{Line: "A", Profile: "SK60", Melt: 110, HaulOff: 6, Strands: 1, Availability: 0.9, Quality: 0.95},
			{Line: "A", Profile: "SK90", Melt: 110, HaulOff: 5, Strands: 1, Availability: 0.9, Quality: 0.95},
			{Line: "A", Profile: "SL40", Melt: 90, HaulOff: 4, Strands: 2, Availability: 0.88, Quality: 0.96},
			{Line: "B", Profile: "SK90", Melt: 100, HaulOff: 5, Strands: 1, Availability: 0.9, Quality: 0.94},
			{Line: "B", Profile: "SL40", Melt: 95, HaulOff: 4, Strands: 2, Availability: 0.9, Quality: 0.95},
		},
		Changeovers: []lines.Changeover{{From: "*", To: "*", Hours: 5, Scrap: 30, FitterHours: 8, Cost: 40}, {From: "skirting", To: "skirting", Hours: 3, Scrap: 20, FitterHours: 4, Cost: 20}},
		Suppliers:   []inventory.Supplier{{Code: "S1", Name: "Sorters", Country: "DE"}},
		Lanes: []inventory.Lane{
			{Code: "road", Name: "by road", Supplier: "S1", Material: "ING", Mode: inventory.Trailer, Load: 18000, LoadsAWeek: 1, LeadTime: inventory.LeadTime{Distribution: inventory.Normal, Mean: 9, SD: 2}, Price: 0.75, Freight: 900},
			{Code: "bulk", Name: "virgin", Supplier: "S1", Material: "VIR", Mode: inventory.Bulk, Load: 10000, MinLoads: 1, LoadsAWeek: 2, LeadTime: inventory.LeadTime{Distribution: inventory.Fixed, Mean: 5}, Price: 1.6, Freight: 400},
		},
		Deliveries: []inventory.Delivery{{Code: "D1", Lane: "road", Material: "ING", Mass: 18000, Ordered: monday - 6, ETA: monday + 8, Spread: 2, Status: inventory.OnRoad}},
		Lots:       []inventory.Lot{{Code: "L1", Material: "ING", Supplier: "S1", Mass: 9000, Received: monday - 20}, {Code: "L2", Material: "ING", Supplier: "S1", Mass: 5000, Received: monday - 9, Hold: true, Reason: "bromine screen open"}},
		Stock: []inventory.Stock{{Kind: inventory.PelletStock, Code: "WHT", Mass: 6000}, {Kind: inventory.PelletStock, Code: "GRY", Mass: 2500}, {Kind: inventory.RegrindStock, Code: "WHT", Mass: 400},
			{Kind: inventory.ProfileStock, Code: "SK60", Length: 3000}},
		Orders: []planner.Order{
			{Code: "O1", Customer: "north", Profile: "SK60", Length: 12000, Due: monday + 4, Priority: 2},
			{Code: "O2", Customer: "south", Profile: "SL40", Length: 18000, Due: monday + 9, Priority: 1},
			{Code: "O3", Customer: "north", Profile: "SK90", Length: 15000, Due: monday + 16, Priority: 3},
			{Code: "O4", Customer: "east", Profile: "SK60", Length: 20000, Due: monday + 24, Priority: 2},
			{Code: "O5", Customer: "east", Profile: "SL40", Length: 9000, Due: monday - 3, Priority: 2},
		},
		Forecasts: []planner.Forecast{{Profile: "SK90", From: monday + 14, To: monday + 42, Length: 24000}},
	}
}

// brief are options for a plan that a test makes: four weeks, a limit of work, not of time.
func brief() planner.Options {
	return planner.Options{Now: monday.UTC().Add(6 * time.Hour), Start: monday, Weeks: 4, DailyDays: 7, Work: 400_000_000, Gap: 0.005}
}

// audited plans and audits; it fails the test if either does.
func audited(t testing.TB, in *planner.Input, opt planner.Options) *planner.Plan {
	t.Helper()
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	if rep := audit.Plan(in, p); !rep.OK() {
		t.Fatalf("the audit found the plan wrong:\n%s", rep)
	}
	if math.IsInf(float64(p.Bound), 0) || p.Stop == solve.NotRun {
		t.Fatalf("bound %v, stopped: %s", p.Bound, p.Stop)
	}
	if p.Gap < -1e-9 || float64(p.Bound-p.Objective) > 1e-6*(1+math.Abs(float64(p.Objective))) {
		t.Fatalf("bound %.6f above objective %.6f", p.Bound, p.Objective)
	}
	return p
}

// diff compares plans to the bit.
func diff(a, b *planner.Plan) string { return cmp.Diff(a, b) }
