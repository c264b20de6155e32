package inventory

import (
	"fmt"
	"strings"

	"feedline/inventory/quantity"
)

// Measure is what a lot is tested for.
type Measure string

// The measures. Moisture and contamination are shares of mass, bromine and HBCDD mg/kg, MFR g/10 min at 200 °C and 5 kg.
const (
	Moisture      Measure = "moisture"
	Contamination Measure = "contamination"
	MeltFlow      Measure = "MFR"
	Bromine       Measure = "bromine"
	HBCDD         Measure = "HBCDD"
)

// Measures is all of them, in the order that they are shown in.
var Measures = []Measure{Moisture, Contamination, MeltFlow, Bromine, HBCDD}

// Unit is what values of the measure are in; "" for a share of one.
func (m Measure) Unit() string {
	switch m {
	case Bromine, HBCDD:
		return "mg/kg"
	case MeltFlow:
		return "g/10 min"
	}
	return ""
}

// Limit is the most of something that a lot may have to be fed here. The law differs by place and by use, so that limits are
// the plant's own to enter, with their source.
type Limit struct {
	Measure  Measure
	Use      string  // place and use that it holds for, such as "EU, profiles"
	Most     float64 // in the measure's unit
	Required bool    // a lot without a result waits on hold
	Source   string  // law, standard or customer's specification
}

// Check says what is wrong or doubtful about a limit.
func (l Limit) Check() []quantity.Problem {
	var c quantity.Checks
	var words []string
	for _, m := range Measures {
		words = append(words, string(m))
	}
	c.OneOf("Measure", string(l.Measure), words...)
	c.NotNegative("Most", l.Most, l.Measure.Unit())
	if l.Measure == Moisture || l.Measure == Contamination {
		c.Within("Most", l.Most, 0, 1, "")
	}
	if strings.TrimSpace(l.Source) == "" {
		c.Add(quantity.Problem{Field: "Source", Value: "blank", Allowed: "where the limit is from", Remedy: "name the law, the standard or the customer's paper", Warning: true})
	}
	return c.Problems()
}

// Results is the latest result of each measure of a lot.
type Results map[Measure]float64

// Over is why a lot with these results must wait: each limit that is exceeded, and each that requires a result where there is
// none; nil if it may be fed. What is not a number exceeds. HBCDD without a limit of the plant's own is held against HBCDDLimit for profiles.
func Over(limits []Limit, have Results) []string {
	var why []string
	own := false
	for _, l := range limits {
		own = own || l.Measure == HBCDD
		v, tested := have[l.Measure]
		switch {
		case tested && !(v <= l.Most):
			why = append(why, fmt.Sprintf("%s %s, limit %s (%s)", l.Measure, amountText(v, l.Measure), amountText(l.Most, l.Measure), l.where()))
		case !tested && l.Required:
			why = append(why, fmt.Sprintf("%s not tested, limit %s (%s)", l.Measure, amountText(l.Most, l.Measure), l.where()))
		}
	}
	if v, tested := have[HBCDD]; tested && !own && !(v <= HBCDDLimit(Moulding)) {
		why = append(why, fmt.Sprintf("HBCDD %g mg/kg, limit %g mg/kg (Regulation (EU) 2019/1021, articles; no limit of the plant's own is entered)", v, HBCDDLimit(Moulding)))
	}
	return why
}

func (l Limit) where() string {
	var parts []string
	for _, s := range []string{l.Use, l.Source} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if len(parts) == 0 {
		return "no source entered"
	}
	return strings.Join(parts, "; ")
}

func amountText(v float64, m Measure) string {
	if m == Moisture || m == Contamination {
		return quantity.Share(v).Format(2)
	}
	return fmt.Sprintf("%g %s", v, m.Unit())
}
