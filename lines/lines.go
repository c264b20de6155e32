// Package lines holds extrusion lines, profiles, dies and their rates: how many good metres a line makes
// of a profile in a day and what binds it, and what a start-up or a changeover takes.
package lines

import (
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// State is what a line is doing at the start of the plan.
type State int

// The states of a line.
const (
	Running        State = iota // crewed and hot
	Ready                       // set up, standing idle
	Down                        // out of order until Line.DownUntil
	Uncommissioned              // not set up yet: see Line.Commissioning
)

// Profile is an extruded product.
type Profile struct {
	Code      string
	Name      string
	Grade     string                 // pellet grade it is made of
	PerMetre  quantity.LinearDensity // kg of good profile a metre
	DieFamily string                 // changeovers are given between families
	Dies      int                    // die sets owned: it can run on no more lines at once
	Price     quantity.LengthPrice   // list price a metre
	// RackLitresPerMetre is the packed volume a metre takes up in the rack, litres per metre.
	RackLitresPerMetre float64
	StockTarget        quantity.Length // rack stock to keep
}

// Commissioning is what it takes to set up a line that was never run here.
type Commissioning struct {
	Earliest calendar.Day
	Days     int // from the decision to the first running hour
	Cost     quantity.Money
}

// Startup is what a line spends from stopped and cold to good product.
type Startup struct {
	Hours quantity.Hours // heat soak and trimming in
	Scrap quantity.Mass  // pellets used up, recoverable as regrind
	Cost  quantity.Money // energy and tools, beside crew and scrap
}

// Line is an extrusion line.
type Line struct {
	Code          string
	Name          string
	State         State
	DownUntil     calendar.Day  // first day back, for Down
	Commissioning Commissioning // for Uncommissioned
	Mounted       string        // profile whose die is on the line now; "" if none
	Crew          float64       // people while it runs
	Startup       Startup
	MinRunDays    int     // once started, run at least so long; 0 or 1 = no limit
	MinStopDays   int     // once stopped, stand at least so long
	ScrewMM       float64 // screw diameter, mm; 0 if not known. For the plausibility ceiling of entered rates.
	BaseKW        float64 // power drawn whenever it runs, kW
	KWhPerKg      float64 // energy beside the base load, kWh per kg of pellets
	Note          string
}

// Fit says how a line runs a profile. A line without a Fit for a profile can't make it.
type Fit struct {
	Line         string
	Profile      string
	Melt         quantity.MassRate // extruder limit, kg/h of melt; 0 = not known
	HaulOff      quantity.Speed    // haul-off limit, m/min a strand; 0 = not known, but one of both is
	Strands      int               // profiles extruded side by side
	Availability quantity.Share    // running ÷ crewed hours; changeovers, start-ups and planned outages not counted
	Quality      quantity.Share    // good ÷ all metres
}

// Changeover is what changing from one die family to another takes; "*" as From or To stands for any family.
// The most exact match counts: From and To, then To with any From, then From with any To, then any to any.
type Changeover struct {
	From, To    string
	Hours       quantity.Hours // line hours without product
	Scrap       quantity.Mass  // pellets used up, recoverable as regrind
	FitterHours quantity.Hours // hours of fitters' work
	Cost        quantity.Money // beside the above
}
