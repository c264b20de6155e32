package planner

import (
	"cmp"
	"math"
	"slices"

	"feedline/lines/calendar"
)

// gatherDemand sorts the orders and the net forecast of each profile into classes of equal priority.
// Orders that were due before the plan starts are due in its first bucket; those due after its end are left out.
func (f *facts) gatherDemand() {
	f.classes = make([][]class, len(f.in.Profiles))
	order := sequence(len(f.in.Orders))
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := f.in.Orders[a], f.in.Orders[b]
		return cmp.Or(cmp.Compare(x.Due, y.Due), cmp.Compare(x.Code, y.Code))
	})
	for _, o := range order {
		x := f.in.Orders[o]
		t := max(0, f.bucketOf(x.Due))
		if t >= len(f.buckets) || x.Length <= 0 {
			continue
		}
		p := f.profileAt[x.Profile]
		c := f.classFor(p, min(max(x.Priority, 1), lastPriority))
		c.metres[t] += float64(x.Length)
		c.orders = append(c.orders, o)
	}
	for p := range f.in.Profiles {
		f.addForecast(p)
		slices.SortFunc(f.classes[p], func(a, b class) int { return cmp.Compare(a.priority, b.priority) })
		for i := range f.classes[p] {
			f.priceClass(p, &f.classes[p][i])
		}
	}
}

func sequence(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}

// classFor finds or makes the class of profile p with the given priority.
func (f *facts) classFor(p, priority int) *class {
	for i := range f.classes[p] {
		if f.classes[p][i].priority == priority {
			return &f.classes[p][i]
		}
	}
	f.classes[p] = append(f.classes[p], class{priority: priority, metres: make([]float64, len(f.buckets))})
	return &f.classes[p][len(f.classes[p])-1]
}

// priceClass sets what a late metre and an unmade metre of the class cost.
func (f *facts) priceClass(p int, c *class) {
	price, metres := 0.0, 0.0
	for _, o := range c.orders {
		x := f.in.Orders[o]
		price += f.orderPrice(o) * float64(x.Length)
		metres += float64(x.Length)
	}
	if metres > 0 {
		price /= metres
	} else {
		price = float64(f.in.Profiles[p].Price)
	}
	plant := f.in.Plant
	c.late = price * orDefault(float64(plant.LateCostADay), defaultLateADay) * math.Pow(priorityStep, float64(1-c.priority))
	c.unmet = price * (1 + orDefault(float64(plant.UnmetCost), defaultUnmet))
	for _, m := range c.metres {
		c.total += m
	}
}

// orderPrice is the price a metre of order o, in the plant's currency.
func (f *facts) orderPrice(o int) float64 {
	x := f.in.Orders[o]
	if x.Price > 0 {
		return float64(x.Price)
	}
	return float64(f.in.Profiles[f.profileAt[x.Profile]].Price)
}

// addForecast adds what is left of profile p's forecasts once the orders due in each have consumed it.
func (f *facts) addForecast(p int) {
	horizon := calendar.Span{From: f.start, To: f.end()}
	for _, fc := range f.in.Forecasts {
		if f.profileAt[fc.Profile] != p {
			continue
		}
		span := calendar.Span{From: fc.From, To: fc.To}
		ahead := span.Overlap(horizon)
		net := f.netForecast(fc, ahead)
		if net <= 0 {
			continue
		}
		c := f.classFor(p, forecastPriority)
		for t, b := range f.buckets {
			c.metres[t] += net * float64(b.Span.Overlap(ahead).Days()) / float64(ahead.Days())
		}
	}
}

// netForecast is the part of fc that falls into the days ahead and no order has consumed, in metres.
// The forecast is spread evenly over its days.
func (f *facts) netForecast(fc Forecast, ahead calendar.Span) float64 {
	days := calendar.Span{From: fc.From, To: fc.To}.Days()
	if days == 0 || ahead.Days() == 0 {
		return 0
	}
	net := float64(fc.Length) * float64(ahead.Days()) / float64(days)
	for _, o := range f.in.Orders {
		if o.Profile == fc.Profile && ahead.Has(o.Due) {
			net -= float64(o.Length)
		}
	}
	return net
}
