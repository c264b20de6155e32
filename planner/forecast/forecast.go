// Package forecast tells what a plan is likely to come to: it samples when loads arrive and whether they are accepted, what the feed
// yields, how well the lines run and what is ordered; re-plans for each sample what can still be changed (planner.Replan); and
// sums up: quantiles of metres, margin and cover by week, the chance of running short, and what matters most.
//
// A sample is drawn from a stream of its own (PCG of the seed and the sample's number) and solved from a start that does
// not depend on the other samples in work, so that the result is the same for any number of workers.
//
// A sample re-plans with its whole world known. Near weeks keep the plan's set-ups, and no load is ordered beyond the plan's; within that
// the outcome is the best that can be made of it, so that quantiles lean to the good side.
package forecast

import (
	"context"
	"time"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/solve"
)

// Options steer a forecast. The zero value draws a thousand samples with the usual spreads.
type Options struct {
	Runs     int     // samples; 0 = 1000
	Seed     uint64  // of all that is drawn
	Workers  int     // goroutines; 0 = all cores. The result does not depend on it.
	KeepDays int     // set-ups are the plan's for so many days; 0 = 28
	TwoStage int     // scenarios of the two-stage plan (OrderNow); 0 = none is made
	Resolved int     // samples in which the worth of loads is found by solving anew; 0 = 40, negative = none
	Service  float64 // service level of order-by dates and their loads, between 0 and 1; 0 = the plant's
	Spread   Spread
	Progress func(Progress) // called now and then from one goroutine at a time; may be nil
}

const defaultRuns = 1000

// Progress is how far a forecast is.
type Progress struct {
	Done, Runs int
	Elapsed    time.Duration
}

// Result is a forecast. Lists by week are as long as Weeks. Money is in Currency.
type Result struct {
	Plant, Currency string
	Made            time.Time // of the plan
	Start           calendar.Day
	Weeks           []calendar.Bucket // the first and the days of the plan taken together to ISO weeks
	Seed            uint64
	Asked, Runs     int        // samples asked for, and solved
	Stop            solve.Stop // Optimal = all samples were solved, else Cancelled
	Failed          int        // samples left out because no linear program could be trusted
	Elapsed         time.Duration
	Busy            time.Duration // clock time of the samples' solves, all workers together
	Cold            int           // programs that could only be solved without a start
	Iterations      int64         // of the simplex method, all samples together
	Work            int64         // in the solver's units
	Spread          Spread        // as used
	Estimated       int           // yields and lines whose spread is that of the plan's estimates instead

	Metres, Margin Series // good metres, money, by week
	Cover          Series // days that the feed at hand lasts at the use after the week; at most the horizon
	Lines          Series // lines to run
	Late           Series // orders overdue at the end of the week
	Feed           Series // tonnes of feed at hand at the end of the week, as pellets

	TotalMetres, TotalMargin Band // over the horizon

	Grades  []GradeRisk
	Drivers []Driver // what the margin over the horizon depends on most, the most first
	Orders  []OrderRisk
	Loads   []LoadRisk

	LoadWorth []LoadWorth // the load that is worth most to have a week earlier first
	OrderNow  *OrderNow   // nil unless asked for
	OrderBy   []OrderBy   // by grade, then lane
	Service   float64     // service level of these
}

// Series is a band for each week.
type Series []Band

// Band is where an amount lies.
type Band struct {
	Plan          float64 // what the plan says
	P10, P50, P90 float64
	Mean          float64
	MeanSE        float64 // standard error of Mean
	P10SE, P90SE  float64 // standard errors of the quantiles, by order statistics
}

// Chance is a probability with its standard error.
type Chance struct{ P, SE float64 }

// GradeRisk is the risk that a grade runs short.
type GradeRisk struct {
	Grade     string
	Short     []Chance  // of being short at the end of a week, the plan's loads coming as they come
	ByWeek    []Chance  // of having been short at the end of any week up to it, likewise
	Committed []Chance  // of having been short at the end of any week up to it if nothing more is ordered
	Tonnes    []float64 // mean tonnes of pellets owed at the end of a week, with the plan's loads
	Worst     Band      // the most tonnes owed at the end of any week, with the plan's loads
}

// Driver is something drawn, with its rank correlation (Spearman) with the outcome.
type Driver struct {
	Kind, Name string  // such as "delivery", "D-108"
	Unit       string  // of what was drawn
	Margin     float64 // rank correlation with the margin over the horizon
	Metres     float64 // with the metres
	Share      float64 // of the squares of all correlations with the margin
}

// OrderRisk is an order that may be late.
type OrderRisk struct {
	Order, Profile string
	Due            calendar.Day
	Late           Chance
	PlanLate       bool
}

// LoadRisk is when a load comes: a delivery on its way or a purchase of the plan.
type LoadRisk struct {
	Code, Material string
	Planned        calendar.Day // in the plan
	P10, P50, P90  calendar.Day
}

// Run forecasts what p, a plan of in, comes to. A cancelled context ends it with the samples solved so far, of which at least one
// is needed. Errors as for planner.NewReplan.
func Run(ctx context.Context, in *planner.Input, p *planner.Plan, opt Options) (*Result, error) {
	began := time.Now()
	j, err := prepare(ctx, in, p, opt)
	if err != nil {
		return nil, err
	}
	if err := j.run(ctx, began); err != nil {
		return nil, err
	}
	r := j.summary()
	if opt.TwoStage > 0 && ctx.Err() == nil {
		if r.OrderNow, err = j.orderNow(ctx, opt.TwoStage); err != nil && ctx.Err() == nil {
			return nil, err
		}
	}
	r.Elapsed = time.Since(began)
	return r, nil
}
