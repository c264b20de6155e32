package audit

import (
	"cmp"
	"math"
	"slices"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

// call is demand for a profile of one rank, by bucket.
type call struct {
	rank    int // priority of the orders; forecastRank for the net forecast
	metres  []num
	value   num // price × metres of its orders
	ordered num
}

// The ranks of demand.
const (
	lastRank     = 9  // of an order; priorities are cut to 1 … 9
	forecastRank = 10 // net forecast comes behind every order
)

// calls gathers the demand for a profile by rank, first rank first.
func (a *auditor) calls(profile string) []call {
	byRank := map[int]*call{}
	of := func(rank int) *call {
		if byRank[rank] == nil {
			byRank[rank] = &call{rank: rank, metres: make([]num, len(a.p.Buckets))}
		}
		return byRank[rank]
	}
	for _, o := range a.in.Orders {
		if t := a.dueBucket(o); o.Profile == profile && t < len(a.p.Buckets) {
			c := of(rankOf(o))
			c.metres[t] = c.metres[t].add(entered(o.Length))
			c.ordered = c.ordered.add(entered(o.Length))
			c.value = c.value.add(entered(o.Length).mul(a.priceOf(o)))
		}
	}
	for t, m := range a.netForecast(profile) {
		if m.sign() > 0 {
			of(forecastRank).metres[t] = m
		}
	}
	var list []call
	for _, c := range byRank {
		list = append(list, *c)
	}
	slices.SortFunc(list, func(x, y call) int { return cmp.Compare(x.rank, y.rank) })
	return list
}

func rankOf(o planner.Order) int { return min(max(o.Priority, 1), lastRank) }

// dueBucket is the bucket that an order falls due in: the first if it is overdue, the number of buckets if it is no
// demand of the horizon.
func (a *auditor) dueBucket(o planner.Order) int {
	if o.Length <= 0 {
		return len(a.p.Buckets)
	}
	return max(0, a.bucketOf(o.Due))
}

// priceOf is the price of a metre of an order.
func (a *auditor) priceOf(o planner.Order) num {
	return orElse(entered(o.Price), entered(a.profile[o.Profile].Price))
}

// netForecast is what is left of a profile's forecasts in the horizon once the orders due there have consumed it, by bucket.
func (a *auditor) netForecast(profile string) []num {
	list := make([]num, len(a.p.Buckets))
	horizon := calendar.Span{From: a.p.Start, To: a.end()}
	for _, f := range a.in.Forecasts {
		all := calendar.Span{From: f.From, To: f.To}
		ahead := all.Overlap(horizon)
		if f.Profile != profile || ahead.Days() == 0 {
			continue
		}
		net := entered(f.Length).mul(whole(ahead.Days())).over(whole(all.Days()))
		for _, o := range a.in.Orders {
			if o.Profile == profile && ahead.Has(o.Due) {
				net = net.sub(entered(o.Length))
			}
		}
		if net.sign() <= 0 {
			continue
		}
		aDay := net.over(whole(ahead.Days()))
		for t, b := range a.p.Buckets {
			list[t] = list[t].add(aDay.mul(whole(b.Span.Overlap(ahead).Days())))
		}
	}
	return list
}

// checkDemand follows the metres from the line to the customer.
func (a *auditor) checkDemand() {
	results := a.resultsByProfile()
	for _, pr := range a.in.Profiles {
		levels := byBucket(a.p.Rack, len(a.p.Buckets), func(x planner.RackLevel) (bool, int) { return x.Profile == pr.Code, x.Bucket })
		calls := a.calls(pr.Code)
		counted := a.stockOf(inventory.ProfileStock, pr.Code)
		rack := ledger{rule: Rack, unit: "m", near: lengthTolerance, drift: lengthDrift, stock: counted, before: counted}
		owed := num{}
		for t, x := range levels {
			w := a.at(t, "profile "+pr.Code)
			made, due, shipped := a.madeLength(pr.Code, t), dueIn(calls, t), computed(x.Shipped)
			a.equal(Rack, w, computed(x.Made), made, lengthTolerance, "m", "metres made by runs")
			a.atMost(Rack, w, shipped, rack.stock.add(made), lengthDrift, "m", "shipped of what is there")
			a.post(&rack, w, computed(x.Opening), made, shipped, computed(x.Closing))
			a.equal(Demand, w, computed(x.Demand), due, lengthTolerance, "m", "orders and net forecast due")
			owed = owed.add(due).sub(shipped)
			a.equal(Demand, w, computed(x.Late), owed, lengthDrift, "m", "late: due and not shipped")
			a.atLeast(Demand, w, owed, num{}, lengthDrift, "m", "shipped before it is due, owed metres")
			a.hold(t, computed(x.Closing).mul(entered(pr.Price)))
			a.belowTarget(t, entered(pr.StockTarget).sub(computed(x.Closing)), entered(pr.Price))
		}
		a.endStock(rack.before.mul(entered(pr.PerMetre)).mul(a.pelletWorth(pr.Grade)))
		a.lateness(pr, calls, levels)
		a.checkOrders(pr.Code, results[pr.Code], levels)
		a.bookSales(pr, results[pr.Code], levels)
	}
	for t := range a.p.Buckets {
		a.checkRackSpace(t)
	}
}

func dueIn(calls []call, t int) num {
	sum := num{}
	for _, c := range calls {
		sum = sum.add(c.metres[t])
	}
	return sum
}

func (a *auditor) madeLength(profile string, t int) num {
	sum := num{}
	for _, r := range a.p.Runs {
		if r.Bucket == t && r.Profile == profile {
			sum = sum.add(computed(r.Length))
		}
	}
	return sum
}

func (a *auditor) checkRackSpace(t int) {
	room := entered(a.in.Plant.Rack)
	if room.sign() <= 0 {
		return
	}
	sum := num{}
	for _, x := range a.p.Rack {
		if x.Bucket == t {
			sum = sum.add(computed(x.Closing).mul(entered(a.profile[x.Profile].RackLitresPerMetre)).over(whole(litresPerCubicMetre)))
		}
	}
	a.overfull(t, "rack", sum, room)
}

const litresPerCubicMetre = 1000

// resultsByProfile checks that each order due in the horizon has one result that repeats it, and sorts them by profile.
func (a *auditor) resultsByProfile() map[string][]planner.OrderResult {
	list, seen := map[string][]planner.OrderResult{}, map[string]bool{}
	for _, r := range a.p.Orders {
		w := a.at(-1, "order "+r.Order)
		o, ok := a.order[r.Order]
		if a.holds(Orders, w, ok && !seen[r.Order], "the book has no such order, or it has two results") {
			same := o.Profile == r.Profile && o.Due == r.Due && o.Length == r.Length && a.dueBucket(o) < len(a.p.Buckets)
			a.holds(Orders, w, same, "profile, due date or length are not the order's, or it is due after the horizon")
			list[o.Profile] = append(list[o.Profile], r)
		}
		seen[r.Order] = true
	}
	for _, o := range a.in.Orders {
		if a.dueBucket(o) < len(a.p.Buckets) {
			a.holds(Orders, a.at(-1, "order "+o.Code), seen[o.Code], "the order has no result")
		}
	}
	return list
}

// checkOrders checks a profile's order results one by one, then against what is shipped: by the end of each bucket the
// orders complete can't be more than what is shipped, and what is shipped can't be more than them, the forecast due and
// the parts of the orders due that are not complete.
func (a *auditor) checkOrders(profile string, results []planner.OrderResult, levels []planner.RackLevel) {
	for _, r := range results {
		a.checkResult(r)
	}
	shipped, forecast, net := num{}, num{}, a.netForecast(profile)
	for t, x := range levels {
		shipped, forecast = shipped.add(computed(x.Shipped)), forecast.add(net[t])
		complete, open := num{}, num{}
		for _, r := range results {
			switch {
			case r.Promise != 0 && a.bucketOf(r.Promise) <= t:
				complete = complete.add(entered(r.Length))
			case a.dueBucket(a.order[r.Order]) <= t:
				open = open.add(entered(r.Length).sub(computed(r.Unmet)))
			}
		}
		w := a.at(t, "profile "+profile)
		a.atMost(Orders, w, complete, shipped, lengthDrift, "m", "orders complete, of what is shipped")
		a.atLeast(Orders, w, complete.add(open).add(forecast), shipped, lengthDrift, "m", "orders and forecast that what is shipped went to")
	}
	a.checkUnmet(profile, results, levels, forecast)
}

// checkUnmet checks the metres never made against what is owed at the end, to orders and to the forecast.
func (a *auditor) checkUnmet(profile string, results []planner.OrderResult, levels []planner.RackLevel, forecast num) {
	unmet := num{}
	for _, r := range results {
		unmet = unmet.add(computed(r.Unmet))
	}
	owed := computed(levels[len(levels)-1].Late)
	w := a.at(len(levels)-1, "profile "+profile)
	a.atMost(Orders, w, unmet, owed, lengthDrift, "m", "unmet of orders, of what is owed at the end")
	a.atLeast(Orders, w, unmet.add(forecast), owed, lengthDrift, "m", "unmet of orders and all forecast, against what is owed at the end")
}

func (a *auditor) checkResult(r planner.OrderResult) {
	w := a.at(-1, "order "+r.Order)
	if r.Promise == 0 {
		a.holds(Orders, w, float64(r.Unmet) > 0 && r.DaysLate == 0, "the order has no promise, but nothing unmet or days late")
		a.atMost(Orders, w, computed(r.Unmet), entered(r.Length), lengthTolerance, "m", "unmet of the order")
		return
	}
	t := a.bucketOf(r.Promise)
	if !a.holds(Orders, w, t >= a.dueBucket(a.order[r.Order]) && t < len(a.p.Buckets), "the promise lies before the due date's bucket or outside the horizon") {
		return
	}
	a.equal(Orders, w, computed(r.Unmet), num{}, lengthTolerance, "m", "unmet of a complete order")
	span := a.p.Buckets[t].Span
	a.holds(Orders, w, r.Promise == span.To-1 || r.Promise == r.Due, "the promise is neither the last day of a bucket nor the due date")
	a.equal(Orders, w, whole(r.DaysLate), whole(max(0, int(r.Promise-r.Due))), 0, "d", "days late")
}

// bookSales adds what is shipped at its price: orders at theirs, the rest at the list price.
func (a *auditor) bookSales(pr lineProfile, results []planner.OrderResult, levels []planner.RackLevel) {
	rest := num{}
	for _, x := range levels {
		rest = rest.add(computed(x.Shipped))
	}
	for _, r := range results {
		got := entered(r.Length).sub(computed(r.Unmet))
		rest = rest.sub(got)
		a.sales = a.sales.add(got.mul(a.priceOf(a.order[r.Order])))
	}
	a.sales = a.sales.add(rest.mul(entered(pr.Price)))
}

// lateness bounds what late metres cost: the total late is known by bucket, its split over ranks is not. The least has the cheapest
// ranks late first, the most the dearest, each up to what is due of it so far.
func (a *auditor) lateness(pr lineProfile, calls []call, levels []planner.RackLevel) {
	due := make([]num, len(calls))
	for t, x := range levels {
		for i, c := range calls {
			due[i] = due[i].add(c.metres[t])
		}
		days := whole(a.p.Buckets[t].Span.Days())
		price := func(i int) num { return a.latePrice(pr, calls[i]).mul(days) }
		a.lateLow = a.lateLow.add(split(computed(x.Late), due, price, 1))
		a.lateHigh = a.lateHigh.add(split(computed(x.Late), due, price, -1))
		if t == len(levels)-1 {
			unmet := func(i int) num { return a.unmetPrice(pr, calls[i]) }
			a.unmetLow = a.unmetLow.add(split(computed(x.Late), due, unmet, 1))
			a.unmetHigh = a.unmetHigh.add(split(computed(x.Late), due, unmet, -1))
		}
	}
}

// split prices total spread over ranks with the given room, cheapest first (sign 1) or dearest first (−1).
func split(total num, room []num, price func(int) num, sign int) num {
	order := make([]int, len(room))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return sign * price(i).sub(price(j)).sign() })
	sum := num{}
	for _, i := range order {
		take := most(num{}, least(total, room[i]))
		total = total.sub(take)
		sum = sum.add(take.mul(price(i)))
	}
	return sum
}

// latePrice is what a late metre and day cost: the mean price of the rank's orders (the list price of the forecast) × the plant's
// share, ÷ 1.5 for each rank behind the first.
func (a *auditor) latePrice(pr lineProfile, c call) num {
	price := a.meanPrice(pr, c).mul(a.lateShare())
	return price.mul(computed(math.Pow(rankStep, float64(1-c.rank))))
}

// unmetPrice is what a metre never made costs: the sale and the good-will.
func (a *auditor) unmetPrice(pr lineProfile, c call) num {
	return a.meanPrice(pr, c).mul(whole(1).add(orElse(entered(a.in.Plant.UnmetCost), entered(unmetShare))))
}

func (a *auditor) meanPrice(pr lineProfile, c call) num {
	if c.ordered.sign() > 0 {
		return c.value.over(c.ordered)
	}
	return entered(pr.Price)
}
