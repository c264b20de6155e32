package console

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"

	"feedline/cmd/internal/console/rows"
	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/cmd/internal/demo"
	"feedline/cmd/internal/sheets"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
	"feedline/planner/solve"
)

var (
	monday  = calendar.Date(2027, 1, 4)
	morning = time.Date(2027, 1, 5, 6, 30, 0, 0, time.UTC) // a Tuesday
)

// shelf is a book in memory, with the rules of the book: a version that grows, and nothing saved on a version that is gone.
type shelf struct {
	mu      sync.Mutex
	in      *planner.Input
	version int64
	plans   []*planner.Plan
	of      []int64
	release Release
	log     []string
	fail    error // of every call, if set
}

func newShelf(in *planner.Input) *shelf {
	return &shelf{in: in, version: 1, plans: []*planner.Plan{rowstest.Plan(in, monday, morning.Add(-time.Hour))}, of: []int64{1}}
}

func (b *shelf) Load(context.Context) (Stored, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.stored(), b.fail
}

func (b *shelf) stored() Stored {
	s := Stored{In: b.in, Version: b.version, Release: b.release}
	if n := len(b.plans); n > 0 {
		s.Plan, s.PlanID, s.Of = b.plans[n-1], int64(n), b.of[n-1]
	}
	return s
}

func (b *shelf) PlanOf(_ context.Context, id int64) (*planner.Plan, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.plans[id-1], nil
}

func (b *shelf) Now(context.Context) (version, released int64, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.version, b.release.ID, b.fail
}

func (b *shelf) Changed(_ context.Context, after int64) ([]string, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string{}, b.log[min(int(after)-1, len(b.log)):]...), nil
}

func (b *shelf) save(d Accepted, release bool) (Stored, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.fail != nil {
		return Stored{}, b.fail
	}
	if d.Version != b.version || release && d.Release != b.release.ID {
		return Stored{}, &Stale{Changes: append([]string{}, b.log[d.Version-1:]...)}
	}
	if d.In != b.in {
		b.in = d.In
		b.version++
		b.log = append(b.log, d.Note+" by somebody")
	}
	if d.Plan != nil {
		b.plans, b.of = append(b.plans, d.Plan), append(b.of, b.version)
		if release {
			b.release = Release{ID: int64(len(b.plans)), At: morning, By: "anna"}
		}
	}
	return b.stored(), nil
}

func (b *shelf) Accept(_ context.Context, d Accepted) (Stored, error) { return b.save(d, true) }
func (b *shelf) Keep(_ context.Context, d Accepted) (Stored, error)   { return b.save(d, false) }

// sums is a planner that plans by a few sums, at once or when it is told to.
type sums struct {
	gate chan struct{} // nil: at once; else a plan is made when something comes out of it, or the context ends
}

func (s *sums) Words(in *planner.Input, today calendar.Day, words string) ([]planner.Edit, error) {
	return planner.EditWords(in, in, today, words)
}

func (s *sums) Plan(ctx context.Context, in *planner.Input, start calendar.Day, _ *planner.Plan, progress func(solve.Progress)) (*planner.Plan, error) {
	if start == 0 {
		start = planner.StartDay(in, planner.Options{Now: morning})
	}
	p := rowstest.Plan(in, start, morning)
	progress(solve.Progress{Phase: "search", Has: true, Objective: float64(p.Objective) + 5000, Bound: float64(p.Bound), Elapsed: time.Second})
	if s.gate != nil {
		select {
		case <-s.gate:
		case <-ctx.Done():
			p.Stop = solve.Cancelled
		}
	}
	return p, nil
}

func (s *sums) Promise(_ context.Context, _ *planner.Input, _ *planner.Plan, profile string, l quantity.Length) (string, error) {
	if profile == "NONE" {
		return "", errors.New("no such profile")
	}
	return fmt.Sprintf("%s %s can be promised for 9 Feb; feed bounds it", profile, l.Format(quantity.Metric, 0)), nil
}

// diary is records in memory, read as the book's are and booked against a plant that stays as it is.
type diary struct {
	mu      sync.Mutex
	in      *planner.Input // the plant of the demonstration if nil
	list    []records.Entry
	arrived []Entry // all that was handed in
	next    int64
}

func (d *diary) Record(_ context.Context, e Entry) (int64, string, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.arrived = append(d.arrived, e)
	in := d.in
	if in == nil {
		in = plant()
	}
	r, err := sheets.ParseRecord(e.Kind, e.Fields, in, monday+1)
	if err != nil {
		_, field, _ := strings.Cut(err.(*sheets.SetError).Path, ", ")
		return 0, "", &FieldError{field, err}
	}
	r, moves, _, err := records.NewLedger(in).Post(r, false)
	if err != nil {
		return 0, "", &FieldError{err.(*records.Refused).Problems[0].Field, errors.New(err.Error())}
	}
	d.next++
	d.list = append(d.list, records.Entry{ID: d.next, At: morning, Who: "anna", Head: r.Head(), Record: r, Moves: moves})
	return d.next, string(e.Kind), nil
}

// last is what was handed in last.
func (d *diary) last() (e Entry) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if n := len(d.arrived); n > 0 {
		e = d.arrived[n-1]
	}
	return e
}

func (d *diary) Undo(_ context.Context, id int64) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.list = slices.DeleteFunc(d.list, func(e records.Entry) bool { return e.ID == id })
	return nil
}

func (d *diary) Recorded(_ context.Context, day calendar.Day) (list []rows.Actual, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, e := range d.list {
		if r, ok := e.Record.(records.Run); ok && r.Day == day {
			list = append(list, rows.Actual{ID: e.ID, Day: r.Day, Line: r.Line, Profile: r.Profile, Good: r.Good, Scrap: r.Scrap, Run: r.Run, Down: r.DownHours()})
		}
	}
	return list, nil
}

func (d *diary) Promised(context.Context, calendar.Day) (*planner.Plan, error) { return nil, nil }

func (d *diary) Entries(_ context.Context, from calendar.Day, kinds ...records.Kind) (list []records.Entry, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, e := range d.list {
		if e.Head.Day >= from && (len(kinds) == 0 || slices.Contains(kinds, e.Head.Kind)) {
			list = append(list, e)
		}
	}
	return list, nil
}

// drawer keeps drafts in memory.
type drawer struct {
	mu   sync.Mutex
	kept KeptDraft
	left []KeptDraft
}

func (d *drawer) Keep(k KeptDraft) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.kept = k
	return nil
}

func (d *drawer) Left() ([]KeptDraft, error) { return append([]KeptDraft{}, d.left...), nil }

func (d *drawer) Forget(name string) error {
	d.left = slices.DeleteFunc(d.left, func(k KeptDraft) bool { return k.Name == name })
	return nil
}

func (d *drawer) words() (list []string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, x := range d.kept.Steps {
		list = append(list, x.Words)
	}
	return list
}

// needs is a console's needs on a shelf; exported files are kept in memory.
func needs(b *shelf, p *sums, files map[string]string) Needs {
	var mu sync.Mutex
	return Needs{Book: b, Planner: applier{p}, Recorder: &diary{}, Now: func() time.Time { return morning },
		Export: func(name string, write func(io.Writer) error) (string, error) {
			var out bytes.Buffer
			err := write(&out)
			mu.Lock()
			defer mu.Unlock()
			files[name] = out.String()
			return name, err
		}}
}

func plant() *planner.Input { return demo.Input(monday) }
