// Package rowstest makes plans by a few sums, without a solver: for tests of what shows them. They are whole, the same at every
// call, and show what screens must show: starts, stops, changeovers, shortage, late orders and orders that are never made. They are
// not good, and no audit passes them.
package rowstest

import (
	"cmp"
	"math"
	"slices"
	"time"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/solve"
)

// Plan makes a plan of in from start.
func Plan(in *planner.Input, start calendar.Day, made time.Time) *planner.Plan {
	days, weeks := in.Plant.DailyDays, in.Plant.Weeks
	p := &planner.Plan{Plant: in.Plant.Name, Currency: in.Plant.Currency, Made: made, Start: start, Buckets: calendar.Buckets(start, cmp.Or(days, 14), cmp.Or(weeks, 26)),
		Stop: solve.TimeLimit, Solve: time.Second, LinesToRun: nil}
	p.LinesToRun = make([]int, len(p.Buckets))
	for _, l := range in.Lines {
		line(p, in, l)
	}
	for i, g := range in.Grades {
		grade(p, in, g, i)
	}
	orders(p, in)
	racks(p, in)
	money(p, in)
	steps(p, in)
	return p
}

// steps says of each line what it would bring: a line that stands in the first week something, one that runs less idle.
func steps(p *planner.Plan, in *planner.Input) {
	for i, l := range in.Lines {
		switch l.State {
		case lines.Uncommissioned:
			p.LineValues = append(p.LineValues, planner.LineValue{Line: l.Code, Do: planner.CommissionLine, Can: true, Gain: -4200, Length: 9100, Pellets: 3600, FedGain: 18250, FedLength: 96000, FedPellets: 41000, Cut: true})
		case lines.Ready:
			p.LineValues = append(p.LineValues, planner.LineValue{Line: l.Code, Do: planner.StartLine, Can: true, Gain: 1830, Length: 21000, Pellets: 8200, LateOrders: -2, FedGain: 9400, FedLength: 60500, FedPellets: 24000})
		case lines.Running:
			p.LineValues = append(p.LineValues, planner.LineValue{Line: l.Code, Do: planner.IdleLine, Can: true, Gain: quantity.Money(-51000 - 1000*i), Length: -120000, Pellets: -47000, LateOrders: 3 + i, Cut: true})
		}
	}
}

// pinned is whether a pin of the kind holds a line on all days of s, and its profile.
func pinned(in *planner.Input, line string, s calendar.Span, kind planner.PinKind) (string, bool) {
	for _, p := range in.Pins {
		if p.Line == line && p.Kind == kind && p.From < s.To && s.From < p.To {
			return p.Profile, true
		}
	}
	return "", false
}

// fits are the profiles that a line can run.
func fits(in *planner.Input, line string) (list []lines.Fit) {
	for _, f := range in.Fits {
		if f.Line == line {
			list = append(list, f)
		}
	}
	return list
}

// line runs a line on what is mounted, changes it every ten buckets, starts a ready line in the third week and obeys pins.
func line(p *planner.Plan, in *planner.Input, l lines.Line) {
	can := fits(in, l.Code)
	mounted, was := l.Mounted, l.State == lines.Running
	for t, b := range p.Buckets {
		u := planner.LineUse{Line: l.Code, Bucket: t, Available: quantity.Hours(in.Calendar.SpanHours(l.Code, b.Span)), Mounted: mounted}
		if l.State == lines.Down && b.Span.From < l.DownUntil || l.State == lines.Uncommissioned {
			u.Available = 0
		}
		_, idle := pinned(in, l.Code, b.Span, planner.PinIdle)
		profile, run := pinned(in, l.Code, b.Span, planner.PinRun)
		on := was || l.State == lines.Ready && t >= 16 || l.State == lines.Down || run
		if u.Available <= 0 || idle || !on || len(can) == 0 {
			p.Lines = append(p.Lines, u)
			continue
		}
		u.On, u.Started = true, !was
		if u.Started {
			u.Startup = min(l.Startup.Hours, u.Available)
		}
		was = true
		if profile == "" {
			profile = cmp.Or(mounted, can[0].Profile)
			if t%10 == 9 {
				profile = can[(t/10+1)%len(can)].Profile
			}
		}
		runs(p, in, can, &u, profile, mounted, t)
		mounted = u.Mounted
		p.LinesToRun[t]++
		p.Lines = append(p.Lines, u)
	}
}

// runs fills the hours of a line in a bucket.
func runs(p *planner.Plan, in *planner.Input, can []lines.Fit, u *planner.LineUse, profile, mounted string, t int) {
	r := planner.Run{Line: u.Line, Profile: profile, Bucket: t, Changeover: profile != mounted}
	if r.Changeover {
		r.Setup = min(3, u.Available-u.Startup)
		u.Setup = r.Setup
	}
	i := slices.IndexFunc(can, func(f lines.Fit) bool { return f.Profile == profile })
	j := slices.IndexFunc(in.Profiles, func(x lines.Profile) bool { return x.Code == profile })
	u.Mounted = profile
	if i < 0 || j < 0 {
		return
	}
	rate := lines.Rate(in.Profiles[j], can[i])
	r.Hours = u.Available - u.Startup - u.Setup
	r.Length = rate.MetresPerDay(r.Hours)
	r.Pellets = rate.PelletsPerGoodMetre.MassOf(r.Length)
	r.Scrap = rate.ScrapPerGoodMetre.MassOf(r.Length)
	u.Run = r.Hours
	p.Runs = append(p.Runs, r)
}

// grade is short from a week on that differs by grade; the last grade of three or more never is.
func grade(p *planner.Plan, in *planner.Input, g inventory.Grade, n int) {
	const aDay = 3500
	silo := quantity.Mass(0)
	for _, s := range in.Stock {
		if s.Kind == inventory.PelletStock && s.Code == g.Code {
			silo = s.Mass
		}
	}
	owed := quantity.Mass(0)
	var s planner.Shortage
	for t, b := range p.Buckets {
		need := quantity.Mass(aDay * b.Span.Days())
		have := need
		if w := int(b.Span.From-p.Start) / 7; w >= 7+2*n && n < 2 {
			have = need * quantity.Mass(max(0, w-12)) / 10
		}
		have = min(have, need+owed)
		owed += need - have
		p.NeedHave = append(p.NeedHave, planner.NeedHave{Grade: g.Code, Bucket: t, Need: need, Have: have, Short: need - have, Cumulative: owed})
		if owed > 0 && s.Grade == "" {
			s = planner.Shortage{Grade: g.Code, First: b.Span.From, WeeksAhead: float64(b.Span.From-p.Start) / 7, LastsTill: b.Span.From + 2}
		}
		if s.Grade != "" && b.Span.From < s.First+28 {
			s.MassIn4Weeks = owed
		}
		s.Mass = max(s.Mass, owed)
		p.Pellets = append(p.Pellets, planner.PelletLevel{Grade: g.Code, Bucket: t, Opening: silo, Made: need, Used: need, Closing: silo, CoverDays: float64(silo) / aDay})
	}
	if s.Grade == "" {
		return
	}
	for i, o := range in.Orders {
		if i%9 == n {
			s.OrdersAtRisk = append(s.OrdersAtRisk, o.Code)
		}
	}
	p.Shortages = append(p.Shortages, s)
	ways(p, in, s)
}

// ways is a way to order on each lane of the grade's materials.
func ways(p *planner.Plan, in *planner.Input, s planner.Shortage) {
	for _, i := range in.Ingredients {
		for _, l := range in.Lanes {
			if i.Grade != s.Grade || l.Material != i.Material || l.Load <= 0 {
				continue
			}
			by := inventory.OrderByDate(l, s.LastsTill, float64(in.Plant.ServiceLevel))
			n := int(math.Ceil(float64(s.MassIn4Weeks / l.Load)))
			p.OrderBy = append(p.OrderBy, planner.OrderBy{Grade: s.Grade, Lane: l.Code, Loads: n, By: by, Needed: s.LastsTill, TooLate: by < p.Start,
				Mass: quantity.Mass(n) * l.Load, Landed: inventory.LandedCost(l, 0.95)})
			for t := 2; t < len(p.Buckets); t += 15 {
				day := p.Buckets[t].Span.From
				p.Purchases = append(p.Purchases, planner.Purchase{Lane: l.Code, Loads: 1, Bucket: t, OrderBy: day, Arrives: inventory.LoadArrival(l, day, 0.8), Mass: l.Load, Cost: l.LoadCost()})
			}
		}
	}
}

// orders are in time, but for one in seven, and one in thirty is never made.
func orders(p *planner.Plan, in *planner.Input) {
	for i, o := range in.Orders {
		r := planner.OrderResult{Order: o.Code, Profile: o.Profile, Due: o.Due, Length: o.Length, Promise: o.Due}
		switch {
		case i%30 == 29:
			r.Promise, r.Unmet = 0, o.Length/2
		case i%7 == 3:
			r.DaysLate = 1 + i%20
			r.Promise += calendar.Day(r.DaysLate)
		}
		p.Orders = append(p.Orders, r)
	}
}

func racks(p *planner.Plan, in *planner.Input) {
	for i, x := range in.Profiles {
		for t := range p.Buckets {
			late := quantity.Length(0)
			if i%5 == 0 && t > 10 {
				late = quantity.Length(100 * i)
			}
			p.Rack = append(p.Rack, planner.RackLevel{Profile: x.Code, Bucket: t, Late: late})
		}
	}
}

// money moves with what an edit can change, so that edits show.
func money(p *planner.Plan, in *planner.Input) {
	sum := quantity.Mass(0)
	for _, r := range p.Runs {
		sum += r.Pellets
	}
	late := 0
	for _, o := range p.Orders {
		late += o.DaysLate
	}
	feed := quantity.Money(sum) * 0.8
	p.Objective = 1_200_000 + feed + quantity.Money(100*late+250*len(in.Pins)+40*len(in.Deliveries))
	p.Bound = p.Objective * 0.94
	p.Gap = 0.06
	p.Costs = []planner.Cost{{Name: "feed", Amount: feed}, {Name: "lateness", Amount: quantity.Money(100 * late)}}
	p.Margin = planner.Margin{Sales: 4_600_000, Feed: feed, Processes: 1_000_000, Net: 3_600_000 - feed}
	p.Size = planner.Size{Rows: 1, Cols: 1}
}
