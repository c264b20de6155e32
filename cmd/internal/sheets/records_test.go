package sheets

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"feedline/cmd/internal/demo"
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// filledIn is fields that a record has from the book.
var filledIn = []string{"WasStatus", "WasMass", "WasHold", "WasReason", "WasETA", "WasSpread", "WasLate", "BookMass", "BookLength"}

func TestEveryFieldOfARecordHasAColumn(t *testing.T) {
	for i := range recordTables {
		tb := &recordTables[i]
		var fields, columns []string
		for j := range tb.record().NumField() {
			if name := tb.record().Field(j).Name; !slices.Contains(filledIn, name) {
				fields = append(fields, name)
			}
		}
		for _, c := range tb.columns {
			columns = append(columns, c.field)
		}
		slices.Sort(fields)
		slices.Sort(columns)
		if !slices.Equal(fields, columns) {
			t.Errorf("%s: columns %v\nfields %v", tb.name, columns, fields)
		}
	}
}

// someRecords draws records of every kind with amounts that no unit has in few digits.
func someRecords(t *rapid.T) []records.Record {
	kg := func() quantity.Mass { return quantity.Mass(rapid.Float64Range(0.001, 1e5).Draw(t, "kg")) }
	h := func() quantity.Hours { return quantity.Hours(rapid.Float64Range(0.01, 100).Draw(t, "h")) }
	m := func() records.Measured {
		return rapid.SampledFrom([]records.Measured{{}, records.Is(0), records.Is(0.25), records.Is(1.0 / 3)}).Draw(t, "result")
	}
	day := func() calendar.Day { return start + calendar.Day(rapid.IntRange(0, 300).Draw(t, "day")) }
	return []records.Record{
		records.Receipt{Code: "T 1", Day: day(), Lot: "=A", Part: true, Material: "INW", Form: inventory.Ingot, Ordered: day(), Gross: kg(), Tare: kg(), Net: kg(),
			Moisture: m(), Contamination: m(), MFR: m(), Bromine: m(), HBCDD: m(), Decision: records.Hold, Reason: "a;b"},
		records.Test{Code: "Q", Day: day(), Lot: "A", HBCDD: m()},
		records.Process{Code: "X", Day: day(), Step: "PEL", Lots: []records.Draw{{Lot: "A 7", Mass: kg()}, {Lot: "B=7", Mass: kg()}}, Regrind: kg(), Grade: "WH", Out: kg(), Hours: h()},
		records.Run{Code: "R", Day: day(), Line: "L1", Profile: "SK80", Good: quantity.Length(kg()), Scrap: kg(), Run: h(), Stops: []records.Stopped{{Reason: "DIE", Hours: h()}}},
		records.Count{Code: "C", Day: day(), Counted: records.InProfile, Item: "SK80", Length: quantity.Length(kg())},
		records.ETAChange{Code: "E", Day: day(), Delivery: "D-101", ETA: day(), Spread: m(), Status: inventory.Afloat},
		records.Shipment{Code: "S", Day: day(), Order: "O", Length: quantity.Length(kg()), Note: "two\nlines"},
	}
}

// Records written out in either system of units, as CSV and as a workbook, are read back exactly.
func TestRecordsRoundTrip(t *testing.T) {
	in := demo.Input(start)
	drawn := rapid.Custom(someRecords)
	for name, times := range map[string]int{"sheets": 12, "plant.xlsx": 2} {
		for n := range times {
			list, units := drawn.Example(n), []quantity.System{quantity.Metric, quantity.US}[n%2]
			dst := t.TempDir() + "/" + name
			if err := Write(dst, in, WriteOptions{Units: units, Records: list}); err != nil {
				t.Fatal(err)
			}
			s, err := open(dst)
			if err != nil {
				t.Fatal(err)
			}
			var back []records.Record
			for i, tb := range s.tables {
				if tb.kind != "" {
					for _, r := range decode(tb, s.sheets[i], place{}, &s.bad).rows {
						back = append(back, recordOf(r.record))
					}
				}
			}
			if !s.bad.none() {
				t.Fatal(s.bad.err(dst))
			}
			byKind := func(a, b records.Record) int { return strings.Compare(string(a.Head().Kind), string(b.Head().Kind)) }
			slices.SortFunc(list, byKind)
			slices.SortFunc(back, byKind)
			if d := cmp.Diff(list, back); d != "" {
				t.Fatalf("written (-), read (+):\n%s", d)
			}
		}
	}
}

// A record's values by field make the record again.
func TestParseRecord(t *testing.T) {
	in := demo.Input(start)
	rapid.Check(t, func(rt *rapid.T) {
		for _, r := range someRecords(rt) {
			back, err := ParseRecord(r.Head().Kind, RecordValues(r, in), in, start)
			if err != nil {
				rt.Fatal(err)
			}
			if d := cmp.Diff(r, back); d != "" {
				rt.Fatalf("%v: %s", RecordValues(r, in), d)
			}
		}
	})
	r, err := ParseRecord(records.KindProcess, map[string]string{"step": "PEL", "lots": "A-1=1.2t; B 2: 800 lb", "out": "1 t"}, in, start)
	if err != nil {
		t.Fatal(err)
	}
	p := r.(records.Process)
	if p.Day != start || p.Out != 1000 || len(p.Lots) != 2 || p.Lots[0] != (records.Draw{Lot: "A-1", Mass: 1200}) || p.Lots[1].Lot != "B 2" || p.Lots[1].Mass != 800*quantity.KgPerPound {
		t.Errorf("%+v", p)
	}
	for field, value := range map[string]string{"out": "much", "lots": "1200", "graid": "x", "day": "18.1.2027"} {
		_, err := ParseRecord(records.KindProcess, map[string]string{"step": "PEL", field: value}, in, start)
		if e, ok := err.(*SetError); !ok || !strings.Contains(e.Path, field) {
			t.Errorf("%s = %q: %v", field, value, err)
		}
	}
}

func TestRecordFields(t *testing.T) {
	for _, k := range records.Kinds {
		for _, f := range RecordFields(k, quantity.US) {
			if f.Name == "" || f.Explain == "" || f.Needed && f.Example == "" {
				t.Errorf("%s: %+v", k, f)
			}
		}
		if reflect.ValueOf(RecordFields(k, quantity.Metric)).Len() < 5 {
			t.Errorf("%s has too few fields", k)
		}
	}
}
