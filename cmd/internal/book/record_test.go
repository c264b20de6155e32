package book

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"feedline/inventory"
	"feedline/planner"
	"feedline/planner/records"
)

// dayOfRecords is one record of each kind on the plant of small.
func dayOfRecords() []records.Record {
	day := monday + 3
	return []records.Record{
		records.Receipt{Code: "T-1", Day: day, Lot: "T2", Delivery: "D", Gross: 36500, Tare: 14700, HBCDD: records.Is(12), Note: "dry"},
		records.Test{Code: "Q-1", Day: day, Lot: "T", Bromine: records.Is(40), Decision: records.Hold, Reason: "waits for the laboratory"},
		records.Process{Code: "X-1", Day: day, Shift: "E", Step: "S", Lots: []records.Draw{{Lot: "T2", Mass: 1000}}, Grade: "G", Out: 930, FilterLoss: 20, Hours: 3},
		records.Run{Code: "R-1", Day: day, Shift: "E", Line: "L", Profile: "P", Good: 1000, Scrap: 12.5, Run: 6.5, SetUp: 1, Stops: []records.Stopped{{Reason: "R", Hours: 0.5}}},
		records.Shipment{Code: "S-1", Day: day, Order: "O", Length: 60},
		records.Count{Code: "C-1", Day: day, Counted: records.InPellets, Item: "G", Mass: 700},
		records.Count{Code: "C-2", Day: day, Counted: records.InRegrind, Item: "G", Mass: 5},
	}
}

func mustRecord(t testing.TB, b *Book, list ...records.Record) Recorded {
	t.Helper()
	out, err := b.Record(ctx, RecordOptions{Who: "anna"}, list...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// A day's records change stock, lots, deliveries and orders as worked by hand: 100 kg of pellets, 930 kg more, 312.5 kg used; the
// count finds 700 kg of 717.5.
func TestRecordADay(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	_, before := mustLoad(t, b)
	out := mustRecord(t, b, dayOfRecords()...)
	in, v := mustLoad(t, b)
	if v != before+1 || out.Version != v || out.New != 7 {
		t.Errorf("version %d after %d, told %d, %d entries", v, before, out.Version, out.New)
	}
	lots := map[string]inventory.Lot{}
	for _, l := range in.Lots {
		lots[l.Code] = l
	}
	if l := lots["T2"]; l.Mass != 20800 || l.Material != "M" || l.Supplier != "U" || l.Hold || l.Received != monday+3 {
		t.Errorf("lot received: %+v", l)
	}
	if l := lots["T"]; !l.Hold || l.Reason != "waits for the laboratory" {
		t.Errorf("lot tested: %+v", l)
	}
	if d := in.Deliveries[0]; d.Status != inventory.Received {
		t.Errorf("delivery: %+v", d)
	}
	stock := map[string]float64{}
	for _, s := range in.Stock {
		stock[string(s.Kind)] = float64(s.Mass) + float64(s.Length)
	}
	if stock["pellets"] != 700 || stock["profile"] != 940 || stock["regrind"] != 5 || in.Orders[0].Length != 40 {
		t.Errorf("stock %v, order %v m", stock, in.Orders[0].Length)
	}
	if c := out.Entries[5].Record.(records.Count); c.BookMass != 717.5 {
		t.Errorf("the book had %v kg before the count, want 717.5", c.BookMass)
	}
	log, err := b.Changes(ctx, before)
	if err != nil || len(log) == 0 || log[0].Who != "anna" {
		t.Errorf("log %v, %v", log, err)
	}
	all, err := b.Entries(ctx, Filter{Moves: true})
	if err != nil || len(all) != 7 {
		t.Fatalf("%d entries, %v", len(all), err)
	}
	for _, e := range all {
		sum := int64(0)
		for _, m := range e.Moves {
			sum += m.Grams
		}
		if sum != 0 || e.Who != "anna" || e.At.IsZero() || !e.Counts() {
			t.Errorf("entry %+v", e)
		}
	}
}

// TestCountedStays: a run of before the last count, entered or reversed after it, leaves what was counted, and is booked as any other; a run of
// after it draws on what was counted.
func TestCountedStays(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	mustRecord(t, b, dayOfRecords()...) // counts 700 kg of pellets and 5 kg of regrind on the day
	level := func(k inventory.StockKind) float64 {
		in, _ := mustLoad(t, b)
		for _, s := range in.Stock {
			if s.Kind == k {
				return float64(s.Mass) + float64(s.Length)
			}
		}
		return 0
	}
	late := records.Run{Code: "R-2", Day: monday + 2, Line: "L", Profile: "P", Good: 100, Scrap: 10, Run: 1}
	out := mustRecord(t, b, late)
	if p, r, m := level(inventory.PelletStock), level(inventory.RegrindStock), level(inventory.ProfileStock); p != 700 || r != 5 || m != 1040 {
		t.Errorf("after a run of the day before the count: %v kg of pellets, %v of regrind, %v m, want 700, 5, 1040", p, r, m)
	}
	told := slices.ContainsFunc(out.Warnings, func(w planner.Problem) bool {
		return strings.Contains(w.Allowed, "count C-1 of that day found what there is of pellets G")
	})
	if out.New != 1 || !told {
		t.Errorf("%d new entries, warnings %v", out.New, out.Warnings)
	}
	all, err := b.Entries(ctx, Filter{Moves: true})
	if err != nil {
		t.Fatal(err)
	}
	e := all[len(all)-1]
	if c, ok := e.Record.(records.Count); !ok || len(all) != 9 || e.Head.Day != monday+3 || len(e.Moves) != 2 || !strings.HasPrefix(c.Note, "R-2 of ") {
		t.Errorf("not booked back by a count of the counted day, of %d entries: %+v", len(all), e)
	}
	if again := mustRecord(t, b, late); again.Already != 1 || again.New != 0 {
		t.Errorf("entered twice: %+v", again)
	}
	if _, err := b.Reverse(ctx, out.Entries[0].ID, "ben", "another line"); err != nil {
		t.Fatal(err)
	}
	if p, r, m := level(inventory.PelletStock), level(inventory.RegrindStock), level(inventory.ProfileStock); p != 700 || r != 5 || m != 940 {
		t.Errorf("after its reversal: %v kg of pellets, %v of regrind, %v m, want 700, 5, 940", p, r, m)
	}
	mustRecord(t, b, records.Count{Code: "C-0", Day: monday + 1, Counted: records.InPellets, Item: "G", Mass: 90})
	if p := level(inventory.PelletStock); p != 700 {
		t.Errorf("after a count of before the count: %v kg of pellets, want 700", p)
	}
	mustRecord(t, b, records.Run{Code: "R-3", Day: monday + 4, Line: "L", Profile: "P", Good: 100, Run: 1})
	if p := level(inventory.PelletStock); p >= 700 {
		t.Errorf("after a run of the day after the count: %v kg of pellets, want less than 700", p)
	}
}

func TestRecordedTwiceIsRecordedOnce(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	mustRecord(t, b, dayOfRecords()...)
	in, v := mustLoad(t, b)
	out := mustRecord(t, b, dayOfRecords()...)
	if out.New != 0 || out.Already != 7 || out.Version != v {
		t.Errorf("again: %d new, %d known, version %d, want none, 7, %d", out.New, out.Already, out.Version, v)
	}
	keeps(t, b, in)
	other := dayOfRecords()[3].(records.Run)
	other.Good = 999
	_, err := b.Record(ctx, RecordOptions{}, dayOfRecords()[0], other)
	var refused *records.Refused
	if !errors.As(err, &refused) || refused.Index != 1 || !strings.Contains(err.Error(), "good metres") || !strings.Contains(err.Error(), "reverse it first") {
		t.Errorf("another run R-1: %v", err)
	}
	keeps(t, b, in)
}

// Reversed in any order that is allowed, the book is as it was but for the lot of the receipt, which is left at nothing.
func TestReverse(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	out := mustRecord(t, b, dayOfRecords()...)
	if _, err := b.Reverse(ctx, out.Entries[0].ID, "anna", "wrong lot"); err == nil || !strings.Contains(err.Error(), "was drawn since") {
		t.Errorf("a receipt whose lot was drawn: %v", err)
	}
	for i := len(out.Entries) - 1; i >= 0; i-- {
		if _, err := b.Reverse(ctx, out.Entries[i].ID, "ben", "all wrong"); err != nil {
			t.Fatalf("reverse %+v: %v", out.Entries[i].Head, err)
		}
	}
	in, _ := mustLoad(t, b)
	want := small()
	want.Lots = append(want.Lots, in.Lots[1])
	if l := in.Lots[1]; l.Mass != 0 || !l.Hold {
		t.Errorf("lot of a reversed receipt: %+v", l)
	}
	for _, k := range []inventory.StockKind{inventory.ProfileStock, inventory.RegrindStock} {
		for _, s := range in.Stock {
			if s.Kind == k {
				want.Stock = append(want.Stock, inventory.Stock{Kind: k, Code: s.Code})
			}
		}
	}
	keeps(t, b, want)
	if _, err := b.Reverse(ctx, out.Entries[1].ID, "ben", "again"); err == nil || !strings.Contains(err.Error(), "reversed it already") {
		t.Errorf("reversed twice: %v", err)
	}
	if _, err := b.Reverse(ctx, 99, "ben", ""); !errors.Is(err, ErrNoEntry) {
		t.Errorf("no such entry: %v", err)
	}
	mustRecord(t, b, dayOfRecords()...)
	all, err := b.Entries(ctx, Filter{})
	if err != nil || len(all) != 21 {
		t.Errorf("%d entries, want 21: nothing is deleted; %v", len(all), err)
	}
}

// No program can change what was recorded.
func TestEntriesStay(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	mustRecord(t, b, dayOfRecords()...)
	for _, table := range []string{"entries", "moves", "receipts", "tests", "process_runs", "runs", "counts", "shipments"} {
		for _, query := range []string{"DELETE FROM " + table, "UPDATE " + table + " SET rowid = rowid + 1", "UPDATE " + table + " SET code = 'x'"} {
			if _, err := b.db.Exec(query); err == nil {
				t.Errorf("%s: no error", query)
			}
		}
	}
}

// A lot on hold or over a limit is never drawn, and no release frees one that is over.
func TestGate(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	day := monday + 3
	over := records.Receipt{Code: "T-9", Day: day, Material: "M", Net: 500, HBCDD: records.Is(80)}
	out := mustRecord(t, b, over)
	if len(out.Warnings) == 0 {
		t.Error("a lot over the limit: no warning")
	}
	in, _ := mustLoad(t, b)
	if l := in.Lots[1]; !l.Hold || !strings.Contains(l.Reason, "80 mg/kg") {
		t.Fatalf("lot of 80 mg/kg with a limit of 75: %+v", l)
	}
	for what, r := range map[string]records.Record{
		"draw":    records.Process{Day: day, Step: "S", Lots: []records.Draw{{Lot: "T-9", Mass: 1}}, Grade: "G"},
		"release": records.Test{Day: day, Lot: "T-9", Decision: records.Release},
	} {
		if _, err := b.Record(ctx, RecordOptions{}, r); err == nil || !strings.Contains(err.Error(), "80 mg/kg") {
			t.Errorf("%s: %v", what, err)
		}
	}
	mustRecord(t, b, records.Test{Day: day, Lot: "T-9", HBCDD: records.Is(70), Decision: records.Release})
	mustRecord(t, b, records.Process{Day: day, Step: "S", Lots: []records.Draw{{Lot: "T-9", Mass: 1}}, Grade: "G"})
}

// A run entered twice without a number is booked twice, and both times but the first are warned of: in another call, in the same one, and
// beside one that has a number; not once the first was reversed.
func TestEnteredTwice(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	run := dayOfRecords()[3].(records.Run)
	run.Code = ""
	warned := func(name string, want int, list ...records.Record) Recorded {
		t.Helper()
		out, err := b.Record(ctx, RecordOptions{Who: "anna"}, list...)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, w := range out.Warnings {
			if w.Field == "good metres" && strings.Contains(w.Remedy, "entered twice") {
				n++
			}
		}
		if n != want || out.New != len(list) {
			t.Errorf("%s: %d entries, %d warnings that it was entered twice, want %d and %d: %v", name, out.New, n, len(list), want, out.Warnings)
		}
		return out
	}
	first := warned("the first", 0, run)
	again := warned("in another call", 1, run)
	if _, err := b.Reverse(ctx, again.Entries[0].ID, "anna", "twice"); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Reverse(ctx, first.Entries[0].ID, "anna", "wrong"); err != nil {
		t.Fatal(err)
	}
	warned("after both were reversed", 0, run)
	own, other := run, run
	own.Code, other.Code = "R-1", "R-2"
	warned("with a number, beside one without", 1, own)
	warned("with another number", 0, other)
	late := run
	late.Shift = "L"
	warned("twice in one call", 1, late, late)
}
