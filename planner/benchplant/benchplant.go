// Package benchplant makes invented plants of any size from a seed, to measure planning with: realistic rates, changeovers,
// lumpy orders, lines that are nearly full and feed that does not reach.
//
// The figures lie in the ranges of the trade (common practice, no published source): profiles of 0.1–0.7 kg/m on lines of
// 60–160 kg/h, changeovers of 3–9 h, orders of half a week's to three weeks' sales, lines taken up to 75–95 % by runs and
// changeovers, and ingot that covers all but 5–20 % of what the demand takes; virgin pellets can make up half of that.
package benchplant

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Start is the Monday on which the plans of these plants begin.
var Start = calendar.Date(2027, time.January, 4)

// Size is how large a plant is and how far it plans.
type Size struct {
	Name            string
	Lines, Profiles int
	Weeks           int
}

// The sizes that DEVELOPERS.md gives figures for.
var (
	S  = Size{"S", 3, 8, 13}
	M  = Size{"M", 6, 20, 26}
	L  = Size{"L", 10, 40, 26}
	XL = Size{"XL", 24, 120, 52}
)

// Sizes lists them, the smallest first.
var Sizes = []Size{S, M, L, XL}

// Input is the plant of the given size and seed on the morning of Start: the same in every call. It may be changed by the caller.
// Size.Lines and Size.Profiles are at least 1; less counts as 1.
func Input(size Size, seed uint64) *planner.Input {
	w := &works{Size: size, rng: rand.New(rand.NewPCG(seed, uint64(size.Lines*1000+size.Profiles)))}
	w.Lines, w.Profiles = max(1, size.Lines), max(1, size.Profiles)
	w.drawProducts()
	w.drawMachines()
	w.drawDemand()
	in := &planner.Input{Plant: w.plant(seed), Calendar: workingTime(), Profiles: w.profiles(), Lines: w.lines(), Fits: w.fits(), Changeovers: w.changeovers()}
	w.addFeed(in)
	in.Orders, in.Forecasts = w.orders(), w.forecasts()
	return in
}

// Options are those of a plan of such a plant: the horizon is the plant's own.
func Options() planner.Options {
	return planner.Options{Now: Start.UTC().Add(6 * time.Hour), Start: Start}
}

// works is a plant while it is drawn.
type works struct {
	Size
	rng      *rand.Rand
	products []product
	families []family
	machines []machine
	load     float64 // share of the crewed hours that runs and changeovers take
}

// between draws evenly from [low, high).
func (w *works) between(low, high float64) float64 { return low + (high-low)*w.rng.Float64() }

// roundTo is x to the nearest multiple of step.
func roundTo(x, step float64) float64 { return math.Round(x/step) * step }

func (w *works) plant(seed uint64) planner.Plant {
	fitters := 0.0 // hours a day: half as much again as a changeover a profile a fortnight takes
	for _, f := range w.families {
		fitters += 1.5 * float64(f.profiles) * w.acrossHours(f) / 12
	}
	return planner.Plant{
		Name: fmt.Sprintf("Bench plant %s %d", w.Name, seed), Currency: "EUR", Zone: "UTC", Units: quantity.Metric,
		Yard: quantity.Volume(roundTo(150*float64(w.Lines), 10)), Rack: quantity.Volume(roundTo(300*float64(w.Lines), 10)),
		Crew: float64(2 * w.Lines), CrewCost: 27, FitterHours: quantity.Hours(max(12, math.Ceil(fitters))), FitterCost: 33, EnergyPrice: 0.17,
		RegrindYield: 0.92, HoldingRate: 0.12, LateCostADay: 0.02, UnmetCost: 0.25, ShortfallPrice: 60, ArrivalQuantile: 0.8, ServiceLevel: 0.95,
		DailyDays: 14, Weeks: w.Weeks,
	}
}

// hoursAWeek is what the shifts add up to.
const hoursAWeek = 5*24 + 8

// workingTime is three shifts from Monday to Friday and one on Saturday.
func workingTime() calendar.Calendar {
	weekdays := [7]bool{false, true, true, true, true, true, false}
	hour := time.Hour
	return calendar.Calendar{Zone: time.UTC, Shifts: []calendar.Shift{
		{Code: "early", Weekdays: weekdays, Start: 6 * hour, End: 14 * hour},
		{Code: "late", Weekdays: weekdays, Start: 14 * hour, End: 22 * hour},
		{Code: "night", Weekdays: weekdays, Start: 22 * hour, End: 30 * hour},
		{Code: "saturday", Weekdays: [7]bool{6: true}, Start: 6 * hour, End: 14 * hour},
	}}
}
