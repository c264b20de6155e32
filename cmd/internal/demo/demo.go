// Package demo holds the demonstration plant: an invented works in an invented town with invented
// suppliers and customers, told relative to a start date. Every call gives the same plant.
//
// The story it tells: five lines run at about 85 % of what they can, a sixth stands ready, a seventh
// is still to be set up. A vessel with white ingots has slipped by five weeks, so that with what is
// committed the white grade runs short seven to nine weeks out, while grey and black last longer.
// One lot of white blocks is on hold for a bromine screen. Two orders are overdue at the start.
package demo

import (
	"feedline/lines/calendar"
	"feedline/planner"
)

// Input is the demonstration plant on the morning of start, best a Monday: weeks are counted from it.
// The result is newly made and may be changed by the caller.
func Input(start calendar.Day) *planner.Input {
	zone := location()
	return &planner.Input{
		Plant:       plant(),
		Calendar:    workingTime(start, zone),
		Materials:   materials(),
		Grades:      grades(),
		Ingredients: ingredients(),
		Steps:       steps(),
		Overrides:   overrides(),
		Profiles:    profiles(),
		Lines:       floor(start),
		Fits:        fits(),
		Changeovers: changeovers(),
		Suppliers:   suppliers(),
		Lanes:       lanes(),
		Deliveries:  deliveries(start),
		Lots:        lots(start),
		Stock:       stock(),
		Orders:      orders(start),
		Forecasts:   forecasts(start),
		Pins:        pins(start),
		Reasons:     reasons(),
		Limits:      limits(),
	}
}
