package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/console"
	"feedline/cmd/internal/console/rows"
	"feedline/cmd/internal/sheets"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// consoleRecorder enters the console's records in the book.
type consoleRecorder struct {
	a *app
	b *book.Book
}

func (k *consoleRecorder) Record(ctx context.Context, e console.Entry) (int64, string, error) {
	in, _, err := k.b.Load(ctx)
	if err != nil {
		return 0, "", err
	}
	r, err := sheets.ParseRecord(e.Kind, e.Fields, in, planner.StartDay(in, planner.Options{Now: k.a.Now()}))
	if err != nil {
		return 0, "", atField(err)
	}
	out, err := k.b.Record(ctx, book.RecordOptions{Who: k.a.who()}, r)
	if err != nil {
		return 0, "", atField(err)
	}
	said := fmt.Sprintf("%s %s", e.Kind, out.Entries[0].Head.Code)
	if out.New == 0 {
		said += ", which the book had already"
	}
	for _, w := range out.Warnings {
		said += "; note: " + w.String()
	}
	return out.Entries[0].ID, said, nil
}

// atField names the field that a refusal is of, where it is of one.
func atField(err error) error {
	var set *sheets.SetError
	var refused *records.Refused
	field := ""
	switch {
	case errors.As(err, &set):
		_, field, _ = strings.Cut(set.Path, ", ")
	case errors.As(err, &refused):
		field = refused.Problems[0].Field
		err = errors.New(refused.Error()) // without the hint: the form stays open to be corrected
	}
	if field == "" {
		return err
	}
	return &console.FieldError{Field: field, Err: err}
}

func (k *consoleRecorder) Undo(ctx context.Context, id int64) error {
	_, err := k.b.Reverse(ctx, id, k.a.who(), "taken back in the console")
	return err
}

func (k *consoleRecorder) Recorded(ctx context.Context, d calendar.Day) (list []rows.Actual, err error) {
	all, err := k.b.Entries(ctx, book.Filter{Kinds: []records.Kind{records.KindRun}, From: d, To: d + 1, Standing: true})
	for _, e := range all {
		if r, ok := e.Record.(records.Run); ok && e.Counts() {
			list = append(list, rows.Actual{ID: e.ID, Day: r.Day, Line: r.Line, Profile: r.Profile, Good: r.Good, Scrap: r.Scrap, Run: r.Run, Down: r.DownHours()})
		}
	}
	return list, err
}

func (k *consoleRecorder) Promised(ctx context.Context, d calendar.Day) (*planner.Plan, error) {
	all, err := k.b.Promises(ctx)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	in, _, err := k.b.Load(ctx)
	if err != nil {
		return nil, err
	}
	id := promiseOn(in, all, d)
	if id == 0 {
		return nil, nil
	}
	p, _, err := k.b.Plan(ctx, id)
	return p, err
}

func (k *consoleRecorder) Entries(ctx context.Context, from calendar.Day, kinds ...records.Kind) ([]records.Entry, error) {
	return k.b.Entries(ctx, book.Filter{Kinds: kinds, From: from, Standing: true})
}
