package yield

import (
	"fmt"
	"slices"

	"feedline/inventory/quantity"
)

// usualYield is the least yield that steps have as a rule; the assumed defaults, which have no published source,
// lie between 0.90 and 0.995.
const usualYield = 0.7

// Check says what is wrong or doubtful about a step by itself. Whether its forms exist is for the caller.
func (s Step) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", s.Code)
	if len(s.Forms) == 0 {
		c.Add(quantity.Problem{Field: "Forms", Value: "none", Allowed: "at least one form", Remedy: "no material would pass the step", Warning: true})
	}
	checkYield(&c, s.Yield)
	c.NotNegative("Rate", float64(s.Rate), "kg/h")
	c.NotNegative("Machines", float64(s.Machines), "")
	if s.Rate > 0 && s.Machines == 0 {
		c.Add(quantity.Problem{Field: "Machines", Value: "0", Allowed: "1 or more, for a step with a rate", Remedy: "set the rate to 0 if it is not a limit"})
	}
	if s.Rate > 0 && !(s.Availability > 0 && s.Availability <= 1) {
		c.Add(quantity.Problem{Field: "Availability", Value: fmt.Sprintf("%g", float64(s.Availability)), Allowed: "above 0, up to 1", Remedy: "write 90 % as 0.9"})
	}
	c.NotNegative("Cost", float64(s.Cost), "a kg")
	return c.Problems()
}

// checkYield refuses a yield out of (0, 1]: nothing gains mass, and what yields nothing is no feed.
func checkYield(c *quantity.Checks, y quantity.Share) {
	if y >= 2 && y <= 100 {
		c.Add(quantity.Problem{Field: "Yield", Value: fmt.Sprintf("%g", float64(y)), Allowed: "above 0, up to 1", Remedy: quantity.AsShare(y)})
		return
	}
	if !(y > 0 && y <= 1) {
		c.Add(quantity.Problem{Field: "Yield", Value: fmt.Sprintf("%g", float64(y)), Allowed: "above 0, up to 1", Remedy: "it is mass out ÷ mass in; write 97 % as 0.97"})
		return
	}
	c.Usual("Yield", float64(y), usualYield, 1, "", "it is mass out ÷ mass in")
}

// Check says what is wrong or doubtful about an override by itself.
func (o Override) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Step", o.Step)
	c.Named("Material", o.Material)
	checkYield(&c, o.Yield)
	return c.Problems()
}

// Check says what is wrong or doubtful about a loop.
func (l Loop) Check() []quantity.Problem {
	var c quantity.Checks
	if !(l.Quality > 0 && l.Quality <= 1) {
		c.Add(quantity.Problem{Field: "Quality", Value: fmt.Sprintf("%g", float64(l.Quality)), Allowed: "above 0, up to 1"})
	}
	c.Fraction("Recovery", l.Recovery)
	c.Fraction("MaxShare", l.MaxShare)
	return c.Problems()
}

// Check says which overrides name a step that the chain does not have, or the same step and material twice. The
// first of two counts. Field is "Overrides[i].Step"; the steps and overrides by themselves have their own Check.
func (c Chain) Check() []quantity.Problem {
	var found quantity.Checks
	for i, o := range c.Overrides {
		field := fmt.Sprintf("Overrides[%d].Step", i)
		if !slices.ContainsFunc(c.Steps, func(s Step) bool { return s.Code == o.Step }) {
			found.Add(quantity.Problem{Field: field, Value: fmt.Sprintf("%q", o.Step), Allowed: "the code of a step"})
		}
		if slices.ContainsFunc(c.Overrides[:i], func(x Override) bool { return x.Step == o.Step && x.Material == o.Material }) {
			found.Add(quantity.Problem{Field: field, Value: fmt.Sprintf("%q for %q", o.Step, o.Material), Allowed: "one override a step and material", Remedy: "delete one"})
		}
	}
	return found.Problems()
}
