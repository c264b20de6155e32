package planner

import (
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// extract reads a plan's lists off the column values x of f's model.
func (f *formulation) extract(x []float64) *Plan {
	p := &Plan{Plant: f.in.Plant.Name, Currency: f.in.Plant.Currency, Made: f.opt.Now, Start: f.start, Buckets: f.buckets}
	f.extractLines(p, x)
	f.extractFeed(p, x)
	f.extractPurchases(p, x)
	f.extractDemand(p, x)
	f.extractMoney(p, x)
	f.extractChanges(p)
	f.extractUnkept(p, x)
	p.Estimates = f.in.Basis.List()
	p.Begins = begins(f.in)
	return p
}

func yes(r ref, x []float64) bool { return r.at(x) > 0.5 }

func (f *formulation) extractLines(p *Plan, x []float64) {
	p.LinesToRun = make([]int, len(f.buckets))
	for l, ln := range f.in.Lines {
		for t := range f.buckets {
			u := LineUse{Line: ln.Code, Bucket: t, On: f.avail[l][t] > 0 && yes(f.on[l][t], x), Started: yes(f.started[l][t], x), Available: quantity.Hours(f.avail[l][t])}
			if u.On {
				p.LinesToRun[t]++
			}
			if u.Started {
				u.Startup = ln.Startup.Hours
			}
			for _, r := range f.runsOf(l, t, x) {
				u.Run += r.Hours
				u.Setup += r.Setup
				p.Runs = append(p.Runs, r)
			}
			u.Mounted = f.mountedCode(l, t, x)
			p.Lines = append(p.Lines, u)
		}
	}
}

func (f *formulation) mountedCode(l, t int, x []float64) string {
	for _, j := range f.fitsOf[l] {
		if yes(f.mounted[j][t], x) {
			return f.in.Profiles[f.fits[j].profile].Code
		}
	}
	return ""
}

// runsOf lists the campaigns of line l in bucket t in the order they run: see inOrder.
func (f *formulation) runsOf(l, t int, x []float64) []Run {
	var runs []Run
	rank := map[string]int{}
	scrap := f.startScrapOf(l, t, x)
	for _, j := range f.fitsOf[l] {
		ft, hours := f.fits[j], f.run[j][t].at(x)
		change := yes(f.changed[j][t], x)
		if hours < quantumHours && !change {
			continue
		}
		hours = max(hours, 0)
		r := Run{Line: f.in.Lines[l].Code, Profile: f.in.Profiles[ft.profile].Code, Bucket: t, Hours: quantity.Hours(hours), Changeover: change,
			Length: quantity.Length(hours * ft.rate), Pellets: quantity.Mass(hours * ft.rate * ft.pelletsPerM), Scrap: quantity.Mass(hours * ft.rate * ft.scrapPerM)}
		if change {
			r.Setup = quantity.Hours(ft.setup)
			r.Pellets += quantity.Mass(ft.setupScrap)
			r.Scrap += quantity.Mass(ft.setupScrap)
		}
		k := f.gradeOf[ft.profile]
		r.Pellets += quantity.Mass(scrap[k])
		r.Scrap += quantity.Mass(scrap[k])
		scrap[k] = 0
		rank[r.Profile] = f.rankInBucket(j, t, x)
		runs = append(runs, r)
	}
	if r, ok := f.idleStart(l, t, x, scrap); ok {
		runs = append(runs, r)
	}
	return f.inOrder(l, t, runs, rank, x)
}

// rankInBucket orders campaigns: 0 for the die that was on, 2 for one that came on and stays, 1 between.
func (f *formulation) rankInBucket(j, t int, x []float64) int {
	switch {
	case f.mountedBefore(j, t).at(x) > 0.5 && !yes(f.changed[j][t], x):
		return 0
	case yes(f.mounted[j][t], x):
		return 2
	}
	return 1
}

// startScrapOf is the start-up scrap of line l in bucket t by grade, kilograms.
func (f *formulation) startScrapOf(l, t int, x []float64) []float64 {
	kg := make([]float64, len(f.in.Grades))
	for k := range kg {
		kg[k] = f.startScrap[l][k][t].at(x) * float64(f.in.Lines[l].Startup.Scrap)
	}
	return kg
}

// idleStart is a run of no hours that carries the scrap of a start after which nothing is run of its grade.
func (f *formulation) idleStart(l, t int, x []float64, scrap []float64) (Run, bool) {
	for k, kg := range scrap {
		if kg < quantumKilograms {
			continue
		}
		for _, j := range f.fitsOf[l] {
			if f.gradeOf[f.fits[j].profile] == k && f.mountedBefore(j, t).at(x) > 0.5 {
				return Run{Line: f.in.Lines[l].Code, Profile: f.in.Profiles[f.fits[j].profile].Code, Bucket: t,
					Pellets: quantity.Mass(kg), Scrap: quantity.Mass(kg)}, true
			}
		}
	}
	return Run{}, false
}

func (f *formulation) extractFeed(p *Plan, x []float64) {
	for t := range f.buckets {
		for i, fd := range f.feeds {
			if in := f.draw[i][t].at(x); in > quantumKilograms {
				p.Draws = append(p.Draws, Draw{Material: f.in.Materials[fd.material].Code, Grade: f.in.Grades[fd.grade].Code, Bucket: t,
					In: quantity.Mass(in), Out: quantity.Mass(in * f.paths[fd.material].yield)})
			}
		}
		for k, g := range f.in.Grades {
			if in := f.fed[k][t].at(x); in > quantumKilograms {
				p.Draws = append(p.Draws, Draw{Grade: g.Code, Bucket: t, In: quantity.Mass(in), Out: quantity.Mass(in * f.regrind.yield)})
			}
		}
	}
	f.extractYard(p, x)
	for k := range f.in.Grades {
		f.extractPellets(p, k, x)
	}
}

func (f *formulation) extractYard(p *Plan, x []float64) {
	for m, mat := range f.in.Materials {
		for t := range f.buckets {
			y := YardLevel{Material: mat.Code, Bucket: t, Opening: quantity.Mass(before(f.yard[m], t, f.yard0[m]).at(x)),
				Closing: quantity.Mass(f.yard[m][t].at(x)), Arrived: quantity.Mass(f.arrivals[m][t] + f.bought(m, t, x))}
			for i, fd := range f.feeds {
				if fd.material == m {
					y.Drawn += quantity.Mass(f.draw[i][t].at(x))
				}
			}
			p.Yard = append(p.Yard, y)
		}
	}
}

// bought is what new loads bring of material m in bucket t, kilograms.
func (f *formulation) bought(m, t int, x []float64) float64 {
	kg := 0.0
	for s, lane := range f.in.Lanes {
		for o := range f.buckets {
			if f.materialAt[lane.Material] == m && f.loads[s][o].is && f.arrivalBucket(s, o) == t {
				kg += math.Round(f.loads[s][o].at(x)) * float64(lane.Load)
			}
		}
	}
	return kg
}

func (f *formulation) extractPellets(p *Plan, k int, x []float64) {
	g := f.in.Grades[k]
	from := len(p.Pellets)
	for t := range f.buckets {
		lv := PelletLevel{Grade: g.Code, Bucket: t, Opening: quantity.Mass(before(f.pellets[k], t, f.pellet0[k]).at(x)), Closing: quantity.Mass(f.pellets[k][t].at(x)),
			Used: quantity.Mass(f.pelletUse(k, t, x)), Shortfall: quantity.Mass(f.short[k][t].at(x)),
			RegrindOpening: quantity.Mass(before(f.own[k], t, f.own0[k]).at(x)), RegrindClosing: quantity.Mass(f.own[k][t].at(x)), RegrindOut: quantity.Mass(f.fed[k][t].at(x))}
		lv.Made = quantity.Mass(f.fed[k][t].at(x) * f.regrind.yield)
		for _, i := range f.feedsOf[k] {
			lv.Made += quantity.Mass(f.draw[i][t].at(x) * f.paths[f.feeds[i].material].yield)
		}
		lv.RegrindIn = lv.RegrindClosing + lv.RegrindOut - lv.RegrindOpening
		p.Pellets = append(p.Pellets, lv)
	}
	f.cover(p.Pellets[from:])
}

// cover walks each closing stock through the plan's own use after it, in days.
func (f *facts) cover(levels []PelletLevel) {
	for t := range levels {
		left, days := max(0, float64(levels[t].Closing)), 0.0 // below 0 by the solver's tolerance
		levels[t].CoverDays = math.Inf(1)
		for o := t + 1; o < len(levels); o++ {
			use := float64(levels[o].Used)
			if use > left {
				levels[t].CoverDays = days + f.days(o)*left/use
				break
			}
			left -= use
			days += f.days(o)
		}
	}
}

func (f *formulation) extractPurchases(p *Plan, x []float64) {
	for s := range f.in.Lanes {
		for t := range f.buckets {
			n := math.Round(f.loads[s][t].at(x))
			if n < 1 {
				continue
			}
			p.Purchases = append(p.Purchases, f.purchase(s, t, int(n)))
		}
	}
}

// purchase is n loads of lane s ordered in bucket t.
func (f *facts) purchase(s, t, n int) Purchase {
	lane := f.in.Lanes[s]
	return Purchase{Lane: lane.Code, Loads: n, Bucket: t, OrderBy: f.orderDay(s, t), Arrives: f.arrival(s, t),
		Mass: quantity.Mass(n) * lane.Load, Cost: quantity.Money(float64(n) * float64(lane.LoadCost()))}
}

func (f *formulation) extractDemand(p *Plan, x []float64) {
	for i, pr := range f.in.Profiles {
		for t := range f.buckets {
			lv := RackLevel{Profile: pr.Code, Bucket: t, Opening: quantity.Length(before(f.rack[i], t, f.rack0[i]).at(x)), Closing: quantity.Length(f.rack[i][t].at(x))}
			for _, j := range f.fitsBy[i] {
				lv.Made += quantity.Length(max(0, f.run[j][t].at(x)) * f.fits[j].rate)
			}
			for c := range f.classes[i] {
				lv.Demand += quantity.Length(f.classes[i][c].metres[t])
				lv.Late += quantity.Length(f.late[i][c][t].at(x))
				lv.Shipped += quantity.Length(f.shipped(i, c, t, x))
			}
			p.Rack = append(p.Rack, lv)
		}
		for c := range f.classes[i] {
			f.extractOrders(p, i, c, x)
		}
	}
	slices.SortFunc(p.Orders, func(a, b OrderResult) int {
		if a.Order < b.Order {
			return -1
		}
		return 1
	})
}

// shipped is the metres of profile i's class c shipped in bucket t.
func (f *formulation) shipped(i, c, t int, x []float64) float64 {
	return before(f.late[i][c], t, 0).at(x) + f.classes[i][c].metres[t] - f.late[i][c][t].at(x)
}

// extractOrders serves the orders of a class with its shipments, first due first.
func (f *formulation) extractOrders(p *Plan, i, c int, x []float64) {
	t, have := 0, f.shipped(i, c, 0, x)
	for _, o := range f.classes[i][c].orders {
		od := f.in.Orders[o]
		res := OrderResult{Order: od.Code, Profile: od.Profile, Due: od.Due, Length: od.Length}
		want := float64(od.Length)
		for want > have+quantumMetres && t+1 < len(f.buckets) {
			want -= have
			t++
			have = f.shipped(i, c, t, x)
		}
		if want > have+quantumMetres {
			res.Unmet = quantity.Length(want - have)
			have = 0
		} else {
			have -= want
			res.Promise = f.promiseDay(t, od.Due)
			res.DaysLate = max(0, int(res.Promise-od.Due))
		}
		p.Orders = append(p.Orders, res)
	}
}

// promiseDay is the day on which what ships in bucket t is promised: its last day, or the due day if that lies in the bucket.
func (f *facts) promiseDay(t int, due calendar.Day) calendar.Day {
	if span := f.buckets[t].Span; !span.Has(due) {
		return span.To - 1
	}
	return due
}

// extractUnkept lists the pins that are not kept by more than a minute.
func (f *formulation) extractUnkept(p *Plan, x []float64) {
	for _, pin := range f.in.Pins {
		u := Unkept{Pin: pin}
		for i, a := range f.pins {
			if h := f.broken[i].at(x); a.pin == pin && h > 1.0/60 {
				if u.Hours == 0 {
					u.First = f.buckets[a.bucket].Span.From
				}
				u.Hours += quantity.Hours(h)
			}
		}
		if u.Hours > 0 {
			p.Unkept = append(p.Unkept, u)
		}
	}
}

func (f *formulation) extractMoney(p *Plan, x []float64) {
	sum := f.items(x)
	for _, kind := range costOrder {
		if a := sum[kind]; a != 0 {
			p.Costs = append(p.Costs, Cost{kind, quantity.Money(a)})
		}
	}
	p.Margin.Processes = quantity.Money(sum[costProcess] + sum[costEnergy] + sum[costCrew] + sum[costChangeover] + sum[costStart] + sum[costCommission])
	p.Margin.Sales = quantity.Money(f.sales(p, x))
	for _, d := range p.Draws {
		if d.Material != "" {
			p.Margin.Feed += quantity.Money(float64(d.In) * float64(f.in.Materials[f.materialAt[d.Material]].Price))
		}
	}
	for _, b := range p.Purchases {
		mat := f.in.Materials[f.materialAt[f.in.Lanes[f.laneAt[b.Lane]].Material]]
		p.Margin.Feed += b.Cost - quantity.Money(float64(b.Mass)*float64(mat.Price))
	}
	p.Margin.Net = p.Margin.Sales - p.Margin.Feed - p.Margin.Processes
}

// items is the objective at x by the name of its parts.
func (f *formulation) items(x []float64) map[string]float64 {
	sum := map[string]float64{}
	for _, c := range f.costs {
		sum[c.kind] += c.amount * x[c.v]
	}
	return sum
}

// sales is what is shipped at its price: orders at theirs, the forecast at list price.
func (f *formulation) sales(p *Plan, x []float64) float64 {
	total := 0.0
	for _, r := range p.Orders {
		for o, od := range f.in.Orders {
			if od.Code == r.Order {
				total += float64(r.Length-r.Unmet) * f.orderPrice(o)
				break
			}
		}
	}
	for i, pr := range f.in.Profiles {
		for c, cl := range f.classes[i] {
			for t := range f.buckets {
				if cl.priority == forecastPriority {
					total += f.shipped(i, c, t, x) * float64(pr.Price)
				}
			}
		}
	}
	return total
}
