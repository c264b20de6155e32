package lines

import (
	"feedline/inventory/quantity"
)

// Performance is what a line did in a shift, for the ratios of ISO 22400-2:2014 (indicators for manufacturing operations).
// Amounts are metres or pieces, as long as all are the same.
type Performance struct {
	PlannedBusy quantity.Hours // PBT: the time it was meant to run, breaks and closures taken off
	Production  quantity.Hours // APT: the time it ran
	IdealRate   float64        // amount an hour at the planned rate: 1 ÷ PRI
	Produced    float64        // PQ: good and bad
	Good        float64        // GQ
}

// OEE is the ratios; each is 0 where its denominator is.
type OEE struct {
	Availability  quantity.Share // APT ÷ PBT
	Effectiveness quantity.Share // PRI · PQ ÷ APT; above 1 the ideal rate was entered too low
	Quality       quantity.Share // GQ ÷ PQ
	Index         quantity.Share // the product: GQ · PRI ÷ PBT
}

// Ratios computes the ratios of p. A negative amount gives a negative ratio: see Check.
func (p Performance) Ratios() OEE {
	o := OEE{
		Availability:  ratio(float64(p.Production), float64(p.PlannedBusy)),
		Effectiveness: ratio(p.Produced, p.IdealRate*float64(p.Production)),
		Quality:       ratio(p.Good, p.Produced),
	}
	o.Index = o.Availability * o.Effectiveness * o.Quality
	return o
}

func ratio(a, b float64) quantity.Share {
	if b == 0 {
		return 0
	}
	return quantity.Share(a / b)
}

// Check says what can't be: negative figures, more running time than planned, more good than made. An effectiveness
// above 1 is a warning that the ideal rate is too low.
func (p Performance) Check() []quantity.Problem {
	var c quantity.Checks
	c.NotNegative("PlannedBusy", float64(p.PlannedBusy), "h")
	c.Within("Production", float64(p.Production), 0, float64(p.PlannedBusy), "h")
	c.NotNegative("IdealRate", p.IdealRate, "an hour")
	c.NotNegative("Produced", p.Produced, "")
	c.Within("Good", p.Good, 0, p.Produced, "")
	c.Usual("IdealRate", p.IdealRate, ratePossible(p), inf, "an hour", "more was made than the ideal rate allows: it is entered too low")
	return c.Problems()
}

// ratePossible is the least ideal rate that explains what was made.
func ratePossible(p Performance) float64 { return float64(ratio(p.Produced, float64(p.Production))) }
