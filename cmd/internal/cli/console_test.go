package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/console"
	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/cmd/internal/demo"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
	"feedline/planner/solve"
)

// consoleOn is the console's needs on a new book of the demonstration plant, with a plan of sums in it.
func consoleOn(t *testing.T) (*book.Book, console.Needs) {
	t.Helper()
	start := calendar.Date(2027, 1, 4)
	now := time.Date(2027, 1, 5, 6, 30, 0, 0, time.UTC)
	b, err := book.Create(filepath.Join(t.TempDir(), "plant.book"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	in := demo.Input(start)
	v, err := b.Save(t.Context(), in, book.SaveOptions{Who: "test", Note: "demo"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.SavePlan(t.Context(), rowstest.Plan(in, start, now), book.PlanMeta{Input: v}); err != nil {
		t.Fatal(err)
	}
	a := &app{Env: Env{Out: io.Discard, Err: io.Discard, Getenv: func(string) string { return "" }, Now: func() time.Time { return now }}}
	return b, a.consoleNeeds(b, planner.Options{Work: 1})
}

// TestConsoleAccepts: an accepted draft is in the book as records, plan and release; one begun on a version or a promise that is
// gone is refused with what changed, and the book stays as it is.
func TestConsoleAccepts(t *testing.T) {
	b, n := consoleOn(t)
	ctx := t.Context()
	s, err := n.Book.Load(ctx)
	if err != nil || s.Plan == nil || s.Release.ID != 0 || s.Of != s.Version {
		t.Fatalf("loaded %+v, %v", s.Release, err)
	}
	edits, err := n.Planner.Words(s.In, s.Plan.Start, "hold A-2207")
	if err != nil {
		t.Fatal(err)
	}
	in, err := n.Planner.Apply(s.In, edits)
	if err != nil {
		t.Fatal(err)
	}
	draft := console.Accepted{In: in, Plan: s.Plan, Version: s.Version, Note: "hold A-2207"}
	now, err := n.Book.Accept(ctx, draft)
	if err != nil || now.Version != s.Version+1 || now.Release.ID != now.PlanID || now.Of != now.Version {
		t.Fatalf("accepted: %+v, %v", now.Release, err)
	}
	var stale *console.Stale
	if _, err := n.Book.Accept(ctx, draft); !errors.As(err, &stale) {
		t.Fatalf("on a promise that is gone: %v", err)
	}
	draft.Release = now.Release.ID
	if _, err := n.Book.Accept(ctx, draft); !errors.As(err, &stale) || len(stale.Changes) != 1 || !strings.Contains(stale.Changes[0], "lots A-2207 changed by") {
		t.Fatalf("on a version that is gone: %v", err)
	}
	plans, _ := b.Plans(ctx)
	if version, released, _ := n.Book.Now(ctx); version != now.Version || released != now.Release.ID || len(plans) != 2 {
		t.Errorf("a stale draft left version %d, plan %d released, %d plans", version, released, len(plans))
	}
}

// TestConsoleRecords: a record is booked against stock, listed for its day, and taken back.
func TestConsoleRecords(t *testing.T) {
	_, n := consoleOn(t)
	ctx := t.Context()
	day := calendar.Date(2027, 1, 4)
	before, _ := n.Book.Load(ctx)
	id, said, err := n.Recorder.Record(ctx, console.Entry{Kind: records.KindRun, Fields: map[string]string{
		"day": day.String(), "line": "L1", "profile": "SK80", "good metres": "7 000", "scrap": "80 kg", "run time": "22.5", "down time": "1.5"}})
	if err != nil || id == 0 {
		t.Fatalf("%q, %v", said, err)
	}
	list, err := n.Recorder.Recorded(ctx, day)
	if err != nil || len(list) != 1 || list[0].Good != 7000 || list[0].Scrap != 80 || list[0].Run != 22.5 || list[0].Down != 1.5 || list[0].ID != id {
		t.Fatalf("recorded %+v, %v", list, err)
	}
	if now, _ := n.Book.Load(ctx); now.Version == before.Version {
		t.Error("the stock does not follow the record")
	}
	for _, x := range []struct {
		kind   records.Kind
		field  string // that the refusal is told at
		fields map[string]string
	}{
		{records.KindRun, "line", map[string]string{"line": "L99", "profile": "SK80", "good metres": "7000", "run time": "8"}},
		{records.KindRun, "day", map[string]string{"day": "yesterday", "line": "L1", "profile": "SK80", "good metres": "7000", "run time": "8"}},
		{records.KindRun, "good metres", map[string]string{"line": "L1", "profile": "SK80", "good metres": "7000 elephants", "run time": "8"}},
		{records.KindRun, "run time", map[string]string{"line": "L1", "profile": "SK80", "good metres": "7000"}},
		{records.KindRun, "stops", map[string]string{"line": "L1", "profile": "SK80", "good metres": "7000", "run time": "8", "stops": "RAIN 1"}},
		{records.KindTest, "lot", map[string]string{"lot": "A-9999", "HBCDD": "3"}},
		{records.KindTest, "decision", map[string]string{"lot": "A-2207", "HBCDD": "90", "decision": "release"}},
		{records.KindProcess, "lots", map[string]string{"step": "PEL", "lots": "A-2215 100", "grade": "WH", "out": "95"}},
		{records.KindProcess, "out", map[string]string{"step": "PEL", "lots": "A-2211 100", "grade": "WH", "out": "101"}},
		{records.KindShipment, "order", map[string]string{"order": "O-1", "length": "5"}},
		{records.KindETA, "delivery", map[string]string{"delivery": "D-999", "ETA": "2027-02-01"}},
		{records.KindETA, "ETA", map[string]string{"delivery": "D-101", "ETA": "soon"}},
	} {
		_, _, err := n.Recorder.Record(ctx, console.Entry{Kind: x.kind, Fields: x.fields})
		var at *console.FieldError
		if !errors.As(err, &at) || at.Field != x.field {
			t.Errorf("%s %v: %v, want it refused at %s", x.kind, x.fields, err, x.field)
		}
	}
	for _, e := range []console.Entry{
		{Kind: records.KindCount, Fields: map[string]string{"counted": "pellets", "item": "WH", "mass": "24 000"}},
		{Kind: records.KindReceipt, Fields: map[string]string{"ticket": "T-1", "delivery": "D-101", "lot": "A-3000", "net": "21 800", "decision": "hold", "reason": "wet"}},
		{Kind: records.KindTest, Fields: map[string]string{"lot": "A-3000", "moisture": "0.4 %", "HBCDD": "38", "decision": "release"}},
		{Kind: records.KindProcess, Fields: map[string]string{"step": "PEL", "lots": "A-3000 1200; A-2211 800", "grade": "WH", "out": "1905", "filter loss": "22", "hours": "5.5"}},
		{Kind: records.KindShipment, Fields: map[string]string{"order": "O-4101", "length": "1 800"}},
		{Kind: records.KindETA, Fields: map[string]string{"delivery": "D-102", "ETA": "2027-02-01", "note": "storm"}},
	} {
		if _, said, err := n.Recorder.Record(ctx, e); err != nil {
			t.Errorf("%s %v: %q, %v", e.Kind, e.Fields, said, err)
		}
	}
	if now, _ := n.Recorder.Entries(ctx, day); len(now) != 7 {
		t.Errorf("%d entries, want 7", len(now))
	}
	etas, err := n.Recorder.Entries(ctx, 0, records.KindETA)
	if err != nil || len(etas) != 1 {
		t.Fatalf("%d ETAs, %v", len(etas), err)
	}
	if r := etas[0].Record.(records.ETAChange); r.WasETA == 0 || r.ETA != calendar.Date(2027, 2, 1) || r.Day != day+1 {
		t.Errorf("ETA %s was %s, told %s", r.ETA, r.WasETA, r.Day)
	}
	now, _ := n.Book.Load(ctx)
	found := false
	for _, l := range now.In.Lots {
		found = found || l.Code == "A-3000" && l.Mass == 20600 && !l.Hold
	}
	if !found {
		t.Error("the lot was not received, released and drawn from")
	}
	if err := n.Recorder.Undo(ctx, id); err != nil {
		t.Fatal(err)
	}
	if list, _ := n.Recorder.Recorded(ctx, day); len(list) != 0 {
		t.Errorf("%d runs stand after taking back", len(list))
	}
}

// TestConsoleExport: a file of that name is not overwritten, and a write that fails leaves none.
func TestConsoleExport(t *testing.T) {
	t.Chdir(t.TempDir())
	write := func(s string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
	}
	for _, want := range []string{"x.csv", "x-2.csv", "x-3.csv"} {
		if got, err := exportFile("x.csv", write(want)); got != want || err != nil {
			t.Errorf("%s, %v, want %s", got, err, want)
		}
	}
	if _, err := exportFile("y.csv", func(io.Writer) error { return errors.New("no") }); err == nil {
		t.Error("a failed write is no error")
	}
	list, _ := os.ReadDir(".")
	if len(list) != 3 {
		t.Errorf("%d files are left, want 3", len(list))
	}
}

// TestConsoleNeedsATerminal: elsewhere it says so, with what to type.
func TestConsoleNeedsATerminal(t *testing.T) {
	b, _ := consoleOn(t)
	var errs bytes.Buffer
	code := Run(context.Background(), []string{"console", "--book", b.Path()}, Env{In: strings.NewReader(""), Out: io.Discard, Err: &errs, Getenv: func(string) string { return "" }, Now: time.Now})
	if code != exitUsage || !strings.Contains(errs.String(), "needs a terminal") || !strings.Contains(errs.String(), "feedline show today") {
		t.Errorf("code %d: %s", code, errs.String())
	}
}

// TestShow: every screen is a command, as text and as JSON.
func TestShow(t *testing.T) {
	b, _ := consoleOn(t)
	for _, screen := range []string{"today", "lines", "feed", "orders", "supply", "records", "changes"} {
		for _, args := range [][]string{{"show", screen}, {"show", screen, "--json"}} {
			var out, errs bytes.Buffer
			env := Env{Out: &out, Err: &errs, Getenv: func(string) string { return "" }, Now: func() time.Time { return time.Date(2027, 1, 5, 6, 30, 0, 0, time.UTC) }}
			if code := Run(context.Background(), append(args, "--book", b.Path()), env); code != exitDone || out.Len() < 100 {
				t.Errorf("%v: code %d, %s", args, code, errs.String())
			}
			if len(args) == 3 && !strings.Contains(out.String(), `"schema": "feedline.show/1"`) {
				t.Errorf("%v: %s", args, out.String())
			}
		}
	}
}

// TestSheetOfToday: sheets begin with today where the plan has begun, with its first day where that is to come.
func TestSheetOfToday(t *testing.T) {
	b, _ := consoleOn(t)
	for now, want := range map[time.Time]string{
		time.Date(2027, 1, 6, 6, 30, 0, 0, time.UTC):   "Wed 6 Jan 2027",
		time.Date(2026, 12, 30, 6, 30, 0, 0, time.UTC): "Mon 4 Jan 2027",
	} {
		var out, errs bytes.Buffer
		env := Env{Out: &out, Err: &errs, Getenv: func(string) string { return "" }, Now: func() time.Time { return now }}
		if code := Run(context.Background(), []string{"sheet", "-", "--days", "1", "--book", b.Path()}, env); code != exitDone {
			t.Fatalf("code %d, %s", code, errs.String())
		}
		heading, _, _ := strings.Cut(out.String(), "\n")
		if !strings.HasSuffix(heading, want) {
			t.Errorf("on %v the first sheet is %q, want one of %s", now, heading, want)
		}
	}
}

// TestPromiseOfADay: what was promised of a day is told by the plan that was released by then, not by the one that begins after it.
func TestPromiseOfADay(t *testing.T) {
	b, n := consoleOn(t)
	s, err := n.Book.Load(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	monday := s.Plan.Start
	if p, err := n.Recorder.Promised(t.Context(), monday); p != nil || err != nil {
		t.Errorf("nothing was released: %v, %v", p, err)
	}
	id, err := b.SavePlan(t.Context(), rowstest.Plan(s.In, monday+2, s.Plan.Made), book.PlanMeta{Input: book.Version(s.Version)})
	if err != nil {
		t.Fatal(err)
	}
	for _, release := range []int64{s.PlanID, id} {
		if err := b.Release(t.Context(), release, "anna"); err != nil {
			t.Fatal(err)
		}
	}
	for day, want := range map[calendar.Day]calendar.Day{monday: monday, monday + 1: monday, monday - 1: 0} {
		p, err := n.Recorder.Promised(t.Context(), day)
		if err != nil || (p == nil) != (want == 0) || p != nil && p.Start != want {
			t.Errorf("%v: %v, %v, want the plan of %v", day, p, err, want)
		}
	}
}

// TestConsoleWhatIfKeepsTheDays: a what-if on a plan that was asked for with other days than the plant's has the days of that plan, so that
// their costs compare; a plan of the records as they stand has the plant's.
func TestConsoleWhatIfKeepsTheDays(t *testing.T) {
	_, n := consoleOn(t)
	s, err := n.Book.Load(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	in, long := *s.In, *s.In
	in.Plant.DailyDays, in.Plant.Weeks = 3, 1
	long.Plant.DailyDays, long.Plant.Weeks = 7, 2
	from := rowstest.Plan(&long, s.Plan.Start+2, s.Plan.Made)
	for start, want := range map[calendar.Day]*planner.Plan{from.Start: from, 0: rowstest.Plan(&in, s.Plan.Start+1, s.Plan.Made)} {
		p, err := n.Planner.Plan(t.Context(), &in, start, from, func(solve.Progress) {})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(p.Buckets, want.Buckets) {
			t.Errorf("from %v it has %d buckets to %v, want %d", start, len(p.Buckets), p.Buckets[len(p.Buckets)-1].Span.To, len(want.Buckets))
		}
	}
}
