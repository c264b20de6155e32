package rows

import (
	"math"
	"slices"
	"time"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/forecast"
	"feedline/planner/records"
	"feedline/yield"
)

// Facts is all that the screens speak of, made ready to be looked up. It is not changed once made, and may be shared.
type Facts struct {
	In   *planner.Input
	Plan *planner.Plan
	Was  *planner.Plan // the released plan, else the plan before the draft; nil if there is neither
	Ref
	Now    time.Time
	Edits  []EditLine
	Known  Known
	Likely *forecast.Result // what Plan is likely to come to; nil if no forecast was made of it

	m        measure
	today    calendar.Day
	weeks    []week
	runs     map[place][]planner.Run
	uses     map[place]planner.LineUse
	lines    map[string]lines.Line
	profiles map[string]lines.Profile
	grades   map[string]inventory.Grade
	mats     map[string]inventory.Material
	lanes    map[string]inventory.Lane
	orders   map[string]planner.Order
	used     *planner.Input          // In with the estimates that the plan is made with
	fits     map[[2]string]lines.Fit // of used
	entered  map[[2]string]lines.Fit // of In
	whyLate  map[string]planner.WhyLate
	differ   map[place]change
}

// Ref says what Was is.
type Ref struct {
	Released bool
	At       time.Time
	By       string
}

// Known is what is known beside the plan.
type Known struct {
	Actual   []Actual        // what was recorded of yesterday
	Promised *planner.Plan   // the plan that was the promise of yesterday; nil if there was none
	Entries  []records.Entry // what was recorded lately and stands, in the order it was entered
	Promise  string          // the answer to the last enquiry
}

// EditLine is an edit of the draft.
type EditLine struct {
	Key  string
	Text string
	Cost quantity.Money // the objective after it less that before; NaN while it is not planned
	Kind string         // what it is about: lines, feed, orders
}

type place struct {
	line   string
	bucket int
}

// week is an ISO week of the horizon with its buckets [from, to).
type week struct {
	monday   calendar.Day
	from, to int
}

func (w week) label() string { return w.monday.WeekLabel() }

// number is the two digits of the ISO week.
func (w week) number() string {
	_, n := w.monday.ISOWeek()
	return string([]byte{byte('0' + n/10), byte('0' + n%10)})
}

// New gathers the facts. in and plan must not be nil nor be changed afterwards; was may be nil.
func New(in *planner.Input, plan, was *planner.Plan, now time.Time) *Facts {
	f := &Facts{In: in, Plan: plan, Was: was, Now: now,
		m:    measure{in.Plant.Units, in.Plant.Currency, plan.Start, planner.StartDay(in, planner.Options{Now: now})},
		runs: map[place][]planner.Run{}, uses: map[place]planner.LineUse{},
		lines: map[string]lines.Line{}, profiles: map[string]lines.Profile{}, grades: map[string]inventory.Grade{},
		mats: map[string]inventory.Material{}, lanes: map[string]inventory.Lane{}, orders: map[string]planner.Order{}, fits: map[[2]string]lines.Fit{}, entered: map[[2]string]lines.Fit{}, whyLate: map[string]planner.WhyLate{},
	}
	f.used = in
	if len(plan.Estimates) > 0 {
		f.used = estimates.Apply(in, plan.Estimates)
	}
	f.today = f.m.today
	for i, b := range plan.Buckets {
		m := b.Span.From.Monday()
		if n := len(f.weeks); n > 0 && f.weeks[n-1].monday == m {
			f.weeks[n-1].to = i + 1
			continue
		}
		f.weeks = append(f.weeks, week{m, i, i + 1})
	}
	for _, r := range plan.Runs {
		k := place{r.Line, r.Bucket}
		f.runs[k] = append(f.runs[k], r)
	}
	for _, u := range plan.Lines {
		f.uses[place{u.Line, u.Bucket}] = u
	}
	index(f.lines, in.Lines, func(x lines.Line) string { return x.Code })
	index(f.profiles, in.Profiles, func(x lines.Profile) string { return x.Code })
	index(f.grades, in.Grades, func(x inventory.Grade) string { return x.Code })
	index(f.mats, in.Materials, func(x inventory.Material) string { return x.Code })
	index(f.lanes, f.used.Lanes, func(x inventory.Lane) string { return x.Code })
	index(f.orders, in.Orders, func(x planner.Order) string { return x.Code })
	index(f.fits, f.used.Fits, fitKey)
	index(f.entered, in.Fits, fitKey)
	index(f.whyLate, plan.WhyLate, func(x planner.WhyLate) string { return x.Order })
	f.differ = f.compare()
	return f
}

func index[K comparable, T any](m map[K]T, list []T, key func(T) K) {
	for _, x := range list {
		m[key(x)] = x
	}
}

// Today is the day that the facts are looked at on, in the plant's zone.
func (f *Facts) Today() calendar.Day { return f.today }

// Bucket is the plan's bucket of a day, the first or last one for a day outside of the plan; −1 if the plan has none.
func (f *Facts) Bucket(d calendar.Day) int {
	n := len(f.Plan.Buckets)
	if n == 0 {
		return -1
	}
	if t, ok := calendar.BucketOf(f.Plan.Buckets, d); ok {
		return t
	}
	if d < f.Plan.Buckets[0].Span.From {
		return 0
	}
	return n - 1
}

// span is the days of a bucket.
func (f *Facts) span(t int) calendar.Span { return f.Plan.Buckets[t].Span }

// end is the day after the plan's last.
func (f *Facts) end() calendar.Day {
	if n := len(f.Plan.Buckets); n > 0 {
		return f.Plan.Buckets[n-1].Span.To
	}
	return f.Plan.Start
}

// running is how many of the book's lines the plan has on in a bucket: it may know lines that have been taken out since.
func (f *Facts) running(t int) (n int) {
	for _, l := range f.In.Lines {
		n += truth(f.uses[place{l.Code, t}].On)
	}
	return n
}

// most is the most lines at once in a week.
func (f *Facts) most(w week) int {
	n := 0
	for t := w.from; t < w.to; t++ {
		n = max(n, f.running(t))
	}
	return n
}

// pins are those of a line that touch the days of s.
func (f *Facts) pins(line string, s calendar.Span) []planner.Pin {
	var list []planner.Pin
	for _, p := range f.In.Pins {
		if p.Line == line && p.From < s.To && s.From < p.To {
			list = append(list, p)
		}
	}
	return list
}

// outages are those of a machine that touch the days of s.
func (f *Facts) outages(machine string, s calendar.Span) []calendar.Outage {
	var list []calendar.Outage
	for _, o := range f.In.Calendar.Outages {
		if o.Machine == machine && o.From.Before(s.To.In(f.zone())) && s.From.In(f.zone()).Before(o.To) {
			list = append(list, o)
		}
	}
	return list
}

func (f *Facts) zone() *time.Location {
	if z := f.In.Calendar.Zone; z != nil {
		return z
	}
	return time.UTC
}

func fitKey(x lines.Fit) [2]string { return [2]string{x.Line, x.Profile} }

// rate is what a line makes of a profile, by the figures that the plan is made with.
func (f *Facts) rate(line, profile string) (lines.RateResult, bool) {
	fit, ok := f.fits[[2]string{line, profile}]
	return lines.Rate(f.profiles[profile], fit), ok
}

// enteredRate is the same by the figures that were entered.
func (f *Facts) enteredRate(line, profile string) lines.RateResult {
	return lines.Rate(f.profiles[profile], f.entered[[2]string{line, profile}])
}

// estimated reports whether the plan is made with any figure from records.
func (f *Facts) estimated() bool {
	b := f.used.Basis
	return b != nil && slices.ContainsFunc(b.Estimates, func(e planner.Estimate) bool { return e.Used })
}

// StepYield is a step's yield of a material as the plan is made with it, marked if that is estimated; "" for a step without one.
func (f *Facts) StepYield(step yield.Step, material string) string {
	of := func(in *planner.Input) quantity.Share {
		for _, o := range in.Overrides {
			if o.Step == step.Code && o.Material == material {
				return o.Yield
			}
		}
		return step.Yield
	}
	now, _ := estimateCells(100*float64(of(f.used)), 100*float64(of(f.In)), 1)
	if step.Code == "" {
		return ""
	}
	return now.Text + " %"
}

// titled is a title that says what the mark of estimates means, where there are any.
func (f *Facts) titled(s string) string {
	if f.estimated() {
		return s + "; " + signEstimate + " from records"
	}
	return s
}

// signEstimate marks a figure that is estimated from records and not as it was entered.
const signEstimate = "≈"

// estimateCells is a figure that the plan uses, marked where it is not the entered one, and the entered one, which is told only then.
func estimateCells(used, entered float64, decimals int) (now, was Cell) {
	now, was = figure(used, decimals), figure(entered, decimals)
	if math.Abs(used-entered) <= 1e-9*math.Abs(entered) || now.Value == nil {
		was.Text = ""
		return now, was
	}
	now.Text = signEstimate + now.Text
	return now, was
}

// usable is the lines that could run on a day: set up, and not down.
func (f *Facts) usable(d calendar.Day) int {
	n := 0
	for _, l := range f.In.Lines {
		if l.State != lines.Uncommissioned && !(l.State == lines.Down && d < l.DownUntil) {
			n++
		}
	}
	return n
}

// needOf is the rows of need against have of a grade by week.
func (f *Facts) needOf(grade string) []weekNeed {
	out := make([]weekNeed, len(f.weeks))
	at := map[int]int{}
	for i, w := range f.weeks {
		for t := w.from; t < w.to; t++ {
			at[t] = i
		}
	}
	for _, n := range f.Plan.NeedHave {
		if n.Grade != grade {
			continue
		}
		if i, ok := at[n.Bucket]; ok {
			out[i].need += n.Need
			out[i].have += n.Have
			out[i].owed = max(0, n.Cumulative)
		}
	}
	return out
}

// weekNeed is need, have and what is owed at the end of a week.
type weekNeed struct{ need, have, owed quantity.Mass }

// late reports the orders that the plan can't ship by their day: how many, of how many, and the worst.
func (f *Facts) late() (n int, worst planner.OrderResult) {
	for _, o := range f.Plan.Orders {
		if o.DaysLate == 0 && o.Unmet <= 0 {
			continue
		}
		n++
		if worse(o, worst) {
			worst = o
		}
	}
	return n, worst
}

// worse reports whether a is in greater trouble than b: never made before late, then by days.
func worse(a, b planner.OrderResult) bool {
	if (a.Unmet > 0) != (b.Unmet > 0) {
		return a.Unmet > 0
	}
	return a.DaysLate > b.DaysLate
}

// shortageOf is the first shortage of a grade.
func (f *Facts) shortageOf(grade string) (planner.Shortage, bool) {
	i := slices.IndexFunc(f.Plan.Shortages, func(s planner.Shortage) bool { return s.Grade == grade })
	if i < 0 {
		return planner.Shortage{}, false
	}
	return f.Plan.Shortages[i], true
}

// wayOf is the way to order that covers a grade's shortage at the least landed cost and still in time, by itself if there is one; false if
// none does.
func (f *Facts) wayOf(grade string) (best planner.OrderBy, ok bool) {
	for _, o := range f.Plan.OrderBy {
		if o.Grade == grade && !o.TooLate && o.By >= f.today && (!ok || o.Alone() && !best.Alone() || o.Alone() == best.Alone() && o.Landed < best.Landed) {
			best, ok = o, true
		}
	}
	return best, ok
}

// silo is the pellets of a grade at the plan's start.
func (f *Facts) silo(grade string) quantity.Mass {
	for _, s := range f.In.Stock {
		if s.Kind == inventory.PelletStock && s.Code == grade {
			return s.Mass
		}
	}
	return 0
}

// coverNow is the days that the pellets in the silo last at the plan's own use; NaN without pellets' levels.
func (f *Facts) coverNow(grade string) float64 {
	var use []inventory.PeriodUse
	for _, l := range f.Plan.Pellets {
		if l.Grade == grade {
			use = append(use, inventory.PeriodUse{Days: f.span(l.Bucket).Days(), Mass: l.Used})
		}
	}
	if use == nil {
		return math.NaN()
	}
	return inventory.ForwardCover(f.silo(grade), use)
}
