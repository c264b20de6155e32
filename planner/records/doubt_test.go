package records

import (
	"strings"
	"testing"

	"feedline/inventory"
)

// What is most likely mistyped is booked, with a warning that names it; what is usual is not warned of.
func TestDoubts(t *testing.T) {
	run := Run{Day: day0, Line: "L", Profile: "P", Run: 6} // 74 kg/h ÷ 0.37 kg/m: 1,200 m in 6 h
	good := func(r Run, m float64) Run { r.Good = LengthOf(int64(m * 1000)); return r }
	ahead, long := good(run, 1100), good(run, 1100)
	ahead.Day, long.Day = day0+1, day0-400
	for _, c := range []struct {
		name    string
		r       Record
		history bool
		want    string // in the only warning; "" = none
	}{
		{"a usual run", good(run, 1100), false, ""},
		{"a good day", good(run, 1700), false, ""},
		{"a digit too many", good(run, 11000), false, "good metres 11 000.0 m: allowed as a rule no more than 1 200 m in 6.00 h, by the rate of L"},
		{"a day to come", ahead, false, "day 2027-01-05: allowed 2027-01-04, today, or earlier"},
		{"a day to come, as history", ahead, true, "day 2027-01-05"},
		{"last year", long, false, "day 2025-11-30: allowed as a rule a day of the last year"},
		{"last year, as history", long, true, ""},
		{"a count near the book", Count{Day: day0, Counted: InProfile, Item: "P", Length: 980}, false, ""},
		{"a count far off", Count{Day: day0, Counted: InProfile, Item: "P", Length: 98}, false, "length 98.0 m: allowed as a rule within 5 % of the book's 1 000.0 m"},
		{"an ETA", ETAChange{Day: day0, Delivery: "D", ETA: day0 + 30}, false, ""},
		{"an ETA of another year", ETAChange{Day: day0, Delivery: "D", ETA: day0 + 3650}, false, "ETA 2037-01-01: allowed as a rule a day within a year"},
	} {
		in := works()
		in.Stock = []inventory.Stock{{Kind: inventory.ProfileStock, Code: "P", Length: 1000}, {Kind: inventory.PelletStock, Code: "G", Mass: 90000}}
		l := NewLedger(in)
		l.Today = day0
		_, _, warned, err := l.Post(c.r, c.history)
		if err != nil {
			t.Errorf("%s: refused: %v", c.name, err)
			continue
		}
		switch {
		case c.want == "" && len(warned) > 0:
			t.Errorf("%s: warned of %v", c.name, warned[0])
		case c.want != "" && (len(warned) != 1 || !strings.Contains(strings.ReplaceAll(warned[0].String(), "\u00a0", " "), c.want)):
			t.Errorf("%s: warnings %v, want one with %q", c.name, warned, c.want)
		}
	}
}

// A code that is not there is answered with those that are, as words.
func TestCodesThereAre(t *testing.T) {
	_, _, _, err := NewLedger(works()).Post(Count{Day: day0, Counted: InPellets, Item: "XX", Mass: 1}, false)
	if err == nil || !strings.Contains(err.Error(), "there are: G, H") {
		t.Errorf("error %v, want one that says: there are: G, H", err)
	}
}

// What is entered a second time without a number is noticed, whatever else differs; what differs in what it was, when or how much is not.
func TestSeenTwice(t *testing.T) {
	run := Run{Day: day0, Shift: "early", Line: "L", Profile: "P", Good: 1100, Run: 6, Code: "run-1"}
	of := func(change func(*Run)) Run { r := run; r.Code = "run-2"; change(&r); return r }
	for _, c := range []struct {
		name        string
		first, then Record
		numbered    bool
		want        string // in the only warning; "" = none
	}{
		{"the same run", run, of(func(*Run) {}), false,
			"runs run-2: good metres 1 100.0 m: allowed as a rule other than in run-1, of the same day, line, profile and shift; if it was entered twice, reverse one of the two; else give each a number of its own"},
		{"with other hours and scrap", run, of(func(r *Run) { r.Run, r.Scrap, r.Note = 6.5, 12, "again" }), false, "run-1"},
		{"both with numbers", run, of(func(*Run) {}), true, ""},
		{"another length", run, of(func(r *Run) { r.Good = 1100.5 }), false, ""},
		{"another day", run, of(func(r *Run) { r.Day++ }), false, ""},
		{"another shift", run, of(func(r *Run) { r.Shift = "late" }), false, ""},
		{"another profile", run, of(func(r *Run) { r.Profile = "Q" }), false, ""},
		{"another line", run, of(func(r *Run) { r.Line = "M" }), false, ""},
		{"stood twice, not as long", of(func(r *Run) { r.Good, r.Run, r.Down = 0, 0, 2 }), of(func(r *Run) { r.Good, r.Run, r.Down = 0, 0, 3 }), false, ""},
		{"stood twice, as long", of(func(r *Run) { r.Good, r.Run, r.Down = 0, 0, 2 }), of(func(r *Run) { r.Good, r.Run, r.Down = 0, 0, 2 }), false, "good metres 0.0 m"},
		{"a load", Receipt{Code: "T-1", Day: day0, Material: "POST", Net: 9000}, Receipt{Code: "receipt-2", Day: day0, Material: "POST", Net: 9000}, false, "net 9 000.0 kg: allowed as a rule other than in T-1"},
		{"a shipment", Shipment{Code: "S-1", Day: day0, Order: "O", Profile: "P", Length: 500}, Shipment{Code: "shipment-2", Day: day0, Order: "O", Profile: "P", Length: 500}, false, "length 500.0 m"},
		{"a run of a step", Process{Code: "X-1", Day: day0, Step: "PEL", Lots: []Draw{{"T", 1000}}, Grade: "G", Out: 950}, Process{Code: "process-2", Day: day0, Step: "PEL", Lots: []Draw{{"T", 1000}}, Grade: "G", Out: 950}, false, "of the same day, step, lots, grade and shift"},
		{"of another lot", Process{Code: "X-1", Day: day0, Step: "PEL", Lots: []Draw{{"T", 1000}}, Grade: "G", Out: 950}, Process{Code: "process-2", Day: day0, Step: "PEL", Lots: []Draw{{"U", 1000}}, Grade: "G", Out: 950}, false, ""},
		{"a count", Count{Code: "C-1", Day: day0, Counted: InPellets, Item: "G", Mass: 1}, Count{Code: "count-2", Day: day0, Counted: InPellets, Item: "G", Mass: 1}, false, ""},
	} {
		l := NewLedger(works())
		if w := l.Seen(c.first, true); len(w) > 0 {
			t.Errorf("%s: the first is warned of: %v", c.name, w[0])
		}
		warned := l.Seen(c.then, c.numbered)
		if c.want == "" && len(warned) > 0 {
			t.Errorf("%s: warned of %v", c.name, warned[0])
		}
		if c.want != "" && (len(warned) != 1 || !warned[0].Warning || !strings.Contains(strings.ReplaceAll(warned[0].String(), "\u00a0", " "), c.want)) {
			t.Errorf("%s: warnings %v, want one with %q", c.name, warned, c.want)
		}
	}
}
