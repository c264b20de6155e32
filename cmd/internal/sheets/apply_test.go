package sheets

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

func TestEditsInWords(t *testing.T) {
	day := func(s string) calendar.Day {
		d, err := calendar.ParseDay(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	base := demo.Input(start)
	for text, want := range map[string]func(in *planner.Input){
		"down L4 2027-01-04..2027-01-08": func(in *planner.Input) {
			in.Lines[3].State, in.Lines[3].DownUntil = lines.Down, day("2027-01-09")
		},
		"down L4 2027-02-01..2027-02-03": func(in *planner.Input) {
			in.Calendar.Outages = append(in.Calendar.Outages, calendar.Outage{Code: "down-L4", Machine: "L4",
				From: in.Calendar.At(day("2027-02-01"), 0), To: in.Calendar.At(day("2027-02-04"), 0)})
		},
		"down L7 2027-01-04..2027-01-15": func(in *planner.Input) { // not set up yet: it does not become ready by being down
			in.Calendar.Outages = append(in.Calendar.Outages, calendar.Outage{Code: "down-L7", Machine: "L7",
				From: in.Calendar.At(day("2027-01-04"), 0), To: in.Calendar.At(day("2027-01-16"), 0)})
		},
		"up L7 2027-02-08": func(in *planner.Input) {
			in.Lines[6].Commissioning.Earliest, in.Lines[6].Commissioning.Days = day("2027-02-08"), 0
		},
		"up L7": func(in *planner.Input) {
			in.Lines[6].Commissioning.Earliest, in.Lines[6].Commissioning.Days = start, 0
		},
		"free A-2215": func(in *planner.Input) { in.Lots[3].Hold = false },
		"hold A-2207": func(in *planner.Input) { in.Lots[0].Hold = true },
		"yield PEL INW 93%": func(in *planner.Input) {
			in.Overrides = append(in.Overrides, yield.Override{Step: "PEL", Material: "INW", Yield: 0.93})
		},
		"run L6 2027-01-11..2027-01-13": func(in *planner.Input) {
			in.Pins = append(in.Pins, planner.Pin{Code: "run-L6", Kind: planner.PinRun, Line: "L6", From: day("2027-01-11"), To: day("2027-01-14")})
		},
		"delay D-101 +7":  func(in *planner.Input) { in.Deliveries[0].ETA += 7 },
		"lose D-101":      func(in *planner.Input) { in.Deliveries[0].Status = inventory.Rejected },
		"crew 8":          func(in *planner.Input) { in.Plant.Crew = 8 },
		"cancel O-4101":   func(in *planner.Input) { in.Orders = in.Orders[1:] },
		"move O-4103 +14": func(in *planner.Input) { in.Orders[2].Due += 14 },
		"close 2027-02-15": func(in *planner.Input) {
			in.Calendar.Closures = append(in.Calendar.Closures, calendar.Closure{Code: "closed", Span: calendar.Span{From: day("2027-02-15"), To: day("2027-02-16")}})
		},
		"order " + base.Profiles[0].Code + " 4km 2027-02-05": func(in *planner.Input) {
			in.Orders = append(in.Orders, planner.Order{Code: "new", Profile: in.Profiles[0].Code, Length: 4000, Due: day("2027-02-05"), Priority: 1})
		},
		"load " + base.Lanes[0].Code + " 2 2027-01-25": func(in *planner.Input) {
			l := in.Lanes[0]
			in.Deliveries = append(in.Deliveries, inventory.Delivery{Code: "load-" + l.Code, Lane: l.Code, Material: l.Material, Mass: 2 * l.Load,
				ETA: day("2027-01-25"), Spread: l.LeadTime.SD, Status: inventory.Ordered})
		},
		"rate L4 CV40 90%": func(in *planner.Input) { // 86 kg/h and 9 m/min, to ten digits
			for i, f := range in.Fits {
				if f.Line == "L4" && f.Profile == "CV40" {
					in.Fits[i].Melt, in.Fits[i].HaulOff = 77.4, quantity.Speed(8.1)
				}
			}
		},
		"rate L1 AR50 50%": func(in *planner.Input) {
			in.Fits[0].Melt /= 2
			in.Fits[0].HaulOff /= 2
		},
	} {
		in, wanted := demo.Input(start), demo.Input(start)
		want(wanted)
		list, err := planner.EditWords(in, in, start, text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		got, err := Apply(in, list...)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if d := cmp.Diff(wanted, got, equal); d != "" {
			t.Errorf("%s (-want +got):\n%s", text, d)
		}
		if d := cmp.Diff(demo.Input(start), in, equal); d != "" {
			t.Errorf("%s changed what it was applied to (-want +got):\n%s", text, d)
		}
		stored, err := planner.EncodeEdits(list)
		if err != nil {
			t.Fatal(err)
		}
		back, err := planner.DecodeEdits(stored)
		if d := cmp.Diff(list, back); err != nil || d != "" {
			t.Errorf("%s stored and read: %v (-want +got):\n%s", text, err, d)
		}
	}
}

// TestVerbsHaveExamples reads each verb's own example on a plant that has what they name.
func TestVerbsHaveExamples(t *testing.T) {
	in := demo.Input(start)
	in.Deliveries[0].Code, in.Deliveries[0].Mass = "D-101", 20000
	in.Lots[0].Code, in.Orders[0].Code, in.Lanes[0].Code = "A-2201", "O-1001", "NORTH-ROAD"
	in.Profiles[0].Code, in.Profiles[1].Code, in.Steps[1].Code = "SK80", "CO50", "PELLETIZE"
	in.Fits = append(in.Fits, lines.Fit{Line: "L1", Profile: "CO50"})
	for _, v := range planner.EditVerbs {
		in.Lots[0].Hold = v.Name == "free"
		list, err := planner.EditWords(in, in, start, v.Example)
		if err != nil || len(list) == 0 {
			t.Errorf("%s: %v, %v", v.Example, list, err)
		}
	}
}

func TestTypedEdits(t *testing.T) {
	in := demo.Input(start)
	add, err := planner.ParseAdd("orders:code=N-1,customer=Hill, Sons & Co,profile=" + in.Profiles[0].Code + ",length=2 km,due=2027-02-05")
	if err != nil {
		t.Fatal(err)
	}
	set, err := planner.ParseSet("orders.N-1.priority=3")
	if err != nil {
		t.Fatal(err)
	}
	got, err := Apply(in, add, set)
	if err != nil {
		t.Fatal(err)
	}
	want := planner.Order{Code: "N-1", Customer: "Hill, Sons & Co", Profile: in.Profiles[0].Code, Length: 2000, Due: calendar.Date(2027, 2, 5), Priority: 3}
	if d := cmp.Diff(want, got.Orders[len(got.Orders)-1]); d != "" {
		t.Error(d)
	}
	drop, err := planner.ParseDrop("orders.N-1")
	if err != nil {
		t.Fatal(err)
	}
	back, err := Apply(got, drop)
	if d := cmp.Diff(in, back, equal); err != nil || d != "" {
		t.Errorf("added and dropped: %v (-want +got):\n%s", err, d)
	}
}

func TestEditsRefused(t *testing.T) {
	in := demo.Input(start)
	for _, c := range []struct{ op, text, want string }{
		{"add", "orders:code=N-1,profile=SK80,length=4000 m", `orders.due is missing`},
		{"add", "orders:code=O-4101,profile=AR50,length=4000 m,due=2027-02-05", `orders has a row O-4101 already`},
		{"add", "orders:code=N-1,profle=AR50", `orders.profle = "AR50" names no column of orders`},
		{"add", "plant:name=x", `plant.name = "x" has no rows to add`},
		{"drop", "orders.O-1", `orders.O-1 names no row of orders`},
		{"set", "orders.O-4101.length=-5", `orders.O-4101.length = "-5" is out of range; allowed: a number, 0 or more`},
	} {
		parse := map[string]func(string) (planner.Edit, error){"add": planner.ParseAdd, "drop": planner.ParseDrop, "set": planner.ParseSet}[c.op]
		e, err := parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		if _, err = Apply(in, e); err == nil || err.Error() != c.want {
			t.Errorf("%s %s\ngot  %v\nwant %s", c.op, c.text, err, c.want)
		}
	}
	for text, want := range map[string]string{
		"down L4 2026-12-01..2026-12-31":     `"2026-12-31" lies before the first day of the plan: give 2027-01-04 or a later day`,
		"idle L4 2026-12-01..2026-12-31":     `"2026-12-31" lies before the first day of the plan: give 2027-01-04 or a later day`,
		"close 2026-02-04":                   `"2026-02-04" lies before the first day of the plan: give 2027-01-04 or a later day`,
		"delay D-101 -30":                    `"2026-12-08" lies before the first day of the plan: give 2027-01-04 or a later day`,
		"split D-101 5t 2026-01-20":          `"2026-01-20" lies before the first day of the plan: give 2027-01-04 or a later day`,
		"load WH-ROAD 2 2026-01-25":          `"2026-01-25" lies before the first day of the plan: give 2027-01-04 or a later day`,
		"order SK80 4km 2026-02-05":          `"2026-02-05" lies before the first day of the plan: give 2027-01-04 or a later day`,
		"run L5 SK80 2027-01-11..2027-01-13": `"SK80" is nothing that L5 has a rate for: it makes: CV40, CV60, CV90, PR20, PR35, SL30, SL45, SL60`,
		"forbid L1 CV60 2027-01-11":          `"CV60" is nothing that L1 has a rate for: it makes: AR50, AR70, AR95, PK110, PK140, PK180, SK100, SK120, SK60, SK80`,
		"rate L4 SK80 90%":                   `"SK80" is nothing that L4 has a rate for: it makes: AR50, AR70, AR95, CV40, CV60, CV90, SL30, SL45, SL60`,
		"rate L4 +10%":                       `"+10%" has a sign: write what is left or reached: 90% for a tenth less, 110% for a tenth more`,
		"yield PEL 130%":                     `"1.3" is no yield: give the share of what goes in that comes out, above 0 and up to 100%`,
		"yield PRL 93%":                      `"PRL" is no step of the book: did you mean "PEL"?`,
		"yield PEL INV 93%":                  `"INV" is no material of the book: did you mean "INW"?`,
		"yield CRU FLH 93%":                  `"FLH" does not pass CRU: it passes: PEL`,
		"hold A-2215":                        `"A-2215" is on hold already: to use it: free A-2215`,
		"free A-2207":                        `"A-2207" is not on hold: to keep it out: hold A-2207`,
		"delay D-102 +7":                     `"D-102" is rejected: nothing comes of it any more: name a delivery that is on its way, or add one: load LANE DAY`,
		"lose D-102":                         `"D-102" is rejected: nothing comes of it any more: name a delivery that is on its way, or add one: load LANE DAY`,
		"split D-102 5t 2027-01-20":          `"D-102" is rejected: nothing comes of it any more: name a delivery that is on its way, or add one: load LANE DAY`,
	} {
		in := demo.Input(start)
		in.Deliveries[1].Status = inventory.Rejected
		list, err := planner.EditWords(in, in, start, text)
		e, ok := err.(*planner.EditError)
		if !ok || e.Error()+": "+e.Hint() != want {
			t.Errorf("%s: %v, %v: %v\nwant %s", text, list, err, e.Hint(), want)
		}
	}
	for _, text := range []string{"", "explode L1", "down L4", "down L9 2027-01-05", "down L4 2027-01-08..2027-01-05", "rate L1 0", "delay D-999 +3", "order AR50 4km soon"} {
		_, err := planner.EditWords(in, in, start, text)
		if e, ok := err.(*planner.EditError); !ok || e.Reason == "" || e.Hint() == "" && !strings.Contains(text, "D-999") {
			t.Errorf("%q: %v, want a refusal with a remedy", text, err)
		}
	}
}

// TestDownStaysDown: a line that is down for longer is not brought back by being out of order for some of that time.
func TestDownStaysDown(t *testing.T) {
	in := demo.Input(start)
	in.Lines[3].State, in.Lines[3].DownUntil = lines.Down, start+40
	list, err := planner.EditWords(in, in, start, "down L4 2027-01-04..2027-01-08")
	if err != nil {
		t.Fatal(err)
	}
	got, err := Apply(in, list...)
	if err != nil {
		t.Fatal(err)
	}
	if l := got.Lines[3]; l.State != lines.Down || l.DownUntil != start+40 {
		t.Errorf("L4 is back on %s, want %s", l.DownUntil, start+40)
	}
}

// TestYieldAsEntered: a yield that is what was entered is planned with, though records tell another: their estimate is overruled.
func TestYieldAsEntered(t *testing.T) {
	in := demo.Input(start)
	in.Overrides = append(in.Overrides, yield.Override{Step: "PEL", Material: "INM", Yield: in.Steps[1].Yield})
	counted := *in
	entered := float64(in.Steps[1].Yield)
	counted.Basis = &planner.Basis{Estimates: []planner.Estimate{
		{Name: "yield PEL INW", Kind: "yield", A: "PEL", B: "INW", Entered: entered, Value: 0.94, Used: true},
		{Name: "yield PEL INM", Kind: "yield", A: "PEL", B: "INM", Entered: entered, Value: 0.94, Used: true}, // one of its own
		{Name: "yield PEL IMW", Kind: "yield", A: "PEL", B: "IMW", Entered: entered - 0.02, Value: 0.93, Used: true},
		{Name: "yield PEL BLW", Kind: "yield", A: "PEL", B: "BLW", Entered: entered, Value: 0.93},
		{Name: "yield CRU INW", Kind: "yield", A: "CRU", B: "INW", Entered: entered, Value: 0.93, Used: true}}}
	for share, want := range map[quantity.Share][]planner.Overrule{quantity.Share(entered): {{Estimate: "yield PEL INW"}}, 0.9: nil} {
		list, err := planner.YieldChanged(in, &counted, "PEL", "", share)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Apply(in, list...)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got.Overrules); d != "" || got.Steps[1].Yield != share {
			t.Errorf("yield %v: entered %v, overrules (-want +got):\n%s", share, got.Steps[1].Yield, d)
		}
	}
}
