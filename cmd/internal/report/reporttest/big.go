package reporttest

import (
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/benchplant"
)

// Big is a plan of the largest plant of planner/benchplant, 24 lines and 120 profiles over a year, made up without a search: it is for
// measuring what writing it takes, and keeps no limit.
func Big() (*planner.Input, *planner.Plan) {
	in := benchplant.Input(benchplant.XL, 1)
	p := &planner.Plan{Plant: in.Plant.Name, Currency: in.Plant.Currency, Made: benchplant.Start.UTC().Add(6 * time.Hour), Start: benchplant.Start, Objective: 9e6, Bound: 8.5e6, Gap: 0.055,
		Buckets: calendar.Buckets(benchplant.Start, in.Plant.DailyDays, in.Plant.Weeks)}
	bigFloor(in, p)
	bigLevels(in, p)
	bigDemand(in, p)
	return in, p
}

func bigFloor(in *planner.Input, p *planner.Plan) {
	for range p.Buckets {
		p.LinesToRun = append(p.LinesToRun, len(in.Lines))
	}
	for l, ln := range in.Lines {
		for t, b := range p.Buckets {
			hours := quantity.Hours(18 * b.Span.Days())
			a, z := in.Profiles[(l*5+t)%len(in.Profiles)].Code, in.Profiles[(l*5+t+1)%len(in.Profiles)].Code
			p.Lines = append(p.Lines, planner.LineUse{Line: ln.Code, Bucket: t, On: true, Started: t == 20 && l%4 == 0, Available: hours, Run: hours - 3, Setup: 3, Mounted: z})
			p.Runs = append(p.Runs, planner.Run{Line: ln.Code, Profile: a, Bucket: t, Hours: (hours - 3) / 2, Length: 300 * quantity.Length(hours), Pellets: 95 * quantity.Mass(hours), Scrap: 4 * quantity.Mass(hours)},
				planner.Run{Line: ln.Code, Profile: z, Bucket: t, Hours: (hours - 3) / 2, Length: 280 * quantity.Length(hours), Changeover: true, Setup: 3, Pellets: 90 * quantity.Mass(hours), Scrap: 5 * quantity.Mass(hours)})
		}
	}
}

func bigLevels(in *planner.Input, p *planner.Plan) {
	for k, g := range in.Grades {
		owed, lane, material := quantity.Mass(0), in.Lanes[k%len(in.Lanes)], in.Materials[k%len(in.Materials)].Code
		for t, b := range p.Buckets {
			short := quantity.Mass(max(0, t-20) * 100)
			owed += short
			p.NeedHave = append(p.NeedHave, planner.NeedHave{Grade: g.Code, Bucket: t, Need: 30000, Have: 30000 - short, Short: short, Cumulative: owed})
			p.Pellets = append(p.Pellets, planner.PelletLevel{Grade: g.Code, Bucket: t, Opening: 20000, Made: 30000, Used: 30000, Closing: 20000, CoverDays: float64(3 + (t+k)%20)})
			p.Draws = append(p.Draws, planner.Draw{Material: material, Grade: g.Code, Bucket: t, In: 31000, Out: 30000})
			p.Purchases = append(p.Purchases, planner.Purchase{Lane: lane.Code, Loads: 2, Bucket: t, OrderBy: b.Span.From, Arrives: b.Span.From + 18, Mass: 44000, Cost: 31000})
		}
		first := p.Buckets[21].Span.From
		p.Shortages = append(p.Shortages, planner.Shortage{Grade: g.Code, First: first, WeeksAhead: 9, LastsTill: first + 3, Mass: owed, MassIn4Weeks: 1000})
		p.OrderBy = append(p.OrderBy, planner.OrderBy{Grade: g.Code, Lane: lane.Code, Loads: 3, By: first - 20, Needed: first, Mass: 66000, Landed: 0.8})
	}
	for _, m := range in.Materials {
		for t := range p.Buckets {
			p.Yard = append(p.Yard, planner.YardLevel{Material: m.Code, Bucket: t, Opening: 60000, Arrived: 31000, Drawn: 31000, Closing: 60000})
		}
	}
}

func bigDemand(in *planner.Input, p *planner.Plan) {
	for _, pr := range in.Profiles {
		for t := range p.Buckets {
			p.Rack = append(p.Rack, planner.RackLevel{Profile: pr.Code, Bucket: t, Opening: 5000, Made: 9000, Shipped: 9000, Closing: 5000, Demand: 9000})
		}
	}
	for i, o := range in.Orders {
		p.Orders = append(p.Orders, planner.OrderResult{Order: o.Code, Profile: o.Profile, Due: o.Due, Length: o.Length, Promise: o.Due + calendar.Day(i%9), DaysLate: i % 9})
	}
}
