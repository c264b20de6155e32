package inventory

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// LoadArrival is the day by which a load ordered on a lane on the given day is in the yard with probability q:
// ordered + ⌈quantile⌉. A q outside of (0, 1) counts as the nearest to it inside.
func LoadArrival(l Lane, ordered calendar.Day, q float64) calendar.Day {
	return ordered + ceilDays(l.LeadTime.Quantile(probability(q)))
}

// OrderByDate is the last day to order on a lane so that the load is in the yard by the day it is needed with
// probability service: needed − ⌈quantile⌉. It may lie in the past, and outside of the days on which the lane takes orders:
// see LastOrder.
func OrderByDate(l Lane, needed calendar.Day, service float64) calendar.Day {
	return needed - ceilDays(l.LeadTime.Quantile(probability(service)))
}

// TakesOrders reports whether orders can be placed on the lane on d: within its days, and on one of its weekdays.
func (l Lane) TakesOrders(d calendar.Day) bool {
	always := l.From == 0 && l.To == 0
	return (always || calendar.Span{From: l.From, To: l.To}.Has(d)) && (l.OrderDays == [7]bool{} || l.OrderDays[d.Weekday()])
}

// FirstOrder is the first day of span on which orders can be placed on the lane; false if there is none.
func (l Lane) FirstOrder(span calendar.Span) (calendar.Day, bool) {
	if l.From != 0 || l.To != 0 {
		span = span.Overlap(calendar.Span{From: l.From, To: l.To})
	}
	for d := span.From; d < min(span.To, span.From+7); d++ {
		if l.TakesOrders(d) {
			return d, true
		}
	}
	return 0, false
}

// LastOrder is the last day up to and with d on which orders can be placed on the lane; false if there is none.
func (l Lane) LastOrder(d calendar.Day) (calendar.Day, bool) {
	if l.To != 0 {
		d = min(d, l.To-1)
	}
	for n := calendar.Day(0); n < 7; n++ {
		if l.TakesOrders(d - n) {
			return d - n, true
		}
	}
	return 0, false
}

// ServiceFactor is z, the standard normal quantile of a service level: 1.645 for 0.95.
func ServiceFactor(service float64) float64 { return distuv.UnitNormal.Quantile(probability(service)) }

// Replenishment is daily use and lead time, each with its standard deviation, for the reorder point by the normal approximation.
// It is exact only if the use over the lead time is normal, which it is not when the lead time itself varies much:
// order-by dates use the lead time's own quantile instead.
type Replenishment struct {
	Use, UseSD   quantity.Mass // a day
	Lead, LeadSD float64       // days
}

// Expected is the mean use over the lead time, μ = d·L.
func (r Replenishment) Expected() quantity.Mass { return r.Use * quantity.Mass(r.Lead) }

// Deviation is the standard deviation of the use over the lead time, √(L·σ_d² + d²·σ_L²).
func (r Replenishment) Deviation() quantity.Mass {
	return quantity.Mass(math.Sqrt(r.Lead*float64(r.UseSD*r.UseSD) + float64(r.Use*r.Use)*r.LeadSD*r.LeadSD))
}

// SafetyStock is z·σ for a service factor z.
func (r Replenishment) SafetyStock(z float64) quantity.Mass { return quantity.Mass(z) * r.Deviation() }

// ReorderPoint is the stock at which to order, μ + z·σ.
func (r Replenishment) ReorderPoint(z float64) quantity.Mass { return r.Expected() + r.SafetyStock(z) }

// AverageCover is the days that a stock lasts at a steady use, +Inf without use.
func AverageCover(stock, useADay quantity.Mass) float64 {
	if useADay <= 0 {
		return math.Inf(1)
	}
	return float64(max(0, stock) / useADay)
}

// PeriodUse is what is used over a number of days, evenly.
type PeriodUse struct {
	Days int
	Mass quantity.Mass
}

// ForwardCover is the days until the planned use, period after period from now, first asks for more than is left; within
// that period by proportion. +Inf if it never does. Periods of no days are used at once; a stock below 0 counts as 0.
func ForwardCover(stock quantity.Mass, use []PeriodUse) float64 {
	stock = max(0, stock)
	days := 0.0
	for _, u := range use {
		if u.Mass > stock {
			return days + float64(u.Days)*float64(stock/u.Mass)
		}
		stock -= u.Mass
		days += float64(u.Days)
	}
	return math.Inf(1)
}

// LandedCost is what a kilogram of pellets made of a lane's material costs at the yard's gate, in the plant's currency:
// (price + freight ÷ load) × rate ÷ yield to pellets. The steps' own cost is not in it. +Inf for a load or a yield of 0.
func LandedCost(l Lane, yield quantity.Share) quantity.MassPrice {
	if !(l.Load > 0) || !(yield > 0) {
		return quantity.MassPrice(math.Inf(1))
	}
	perKg := float64(l.Price) + float64(l.Freight)/float64(l.Load)
	return quantity.MassPrice(perKg * l.ExchangeRate() / float64(yield))
}

// ExchangeRate is the plant's currency per unit of the lane's.
func (l Lane) ExchangeRate() float64 {
	if l.Rate == 0 {
		return 1
	}
	return l.Rate
}

// LoadCost is what a whole load costs with its freight, in the plant's currency.
func (l Lane) LoadCost() quantity.Money {
	return quantity.Money((float64(l.Price)*float64(l.Load) + float64(l.Freight)) * l.ExchangeRate())
}
