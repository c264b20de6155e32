package planner

import "feedline/inventory"

// Estimate is a figure of the input that was estimated from the plant's records, with what was entered for it.
type Estimate struct {
	Name      string  // such as "yield PEL INW"
	Kind      string  // see planner/estimates
	A, B      string  // the place: step and material, line and profile, the families of a changeover, or a lane
	Unit      string  // "" for a share of one
	Entered   float64 // figure entered
	Value     float64 // figure estimated
	Low, High float64 // 95 % interval of the figure
	Records   int     // that it was estimated from
	Text      string  // such as "0.931 ± 0.008 from 42 runs"
	Used      bool    // the plan is made with Value, not with Entered
	Note      string  // why it is not used, or what goes with it

	LeadTime inventory.LeadTime // of a lane: what goes with the mean
}

// Basis is what of an Input was estimated; nil where all figures are as entered.
type Basis struct {
	Estimates []Estimate
}

// List is the basis's estimates, nil of none.
func (b *Basis) List() []Estimate {
	if b == nil {
		return nil
	}
	return b.Estimates
}
