package yield

import (
	"cmp"
	"slices"

	"feedline/inventory/quantity"
)

// Chain is the plant's steps and what is known of single materials in them.
type Chain struct {
	Steps     []Step
	Overrides []Override
}

// Path is what a received kilogram of a material goes through to become pellets.
type Path struct {
	Yield     quantity.Share     // kg of pellets per kg received: the product of the steps' yields
	CostPerKg quantity.MassPrice // of all steps, per kg received
	Steps     []Passage          // in the order they are passed
}

// Passage is one step of a Path; all of it per kg received.
type Passage struct {
	Step       string
	In, Out    quantity.Mass      // kg into and out of the step; what is lost is In − Out
	HoursPerKg quantity.Hours     // machine hours of running, 0 if the step's rate is not a limit
	Cost       quantity.MassPrice // of this step
}

// For is the path of a material in a form. Steps are passed in ascending Order, those of equal Order as listed.
// A form that no step names is fed as it is: yield 1, no cost.
func (c Chain) For(material, form string) Path {
	p := Path{Yield: 1}
	for _, s := range c.ordered() {
		if !slices.Contains(s.Forms, form) {
			continue
		}
		y := c.yieldOf(s, material)
		pass := Passage{Step: s.Code, In: quantity.Mass(p.Yield), Out: quantity.Mass(p.Yield * y),
			Cost: s.Cost * quantity.MassPrice(p.Yield)}
		if s.Rate > 0 {
			pass.HoursPerKg = quantity.Hours(float64(p.Yield) / float64(s.Rate))
		}
		p.Steps = append(p.Steps, pass)
		p.CostPerKg += pass.Cost
		p.Yield *= y
	}
	return p
}

func (c Chain) ordered() []Step {
	return slices.SortedStableFunc(slices.Values(c.Steps), func(a, b Step) int { return cmp.Compare(a.Order, b.Order) })
}

// yieldOf is the yield of step s for a material: the override if there is one.
func (c Chain) yieldOf(s Step, material string) quantity.Share {
	for _, o := range c.Overrides {
		if o.Step == s.Code && o.Material == material {
			return o.Yield
		}
	}
	return s.Yield
}
