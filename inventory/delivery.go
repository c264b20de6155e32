package inventory

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/lines/calendar"
)

// wholeDays is how far above a whole number of days a quantile may lie and still count as it, in days:
// a tenth of a second, so that rounding in the quantile never costs a day.
const wholeDays = 1e-6

// ceilDays rounds up to whole days.
func ceilDays(days float64) calendar.Day { return calendar.Day(math.Ceil(days - wholeDays)) }

// PlannedArrival is the day by which a delivery has come with probability q, 0 < q < 1:
// ETA + ⌈z(q)·Spread⌉ with a normal spread, before the ETA for q below 0.5.
func PlannedArrival(d Delivery, q float64) calendar.Day {
	if d.Spread <= 0 {
		return d.ETA
	}
	return d.ETA + ceilDays(distuv.UnitNormal.Quantile(q)*d.Spread)
}

// Coming reports whether a delivery is still to be counted on: neither received nor rejected.
func (d Delivery) Coming() bool { return d.Status != Received && d.Status != Rejected }
