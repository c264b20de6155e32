package audit

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// within is the probability that a lead time is at most the given days; a normal one is never less than 0.
func within(l inventory.LeadTime, days float64) float64 {
	spread := l.SD > 0 && (l.Mean > 0 || l.Distribution == inventory.Normal)
	switch {
	case l.Distribution == inventory.Normal && spread:
		if days < 0 {
			return 0
		}
		return normalBelow((days - l.Mean) / l.SD)
	case l.Distribution == inventory.Lognormal && spread:
		if days <= 0 {
			return 0
		}
		v := math.Log(1 + l.SD*l.SD/(l.Mean*l.Mean))
		return normalBelow((math.Log(days/l.Mean) + v/2) / math.Sqrt(v))
	case l.Distribution == inventory.Gamma && spread:
		if days <= 0 {
			return 0
		}
		shape := l.Mean * l.Mean / (l.SD * l.SD)
		return mathext.GammaIncReg(shape, days*shape/l.Mean)
	case days >= l.Mean:
		return 1
	}
	return 0
}

// normalBelow is the standard normal distribution function.
func normalBelow(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// inTime reports whether a load ordered the given days ahead is there with probability q.
func inTime(l inventory.LeadTime, days calendar.Day, q float64) bool {
	return within(l, float64(days)+dayTolerance) >= q
}

// plannedDay is the first day by which a delivery has come with the arrival quantile, not before the plan's start.
func (a *auditor) plannedDay(d inventory.Delivery) calendar.Day {
	if d.Spread <= 0 {
		return max(a.p.Start, d.ETA)
	}
	wide := calendar.Day(math.Ceil(10 * d.Spread)) // beyond ten standard deviations any quantile is reached
	day := d.ETA - wide
	for day < d.ETA+wide && normalBelow((float64(day-d.ETA)+dayTolerance)/d.Spread) < a.quantile {
		day++
	}
	return max(a.p.Start, day)
}

// committed is the mass of a material that committed deliveries bring, by bucket.
func (a *auditor) committed(material string) []num {
	list := make([]num, len(a.p.Buckets))
	for _, d := range a.in.Deliveries {
		if d.Material != material || d.Status == inventory.Received || d.Status == inventory.Rejected {
			continue
		}
		if t := a.bucketOf(a.plannedDay(d)); t >= 0 && t < len(list) {
			list[t] = list[t].add(entered(d.Mass))
		}
	}
	return list
}

// landed is what a load on a lane costs, price and freight, in the plant's currency.
func landed(lane inventory.Lane) num {
	cost := entered(lane.Load).mul(entered(lane.Price)).add(entered(lane.Freight))
	return cost.mul(orElse(entered(lane.Rate), whole(1)))
}

// takesOrders reports whether a lane's days and weekdays allow an order on d. A calendar day 0, 1970-01-01, was a Thursday.
func takesOrders(lane inventory.Lane, d calendar.Day) bool {
	if lane.From != 0 && d < lane.From || lane.To != 0 && d >= lane.To {
		return false
	}
	any := false
	for _, yes := range lane.OrderDays {
		any = any || yes
	}
	return !any || lane.OrderDays[((int(d)+4)%7+7)%7]
}

func (a *auditor) checkPurchases() {
	for _, x := range a.p.Purchases {
		a.checkPurchase(x)
	}
	for _, lane := range a.in.Lanes {
		a.checkLoadsAWeek(lane)
	}
}

func (a *auditor) checkPurchase(x planner.Purchase) {
	lane, w, b := a.lane[x.Lane], a.at(x.Bucket, "lane "+x.Lane), a.p.Buckets[x.Bucket]
	cost := whole(x.Loads).mul(landed(lane))
	a.atLeast(Loads, w, whole(x.Loads), whole(max(1, lane.MinLoads)), 0, "loads", "least loads an order")
	a.equal(Loads, w, computed(x.Mass), whole(x.Loads).mul(entered(lane.Load)), massTolerance, "kg", "mass of whole loads")
	a.equal(Loads, w, computed(x.Cost), cost, moneyTolerance, a.in.Plant.Currency, "price and freight")
	a.holds(Loads, w, b.Span.Has(x.OrderBy), "the order is not placed within its bucket")
	a.holds(Loads, w, takesOrders(lane, x.OrderBy), "the lane takes no orders on that day")
	for d := b.Span.From; d < x.OrderBy; d++ {
		a.holds(Loads, w, !takesOrders(lane, d), "the lane takes orders on an earlier day of the bucket, "+d.String())
	}
	a.holds(LeadTime, w, inTime(lane.LeadTime, x.Arrives-x.OrderBy, a.quantile), "the loads are planned to arrive before the lead time at the arrival quantile, on "+x.Arrives.String())
	a.holds(LeadTime, w, !inTime(lane.LeadTime, x.Arrives-x.OrderBy-1, a.quantile), "the loads are planned to arrive later than the lead time at the arrival quantile, on "+x.Arrives.String())
	a.holds(LeadTime, w, x.Arrives < a.end(), "the loads arrive after the horizon")
	a.bill(costBuying, cost)
}

// checkLoadsAWeek checks every run of weeks that is long enough for one order on the lane.
func (a *auditor) checkLoadsAWeek(lane inventory.Lane) {
	if lane.LoadsAWeek <= 0 {
		return
	}
	once := max(math.Floor(lane.LoadsAWeek), float64(lane.MinLoads), 1)
	weeks := calendar.Day(math.Ceil(once/lane.LoadsAWeek - 1e-9)) // 1e-9: a quotient that is whole but for rounding
	limit := max(once, math.Floor(lane.LoadsAWeek*float64(weeks)+1e-9))
	for from := a.p.Start.Monday(); from < a.end(); from += 7 {
		sum := 0
		for _, x := range a.p.Purchases {
			if d := a.p.Buckets[x.Bucket].Span.From; x.Lane == lane.Code && from <= d && d < from+7*weeks {
				sum += x.Loads
			}
		}
		a.atMost(Loads, a.at(a.bucketOf(max(from, a.p.Start)), "lane "+lane.Code), whole(sum), computed(limit), 0, "loads", "most loads from the week on")
	}
}

// arrivals is what comes of a material by bucket: committed deliveries and the plan's own loads.
func (a *auditor) arrivals(material string) []num {
	list := a.committed(material)
	for _, x := range a.p.Purchases {
		lane := a.lane[x.Lane]
		if t := a.bucketOf(x.Arrives); lane.Material == material && t >= 0 && t < len(list) {
			list[t] = list[t].add(whole(x.Loads).mul(entered(lane.Load)))
		}
	}
	return list
}

// freeLots is the mass of a material in lots that are not on hold.
func (a *auditor) freeLots(material string) num {
	sum := num{}
	for _, l := range a.in.Lots {
		if l.Material == material && !l.Hold {
			sum = sum.add(entered(l.Mass))
		}
	}
	return sum
}

// stockOf is what was counted.
func (a *auditor) stockOf(kind inventory.StockKind, code string) num {
	sum := num{}
	for _, s := range a.in.Stock {
		switch {
		case s.Kind != kind || s.Code != code:
		case kind == inventory.ProfileStock:
			sum = sum.add(entered(s.Length))
		default:
			sum = sum.add(entered(s.Mass))
		}
	}
	return sum
}

func money(x num) quantity.Money { return quantity.Money(x.float()) }
