package rows_test

import (
	"testing"

	"feedline/cmd/internal/console/rows"
	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// TestEntries: what was recorded is listed in words, the last first; what was taken back, and what took it back, is not.
func TestEntries(t *testing.T) {
	_, _, f := facts()
	day := calendar.Date(2027, 1, 4)
	list := []records.Entry{
		{ID: 1, Record: records.Receipt{Code: "T-1", Day: day, Lot: "A-1", Material: "INW", Net: 21800, HBCDD: records.Is(12), Decision: records.Hold, Reason: "wet"}},
		{ID: 2, Record: records.Test{Day: day, Lot: "A-1", Moisture: records.Is(0.004), HBCDD: records.Is(38.123456)}},
		{ID: 3, Record: records.Process{Day: day, Step: "PEL", Lots: []records.Draw{{Lot: "A-1", Mass: 1200}, {Lot: "A-2", Mass: 800}}, Grade: "WH", Out: 1905}},
		{ID: 4, Record: records.Run{Day: day, Line: "L1", Profile: "SK80", Good: 7000}},
		{ID: 5, Record: records.Count{Day: day, Counted: records.InProfile, Item: "SK80", Length: 9800}},
		{ID: 6, Record: records.ETAChange{Day: day, Delivery: "D-1", ETA: day + 9, WasETA: day + 3, Note: "storm"}},
		{ID: 7, Record: records.ETAChange{Day: day + 1, Delivery: "D-1", ETA: day + 20, WasETA: day + 9}, ReversedBy: 8},
		{ID: 8, Record: records.ETAChange{Day: day + 1, Delivery: "D-1", ETA: day + 20}, Reverses: 7},
		{ID: 9, Record: records.ETAChange{Day: day + 1, Delivery: "D-1", ETA: day + 11, WasETA: day + 9, Status: inventory.Afloat}},
		{ID: 10, Record: records.Shipment{Day: day, Order: "O-1", Profile: "SK80", Length: 6000}},
		{ID: 11, Record: records.Test{Day: day, Lot: "A-1", HBCDD: records.Is(200)}, ReversedBy: 12},
	}
	for i := range list {
		list[i].Head = list[i].Record.Head()
	}
	f.Known.Entries = list
	x := table(t, page(t, f, "records", rows.Place{}), "entries")
	want := []struct{ id, what, results string }{
		{"10", "O-1 SK80 6 000 m", ""},
		{"9", "D-1 afloat 15 Jan, was 13 Jan", ""},
		{"6", "D-1 13 Jan, was 7 Jan", ""},
		{"5", "profile SK80 9 800 m", ""},
		{"4", "L1 SK80 7 000 m", ""},
		{"3", "PEL A-1 A-2 2 000 kg → WH 1 905 kg", ""},
		{"2", "A-1", "moisture 0.40 %, HBCDD 38.1235 mg/kg"},
		{"1", "A-1 INW 21 800 kg", "HBCDD 12 mg/kg, hold: wet"},
	}
	if len(x.Rows) != len(want) {
		t.Fatalf("%d rows, want %d: %v", len(x.Rows), len(want), x.Rows)
	}
	for i, w := range want {
		if id := x.Rows[i].Key; id != w.id {
			t.Errorf("row %d is entry %s, want %s", i, id, w.id)
			continue
		}
		if what, results := cell(t, x, w.id, "what").Text, cell(t, x, w.id, "results").Text; what != w.what || results != w.results {
			t.Errorf("entry %s: %q, %q; want %q, %q", w.id, what, results, w.what, w.results)
		}
	}
	if got, want := f.ETAHistory(list, "D-1"), "7 Jan → 13 Jan (told 4 Jan: storm) → 15 Jan (told 5 Jan)"; got != want {
		t.Errorf("history %q, want %q", got, want)
	}
	if got := rows.LotResults(list, "A-1"); got[inventory.HBCDD] != 38.123456 || got[inventory.Moisture] != 0.004 {
		t.Errorf("results %v: want those of the test, without what was taken back", got)
	}
}

// TestToShip: the orders that are due within three days or late, the first due first, beside what the rack has.
func TestToShip(t *testing.T) {
	in, _, f := facts()
	x := table(t, page(t, f, "records", rows.Place{}), "shipments")
	n, last := 0, calendar.Day(0)
	for _, o := range in.Orders {
		if o.Length > 0 && o.Due <= f.Today()+3 {
			n++
		}
	}
	if n == 0 || len(x.Rows) != n {
		t.Errorf("%d rows, want %d", len(x.Rows), n)
	}
	for _, r := range x.Rows {
		due := cell(t, x, r.Key, "due").Value.(calendar.Day)
		if due < last {
			t.Errorf("%s is due %s, after %s", r.Key, due, last)
		}
		last = due
	}
}
