package cli

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/report"
	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/forecast"
)

// forecastFlags are the flags of forecast.
type forecastFlags struct {
	runs    int
	seed    uint64
	workers int
	keep    int
	json    bool
	exact   bool
	two     int
	loads   int
	service float64
}

const (
	mostRuns      = 1_000_000
	mostScenarios = 50
)

func (a *app) forecast() *cobra.Command {
	var fl forecastFlags
	c := &cobra.Command{
		Use:   "forecast",
		Short: "Tell what the last plan is likely to come to, and the risk",
		Long: `forecast samples when loads arrive and whether they are accepted, what the feed
yields, how well the lines run and what is ordered; re-plans each sample around
the plan that was saved last; and prints what nine, five and one of ten samples
reach, each grade's chance of running short by week, and what matters most.

Lead times and the spread of deliveries are the book's; what the book does not
hold has usual values (see planner/forecast). --exact takes only the book's. A
plan made with estimates has their own spread for yields and for what lines make
(rate, availability and quality).
--service gives order-by dates and loads at another service level than the
plant's; such a forecast is not kept.
With --two-stage it also says which loads to order in the next four weeks if all
that comes later can still be adapted to a few scenarios, and what knowing
better would be worth.
The same book, plan and seed give the same forecast. The last one is kept with
its plan: the console's Supply screen and the HTML report show it.`,
		Example: `  feedline forecast
  feedline forecast --runs 200 --seed 7
  feedline forecast --two-stage 5
  feedline forecast --service 99
  feedline forecast --json > forecast.json`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.runForecast(c.Context(), c, fl) },
	}
	f := c.Flags()
	f.IntVar(&fl.runs, "runs", 1000, "samples")
	f.Uint64Var(&fl.seed, "seed", 1, "of all that is drawn")
	f.IntVar(&fl.workers, "workers", 0, "processors to use (default all); the forecast does not depend on it")
	f.IntVar(&fl.keep, "keep", 28, "keep the plan's set-ups for so many days")
	f.BoolVar(&fl.exact, "exact", false, "only what the book gives a spread scatters")
	f.IntVar(&fl.two, "two-stage", 0, "decide on the next weeks' loads over so many scenarios")
	f.IntVar(&fl.loads, "load-runs", 40, "samples to find in what each load is worth, re-planned three times a load")
	f.Float64Var(&fl.service, "service", 0, "service level of order-by dates in `percent` (default the plant's)")
	f.BoolVar(&fl.json, "json", false, "print the forecast as JSON, schema "+report.ForecastSchema)
	return c
}

func (a *app) runForecast(ctx context.Context, c *cobra.Command, fl forecastFlags) error {
	if fl.runs < 1 || fl.runs > mostRuns || fl.keep < 1 || fl.keep > 3640 || fl.workers < 0 {
		return usage(c, fmt.Errorf("--runs %d --keep %d --workers %d, allowed: 1 to %d samples, 1 to 3640 days, no negative number", fl.runs, fl.keep, fl.workers, mostRuns))
	}
	if fl.two < 0 || fl.two > mostScenarios || fl.loads < 0 {
		return usage(c, fmt.Errorf("--two-stage %d --load-runs %d, allowed: 0 to %d scenarios, no negative number", fl.two, fl.loads, mostScenarios))
	}
	if c.Flags().Changed("service") && !(fl.service >= 50 && fl.service <= 99.9) {
		return usage(c, fmt.Errorf("--service %g, allowed: 50 to 99.9 percent", fl.service))
	}
	in, p, id, err := a.lastPlan(ctx)
	if err != nil {
		return err
	}
	opt := forecast.Options{Runs: fl.runs, Seed: fl.seed, Workers: fl.workers, KeepDays: fl.keep, TwoStage: fl.two, Resolved: fl.loads, Service: fl.service / 100}
	if fl.loads == 0 {
		opt.Resolved = -1
	}
	if fl.exact {
		opt.Spread = forecast.None
	}
	show, clear := a.counting("samples")
	opt.Progress = func(p forecast.Progress) { show(p.Done, p.Runs, p.Elapsed) }
	r, err := forecast.Run(ctx, in, p, opt)
	clear()
	if err != nil {
		return forecastHint(err)
	}
	if fl.service == 0 {
		a.keepForecast(ctx, id, r)
	}
	if fl.json {
		return report.ForecastJSON(a.Out, r)
	}
	return report.Forecast(a.Out, r, report.Options{Width: a.width(), Color: a.colour(), ASCII: a.ascii(), Units: in.Plant.Units})
}

// keepForecast keeps a whole forecast with its plan, for the console and reports. A book that may not be written keeps none.
func (a *app) keepForecast(ctx context.Context, id int64, r *forecast.Result) {
	if r.Runs < r.Asked-r.Failed {
		return
	}
	b, err := a.openBook()
	if err == nil {
		defer b.Close()
		err = b.SaveForecast(ctx, id, r)
	}
	if err != nil {
		a.say("feedline: note: the forecast is not kept for the console and reports: %v", err)
	}
}

// lastPlan loads the book and the plan that was saved last, with its number.
func (a *app) lastPlan(ctx context.Context) (*planner.Input, *planner.Plan, int64, error) {
	b, err := a.openBook()
	if err != nil {
		return nil, nil, 0, err
	}
	defer b.Close()
	in, version, err := b.Load(ctx)
	if err != nil {
		return nil, nil, 0, err
	}
	p, meta, err := b.LastPlan(ctx)
	if err != nil {
		return nil, nil, 0, err
	}
	if meta.Input != version {
		a.say("feedline: note: the book has changed since the plan was made")
	}
	return estimates.AsPlanned(in, p), p, meta.ID, nil
}

// forecastHint points to what to do about a plan that does not fit its book.
func forecastHint(err error) error {
	if errors.Is(err, planner.ErrOtherBook) {
		return badInput{err, "plan again with: feedline plan"}
	}
	return err
}

// counting returns a callback that shows how many of a number are done on one line of stderr, and a function that clears it.
func (a *app) counting(what string) (func(done, of int, elapsed time.Duration), func()) {
	if a.quiet || !a.terminal(a.Err) || a.Getenv("TERM") == "dumb" {
		return func(int, int, time.Duration) {}, func() {}
	}
	var drawn time.Time
	show := func(done, of int, elapsed time.Duration) {
		if now := time.Now(); now.Sub(drawn) >= redraw || done == of {
			drawn = now
			fmt.Fprintf(a.Err, "\r\x1b[K%5.1f s  %s of %s %s  (Ctrl-C: keep these)", elapsed.Seconds(), quantity.Grouped(float64(done), 0), quantity.Grouped(float64(of), 0), what)
		}
	}
	return show, func() { fmt.Fprint(a.Err, "\r\x1b[K") }
}
