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
	return planner.EditWords(in, today, words)
}

func (k *consolePlanner) Apply(in *planner.Input, edits []planner.Edit) (*planner.Input, error) {
	return sheets.Apply(in, edits...)
}

func (k *consolePlanner) Plan(ctx context.Context, in *planner.Input, start calendar.Day, from *planner.Plan, progress func(solve.Progress)) (*planner.Plan, error) {
	opt := k.opt
	opt.Now, opt.Start, opt.From, opt.Progress = k.a.Now(), start, from, progress
	whole := context.WithoutCancel(ctx)
	_, known, _, err := k.b.Estimates(whole, start)
	if err != nil {
		return nil, err
	}
	in = estimates.Apply(in, known.Figures())
	if opt.Released, _, err = promiseOf(whole, k.b); err != nil {
		return nil, err
	}
	return planner.Make(ctx, in, opt)
}

// Promise plans with the enquiry as one order more, wanted at once, and says when it would be complete and what holds it till then.
func (k *consolePlanner) Promise(ctx context.Context, in *planner.Input, plan *planner.Plan, profile string, length quantity.Length) (string, error) {
	today := planner.StartDay(in, planner.Options{Now: k.a.Now()})
	start := plan.Start
	if start > today || today-start >= 7 {
		start = today
	}
	edits, err := planner.OrderAdded(in, planner.Order{Code: enquiryCode, Profile: profile, Length: length, Due: today, Priority: 1})
	if err != nil {
		return "", err
	}
	with, err := sheets.Apply(in, edits...)
	if err != nil {
		return "", err
	}
	p, err := k.Plan(ctx, with, start, plan, nil)
	if err != nil {
		return "", err
	}
	what := fmt.Sprintf("%s of %s", length.Format(in.Plant.Units, 0), profile)
	for _, o := range p.Orders {
		switch {
		case o.Order != enquiryCode:
		case o.Unmet > 0:
			return fmt.Sprintf("Enquiry: %s is not complete within the plan; %s is never made.", what, o.Unmet.Format(in.Plant.Units, 0)), nil
		default:
			return fmt.Sprintf("Enquiry: %s could be complete by %s, before other orders of lower priority; till then %s bounds the output.",
				what, o.Promise.UTC().Format("Mon 2 Jan 2006"), boundUntil(p, o.Promise)), nil
		}
	}
	return "", errors.New("the plan has lost the enquiry")
}

// enquiryCode is the code of the order that stands for an enquiry.
const enquiryCode = "ENQUIRY"

// boundUntil is what bounds the bucket that a day lies in.
func boundUntil(p *planner.Plan, d calendar.Day) string {
	if t, ok := calendar.BucketOf(p.Buckets, d); ok && t < len(p.BoundBy) {
		return string(p.BoundBy[t].By)
	}
	return "what is not known"
}
