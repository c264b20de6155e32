package audit

import (
	"math"
	"time"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

// A plant small enough to plan by hand: 8 hours a day from Monday to Friday; buckets Monday, Tuesday, Wednesday,
// Thursday to Sunday (16 h) and a week (40 h).
var (
	monday = calendar.Date(2026, time.November, 30)
	spans  = []calendar.Span{{From: monday, To: monday + 1}, {From: monday + 1, To: monday + 2}, {From: monday + 2, To: monday + 3}, {From: monday + 3, To: monday + 7}, {From: monday + 7, To: monday + 14}}
	days   = []float64{1, 1, 1, 4, 7}
)

func tinyBook() *planner.Input {
	return &planner.Input{
		Plant: planner.Plant{Name: "Tiny", Currency: "EUR", Yard: 100, Rack: 100, Crew: 3, CrewCost: 20, FitterHours: 4, FitterCost: 30, EnergyPrice: 0.2,
			RegrindYield: 0.5, HoldingRate: 0.36525, LateCostADay: 0.01, UnmetCost: 0.5, ShortfallPrice: 60, ArrivalQuantile: 0.8, ServiceLevel: 0.95},
		Calendar: calendar.Calendar{Shifts: []calendar.Shift{{Code: "day", Weekdays: [7]bool{false, true, true, true, true, true, false}, Start: 6 * time.Hour, End: 14 * time.Hour}}},
		Materials: []inventory.Material{
			{Code: "HI", Form: inventory.Flake, Source: inventory.PreConsumer, Polymer: "HIPS", MFR: 6, Price: 0.9, BulkDensity: 500},
			{Code: "IN", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "EPS", MFR: 8, Price: 0.5, BulkDensity: 500},
			{Code: "VP", Form: inventory.Virgin, Source: inventory.VirginSource, Polymer: "GPPS", MFR: 5, Price: 1.5, BulkDensity: 500},
		},
		Grades:      []inventory.Grade{{Code: "W", Silo: 2000, MFRMin: 4, MFRMax: 10, MinRecycled: 0.5, MaxRegrind: 0.25, MaxHIPS: 0.25, StockTarget: 300}},
		Ingredients: []inventory.Ingredient{{Grade: "W", Material: "HI", MaxShare: 0.3}, {Grade: "W", Material: "IN", MaxShare: 1}, {Grade: "W", Material: "VP", MinShare: 0.1, MaxShare: 0.5}},
		Steps: []yield.Step{
			{Code: "CRU", Order: 1, Forms: []string{"ingot"}, Yield: 0.9, Rate: 200, Machines: 1, Availability: 1, Cost: 0.1},
			{Code: "PEL", Order: 2, Forms: []string{"ingot", "flake", "regrind"}, Yield: 0.8, Rate: 200, Machines: 2, Availability: 0.5, Cost: 0.05},
		},
		Profiles: []lines.Profile{
			{Code: "P", Grade: "W", PerMetre: 0.5, DieFamily: "F1", Dies: 1, Price: 2, RackLitresPerMetre: 10},
			{Code: "Q", Grade: "W", PerMetre: 0.25, DieFamily: "F2", Dies: 2, Price: 1, RackLitresPerMetre: 5, StockTarget: 100},
		},
		Lines: []lines.Line{
			{Code: "A", State: lines.Running, Mounted: "P", Crew: 1, Startup: lines.Startup{Hours: 2, Scrap: 10, Cost: 50}, BaseKW: 10, KWhPerKg: 0.5},
			{Code: "B", State: lines.Ready, Mounted: "Q", Crew: 2, Startup: lines.Startup{Hours: 2, Scrap: 8, Cost: 40}, MinRunDays: 3, MinStopDays: 2, BaseKW: 5, KWhPerKg: 0.4},
			{Code: "C", State: lines.Uncommissioned, Commissioning: lines.Commissioning{Earliest: monday + 2, Days: 3, Cost: 500}, Crew: 0},
		},
		// A makes 125/0.5 × 0.8 × 0.8 = 160 m/h of P and 5·60 × 0.64 = 192 m/h of Q; B 50/0.25 × 0.64 = 128 m/h of Q.
		Fits: []lines.Fit{
			{Line: "A", Profile: "P", Melt: 125, HaulOff: 100, Strands: 1, Availability: 0.8, Quality: 0.8},
			{Line: "A", Profile: "Q", Melt: 125, HaulOff: 5, Strands: 1, Availability: 0.8, Quality: 0.8},
			{Line: "B", Profile: "Q", Melt: 50, Availability: 0.8, Quality: 0.8},
			{Line: "C", Profile: "P", Melt: 100, Availability: 0.8, Quality: 0.8},
		},
		Changeovers: []lines.Changeover{{From: "F1", To: "F2", Hours: 1, Scrap: 4, FitterHours: 2, Cost: 5}, {From: "*", To: "*", Hours: 2, Scrap: 6, FitterHours: 3, Cost: 10},
			{From: "", To: "F2", Hours: 1, Scrap: 4, FitterHours: 2, Cost: 5}},
		Lanes: []inventory.Lane{
			{Code: "R", Material: "IN", Load: 1000, LoadsAWeek: 2, LeadTime: inventory.LeadTime{Distribution: inventory.Fixed, Mean: 4}, Price: 0.4, Freight: 100},
			{Code: "V", Material: "VP", Load: 500, LoadsAWeek: 1, LeadTime: inventory.LeadTime{Distribution: inventory.Lognormal, Mean: 5, SD: 1}, Price: 1.4, Freight: 100},
		},
		Deliveries: []inventory.Delivery{
			{Code: "D1", Material: "IN", Mass: 2000, ETA: monday + 1, Spread: 1, Status: inventory.OnRoad}, // z(0.8) = 0.84: Wednesday
			{Code: "D2", Material: "IN", Mass: 999, ETA: monday, Status: inventory.Received},
			{Code: "D3", Material: "VP", Mass: 999, ETA: monday, Status: inventory.Rejected},
		},
		Lots: []inventory.Lot{
			{Code: "L1", Material: "IN", Mass: 1400}, {Code: "L2", Material: "IN", Mass: 300, Hold: true, Reason: "bromine"},
			{Code: "L3", Material: "VP", Mass: 400}, {Code: "L4", Material: "HI", Mass: 80},
		},
		Stock: []inventory.Stock{
			{Kind: inventory.PelletStock, Code: "W", Mass: 500}, {Kind: inventory.RegrindStock, Code: "W", Mass: 20},
			{Kind: inventory.ProfileStock, Code: "P", Length: 100}, {Kind: inventory.ProfileStock, Code: "Q", Length: 50},
		},
		Orders: []planner.Order{
			{Code: "O1", Profile: "P", Length: 1000, Due: monday, Priority: 1},
			{Code: "O2", Profile: "P", Length: 1500, Due: monday + 4, Priority: 2, Price: 2.5},
			{Code: "O3", Profile: "Q", Length: 2000, Due: monday + 2, Priority: 1},
			{Code: "O4", Profile: "Q", Length: 1500, Due: monday + 3, Priority: 3},
			{Code: "O5", Profile: "P", Length: 500, Due: monday - 1, Priority: 1},
			{Code: "O6", Profile: "Q", Length: 100, Due: monday + 40, Priority: 1},
		},
		// 5600 m less the 3500 m of O3 and O4: 150 m a day.
		Forecasts: []planner.Forecast{{Profile: "Q", From: monday, To: monday + 14, Length: 5600}},
		Pins: []planner.Pin{
			{Code: "run", Kind: planner.PinRun, Line: "B", Profile: "Q", From: monday + 1, To: monday + 2},
			{Code: "idle", Kind: planner.PinIdle, Line: "B", From: monday, To: monday + 1},
			{Code: "forbid", Kind: planner.PinForbid, Line: "A", Profile: "P", From: monday + 1, To: monday + 3},
		},
	}
}

func tinyPlan() *planner.Plan {
	p := &planner.Plan{Plant: "Tiny", Currency: "EUR", Start: monday, LinesToRun: []int{1, 2, 2, 2, 0}}
	for i, s := range spans {
		p.Buckets = append(p.Buckets, calendar.Bucket{Index: i, Span: s})
	}
	tinyLines(p)
	tinyFeed(p)
	tinyDemand(p)
	tinyNeed(p)
	tinyMoney(p)
	return p
}

func tinyLines(p *planner.Plan) {
	use := func(line string, t int, on, started bool, run, setup, startup quantity.Hours, mounted string) {
		p.Lines = append(p.Lines, planner.LineUse{Line: line, Bucket: t, On: on, Started: started, Available: []quantity.Hours{8, 8, 8, 16, 40}[t], Run: run, Setup: setup, Startup: startup, Mounted: mounted})
	}
	use("A", 0, true, false, 8, 0, 0, "P")
	use("A", 1, true, false, 7, 1, 0, "Q")
	use("A", 2, true, false, 4, 0, 0, "Q")
	use("A", 3, true, false, 10, 2, 0, "P")
	use("A", 4, false, false, 0, 0, 0, "P")
	use("B", 0, false, false, 0, 0, 0, "Q")
	use("B", 1, true, true, 6, 0, 2, "Q")
	use("B", 2, true, false, 8, 0, 0, "Q")
	use("B", 3, true, false, 10, 0, 0, "Q")
	use("B", 4, false, false, 0, 0, 0, "Q")
	for t := range spans {
		use("C", t, false, false, 0, 0, 0, "")
	}
	p.Runs = []planner.Run{
		{Line: "A", Profile: "P", Bucket: 0, Hours: 8, Length: 1280, Pellets: 800, Scrap: 160},
		{Line: "A", Profile: "Q", Bucket: 1, Hours: 7, Length: 1344, Changeover: true, Setup: 1, Pellets: 420 + 4, Scrap: 84 + 4},
		{Line: "A", Profile: "Q", Bucket: 2, Hours: 4, Length: 768, Pellets: 240, Scrap: 48},
		{Line: "A", Profile: "P", Bucket: 3, Hours: 10, Length: 1600, Changeover: true, Setup: 2, Pellets: 1000 + 6, Scrap: 200 + 6},
		{Line: "B", Profile: "Q", Bucket: 1, Hours: 6, Length: 768, Pellets: 240 + 8, Scrap: 48 + 8},
		{Line: "B", Profile: "Q", Bucket: 2, Hours: 8, Length: 1024, Pellets: 320, Scrap: 64},
		{Line: "B", Profile: "Q", Bucket: 3, Hours: 10, Length: 1280, Pellets: 400, Scrap: 80},
	}
}

// tinyFeed: a kilogram of IN gives 0.72, of HI and of regrind 0.8, of VP 1 kg of pellets.
func tinyFeed(p *planner.Plan) {
	draw := func(material string, t int, in, out quantity.Mass) {
		p.Draws = append(p.Draws, planner.Draw{Material: material, Grade: "W", Bucket: t, In: in, Out: out})
	}
	draw("IN", 0, 500, 360)
	draw("VP", 0, 100, 100)
	draw("", 0, 50, 40)
	draw("HI", 1, 50, 40)
	draw("IN", 1, 700, 504)
	draw("VP", 1, 100, 100)
	draw("", 1, 50, 40)
	draw("IN", 2, 600, 432)
	draw("VP", 2, 100, 100)
	draw("IN", 3, 1500, 1080)
	draw("VP", 3, 200, 200)
	draw("", 3, 100, 80)
	draw("IN", 4, 250, 180)
	draw("VP", 4, 120, 120)
	yard := func(material string, opening quantity.Mass, arrived, drawn [5]quantity.Mass) {
		for t := range spans {
			closing := opening + arrived[t] - drawn[t]
			p.Yard = append(p.Yard, planner.YardLevel{Material: material, Bucket: t, Opening: opening, Arrived: arrived[t], Drawn: drawn[t], Closing: closing})
			opening = closing
		}
	}
	yard("HI", 80, [5]quantity.Mass{}, [5]quantity.Mass{0, 50})
	yard("IN", 1400, [5]quantity.Mass{0, 0, 2000, 1000}, [5]quantity.Mass{500, 700, 600, 1500, 250})
	yard("VP", 400, [5]quantity.Mass{0, 0, 0, 500}, [5]quantity.Mass{100, 100, 100, 200, 120})
	p.Pellets = []planner.PelletLevel{
		{Grade: "W", Bucket: 0, Opening: 500, Made: 500, Used: 800, Closing: 200, RegrindOpening: 20, RegrindIn: 80, RegrindOut: 50, RegrindClosing: 50, CoverDays: 200.0 / 672},
		{Grade: "W", Bucket: 1, Opening: 200, Made: 684, Used: 672, Closing: 212, RegrindOpening: 50, RegrindIn: 72, RegrindOut: 50, RegrindClosing: 72, CoverDays: 212.0 / 560},
		{Grade: "W", Bucket: 2, Opening: 212, Made: 532, Used: 560, Closing: 184, RegrindOpening: 72, RegrindIn: 56, RegrindClosing: 128, CoverDays: 4 * 184.0 / 1406},
		{Grade: "W", Bucket: 3, Opening: 184, Made: 1360, Used: 1406, Closing: 138, RegrindOpening: 128, RegrindIn: 143, RegrindOut: 100, RegrindClosing: 171, CoverDays: math.Inf(1)},
		{Grade: "W", Bucket: 4, Opening: 138, Made: 300, Closing: 438, RegrindOpening: 171, RegrindClosing: 171, CoverDays: math.Inf(1)},
	}
	p.Purchases = []planner.Purchase{
		{Lane: "R", Loads: 1, Bucket: 0, OrderBy: monday, Arrives: monday + 4, Mass: 1000, Cost: 500},
		{Lane: "V", Loads: 1, Bucket: 0, OrderBy: monday, Arrives: monday + 6, Mass: 500, Cost: 800}, // 0.8 quantile 5.79 days
	}
}

func tinyDemand(p *planner.Plan) {
	rack := func(profile string, opening quantity.Length, made, demand, shipped [5]quantity.Length) {
		late := quantity.Length(0)
		for t := range spans {
			closing := opening + made[t] - shipped[t]
			late += demand[t] - shipped[t]
			p.Rack = append(p.Rack, planner.RackLevel{Profile: profile, Bucket: t, Opening: opening, Made: made[t], Shipped: shipped[t], Closing: closing, Demand: demand[t], Late: late})
			opening = closing
		}
	}
	rack("P", 100, [5]quantity.Length{1280, 0, 0, 1600, 0}, [5]quantity.Length{1500, 0, 0, 1500, 0}, [5]quantity.Length{1380, 0, 0, 1600, 0})
	rack("Q", 50, [5]quantity.Length{0, 2112, 1792, 1280, 0}, [5]quantity.Length{150, 150, 2150, 2100, 1050}, [5]quantity.Length{50, 250, 2150, 2100, 684})
	p.Orders = []planner.OrderResult{
		{Order: "O1", Profile: "P", Due: monday, Length: 1000, Promise: monday + 6, DaysLate: 6},
		{Order: "O2", Profile: "P", Due: monday + 4, Length: 1500, Unmet: 20},
		{Order: "O3", Profile: "Q", Due: monday + 2, Length: 2000, Promise: monday + 2},
		{Order: "O4", Profile: "Q", Due: monday + 3, Length: 1500, Promise: monday + 3},
		{Order: "O5", Profile: "P", Due: monday - 1, Length: 500, Promise: monday, DaysLate: 1},
	}
}

func tinyNeed(p *planner.Plan) {
	need, have, sum := []quantity.Mass{800, 672, 560, 1406, 0}, []quantity.Mass{800, 672, 560, 906, 300}, quantity.Mass(0)
	for t := range spans {
		sum += need[t] - have[t]
		p.NeedHave = append(p.NeedHave, planner.NeedHave{Grade: "W", Bucket: t, Need: need[t], Have: have[t], Short: need[t] - have[t], Cumulative: sum})
	}
	// 906 of 1406 kg is 0.64 of the four days from Thursday on: till Saturday.
	p.Shortages = []planner.Shortage{{Grade: "W", First: monday + 3, WeeksAhead: 3.0 / 7, LastsTill: monday + 5, Mass: 500, MassIn4Weeks: 500, OrdersAtRisk: []string{"O2", "O4"}}}
	p.OrderBy = []planner.OrderBy{
		{Grade: "W", Lane: "R", Loads: 1, AtOnce: 1, Most: 0.9, By: monday + 1, Needed: monday + 5, Mass: 1000, Landed: 500.0 / 720, InPlan: true},
		{Grade: "W", Lane: "V", Loads: 1, AtOnce: 1, Most: 0.5, By: monday - 2, Needed: monday + 5, TooLate: true, Mass: 500, Landed: 1.6}, // 0.95 quantile 6.79 days; the recipe wants a tenth of V
	}
}

func tinyMoney(p *planner.Plan) {
	const worth = (0.5 + 0.1 + 0.9*0.05) / 0.72 // of a kilogram of pellets, from IN
	held := func(price float64, closing ...float64) float64 {
		sum := 0.0
		for t, c := range closing {
			sum += c * days[t] * price * 0.001 // 0.36525 a year
		}
		return sum
	}
	forecastRank := math.Pow(1.25, -9)
	costs := []planner.Cost{
		{Name: "sales never made", Amount: 20*2.5*1.5 + 366*1*1.5},
		{Name: "lateness", Amount: quantity.Money(120*0.02*3 + 20*0.025/1.25*(4+7) + (100*1+366*7)*0.01*forecastRank)},
		{Name: "loads bought", Amount: 500 + 800},
		{Name: "crushing and pelletizing", Amount: 3550*(0.1+0.9*0.05) + 50*0.05 + 200*0.05},
		{Name: "energy", Amount: ((29*10 + 2460*0.5) + (24*5 + 960*0.4)) * 0.2},
		{Name: "crew", Amount: 40*1*20 + 32*2*20},
		{Name: "changeovers", Amount: (5 + 2*30) + (10 + 3*30)},
		{Name: "start-ups", Amount: 40},
		{Name: "holding", Amount: quantity.Money(held(0.5, 900, 200, 1600, 1100, 850) + held(1.5, 300, 200, 100, 400, 280) + held(0.9, 80, 30, 30, 30, 30) +
			held(worth, 200, 212, 184, 138, 438) + held(0.8*worth, 50, 72, 128, 171, 171) + held(1, 0, 1862, 1504, 684, 0))},
		{Name: "below stock target", Amount: quantity.Money(((100+88+116+162*4)*worth + (100+100*7)*1) * (0.01*0.1 + 0.001))},
		{Name: "value of end stocks", Amount: -0.9 * quantity.Money(850*0.5+280*1.5+30*0.9+438*worth+171*0.8*worth)},
	}
	p.Costs = costs
	for _, c := range costs {
		p.Objective += c.Amount
	}
	p.Bound = p.Objective - 10
	p.Gap = 10 / spent(p)
	sales := quantity.Money(500*2 + 1000*2 + 1480*2.5 + 5234*1)
	feed := quantity.Money(3550*0.5+620*1.5+50*0.9) + (800 - 500*1.5)
	processes := costs[3].Amount + costs[4].Amount + costs[5].Amount + costs[6].Amount + costs[7].Amount
	p.Margin = planner.Margin{Sales: sales, Feed: feed, Processes: processes, Net: sales - feed - processes}
}

// spent is the sum of a plan's costs above 0, which its gap is a share of.
func spent(p *planner.Plan) float64 {
	sum := 0.0
	for _, c := range p.Costs {
		sum += max(0, float64(c.Amount))
	}
	return sum
}
