package view

import (
	"math"
	"testing"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// sum adds up the numbers of a row from one column to another, both by heads.
func sum(t *testing.T, x Table, row int, from, to string) float64 {
	t.Helper()
	total, in := 0.0, false
	for i, c := range x.Columns {
		in = in || c.Head == from
		if in {
			total += x.Rows[row][i].Number
		}
		if c.Head == to {
			return total
		}
	}
	t.Fatalf("%s has no column %q", x.Name, to)
	return 0
}

// The sources of a product add up to its mass, in any units; a statement for an order names it instead of a period.
func TestContentTables(t *testing.T) {
	parts := []inventory.Part{{Mass: 600}, {Mass: 200}, {Mass: 100}, {Mass: 60}, {Mass: 40}}
	s := records.Statement{Span: calendar.Span{From: 20000, To: 20031}, Products: []records.Content{{Product: "P", Grade: "G", Length: 2500, Parts: parts,
		Content: inventory.Content{PostConsumer: 0.6, PreConsumer: 0.2, Recycled: 0.8}}},
		Grades: []records.GradeBalance{{Grade: "G", Opening: 10, Made: 1000, Counted: -5, Used: 900, Closing: 105, In: parts, Conversion: 0.98}}}
	for _, units := range []quantity.System{quantity.Metric, quantity.US} {
		tables := Content(s, Options{Units: units})
		for _, x := range tables {
			for i, r := range x.Rows {
				if len(r) != len(x.Columns) {
					t.Fatalf("%s: row %d has %d cells, want %d", x.Name, i, len(r), len(x.Columns))
				}
			}
		}
		products, balance := tables[0], tables[1]
		if mass, all := sum(t, products, 0, "mass", "mass"), sum(t, products, 0, "post-consumer", "unknown origin"); mass <= 0 || math.Abs(mass-all) > 1e-9*mass {
			t.Errorf("units %v: mass %v, its sources %v", units, mass, all)
		}
		if open, closing := sum(t, balance, 0, "opening", "counted")-sum(t, balance, 0, "used", "used"), sum(t, balance, 0, "closing", "closing"); math.Abs(open-closing) > 1e-9*closing {
			t.Errorf("units %v: opening + made + counted − used is %v, closing %v", units, open, closing)
		}
		if got := sum(t, products, 0, "recycled share", "recycled share"); got != 80 {
			t.Errorf("recycled %v %%, want 80", got)
		}
	}
	s.Grades[0].In, s.Grades[0].Conversion = nil, 0
	if rows := Content(s, Options{})[1].Rows; !rows[0][8].None {
		t.Errorf("a conversion of %v of nothing", rows[0][8].Number)
	}
	s.Order, s.Grades = "O-1", nil
	if x := Content(s, Options{})[0]; x.Columns[0].Head != "order" || x.Rows[0][0].Text != "O-1" {
		t.Errorf("a statement for an order begins with %q, %q", x.Columns[0].Head, x.Rows[0][0].Text)
	}
}

// The causes of a line and profile add up to its gap, and the gap is made less planned.
func TestActualsTables(t *testing.T) {
	a := records.Actuals{Span: calendar.Span{From: 20000, To: 20007}, Gaps: []records.Gap{{Line: "L1", Profile: "P", Planned: 1000, Made: 700, PlannedScrap: 5, Scrap: 9, PlannedFeed: 400, Feed: 290,
		Causes: []records.Cause{{Name: "stops DIE", Length: -250}, {Name: "rate", Length: -50}}}}, Days: []records.DayGap{{Day: 20000, Planned: 1000, Made: 700}}}
	tables := Actuals(a, "plan 4", Options{})
	for _, x := range tables {
		for i, r := range x.Rows {
			if len(r) != len(x.Columns) {
				t.Fatalf("%s: row %d has %d cells, want %d", x.Name, i, len(r), len(x.Columns))
			}
		}
	}
	lines, causes, days := tables[0], tables[1], tables[2]
	gap := sum(t, lines, 0, "gap", "gap")
	if gap != -300 || sum(t, days, 0, "gap", "gap") != -300 {
		t.Errorf("gap %v, want -300", gap)
	}
	if got := sum(t, causes, 0, "length", "length") + sum(t, causes, 1, "length", "length"); got != gap {
		t.Errorf("causes add up to %v, the gap is %v", got, gap)
	}
}
