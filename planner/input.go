package planner

import (
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/yield"
)

// Plant is what holds for the plant as a whole. One currency; amounts of money are in it.
type Plant struct {
	Name     string
	Currency string // ISO 4217
	Zone     string // IANA time zone name
	Units    quantity.System

	Yard quantity.Volume // room for materials; 0 = not limited
	Rack quantity.Volume // room for finished profiles; 0 = not limited

	Crew        float64            // people on shift, for all lines together; 0 = not limited
	CrewCost    quantity.HourPrice // per person and hour
	FitterHours quantity.Hours     // fitters' hours a working day; 0 = not limited
	FitterCost  quantity.HourPrice // per fitter hour
	EnergyPrice quantity.Money     // per kWh

	RegrindYield quantity.Share // own scrap recovered as regrind ÷ scrap

	HoldingRate    quantity.Share     // cost of capital and handling a year, as a share of stock value
	LateCostADay   quantity.Share     // cost of a late metre a day, as a share of its price (priority 1 orders: see Order.Priority)
	UnmetCost      quantity.Share     // lost good-will for a metre never made, as a share of its price, beside the lost sale
	ShortfallPrice quantity.MassPrice // price of a missing kilogram of pellets where a pin forces it; above every remedy

	ArrivalQuantile quantity.Share // deliveries and new loads are planned to arrive at this quantile of their spread, such as 0.8
	ServiceLevel    quantity.Share // for order-by dates, such as 0.95
	DailyDays       int            // length of the daily part of the horizon, days; 0 = 14
	Weeks           int            // length of the horizon, weeks; 0 = 26
	FrozenDays      int            // the released plan holds this long
	ChangeCost      quantity.Money // price of each changed run day against the released plan
}

// ArrivesBy is the quantile of their spread at which deliveries and new loads are planned to arrive: what is entered, else 0.8.
func (p Plant) ArrivesBy() float64 { return orDefault(float64(p.ArrivalQuantile), defaultQuantile) }

// Order is a customer's order.
type Order struct {
	Code     string
	Customer string
	Profile  string
	Length   quantity.Length      // still to be delivered
	Due      calendar.Day         // last day to ship in time
	Priority int                  // 1 = first … 9; a step down divides the cost of lateness by 1.5
	Price    quantity.LengthPrice // 0 = the profile's
}

// Forecast is expected demand for a profile over [From, To), orders included: orders due in it consume it.
type Forecast struct {
	Profile  string
	From, To calendar.Day
	Length   quantity.Length
}

// PinKind says what a Pin demands.
type PinKind string

// The kinds.
const (
	PinRun    PinKind = "run"    // the line runs this profile, or any if none is named
	PinIdle   PinKind = "idle"   // the line stands
	PinForbid PinKind = "forbid" // the line does not run this profile
)

// Pin is the scheduler's word over a line for the days [From, To).
type Pin struct {
	Code     string
	Kind     PinKind
	Line     string
	Profile  string
	From, To calendar.Day
	Note     string
}

// Overrule tells a plan not to use an estimate: the figure entered counts.
type Overrule struct {
	Estimate string // its name, as feedline estimates prints it
	Note     string
}

// Check says what is wrong with an overrule.
func (o Overrule) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Estimate", o.Estimate)
	return c.Problems()
}

// Input is all that a plan is made of: the plant book's tables. Codes are unique within a table;
// Check says what is wrong with one.
type Input struct {
	Plant       Plant
	Calendar    calendar.Calendar
	Materials   []inventory.Material
	Grades      []inventory.Grade
	Ingredients []inventory.Ingredient
	Steps       []yield.Step
	Overrides   []yield.Override
	Profiles    []lines.Profile
	Lines       []lines.Line
	Fits        []lines.Fit
	Changeovers []lines.Changeover
	Suppliers   []inventory.Supplier
	Lanes       []inventory.Lane
	Deliveries  []inventory.Delivery
	Lots        []inventory.Lot
	Stock       []inventory.Stock
	Orders      []Order
	Forecasts   []Forecast
	Pins        []Pin

	// For what is recorded, see planner/records; plans are not made of them.
	Reasons   []lines.Reason
	Limits    []inventory.Limit
	Overrules []Overrule

	// Basis names the figures that estimates replaced, see planner/estimates; plans carry it. It is not part of the book.
	Basis *Basis
}
