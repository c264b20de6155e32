package planner

import (
	"fmt"
	"math"
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/solve"
)

// Plan is the answer: what to run, what the feed will carry, what to order, what will be late.
// Bucket numbers index Buckets. Lists are sorted by code, then bucket.
type Plan struct {
	Plant    string
	Currency string
	Made     time.Time // the clock value the plan was made at
	Start    calendar.Day
	Buckets  []calendar.Bucket

	// How good it is. Money; the objective is a cost: lower is better. Gap is (Objective − Bound) ÷ the sum of the Costs
	// above 0, as the objective may be near 0 or below: what is left at the end counts against it.
	Stop      solve.Stop
	Objective quantity.Money
	Bound     quantity.Money
	Gap       float64
	Size      Size
	Solve     time.Duration // wall-clock time
	Costs     []Cost
	Margin    Margin

	// What to run.
	LinesToRun []int // lines on, by bucket
	Lines      []LineUse
	Runs       []Run
	Begins     []LineBegin // lines in working order as the plan begins with them

	Unkept []Unkept // pins that it does not keep, in their order

	// The feed.
	Draws     []Draw
	Yard      []YardLevel
	Pellets   []PelletLevel
	Purchases []Purchase

	// Need against have, with committed supply only: opening stock and deliveries, no new loads.
	NeedHave  []NeedHave
	Shortages []Shortage
	OrderBy   []OrderBy

	// What of the input was estimated from records.
	Estimates []Estimate

	// The demand.
	Rack   []RackLevel
	Orders []OrderResult

	// What would have to be otherwise. An answer that could not be worked out, or only in part, is named in Missing.
	Worth      []Worth
	BoundBy    []BoundBy   // by bucket
	WhyLate    []WhyLate   // of late orders and those never complete, by code
	LineValues []LineValue // what each line would bring, started, idled or set up
	Missing    []Missing

	// Warm lets a plan made from this one (Options.From) start where its linear programs ended. It says nothing of the plant.
	Warm string
	// Relaxed is the first bound, that of the relaxation without set-ups, for a plan made from this one; 0 if it was not had in time.
	Relaxed quantity.Money

	// Against the released plan, if there is one.
	Frozen  calendar.Day // the promise holds before this day; 0 = no day is frozen
	Changes []Change
}

// Unkept is a pin that a plan does not keep: something stands against it, or the search was cut short.
type Unkept struct {
	Pin   Pin
	First calendar.Day   // of the first bucket in which it is not kept
	Hours quantity.Hours // by which it is not kept
}

// String says which pin is not kept, such as "P-7 (L2 stands) by 16 h from 2027-01-11".
func (u Unkept) String() string {
	what := "runs"
	switch u.Pin.Kind {
	case PinIdle:
		what = "stands"
	case PinForbid:
		what = "does not run"
	}
	if u.Pin.Profile != "" {
		what += " " + u.Pin.Profile
	}
	by := "some hours"
	if h := float64(u.Hours); !math.IsNaN(h) && !math.IsInf(h, 0) {
		by = fmt.Sprintf("%.3g h", h)
	}
	return fmt.Sprintf("%s (%s %s) by %s from %s", u.Pin.Code, u.Pin.Line, what, by, u.First)
}

// Spent is the sum of the Costs above 0, of which Gap is a share: what the plan costs before what is left at its end is taken off.
func (p *Plan) Spent() quantity.Money {
	sum := quantity.Money(0)
	for _, c := range p.Costs {
		sum += max(0, c.Amount)
	}
	return sum
}

// Size is the size of the model solved.
type Size struct{ Rows, Cols, Nonzeros, Integers int }

// Cost is one item of the objective.
type Cost struct {
	Name   string
	Amount quantity.Money
}

// Margin is the plan as an owner reads it, over the horizon. Changes in stock are not in it.
type Margin struct {
	Sales     quantity.Money // metres shipped: orders at their price, forecast at list price
	Feed      quantity.Money // material drawn at its book price, and what bought loads cost above it (or less)
	Processes quantity.Money // crushing, pelletizing, energy, crew, changeovers, start-ups, commissioning
	Net       quantity.Money // Sales − Feed − Processes
}

// LineUse is what a line does in a bucket. Hours: Available ≥ Run + Setup + Startup.
type LineUse struct {
	Line      string
	Bucket    int
	On        bool
	Started   bool
	Available quantity.Hours // crewed hours after closures and outages, were the line on
	Run       quantity.Hours // crewed hours spent on runs: good and scrap metres, and stoppages within (availability)
	Setup     quantity.Hours
	Startup   quantity.Hours
	Mounted   string // profile whose die is on the line at the end; "" if none
}

// Run is a campaign, or the part of it that lies in a bucket.
type Run struct {
	Line, Profile string
	Bucket        int
	Hours         quantity.Hours  // crewed hours, set-up not counted
	Length        quantity.Length // good metres
	Changeover    bool            // the die goes on in this bucket
	Setup         quantity.Hours  // hours booked for that changeover: the most that it may take
	Takes         quantity.Hours  // hours that it takes in the order of the list, which is the one that takes least; 0 in plans made before that was looked at
	Pellets       quantity.Mass   // used, scrap included, changeover scrap too
	Scrap         quantity.Mass   // of which scrap
}

// SetupHours is what the run's changeover takes, and what is booked for it where that is more, else 0.
func (r Run) SetupHours() (takes, booked quantity.Hours) {
	const minutes = 0.05 // h: less is no difference to be told
	if r.Takes > 0 && r.Takes < r.Setup-minutes {
		return r.Takes, r.Setup
	}
	return r.Setup, 0
}

// Draw is material taken from the yard, or own regrind, and made into pellets of a grade.
type Draw struct {
	Material string // "" = own regrind of the grade
	Grade    string
	Bucket   int
	In       quantity.Mass // taken
	Out      quantity.Mass // pellets made
}

// YardLevel is a material's balance over a bucket: Closing = Opening + Arrived − Drawn. Lots on hold are not in it.
type YardLevel struct {
	Material                         string
	Bucket                           int
	Opening, Arrived, Drawn, Closing quantity.Mass
}

// PelletLevel is a grade's balance over a bucket: Closing = Opening + Made + Shortfall − Used; its regrind's likewise.
type PelletLevel struct {
	Grade                                                 string
	Bucket                                                int
	Opening, Made, Used, Shortfall, Closing               quantity.Mass
	RegrindOpening, RegrindIn, RegrindOut, RegrindClosing quantity.Mass
	CoverDays                                             float64 // days that Closing lasts at the plan's own use after the bucket; +Inf if it outlasts the horizon
}

// Purchase is loads that the plan orders.
type Purchase struct {
	Lane    string
	Loads   int
	Bucket  int          // in which it is ordered
	OrderBy calendar.Day // first day of that bucket on which the lane takes orders: see OrderBy for the latest safe day
	Arrives calendar.Day // planned, at the arrival quantile
	Mass    quantity.Mass
	Cost    quantity.Money // price and freight, in the plant's currency
}

// NeedHave sets the pellets of a grade that demand calls for, were feed no limit, against what committed supply can serve.
type NeedHave struct {
	Grade      string
	Bucket     int
	Need       quantity.Mass // in the bucket
	Have       quantity.Mass // served in the bucket, arrears included
	Short      quantity.Mass // Need − Have; negative where arrears are made good
	Cumulative quantity.Mass // Short summed up to and with the bucket: what is owed at its end
}

// Shortage is a grade's first shortage if nothing more is ordered.
type Shortage struct {
	Grade        string
	First        calendar.Day  // first day of the first bucket that is short
	WeeksAhead   float64       // from the plan's start
	LastsTill    calendar.Day  // day on which committed pellets run out, the first that they do not last through; in a week by proportion of what it needs
	Mass         quantity.Mass // the most owed at any time of the horizon
	MassIn4Weeks quantity.Mass // the most owed within four weeks of First
	OrdersAtRisk []string      // orders of its profiles due from First until it is made good, or for four weeks
}

// OrderBy is the latest day to order loads on a lane so that they arrive, at the service level, before a shortage grows. Loads beyond
// those that the lane gives at once are ordered Weeks later each time, and By is the day of the first.
type OrderBy struct {
	Grade, Lane string
	Loads       int                // that cover the shortage of four weeks, or of it the part that the lane's material may be
	AtOnce      int                // of them ordered at a time; 0 in plans made before that was looked at
	Weeks       int                // between two such orders; 0 if all are ordered at once
	Most        quantity.Share     // of the grade's feed that the lane's material may be: below 1 other feed is needed beside it; 0 in plans made before that was looked at
	By          calendar.Day       // a day on which the lane takes orders; without one in time the day that it would have to be
	Needed      calendar.Day       // when the feed is needed
	TooLate     bool               // By lies before the day on which the plan was made (Plan.MadeOn), or the lane takes no order in time: expect shortage
	Mass        quantity.Mass      // of the loads
	Landed      quantity.MassPrice // (price + freight) per kilogram of pellets made of it
	InPlan      bool               // the plan orders on this lane, and no later
}

// Alone reports whether the grade can be made of the lane's material alone.
func (o OrderBy) Alone() bool { return !(o.Most > 0 && o.Most < 1) }

// Terms is what is to be known of the loads beside the day, such as ", 1 a week from then, for at most 50 % of the feed"; "" if nothing is.
func (o OrderBy) Terms() string {
	text := ""
	switch {
	case o.Weeks == 1:
		text = fmt.Sprintf(", %d a week from then", o.AtOnce)
	case o.Weeks > 1:
		text = fmt.Sprintf(", %d every %d weeks from then", o.AtOnce, o.Weeks)
	}
	if !o.Alone() {
		text += fmt.Sprintf(", for at most %.3g %% of the feed", 100*float64(o.Most))
	}
	return text
}

// RackLevel is a profile's balance over a bucket. Late is what is owed at the end of the bucket.
type RackLevel struct {
	Profile                                 string
	Bucket                                  int
	Opening, Made, Shipped, Closing, Demand quantity.Length
	Late                                    quantity.Length
}

// OrderResult is what becomes of an order.
type OrderResult struct {
	Order    string
	Profile  string
	Due      calendar.Day
	Length   quantity.Length
	Promise  calendar.Day    // last day of the bucket in which it is complete; 0 if it never is
	DaysLate int             // 0 if in time or never complete
	Unmet    quantity.Length // not made within the horizon
}
