package inventory

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

const (
	// wholeDays is how far above a whole number of days a quantile may lie and still count as it: a tenth of a
	// second, so that rounding in the quantile never costs a day.
	wholeDays = 1e-6
	// longestDays caps a wait, a hundred years, so that days stay within calendar.Day.
	longestDays = 36525
	// longestOverdue is after how many days what has not come is no longer counted on: by then the day is wrong, or the delivery lost.
	longestOverdue = 180
	// leastProbability keeps arrival quantiles off 0 and 1, where an unbounded distribution has no days.
	leastProbability = 1e-6
)

// ceilDays rounds up to whole days, between minus and plus a hundred years.
func ceilDays(days float64) calendar.Day {
	return calendar.Day(math.Ceil(min(max(days-wholeDays, -longestDays), longestDays)))
}

// probability brings p into the open interval (0, 1); what is not a number becomes one half.
func probability(p float64) float64 {
	if math.IsNaN(p) {
		return 0.5
	}
	return min(max(p, leastProbability), 1-leastProbability)
}

// PlannedArrival is the day by which a delivery has come with probability q: ETA + ⌈z(q)·Spread⌉ with a normal
// spread, before the ETA for q below 0.5. A q outside of (0, 1) counts as the nearest to it inside.
// It does not look at the status or at today: see Coming.
func PlannedArrival(d Delivery, q float64) calendar.Day {
	if !(d.Spread > 0) {
		return d.ETA
	}
	return d.ETA + ceilDays(distuv.UnitNormal.Quantile(probability(q))*d.Spread)
}

// Coming reports whether a delivery is still to be counted on: neither received nor rejected.
func (d Delivery) Coming() bool { return d.Status != Received && d.Status != Rejected }

// Overdue reports whether a delivery that is still to be counted on was expected before today.
func (d Delivery) Overdue(today calendar.Day) bool { return d.Coming() && d.ETA < today }

// Doubtful reports whether a delivery that is overdue may still come; after half a year somebody has to say so.
func (d Delivery) Doubtful(today calendar.Day) bool {
	return d.Overdue(today) && today-d.ETA <= longestOverdue
}

// Check says what is wrong or doubtful about a delivery on the day today. It is doubtful whether what was to come before today and has not
// was forgotten, unless it is said to be late; received and rejected ones are past that.
func (d Delivery) Check(today calendar.Day) []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", d.Code)
	c.Named("Material", d.Material)
	c.Positive("Mass", float64(d.Mass), "kg")
	c.NotNegative("Spread", d.Spread, "days")
	c.Usual("Spread", d.Spread, 0, 60, "days", "it is one standard deviation of the arrival")
	c.OneOf("Status", string(d.Status), string(Ordered), string(Afloat), string(AtPort), string(OnRoad), string(Received), string(Rejected))
	switch {
	case d.ETA == 0:
		c.Add(quantity.Problem{Field: "ETA", Value: "no day", Allowed: "a day such as " + today.String()})
	case d.Ordered > d.ETA:
		c.Add(quantity.Problem{Field: "ETA", Value: d.ETA.String(), Allowed: "the day of the order, " + d.Ordered.String() + ", or later"})
	case d.Overdue(today) && !d.Late:
		c.Add(quantity.Problem{Field: "ETA", Value: d.ETA.String(), Allowed: today.String() + " or later",
			Remedy: "book it as received, give it a new ETA, or mark it late", Warning: d.Doubtful(today)})
	}
	return c.Problems()
}

// ExpectedDelay is the mean delay in days of a service of which a share is in time and the rest is late by a mean.
func ExpectedDelay(inTime quantity.Share, meanLate float64) float64 {
	return float64(1-inTime) * meanLate
}

// AvailableMass is what of a material's lots the plan may use: those not on hold.
func AvailableMass(lots []Lot, material string) quantity.Mass {
	var sum quantity.Mass
	for _, l := range lots {
		if l.Material == material && !l.Hold {
			sum += l.Mass
		}
	}
	return sum
}
