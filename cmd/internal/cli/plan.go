package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/lines/calendar"
	"feedline/planner"
)

// planFlags are the flags of plan, and of demo as far as it has them.
type planFlags struct {
	json        bool
	mps         string
	time        time.Duration
	work        int64
	gap         string
	start       string
	weeks, days int
	whatIf      whatIfFlags
	failOnShort bool
	last, list  bool
	show        string
	asEntered   bool
	force       bool
	released    int64 // number of the plan that changes are held against
}

func (a *app) plan() *cobra.Command {
	var fl planFlags
	c := &cobra.Command{
		Use:   "plan",
		Short: "Plan the lines, the feed and the loads to order",
		Long: `plan reads the plant book, plans, saves the plan into the book and prints the
answer. --last prints the plan that was saved last instead of planning again.

` + whatIfHelp,
		Example: `  feedline plan
  feedline plan --time 60s --gap 0.5%
  feedline plan --last --show runs
  feedline plan --set lines.L6.state=running
  feedline plan --if "down L4 2027-01-11..2027-01-15" --if "delay D-101 +7"
  feedline plan --set rates.L1/SK80.melt=140 --set "orders.O-1.length=12 km"
  feedline plan --add "orders:code=N-1,profile=SK80,length=4 km,due=2027-02-05"
  feedline plan --json > plan.json
  feedline plan --mps plan.mps`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.runPlan(c.Context(), c, fl) },
	}
	addLimits(c, &fl)
	addWhatIf(c, &fl.whatIf)
	f := c.Flags()
	f.BoolVar(&fl.json, "json", false, "print the plan as JSON, schema "+report.Schema)
	f.StringVar(&fl.mps, "mps", "", "also write the model as MPS to this `file`; - writes it alone to stdout")
	f.BoolVar(&fl.failOnShort, "fail-on-short", false, "exit with 3 if a grade runs short or an order is late")
	f.StringVar(&fl.show, "show", "answer", "what to print: answer, runs, feed, orders, why, estimates or all")
	f.BoolVar(&fl.asEntered, "as-entered", false, "plan with the figures entered, not with estimates from records")
	f.BoolVar(&fl.force, "force", false, "overwrite the MPS file")
	f.BoolVar(&fl.last, "last", false, "print the plan saved last, do not plan again")
	f.BoolVar(&fl.list, "list", false, "list the plans that the book holds, do not plan")
	return c
}

// addLimits adds the flags that bound a plan's search and horizon.
func addLimits(c *cobra.Command, fl *planFlags) {
	f := c.Flags()
	f.DurationVar(&fl.time, "time", 0, "longest search (default 30s; none with --work)")
	f.Int64Var(&fl.work, "work", 0, "limit in work units, for a plan that does not depend on the machine")
	f.StringVar(&fl.gap, "gap", "0.1%", "stop once the plan is proven this close to the best")
	f.StringVar(&fl.start, "start", "", "first day of the plan, `YYYY-MM-DD` (default today)")
	f.IntVar(&fl.weeks, "weeks", 0, "length of the horizon in weeks (default the plant's, 26)")
	f.IntVar(&fl.days, "days", 0, "length of its daily part in days (default the plant's, 14)")
}

// options turns flags into planner options.
func (a *app) options(c *cobra.Command, fl planFlags) (planner.Options, error) {
	opt := planner.Options{Now: a.Now(), Weeks: fl.weeks, DailyDays: fl.days, Time: fl.time, Work: fl.work}
	if fl.weeks < 0 || fl.weeks > 520 || fl.days < 0 || fl.days > 366 {
		return opt, usage(c, fmt.Errorf("--weeks %d --days %d, allowed: up to 520 weeks and 366 days", fl.weeks, fl.days))
	}
	if fl.time < 0 || fl.work < 0 {
		return opt, usage(c, errors.New("--time and --work must not be negative"))
	}
	gap, err := parseGap(fl.gap)
	if err != nil {
		return opt, usage(c, err)
	}
	opt.Gap = gap
	if fl.start != "" {
		if opt.Start, err = calendar.ParseDay(fl.start); err != nil {
			return opt, usage(c, err)
		}
	}
	return opt, nil
}

// parseGap reads "0.5%" or "0.005".
func parseGap(s string) (float64, error) {
	num, percent := strings.CutSuffix(strings.TrimSpace(s), "%")
	g, err := strconv.ParseFloat(strings.TrimSpace(num), 64)
	if percent {
		g /= 100
	}
	if err != nil || math.IsNaN(g) || g < 0 || g > 1 {
		return 0, fmt.Errorf("gap %q is not a share, write it as 0.5%% or 0.005", s)
	}
	return g, nil
}

// aloneWithLast is an error if flags that steer planning are given together with --last.
func aloneWithLast(c *cobra.Command, fl planFlags) error {
	for _, other := range []string{"set", "add", "drop", "if", "edits", "mps", "time", "work", "gap", "start", "weeks", "days"} {
		if (fl.last || fl.list) && c.Flags().Changed(other) {
			name := "last prints a plan that is there"
			if fl.list {
				name = "list prints plans that are there"
			}
			return usage(c, fmt.Errorf("--%s, --%s would make another", name, other))
		}
	}
	return nil
}

// waitedTill is the day up to which loads that are open have waited when a plan from start is made: its start, or today if that is still to come.
func (a *app) waitedTill(ctx context.Context, b *book.Book, start calendar.Day) (calendar.Day, error) {
	zone, err := b.Zone(ctx)
	if err != nil {
		return 0, err
	}
	return min(start, calendar.DayOf(a.Now().In(zone))), nil
}

func (a *app) runPlan(ctx context.Context, c *cobra.Command, fl planFlags) error {
	opt, err := a.options(c, fl)
	if err != nil {
		return err
	}
	if err := aloneWithLast(c, fl); err != nil {
		return err
	}
	if err := knownView(fl.show); err != nil {
		return usage(c, err)
	}
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	till, err := a.waitedTill(ctx, b, opt.Start)
	if err != nil {
		return err
	}
	in, known, version, err := b.Estimates(ctx, till)
	if err != nil {
		return err
	}
	entered := in
	if fl.list {
		return a.printPlans(ctx, b, in, fl.json)
	}
	if fl.last {
		return a.printLast(ctx, b, in, version, fl)
	}
	counted := withEstimates(known)
	if fl.asEntered {
		counted = func(in *planner.Input) *planner.Input { return in }
	}
	in, edits, err := fl.whatIf.apply(in, counted, planner.StartDay(in, opt))
	if err != nil {
		return err
	}
	if err := a.worthPlanning(in); err != nil {
		return err
	}
	if opt.Released, fl.released, err = promiseOf(ctx, b); err != nil {
		return err
	}
	in = counted(in)
	if fl.mps != "" {
		if err := a.writeModel(in, opt, fl); err != nil || fl.mps == "-" {
			return err
		}
	}
	var from earlier
	if fl.whatIf.any() {
		if from, err = a.earlierPlan(ctx, b, in, opt, version); err != nil {
			return err
		}
		opt.From = from.plan
	}
	p, err := a.makePlan(ctx, in, opt)
	if err != nil {
		return setHint(err, fl.whatIf)
	}
	unedited := counted(entered)
	if err := a.compare(ctx, b, entered, unedited.Basis.List()); err != nil {
		return err
	}
	if fl.whatIf.any() {
		a.say("feedline: note: a what-if, not saved: %s", describe(edits))
		a.beyond(edits, p)
		from.redone(ctx, unedited, opt, p)
		a.against(from, p)
	} else {
		if err := savePlan(context.WithoutCancel(ctx), b, p, version, opt, fl); err != nil {
			return err
		}
	}
	return a.printPlan(in, p, fl)
}

// worthPlanning refuses a book that nothing can be made of.
func (a *app) worthPlanning(in *planner.Input) error {
	if len(in.Lines) > 0 && len(in.Profiles) > 0 {
		return nil
	}
	return badInput{fmt.Errorf("%s has no lines or no profiles yet: there is nothing to plan", a.path()),
		"feedline template sheets, fill them in, feedline import sheets"}
}

// setHint points from a fault of the plant to the what-if, which the sheets know nothing of.
func setHint(err error, w whatIfFlags) error {
	var input *planner.InputError
	if !w.any() || !errors.As(err, &input) {
		return err
	}
	p := input.Problems[0]
	hint := "change the what-if, or add --set"
	if p.Field != "" && p.Key != "" {
		hint += fmt.Sprintf(" for %s.%s.%s", p.Table, strings.ReplaceAll(p.Key, " / ", "/"), strings.ReplaceAll(p.Field, " ", "_"))
	}
	return badInput{err, hint}
}

// printLast prints the plan that was saved last.
func (a *app) printLast(ctx context.Context, b *book.Book, in *planner.Input, now book.Version, fl planFlags) error {
	p, meta, err := b.LastPlan(ctx)
	if err != nil {
		return err
	}
	if meta.Input != now {
		a.say("feedline: note: the book has changed since the plan was made")
	}
	return a.printPlan(in, p, fl)
}

// makePlan plans with progress on stderr.
func (a *app) makePlan(ctx context.Context, in *planner.Input, opt planner.Options) (*planner.Plan, error) {
	a.warn(in, opt)
	show, clear := a.progress()
	opt.Progress = show
	p, err := planner.Make(ctx, in, opt)
	clear()
	return p, err
}

// savePlan stores p with the version of the book and the options it was made with.
func savePlan(ctx context.Context, b *book.Book, p *planner.Plan, v book.Version, opt planner.Options, fl planFlags) error {
	asked, err := json.Marshal(savedOptions{Start: p.Start.String(), Weeks: opt.Weeks, Days: opt.DailyDays, Gap: opt.Gap, Seconds: opt.Time.Seconds(), Work: opt.Work, Released: fl.released})
	if err != nil {
		return err
	}
	_, err = b.SavePlan(ctx, p, book.PlanMeta{Input: v, Options: asked})
	return err
}

// savedOptions is what a saved plan was asked for.
type savedOptions struct {
	Start   string  `json:"start"`
	Weeks   int     `json:"weeks,omitempty"`
	Days    int     `json:"daily_days,omitempty"`
	Gap     float64 `json:"gap"`
	Seconds float64 `json:"time_s,omitempty"`
	Work    int64   `json:"work,omitempty"`
	// Released is the number of the released plan that changes were held against; 0 if there was none.
	Released int64 `json:"released,omitempty"`
}

func (a *app) printPlan(in *planner.Input, p *planner.Plan, fl planFlags) error {
	var err error
	if fl.json {
		err = report.JSON(a.Out, in, p)
	} else {
		err = a.printView(in, p, fl.show)
	}
	if err == nil && fl.failOnShort && short(p) {
		return errShort
	}
	return err
}

// short reports whether a grade runs short on committed supply or an order is late or never complete.
func short(p *planner.Plan) bool {
	for _, o := range p.Orders {
		if o.DaysLate > 0 || o.Unmet > 0 {
			return true
		}
	}
	return len(p.Shortages) > 0
}
