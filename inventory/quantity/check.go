package quantity

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Checks collects the problems of one record. Its methods take the field's Go name, its value as stored and
// the unit that it is stored in, "" for none. A value that is not a finite number is a fault in each of them.
type Checks struct{ list []Problem }

// Problems is what was found, nil if nothing.
func (c *Checks) Problems() []Problem { return c.list }

// Add adds a problem that is not a matter of one number's range.
func (c *Checks) Add(p Problem) { c.list = append(c.list, p) }

// Named asks for a code or a name that is not blank.
func (c *Checks) Named(field, value string) {
	if strings.TrimSpace(value) == "" {
		c.Add(Problem{Field: field, Value: strconv.Quote(value), Allowed: "anything but blank", Remedy: "give it a code of its own"})
	}
}

// OneOf asks for one of the listed words.
func (c *Checks) OneOf(field, value string, allowed ...string) {
	if !slices.Contains(allowed, value) {
		c.Add(Problem{Field: field, Value: strconv.Quote(value), Allowed: strings.Join(allowed, ", ")})
	}
}

// Within asks for lo ≤ v ≤ hi; infinite bounds are none.
func (c *Checks) Within(field string, v, lo, hi float64, unit string) {
	if !(lo <= v && v <= hi) || math.IsInf(v, 0) {
		c.Add(Problem{Field: field, Value: valueText(v, unit), Allowed: rangeText(lo, hi, unit)})
	}
}

// NotNegative asks for 0 or more.
func (c *Checks) NotNegative(field string, v float64, unit string) {
	c.Within(field, v, 0, math.Inf(1), unit)
}

// Positive asks for more than 0.
func (c *Checks) Positive(field string, v float64, unit string) {
	if !(v > 0) || math.IsInf(v, 0) {
		c.Add(Problem{Field: field, Value: valueText(v, unit), Allowed: spaced("more than 0", unit)})
	}
}

// leastPercent is the least number that is taken for a percentage in a share's place; what is a little above 1 is not.
const leastPercent = 2

// Fraction asks for a share from 0 to 1.
func (c *Checks) Fraction(field string, s Share) {
	if v := float64(s); v >= leastPercent && v <= 100 {
		c.Add(Problem{Field: field, Value: valueText(v, ""), Allowed: rangeText(0, 1, ""), Remedy: AsShare(s)})
		return
	}
	c.Within(field, float64(s), 0, 1, "")
}

// AsShare is how a share that was typed as a percentage is written.
func AsShare(s Share) string {
	return fmt.Sprintf("it is a share: write %s %% as %s", strconv.FormatFloat(float64(s), 'g', 6, 64), strconv.FormatFloat(float64(s)/100, 'g', 6, 64))
}

// Usual warns of a number outside of lo … hi, which is where such numbers lie as a rule; the remedy says what to look at.
// A field that has a problem already gets no warning, and a number that is not finite is left to the other methods.
func (c *Checks) Usual(field string, v, lo, hi float64, unit, remedy string) {
	found := slices.ContainsFunc(c.list, func(p Problem) bool { return p.Field == field })
	if (v < lo || v > hi) && !math.IsInf(v, 0) && !found {
		c.Add(Problem{Field: field, Value: valueText(v, unit), Allowed: "as a rule " + rangeText(lo, hi, unit), Remedy: remedy, Warning: true})
	}
}

func valueText(v float64, unit string) string {
	return spaced(strconv.FormatFloat(v, 'g', 6, 64), unit)
}

func rangeText(lo, hi float64, unit string) string {
	l, h := strconv.FormatFloat(lo, 'g', 6, 64), strconv.FormatFloat(hi, 'g', 6, 64)
	switch {
	case math.IsInf(hi, 1):
		return spaced(l, unit) + " or more"
	case math.IsInf(lo, -1):
		return spaced(h, unit) + " or less"
	}
	return spaced(fmt.Sprintf("%s to %s", l, h), unit)
}

// MaxDensity is the density in kg/m³ that no polystyrene exceeds: solid is 1 030 to 1 070, filled grades aside.
const MaxDensity = 1100
