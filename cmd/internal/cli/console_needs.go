package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"feedline/cmd/internal/beside"
	"feedline/cmd/internal/book"
	"feedline/cmd/internal/console"
	"feedline/cmd/internal/sheets"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/solve"
)

// whatIfTime is the longest search for a what-if unless --time says otherwise.
const whatIfTime = 15 * time.Second

// consoleNeeds is what the console needs done, by the book and the planner.
func (a *app) consoleNeeds(b *book.Book, opt planner.Options) console.Needs {
	if opt.Time == 0 && opt.Work == 0 {
		opt.Time = whatIfTime
	}
	opt.Workers = max(1, runtime.NumCPU()-1) // one is left for the keyboard
	return console.Needs{
		Book:     &consoleBook{a, b, opt},
		Planner:  &consolePlanner{a, b, opt},
		Recorder: &consoleRecorder{a, b},
		Drafts:   newConsoleDrafts(b.Path(), a.who(), a.Now()),
		Now:      a.Now,
		Export:   exportFile,
	}
}

// exportFile writes a file in the working folder, beside its place first. It gives a number to a name that is taken.
func exportFile(name string, write func(io.Writer) error) (string, error) {
	ext := filepath.Ext(name)
	stem := name[:len(name)-len(ext)]
	for i := 2; ; i++ {
		if _, err := os.Lstat(name); errors.Is(err, os.ErrNotExist) {
			break
		}
		name = fmt.Sprintf("%s-%d%s", stem, i, ext)
	}
	tmp, err := beside.Create(name)
	if err != nil {
		return "", err
	}
	defer os.Remove(tmp.Name())
	if err := errors.Join(write(tmp), tmp.Chmod(0o644), tmp.Sync(), tmp.Close()); err != nil {
		return "", err
	}
	return name, os.Rename(tmp.Name(), name)
}

// consoleBook is the book as the console uses it.
type consoleBook struct {
	a   *app
	b   *book.Book
	opt planner.Options
}

func (k *consoleBook) Load(ctx context.Context) (console.Stored, error) {
	in, v, err := k.b.Load(ctx)
	if err != nil {
		return console.Stored{}, err
	}
	s := console.Stored{In: in, Version: int64(v)}
	p, meta, err := k.b.LastPlan(ctx)
	switch {
	case errors.Is(err, book.ErrNoPlan):
		return s, nil
	case err != nil:
		return s, err
	}
	s.Plan, s.PlanID, s.Of = p, meta.ID, int64(meta.Input)
	if s.Likely, err = k.b.Forecast(ctx, meta.ID); err != nil {
		return s, err
	}
	s.Release, err = k.release(ctx)
	return s, err
}

// release is which plan was released last.
func (k *consoleBook) release(ctx context.Context) (r console.Release, err error) {
	heads, err := k.b.Plans(ctx)
	for _, h := range heads {
		if h.Released() && h.ReleasedAt.After(r.At) {
			r = console.Release{ID: h.ID, At: h.ReleasedAt, By: h.ReleasedBy}
		}
	}
	return r, err
}

func (k *consoleBook) PlanOf(ctx context.Context, id int64) (*planner.Plan, error) {
	p, _, err := k.b.Plan(ctx, id)
	return p, err
}

func (k *consoleBook) Now(ctx context.Context) (version, released int64, err error) {
	v, err := k.b.Version(ctx)
	if err != nil {
		return 0, 0, err
	}
	r, err := k.release(ctx)
	return int64(v), r.ID, err
}

// Changed names the rows that were changed after a version, and by whom.
func (k *consoleBook) Changed(ctx context.Context, after int64) ([]string, error) {
	list, err := k.b.Changes(ctx, book.Version(after))
	var words []string
	for _, c := range list {
		what := "changed"
		switch {
		case c.Before == "" && c.After == "":
			what = "put in another order"
		case c.Before == "":
			what = "added"
		case c.After == "":
			what = "taken out"
		}
		words = append(words, fmt.Sprintf("%s %s %s by %s", c.Table, c.Key, what, orUnknown(c.Who)))
	}
	return words, err
}

func orUnknown(s string) string {
	if s == "" {
		return "somebody"
	}
	return s
}

func (k *consoleBook) Keep(ctx context.Context, d console.Accepted) (console.Stored, error) {
	if _, err := k.save(ctx, d); err != nil {
		return console.Stored{}, err
	}
	return k.Load(ctx)
}

func (k *consoleBook) Accept(ctx context.Context, d console.Accepted) (console.Stored, error) {
	r, err := k.release(ctx)
	if err != nil {
		return console.Stored{}, err
	}
	if r.ID != d.Release {
		return console.Stored{}, &console.Stale{Changes: []string{fmt.Sprintf("plan %d was released by %s at %s", r.ID, orUnknown(r.By), r.At.Format("2 Jan 15:04"))}}
	}
	id, err := k.save(ctx, d)
	if err != nil {
		return console.Stored{}, err
	}
	if err := k.b.Release(ctx, id, k.a.who()); err != nil {
		return console.Stored{}, fmt.Errorf("edits and plan are saved, the plan is not released: %w", err)
	}
	return k.Load(ctx)
}

// save saves records and plan.
func (k *consoleBook) save(ctx context.Context, d console.Accepted) (id int64, err error) {
	v, err := k.b.Save(ctx, d.In, book.SaveOptions{Who: k.a.who(), Note: d.Note, Expect: book.Version(d.Version)})
	var stale *book.StaleError
	if errors.As(err, &stale) {
		changes, _ := k.Changed(ctx, d.Version)
		return 0, &console.Stale{Changes: changes}
	}
	if err != nil || d.Plan == nil {
		return 0, err
	}
	asked, err := json.Marshal(savedOptions{Start: d.Plan.Start.String(), Gap: k.opt.Gap, Seconds: k.opt.Time.Seconds(), Work: k.opt.Work, Released: d.Release})
	if err != nil {
		return 0, err
	}
	id, err = k.b.SavePlan(ctx, d.Plan, book.PlanMeta{Input: v, Note: d.Note, Options: asked})
	if err != nil {
		return 0, fmt.Errorf("the edits are saved, the plan is not: %w", err)
	}
	return id, nil
}

// consolePlanner plans for the console: against the released plan, with the estimates from records, beginning with the plan before.
type consolePlanner struct {
	a   *app
	b   *book.Book
	opt planner.Options
}

func (k *consolePlanner) Words(in *planner.Input, today calendar.Day, words string) ([]planner.Edit, error) {
	ctx := context.Background()
	till, err := k.a.waitedTill(ctx, k.b, today)
	if err != nil {
		return nil, err
	}
	_, learned, _, err := k.b.Estimates(ctx, till)
	if err != nil {
		return nil, err
	}
	return planner.EditWords(in, withEstimates(learned)(in), today, words)
}

func (k *consolePlanner) Apply(in *planner.Input, edits []planner.Edit) (*planner.Input, error) {
	return sheets.Apply(in, edits...)
}

func (k *consolePlanner) Plan(ctx context.Context, in *planner.Input, start calendar.Day, from *planner.Plan, progress func(solve.Progress)) (*planner.Plan, error) {
	opt := k.opt
	opt.Now, opt.Start, opt.From, opt.Progress = k.a.Now(), start, from, progress
	if from != nil && start != 0 && from.Start == start { // a what-if: costs of plans with other days do not compare
		like := horizonOf(from)
		opt.DailyDays, opt.Weeks = like.DailyDays, like.Weeks
	}
	whole := context.WithoutCancel(ctx)
	till, err := k.a.waitedTill(whole, k.b, start)
	if err != nil {
		return nil, err
	}
	_, known, _, err := k.b.Estimates(whole, till)
	if err != nil {
		return nil, err
	}
	in = estimates.Apply(in, known.FiguresFor(in))
	if opt.Released, _, err = promiseOf(whole, k.b); err != nil {
		return nil, err
	}
	return planner.Make(ctx, in, opt)
}

// Promise asks for the earliest day by which the enquiry can be complete with no order of the plan later, and what keeps it from being
// sooner: the same answer as feedline promise gives.
func (k *consolePlanner) Promise(ctx context.Context, in *planner.Input, plan *planner.Plan, profile string, length quantity.Length) (string, error) {
	today := planner.StartDay(in, planner.Options{Now: k.a.Now()})
	if today-plan.Start >= 7 {
		return "", fmt.Errorf("the plan begins on %s: plan again before you promise anything", plan.Start)
	}
	opt := horizonOf(plan)
	opt.Now = k.a.Now()
	o, err := planner.Promise(ctx, estimates.AsPlanned(in, plan), opt, plan, profile, length)
	if err != nil {
		return "", err
	}
	return offerWords(o, in.Plant.Units, today) + soonerWords(o, in.Plant), nil
}

// horizonOf is options with the start and the buckets of a plan.
func horizonOf(p *planner.Plan) planner.Options {
	o := planner.Options{Now: p.Made, Start: p.Start}
	for _, b := range p.Buckets {
		if !b.Weekly() {
			o.DailyDays++
		}
		o.Weeks = int(b.Span.To-p.Start) / 7
	}
	return o
}

// offerWords says an offer in a sentence or two; a day that has passed is today.
func offerWords(o planner.Offer, units quantity.System, today calendar.Day) string {
	what := fmt.Sprintf("%s of %s", o.Length.Format(units, 0), o.Profile)
	switch {
	case o.Day == 0:
		return fmt.Sprintf("Enquiry: %s can't be complete within the plan with no order later than planned. What bounds it is %s.", what, o.Words)
	case o.Limit == planner.OfTime:
		return fmt.Sprintf("Enquiry: %s can be complete by %s with no order later than planned.", what, max(o.Day, today).UTC().Format("Mon 2 Jan 2006"))
	}
	return fmt.Sprintf("Enquiry: %s can be complete by %s with no order later than planned. What keeps it from being sooner is %s.", what, max(o.Day, today).UTC().Format("Mon 2 Jan 2006"), o.Words)
}

// soonerWords says of each sooner day what it takes, in a sentence.
func soonerWords(o planner.Offer, plant planner.Plant) string {
	var b strings.Builder
	date := func(d calendar.Day) string { return d.UTC().Format("Mon 2 Jan") }
	for _, w := range o.Wider {
		var take []string
		for _, l := range w.Loads {
			take = append(take, fmt.Sprintf("%d × %s ordered by %s", l.Loads, l.Lane, date(l.OrderBy)))
		}
		if len(w.Loads) > 0 {
			take[len(take)-1] += fmt.Sprintf(" (%s %s)", quantity.Grouped(float64(w.Cost), 0), plant.Currency)
		}
		for _, d := range w.Displaced {
			take = append(take, fmt.Sprintf("%s of the forecast of %s put off till after %s", d.Length.Format(plant.Units, 0), d.Profile, date(d.Until)))
		}
		if len(take) == 0 {
			continue
		}
		fmt.Fprintf(&b, " Sooner, by %s, with %s.", date(w.Day), strings.Join(take, ", "))
	}
	return b.String()
}
