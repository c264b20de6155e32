package cli

import (
	"context"
	"fmt"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/console"
	"feedline/cmd/internal/console/rows"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// consoleRecorder enters the console's records in the book.
type consoleRecorder struct {
	a *app
	b *book.Book
}

func (k *consoleRecorder) Record(ctx context.Context, e console.Entry) (int64, string, error) {
	r, err := recordOf(e)
	if err != nil {
		return 0, "", err
	}
	out, err := k.b.Record(ctx, book.RecordOptions{Who: k.a.who()}, r)
	if err != nil {
		return 0, "", err
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

// recordOf reads a record as it was typed. Amounts have their unit behind them.
func recordOf(e console.Entry) (records.Record, error) {
	t := typed{m: e.Fields}
	day := t.day("day")
	var r records.Record
	switch e.Kind {
	case "run":
		r = records.Run{Day: day, Line: t.m["line"], Profile: t.m["profile"], Good: t.length("good"), Scrap: t.mass("scrap"), Run: t.hours("run"), Down: t.hours("down")}
	case "receipt":
		x := records.Receipt{Code: t.m["code"], Day: day, Delivery: t.m["delivery"], Lot: t.m["lot"], Net: t.mass("net")}
		if t.m["hold"] == "yes" {
			x.Decision, x.Reason = records.Hold, "held at receipt"
		}
		r = x
	case "count":
		x := records.Count{Day: day, Counted: records.Account(t.m["counted"]), Item: t.m["item"]}
		if x.Counted == records.InProfile {
			x.Length = t.length("found")
		} else {
			x.Mass = t.mass("found")
		}
		r = x
	default:
		panic("cli: the console records a kind that is not known")
	}
	return r, t.err
}

// typed reads fields and keeps the first error.
type typed struct {
	m   map[string]string
	err error
}

func (t *typed) note(field string, err error) {
	if err != nil && t.err == nil {
		t.err = fmt.Errorf("%s: %w", field, err)
	}
}

func (t *typed) day(field string) calendar.Day {
	d, err := calendar.ParseDay(t.m[field])
	t.note(field, err)
	return d
}

func (t *typed) mass(field string) quantity.Mass {
	x, err := quantity.ParseMass(t.m[field], quantity.Metric)
	t.note(field, err)
	return x
}

func (t *typed) length(field string) quantity.Length {
	x, err := quantity.ParseLength(t.m[field], quantity.Metric)
	t.note(field, err)
	return x
}

func (t *typed) hours(field string) quantity.Hours {
	if t.m[field] == "" {
		return 0
	}
	x, err := quantity.ParseHours(t.m[field])
	t.note(field, err)
	return x
}
