package records

import (
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// Decision is what is decided over a lot.
type Decision string

// The decisions.
const (
	NoDecision Decision = ""
	Hold       Decision = "hold"
	Release    Decision = "release"
)

// Receipt is a weighed load, or a part of one, that becomes a lot. What is blank is taken from the delivery, the lane or the material.
type Receipt struct {
	Code     string // ticket of the weighbridge
	Day      calendar.Day
	Lot      string // "" = the ticket's number
	Delivery string // "" if none was announced
	Part     bool   // more of the delivery is to come
	Lane     string
	Supplier string
	Material string
	Form     inventory.Form
	Source   inventory.Source
	Ordered  calendar.Day // 0 = not known
	Gross    quantity.Mass
	Tare     quantity.Mass
	Net      quantity.Mass // 0 = gross − tare
	// Results, see inventory.Measure for units.
	Moisture, Contamination, MFR, Bromine, HBCDD Measured
	Decision                                     Decision
	Reason                                       string // of a hold
	Note                                         string
	// Of the delivery before: filled in when it is booked.
	WasStatus inventory.DeliveryStatus
	WasMass   quantity.Mass
}

// Head is what every record has.
func (r Receipt) Head() Head { return Head{KindReceipt, r.Code, r.Day, r.Note} }

func (r Receipt) coded(s string) Record { r.Code = s; return r }

// NetGrams is the net weight.
func (r Receipt) NetGrams() int64 {
	if r.Net > 0 {
		return Grams(r.Net)
	}
	return Grams(r.Gross) - Grams(r.Tare)
}

// Check says what is wrong with the receipt by itself.
func (r Receipt) Check() []quantity.Problem {
	var c quantity.Checks
	checkDay(&c, r.Day)
	c.NotNegative("Gross", float64(r.Gross), "kg")
	c.NotNegative("Tare", float64(r.Tare), "kg")
	c.NotNegative("Net", float64(r.Net), "kg")
	kg := func(m quantity.Mass) string { return m.Format(quantity.Metric, 1) }
	switch {
	case len(c.Problems()) > 0:
	case r.NetGrams() <= 0:
		c.Add(quantity.Problem{Field: "Net", Value: kg(MassOf(r.NetGrams())), Allowed: "more than 0", Remedy: "enter the net weight, or gross and tare"})
	case r.Gross > 0 && r.Net > 0 && Grams(r.Gross)-Grams(r.Tare) != Grams(r.Net):
		c.Add(quantity.Problem{Field: "Net", Value: kg(r.Net), Allowed: "gross − tare, " + kg(r.Gross-r.Tare), Remedy: "check the ticket"})
	}
	if r.Ordered > r.Day {
		c.Add(quantity.Problem{Field: "Ordered", Value: r.Ordered.String(), Allowed: r.Day.String() + " or before", Remedy: "a load is not received before it is ordered"})
	}
	checkResults(&c, r.Moisture, r.Contamination, r.MFR, r.Bromine, r.HBCDD)
	checkDecision(&c, r.Decision, r.Reason)
	return c.Problems()
}

// Results is what was measured.
func (r Receipt) Results() inventory.Results {
	return results(r.Moisture, r.Contamination, r.MFR, r.Bromine, r.HBCDD)
}

// Test is results of a lot that came after its receipt, or the word over it.
type Test struct {
	Code                                         string
	Day                                          calendar.Day
	Lot                                          string
	Moisture, Contamination, MFR, Bromine, HBCDD Measured
	Decision                                     Decision
	Reason                                       string
	Note                                         string
	// Of the lot before: filled in when it is booked.
	WasHold   bool
	WasReason string
}

// Head is what every record has.
func (r Test) Head() Head { return Head{KindTest, r.Code, r.Day, r.Note} }

func (r Test) coded(s string) Record { r.Code = s; return r }

// Check says what is wrong with the test by itself.
func (r Test) Check() []quantity.Problem {
	var c quantity.Checks
	checkDay(&c, r.Day)
	c.Named("Lot", r.Lot)
	checkResults(&c, r.Moisture, r.Contamination, r.MFR, r.Bromine, r.HBCDD)
	checkDecision(&c, r.Decision, r.Reason)
	if len(r.Results()) == 0 && r.Decision == NoDecision {
		c.Add(quantity.Problem{Field: "Decision", Value: "blank", Allowed: "a result, hold or release"})
	}
	return c.Problems()
}

// Results is what was measured.
func (r Test) Results() inventory.Results {
	return results(r.Moisture, r.Contamination, r.MFR, r.Bromine, r.HBCDD)
}

func results(list ...Measured) inventory.Results {
	out := inventory.Results{}
	for i, m := range list {
		if m.Known {
			out[inventory.Measures[i]] = m.Value
		}
	}
	return out
}

func checkResults(c *quantity.Checks, list ...Measured) {
	fields := []string{"Moisture", "Contamination", "MFR", "Bromine", "HBCDD"}
	for i, m := range list {
		switch {
		case !m.Known:
		case i < 2:
			c.Fraction(fields[i], quantity.Share(m.Value))
		default:
			c.Within(fields[i], m.Value, 0, 1e6, inventory.Measures[i].Unit())
		}
	}
}

func checkDecision(c *quantity.Checks, d Decision, reason string) {
	c.OneOf("Decision", string(d), string(NoDecision), string(Hold), string(Release))
	if d == Hold && reason == "" {
		c.Add(quantity.Problem{Field: "Reason", Value: "blank", Allowed: "why the lot is on hold"})
	}
}

// checkDay asks for a day that can be meant.
func checkDay(c *quantity.Checks, d calendar.Day) {
	if first := calendar.Date(1990, 1, 1); d < first {
		value := d.String()
		if d == 0 {
			value = "no day"
		}
		c.Add(quantity.Problem{Field: "Day", Value: value, Allowed: "the day it happened, " + first.String() + " or later"})
	}
}
