// Package yield holds the losses from a received kilogram to a good metre: the steps' yields and rates,
// the chain through the steps that a material's form needs, and own scrap that returns as regrind.
package yield

import "feedline/inventory/quantity"

// Step is a processing step before extrusion, such as crushing or pelletizing with a melt filter.
type Step struct {
	Code         string
	Name         string
	Order        int               // steps are passed in ascending order
	Forms        []string          // material forms that pass it, see inventory.Form
	Yield        quantity.Share    // mass out ÷ mass in, unless an Override says otherwise
	Rate         quantity.MassRate // kg in per hour and machine; 0 = not a limit
	Machines     int
	Availability quantity.Share
	Cost         quantity.MassPrice // per kg in: energy, filters, labour
}

// Override is a step's yield for one material.
type Override struct {
	Step     string
	Material string
	Yield    quantity.Share
}
