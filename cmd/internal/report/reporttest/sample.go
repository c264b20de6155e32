// Package reporttest holds plans made by hand for the tests of reports: what a solver finds is not unique, and reports are to be
// compared with what was there before.
package reporttest

import (
	"math"
	"time"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Monday is the first day of the plan.
var Monday = calendar.Date(2026, time.December, 21)

// Sample is a small plan with something of everything; its levels are only for show. Its plant and its numbers are invented.
func Sample() (*planner.Input, *planner.Plan) {
	in := &planner.Input{
		Plant:     planner.Plant{Name: "Tolverdale Profile Works", Currency: "EUR"},
		Grades:    []inventory.Grade{{Code: "GY"}, {Code: "WH"}},
		Materials: []inventory.Material{{Code: "INM"}, {Code: "INW"}},
		Profiles:  []lines.Profile{{Code: "SK80", Grade: "WH"}, {Code: "SL30", Grade: "GY"}},
		Lines: []lines.Line{{Code: "L1", State: lines.Running}, {Code: "L2", State: lines.Ready}, {Code: "L3", State: lines.Down, DownUntil: Monday + 9},
			{Code: "L4", State: lines.Uncommissioned}, {Code: "L5", State: lines.Ready}},
		Orders: []planner.Order{{Code: "O-1", Customer: "Corvelle Décor", Priority: 1}, {Code: "O-2", Customer: "Rooksend Joinery", Priority: 2}, {Code: "O-3", Customer: "Dunholt\x1b[31m Counter", Priority: 3}},
	}
	p := &planner.Plan{Plant: in.Plant.Name, Currency: "EUR", Made: time.Date(2026, time.December, 21, 6, 30, 0, 0, time.FixedZone("CET", 3600)), Start: Monday,
		Stop: 4, Objective: 123456.7, Bound: 122000, Gap: 0.0118, Solve: 12 * time.Second, Size: planner.Size{Rows: 1200, Cols: 1500, Nonzeros: 6000, Integers: 300},
		Costs:      []planner.Cost{{Name: "crew", Amount: 100000}, {Name: "energy", Amount: 23456.7}},
		Margin:     planner.Margin{Sales: 500000, Feed: 200000, Processes: 150000, Net: 150000},
		LinesToRun: []int{1, 2, 2, 1},
	}
	for i, d := range []calendar.Day{0, 1, 7, 14} {
		p.Buckets = append(p.Buckets, calendar.Bucket{Index: i, Span: calendar.Span{From: Monday + d, To: Monday + []calendar.Day{1, 7, 14, 21}[i]}})
		for _, ln := range in.Lines {
			p.Lines = append(p.Lines, planner.LineUse{Line: ln.Code, Bucket: i, On: ln.Code == "L1" || ln.Code == "L2" && (i == 1 || i == 2), Started: ln.Code == "L2" && i == 1, Available: 24})
		}
	}
	p.Runs = []planner.Run{
		{Line: "L1", Profile: "SK80", Bucket: 0, Hours: 24, Length: 7080, Pellets: 2788, Scrap: 98},
		{Line: "L1", Profile: "SK80", Bucket: 1, Hours: 40, Length: 11800, Pellets: 4647, Scrap: 163},
		{Line: "L1", Profile: "SL30", Bucket: 1, Hours: 60, Length: 40000, Changeover: true, Setup: 2.75, Takes: 1.5, Pellets: 6300, Scrap: 280},
		{Line: "L2", Profile: "SL30", Bucket: 1, Hours: 90.5, Length: 60321.25, Pellets: 9500, Scrap: 420},
		{Line: "L2", Profile: "SL30", Bucket: 2, Hours: 110, Length: 73000, Pellets: 11500, Scrap: 500},
		{Line: "L1", Profile: "SK80", Bucket: 3, Hours: 100, Length: 29500, Changeover: true, Setup: 2.75, Takes: 2.75, Pellets: 11600, Scrap: 430},
	}
	p.Draws = []planner.Draw{{Material: "INW", Grade: "WH", Bucket: 0, In: 3000, Out: 2850}, {Grade: "WH", Bucket: 1, In: 400, Out: 386}}
	for t := range p.Buckets {
		for i, g := range []string{"GY", "WH"} {
			p.Pellets = append(p.Pellets, planner.PelletLevel{Grade: g, Bucket: t, Opening: 9000, Made: 2850, Used: 2788, Closing: 9062, RegrindClosing: quantity.Mass(100 * t), CoverDays: []float64{math.Inf(1), 12.25}[i]})
			short := quantity.Mass(max(0, t-1) * 1500 * i)
			p.NeedHave = append(p.NeedHave, planner.NeedHave{Grade: g, Bucket: t, Need: 3000, Have: 3000 - short, Short: short, Cumulative: short})
		}
		for _, m := range []string{"INM", "INW"} {
			p.Yard = append(p.Yard, planner.YardLevel{Material: m, Bucket: t, Opening: 40000, Drawn: 3000, Closing: 37000})
		}
		p.Rack = append(p.Rack, planner.RackLevel{Profile: "SK80", Bucket: t, Opening: 100, Made: 7000, Shipped: 6900, Closing: 200, Demand: 6900})
	}
	for t := range p.Buckets {
		p.BoundBy = append(p.BoundBy, planner.BoundBy{Bucket: t, By: planner.OfPellets, Rents: []planner.Rent{{Of: planner.OfPellets, Amount: 1200}, {Of: planner.OfLineHour, Amount: 90}}})
		p.Worth = append(p.Worth, planner.Worth{Of: planner.OfPellets, Code: "WH", Bucket: t, Value: 0.95, Relaxed: 1.4}, planner.Worth{Of: planner.OfLineHour, Code: "L1", Bucket: t, Value: 7.5})
	}
	p.WhyLate = []planner.WhyLate{{Order: "O-2", Limit: planner.OfPellets, Words: "feed: pellets of grade WH do not reach"}}
	p.LineValues = []planner.LineValue{
		{Line: "L1", Do: planner.IdleLine, Can: true, Gain: -81234.5, Length: -88380, Pellets: -25835, LateOrders: 3, Cut: true},
		{Line: "L3", Do: planner.StartLine, Can: true, Gain: -420, Length: 5200.5, Pellets: 2100, FedGain: 3100, FedLength: 21000, FedPellets: 8300},
	}
	p.Unkept = []planner.Unkept{{Pin: planner.Pin{Code: "P-3", Kind: planner.PinIdle, Line: "L1", From: Monday + 2, To: Monday + 4}, First: Monday + 2, Hours: 16.5}}
	p.Missing = []planner.Missing{{Answer: planner.AnswerWorth, Words: "7 of 8 measured, the others by dual values: out of time"}}
	p.Purchases = []planner.Purchase{{Lane: "WH-ROAD", Loads: 2, Bucket: 0, OrderBy: Monday, Arrives: Monday + 9, Mass: 44000, Cost: 34400}}
	p.Shortages = []planner.Shortage{{Grade: "WH", First: Monday + 7, WeeksAhead: 1, LastsTill: Monday + 10, Mass: 3000, MassIn4Weeks: 3000, OrdersAtRisk: []string{"O-2"}}}
	p.OrderBy = []planner.OrderBy{
		{Grade: "WH", Lane: "WH-ROAD", Loads: 1, By: Monday + 1, Needed: Monday + 10, Mass: 22000, Landed: 0.8225, InPlan: true},
		{Grade: "WH", Lane: "WH-SEA", Loads: 2, By: Monday - 53, Needed: Monday + 10, TooLate: true, Mass: 39600, Landed: 0.7403},
	}
	p.Orders = []planner.OrderResult{
		{Order: "O-1", Profile: "SK80", Due: Monday + 2, Length: 9000, Promise: Monday + 2},
		{Order: "O-2", Profile: "SK80", Due: Monday + 9, Length: 12000, Promise: Monday + 13, DaysLate: 4},
		{Order: "O-3", Profile: "SL30", Due: Monday + 16, Length: 90000, Unmet: 1500.5},
	}
	return in, p
}
