package planner

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/model"
	"feedline/planner/solve"
)

// Options steer a plan. The zero value plans with the book's own horizon until the default limits.
type Options struct {
	Now       time.Time     // clock value to stamp the plan with; its date in the plant's zone is the start unless Start is given
	Start     calendar.Day  // first day of the plan; 0 = Now's date
	Weeks     int           // horizon; 0 = the plant's, else 26
	DailyDays int           // daily part; 0 = the plant's, else 14
	Time      time.Duration // limit of the search; 0 = 30 s, unless Work is given. Answers take up to a quarter of it more, or 4 s; a first plan, bound and need up to 20 s
	Work      int64         // limit in the solver's work units; 0 = none. With it and no Time the result does not depend on the machine.
	Gap       float64       // stop at this relative gap; 0 = 0.001
	Workers   int           // goroutines; 0 = all cores. The plan does not depend on it.
	Seed      uint64
	Brief     bool                 // leave out what things are worth, what bounds output and why orders are late
	Released  *Plan                // the promise that changes are priced against and near days are frozen to; nil = none
	Progress  func(solve.Progress) // may be nil

	// From is an earlier plan to start from: of the same input, of an older one, or of one that a what-if has changed; nil for none. Its lines,
	// dies and loads are taken over as far as they are still possible (matched by codes and days, so that start, horizon and lines may
	// differ) and re-planned from there, which takes a fraction of the time of a plan from nothing. A plan read back from the book will do.
	// It is not changed. The result obeys the present input only; From has no say in what a plan may be.
	From *Plan
}

const (
	defaultTime = 30 * time.Second
	defaultGap  = 0.001
	// afterword is the time that need against have may take once the search has stopped, and a first plan where the limit is shorter.
	afterword = 20 * time.Second
)

// InputError says what is wrong with an Input; it is never empty.
type InputError struct{ Problems []Problem }

func (e *InputError) Error() string {
	msg := e.Problems[0].String()
	if n := len(e.Problems) - 1; n > 0 {
		msg += fmt.Sprintf(" (and %d more)", n)
	}
	return msg
}

// ErrStopped is returned by Make when it was stopped before it held any plan.
var ErrStopped = errors.New("stopped before a plan was found")

// ErrOutdated is returned by Promise for a plan that the input contradicts by now.
var ErrOutdated = errors.New("the plan does not fit the book any longer")

// Make plans. It returns an *InputError for an Input that Check refuses and ErrStopped if no plan was found in time;
// shortage and lateness are outcomes, never an error. in is not changed, but the plan may share its strings.
func Make(ctx context.Context, in *Input, opt Options) (*Plan, error) {
	began := time.Now()
	f, err := prepare(in, opt)
	if err != nil {
		return nil, err
	}
	from := &bases{}
	if opt.From != nil {
		from = readBases(opt.From.Warm)
	}
	need := f.startNeed(ctx, from[warmNeed])
	res, relaxed, warm := f.search(ctx, from)
	if !res.Has {
		return nil, fmt.Errorf("%w (%s)", ErrStopped, res.Stop)
	}
	f.tidy(context.WithoutCancel(ctx), &res)
	p := f.extract(res.X)
	p.Stop, p.Gap = res.Stop, math.Inf(1)
	if !math.IsInf(res.Bound, -1) {
		p.Gap = relativeGap(res.Objective, res.Bound, f.gross(res.X))
	}
	p.Objective, p.Bound = quantity.Money(res.Objective), quantity.Money(res.Bound)
	p.Size = Size{Rows: f.m.NumRows(), Cols: f.m.NumVars(), Nonzeros: f.m.NumNonzeros(), Integers: f.m.NumIntegers()}
	needed := need()
	f.lookAhead(p, needed.rows)
	warm[warmNeed] = needed.basis
	p.Warm = warm.text()
	if !math.IsInf(relaxed, -1) {
		p.Relaxed = quantity.Money(relaxed)
	}
	f.explain(ctx, p, res.X, warm[warmAmounts].standing(f))
	p.Solve = time.Since(began)
	return p, nil
}

// Model returns the planning model of in, in money, to be minimised: for writing it as MPS or solving it elsewhere.
// Its optimum is the Objective of a plan solved to the end. Errors as for Make.
func Model(in *Input, opt Options) (*model.Model, error) {
	f, err := prepare(in, opt)
	if err != nil {
		return nil, err
	}
	return f.m, nil
}

// prepare checks in and builds its formulation.
func prepare(in *Input, opt Options) (*formulation, error) {
	f, err := prepareFacts(in, opt)
	if err != nil {
		return nil, err
	}
	return formulate(f), nil
}

// prepareFacts checks in and gathers its facts.
func prepareFacts(in *Input, opt Options) (*facts, error) {
	var bad []Problem
	for _, p := range in.Check(StartDay(in, opt)) {
		if !p.Warning {
			bad = append(bad, p)
		}
	}
	if len(bad) > 0 {
		return nil, &InputError{bad}
	}
	return gather(in, opt), nil
}

// startNeed begins to compute need against have, which does not depend on what is searched, and returns a function that waits for it.
// It is done even after a cancelled search, in bounded time; a plan without it is still a plan. With one worker it is done when asked for.
func (f *formulation) startNeed(ctx context.Context, from named) func() needs {
	last := time.Now().Add(f.timeLimit() + afterword)
	compute := func() needs {
		ctx, stop := context.WithoutCancel(ctx), context.CancelFunc(func() {})
		if f.timeLimit() > 0 {
			ctx, stop = context.WithDeadline(ctx, last)
		}
		defer stop()
		return needHave(ctx, relaxed(f.facts), from, solve.Options{Workers: f.opt.Workers, Seed: f.opt.Seed, Work: needWork})
	}
	if f.opt.Workers == 1 {
		return compute
	}
	done := make(chan needs, 1)
	go func() { done <- compute() }()
	return func() needs { return <-done }
}

// lookAhead adds need against have and what follows from it.
func (f *formulation) lookAhead(p *Plan, need [][]NeedHave) {
	if need == nil && len(f.in.Grades) > 0 {
		p.miss(AnswerNeed, "not worked out: out of time")
	}
	bought := map[string]calendar.Day{} // first order on each lane
	for _, b := range p.Purchases {
		if d, ok := bought[b.Lane]; !ok || b.OrderBy < d {
			bought[b.Lane] = b.OrderBy
		}
	}
	for k, rows := range need {
		p.NeedHave = append(p.NeedHave, rows...)
		if s, ok := f.shortage(k, rows); ok {
			p.Shortages = append(p.Shortages, s)
			p.OrderBy = append(p.OrderBy, f.orderBy(k, s, rows, bought)...)
		}
	}
}

// Heading is a plan's one-line heading, such as "Harbour plant, 26 weeks from 2027-01-04".
func (p *Plan) Heading() string {
	var b strings.Builder
	if p.Plant != "" {
		b.WriteString(p.Plant + ", ")
	}
	fmt.Fprintf(&b, "%s from %s", Weeks(p.Buckets), p.Start)
	return b.String()
}

// MadeOn is the day of the plant's clock on which p was made, which its start may come before or after; its start where that is not known.
func (p *Plan) MadeOn(in *Input) calendar.Day { return dayAt(in, p.Made, p.Start) }

// dayAt is the day of the plant's clock at t; other if t is not known.
func dayAt(in *Input, t time.Time, other calendar.Day) calendar.Day {
	if t.IsZero() {
		return other
	}
	return StartDay(in, Options{Now: t})
}

// Weeks is how long the buckets of a horizon last in words, such as "26 weeks": whole weeks of seven days, not the
// calendar weeks that they touch, of which there is one more unless the first day is a Monday.
func Weeks(buckets []calendar.Bucket) string {
	days := 0
	for _, t := range buckets {
		days += t.Span.Days()
	}
	if days/7 == 1 {
		return "1 week"
	}
	return fmt.Sprintf("%d weeks", days/7)
}
