package book

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"feedline/inventory"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

const monday = calendar.Day(20790) // 2026-12-03 is a Thursday; any day will do

// small is a plant with one row in each table, all of it sound.
func small() *planner.Input {
	utc := func(hour int) time.Time { return time.Date(2026, 12, 7, hour, 0, 0, 0, time.UTC) }
	return &planner.Input{
		Plant:       planner.Plant{Name: "Riverside works", Currency: "EUR", ArrivalQuantile: 0.8},
		Materials:   []inventory.Material{{Code: "M", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "EPS"}},
		Grades:      []inventory.Grade{{Code: "G", MFRMin: 4, MFRMax: 9}},
		Ingredients: []inventory.Ingredient{{Grade: "G", Material: "M", MinShare: 0.2, MaxShare: 0.8}},
		Steps:       []yield.Step{{Code: "S", Forms: []string{"ingot", "block"}, Yield: 0.9}},
		Overrides:   []yield.Override{{Step: "S", Material: "M", Yield: 0.8}},
		Profiles:    []lines.Profile{{Code: "P", Grade: "G", PerMetre: 0.3, Dies: 1}},
		Lines:       []lines.Line{{Code: "L", State: lines.Down, DownUntil: monday, Commissioning: lines.Commissioning{Earliest: monday}, Mounted: "P"}},
		Fits:        []lines.Fit{{Line: "L", Profile: "P", Melt: 100, HaulOff: 5, Strands: 1, Availability: 0.9, Quality: 0.9}},
		Changeovers: []lines.Changeover{{From: "*", To: "*"}},
		Calendar: calendar.Calendar{
			Shifts:   []calendar.Shift{{Code: "E", Weekdays: [7]bool{1: true}, Start: 6 * time.Hour, End: 14 * time.Hour}},
			Closures: []calendar.Closure{{Code: "H", Span: calendar.Span{From: monday, To: monday + 1}}},
			Outages:  []calendar.Outage{{Code: "X", Machine: "S", From: utc(6), To: utc(14)}},
		},
		Suppliers:  []inventory.Supplier{{Code: "U"}},
		Lanes:      []inventory.Lane{{Code: "N", Supplier: "U", Material: "M", Mode: inventory.Trailer, Load: 22000, LeadTime: inventory.LeadTime{Distribution: inventory.Gamma, Mean: 9}, From: monday, To: monday + 1}},
		Deliveries: []inventory.Delivery{{Code: "D", Lane: "N", Material: "M", Mass: 22000, Ordered: monday, ETA: monday + 9, Status: inventory.Afloat}},
		Lots:       []inventory.Lot{{Code: "T", Material: "M", Supplier: "U", Mass: 500, Received: monday}},
		Stock:      []inventory.Stock{{Kind: inventory.PelletStock, Code: "G", Mass: 100}},
		Orders:     []planner.Order{{Code: "O", Profile: "P", Length: 100, Due: monday, Priority: 1}},
		Forecasts:  []planner.Forecast{{Profile: "P", From: monday, To: monday + 28, Length: 5}},
		Reasons:    []lines.Reason{{Code: "R", Kind: lines.Stop}},
		Limits:     []inventory.Limit{{Measure: inventory.HBCDD, Use: "profiles", Most: 75}},
		Overrules:  []planner.Overrule{{Estimate: "yield S M"}},
		Pins:       []planner.Pin{{Code: "I", Kind: planner.PinForbid, Line: "L", Profile: "P", From: monday, To: monday + 1}},
	}
}

// refusal saves in, which must be refused for the given column of a table, and nothing saved.
func refusal(t *testing.T, b *Book, what string, in *planner.Input, table, column string) *RowError {
	t.Helper()
	_, v := mustLoad(t, b)
	_, err := b.Save(ctx, in, SaveOptions{})
	var row *RowError
	if !errors.As(err, &row) || row.Table != table || row.Column != column {
		t.Errorf("%s: error %v, want a refusal of %s, column %s", what, err, table, column)
		return &RowError{}
	}
	if row.Allowed == "" || row.Value == "" || row.Hint() == "" {
		t.Errorf("%s: %#v lacks what is allowed or what stands there", what, row)
	}
	if _, now, err := b.Load(ctx); err != nil || now != v {
		t.Errorf("%s: version %d after a refusal, %d before; %v", what, now, v, err)
	}
	return row
}

// with is small with the value of one column of the only row of a table replaced, as the book stores it.
func with(t *testing.T, x *table, column int, value any) *planner.Input {
	t.Helper()
	in := small()
	values := x.rows(in)[0].values
	values[column] = value
	if err := x.fill(in, [][]any{values}); err != nil {
		t.Fatal(err)
	}
	return in
}

// Every number must be finite and, but for the order of steps, 0 or more; no share is above 1; every code is there; every day
// lies in the years that dates are written in.
func TestEveryColumnIsChecked(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	keeps(t, b, small())
	for _, x := range tables {
		first := x.rows(small())[0]
		for j, column := range x.columns {
			try := func(v any) {
				t.Helper()
				refusal(t, b, fmt.Sprintf("%s.%s = %v", x.name, column, v), with(t, x, j, v), x.name, column)
			}
			switch v := first.values[j].(type) {
			case float64:
				try(-5e-324)
				try(math.Inf(1))
				try(math.NaN())
			case int64:
				if column != "pass_order" && column != "import" && column != "late" && column != "hold" && column != "required" {
					try(int64(-1))
				}
			case string:
				if len(first.names[j]) > 0 {
					try("elsewhere")
				}
				if _, err := calendar.ParseDay(v); err == nil {
					in := with(t, x, j, v)
					refusal(t, b, x.name+"."+column, farDay(t, x, j, in), x.name, column)
				}
				if column == "code" && !mayBeBlank[x.name] {
					try(" \t\n")
				}
			}
		}
	}
}

// mayBeBlank is the tables whose codes may be blank.
var mayBeBlank = map[string]bool{planner.TableShifts: true, planner.TableOutages: true}

// farDay is in with a day column of a table's only row set to a day of the year 10000, which no date of four digits can say.
func farDay(t *testing.T, x *table, column int, in *planner.Input) *planner.Input {
	t.Helper()
	const far = lastDay + 1
	switch x.name + "." + x.columns[column] {
	case "closures.from_day":
		in.Calendar.Closures[0].Span.From = far
	case "closures.to_day":
		in.Calendar.Closures[0].Span.To = far
	case "lines.down_until":
		in.Lines[0].DownUntil = far
	case "lines.commissioning_earliest":
		in.Lines[0].Commissioning.Earliest = far
	case "lanes.from_day":
		in.Lanes[0].From = far
	case "lanes.to_day":
		in.Lanes[0].To = far
	case "deliveries.ordered":
		in.Deliveries[0].Ordered = far
	case "deliveries.eta":
		in.Deliveries[0].ETA = far
	case "lots.received":
		in.Lots[0].Received = far
	case "orders.due":
		in.Orders[0].Due = far
	case "forecast.from_day":
		in.Forecasts[0].From = far
	case "forecast.to_day":
		in.Forecasts[0].To = far
	case "pins.from_day":
		in.Pins[0].From = far
	case "pins.to_day":
		in.Pins[0].To = far
	default:
		t.Fatalf("column %s.%s holds a day: add it here", x.name, x.columns[column])
	}
	return in
}

func TestRefusals(t *testing.T) {
	b := fresh(t)
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		place  string // table and column
		change func(in *planner.Input)
	}{
		{"plant currency", func(in *planner.Input) { in.Plant.Currency = "euro" }},
		{"plant zone", func(in *planner.Input) { in.Plant.Zone = "Riverside" }},
		{"plant zone", func(in *planner.Input) { in.Plant.Zone = "Local" }},
		{"plant zone", func(in *planner.Input) { in.Plant.Zone = "Europe/Berlin" }}, // the calendar's is UTC
		{"plant zone", func(in *planner.Input) { in.Calendar.Zone = berlin }},
		{"plant units", func(in *planner.Input) { in.Plant.Units = 2 }},
		{"plant holding_rate", func(in *planner.Input) { in.Plant.HoldingRate = 1.01 }},
		{"plant arrival_quantile", func(in *planner.Input) { in.Plant.ArrivalQuantile = 0.2 }},
		{"plant service_level", func(in *planner.Input) { in.Plant.ServiceLevel = 1 }},
		{"plant weeks", func(in *planner.Input) { in.Plant.Weeks = 521 }},
		{"materials form", func(in *planner.Input) { in.Materials[0].Form = "Ingot" }},
		{"materials source", func(in *planner.Input) { in.Materials[0].Source = "" }},
		{"materials polymer", func(in *planner.Input) { in.Materials[0].Polymer = "PET" }},
		{"materials moisture", func(in *planner.Input) { in.Materials[0].Moisture = 2 }},
		{"materials bulk_density_kg_m3", func(in *planner.Input) { in.Materials[0].BulkDensity = 1101 }},
		{"grades mfr_min_g_in_10_min", func(in *planner.Input) { in.Grades[0].MFRMin = 10 }},
		{"grades max_hips", func(in *planner.Input) { in.Grades[0].MaxHIPS = 1.5 }},
		{"recipes min_share", func(in *planner.Input) { in.Ingredients[0].MinShare = 0.9 }},
		{"recipes max_share", func(in *planner.Input) { in.Ingredients[0].MaxShare = 80 }},
		{"steps forms", func(in *planner.Input) { in.Steps[0].Forms = []string{"ingot", "slab"} }},
		{"steps yield", func(in *planner.Input) { in.Steps[0].Yield = 0 }},
		{"step_yields yield", func(in *planner.Input) { in.Overrides[0].Yield = 97 }},
		{"profiles mass_kg_m", func(in *planner.Input) { in.Profiles[0].PerMetre = 0 }},
		{"profiles dies", func(in *planner.Input) { in.Profiles[0].Dies = 0 }},
		{"lines state", func(in *planner.Input) { in.Lines[0].State = 4 }},
		{"lines state", func(in *planner.Input) { in.Lines[0].State = -1 }},
		{"lines down_until", func(in *planner.Input) { in.Lines[0].DownUntil = 0 }},
		{"rates melt_kg_h", func(in *planner.Input) { in.Fits[0].Melt, in.Fits[0].HaulOff = 0, 0 }},
		{"rates strands", func(in *planner.Input) { in.Fits[0].Strands = 0 }},
		{"rates quality", func(in *planner.Input) { in.Fits[0].Quality = 0 }},
		{"changeovers to_family", func(in *planner.Input) { in.Changeovers[0].To = "" }},
		{"shifts weekdays", func(in *planner.Input) { in.Calendar.Shifts[0].Weekdays = [7]bool{} }},
		{"shifts start_time", func(in *planner.Input) {
			in.Calendar.Shifts[0].Start, in.Calendar.Shifts[0].End = 24*time.Hour, 25*time.Hour
		}},
		{"shifts start_time", func(in *planner.Input) { in.Calendar.Shifts[0].Start += time.Second }},
		{"shifts end_time", func(in *planner.Input) { in.Calendar.Shifts[0].End = in.Calendar.Shifts[0].Start }},
		{"shifts end_time", func(in *planner.Input) { in.Calendar.Shifts[0].End = 30*time.Hour + time.Minute }},
		{"closures to_day", func(in *planner.Input) { in.Calendar.Closures[0].Span.To = monday }},
		{"outages machine", func(in *planner.Input) { in.Calendar.Outages[0].Machine = "P" }},
		{"outages from_time", func(in *planner.Input) {
			in.Calendar.Outages[0].From = in.Calendar.Outages[0].From.Add(time.Millisecond)
		}},
		{"outages to_time", func(in *planner.Input) { in.Calendar.Outages[0].To = in.Calendar.Outages[0].From }},
		{"lanes mode", func(in *planner.Input) { in.Lanes[0].Mode = "barge" }},
		{"lanes load_kg", func(in *planner.Input) { in.Lanes[0].Load = 0 }},
		{"lanes currency", func(in *planner.Input) { in.Lanes[0].Currency = "€" }},
		{"lanes lead_time_distribution", func(in *planner.Input) { in.Lanes[0].LeadTime.Distribution = "" }},
		{"lanes lead_time_mean_days", func(in *planner.Input) { in.Lanes[0].LeadTime.Mean = 0 }},
		{"lanes to_day", func(in *planner.Input) { in.Lanes[0].To = 0 }},
		{"deliveries status", func(in *planner.Input) { in.Deliveries[0].Status = "lost" }},
		{"deliveries eta", func(in *planner.Input) { in.Deliveries[0].ETA = 0 }},
		{"deliveries eta", func(in *planner.Input) { in.Deliveries[0].ETA = monday - 1 }},
		{"stock kind", func(in *planner.Input) { in.Stock[0].Kind = "boxes" }},
		{"stock code", func(in *planner.Input) { in.Stock[0] = inventory.Stock{Kind: inventory.ProfileStock, Code: "G"} }},
		{"stock mass_kg", func(in *planner.Input) {
			in.Stock[0] = inventory.Stock{Kind: inventory.ProfileStock, Code: "P", Mass: 1}
		}},
		{"stock length_m", func(in *planner.Input) { in.Stock[0].Length = 1 }},
		{"orders due", func(in *planner.Input) { in.Orders[0].Due = 0 }},
		{"orders priority", func(in *planner.Input) { in.Orders[0].Priority = 10 }},
		{"orders priority", func(in *planner.Input) { in.Orders[0].Priority = 0 }},
		{"orders customer", func(in *planner.Input) { in.Orders[0].Customer = "\xff" }},
		{"orders customer", func(in *planner.Input) { in.Orders[0].Customer = "a\x00b" }},
		{"orders ", func(in *planner.Input) { in.Orders = append(in.Orders, in.Orders[0]) }},
		{"forecast to_day", func(in *planner.Input) { in.Forecasts[0].To = monday }},
		{"pins kind", func(in *planner.Input) { in.Pins[0].Kind = "" }},
		{"pins profile", func(in *planner.Input) { in.Pins[0].Profile = "" }},
		{"pins profile", func(in *planner.Input) { in.Pins[0].Kind = planner.PinIdle }},
	} {
		in := small()
		c.change(in)
		table, column, _ := strings.Cut(c.place, " ")
		refusal(t, b, c.place, in, table, column)
	}
}

// A row that others name can't be taken out; the message is about one that names it.
func TestNamedRowsCantBeTakenOut(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	for _, c := range []struct {
		place  string
		change func(in *planner.Input)
	}{
		{"recipes material", func(in *planner.Input) { in.Materials = nil }},
		{"recipes grade", func(in *planner.Input) { in.Grades = nil }},
		{"step_yields step", func(in *planner.Input) { in.Steps = nil }},
		{"outages machine", func(in *planner.Input) { in.Steps, in.Overrides = nil, nil }},
		{"lines mounted", func(in *planner.Input) { in.Profiles = nil }},
		{"rates line", func(in *planner.Input) { in.Lines = nil }},
		{"lanes supplier", func(in *planner.Input) { in.Suppliers = nil }},
		{"deliveries lane", func(in *planner.Input) { in.Lanes = nil }},
	} {
		in := small()
		c.change(in)
		table, column, _ := strings.Cut(c.place, " ")
		refusal(t, b, c.place, in, table, column)
	}
	keeps(t, b, small())
}

func TestRowErrorReads(t *testing.T) {
	b := fresh(t)
	in := small()
	in.Orders[0].Priority = 12
	row := refusal(t, b, "priority", in, planner.TableOrders, "priority")
	if got, want := row.Error(), "orders O: priority = 12, allowed: 1 to 9"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	in = small()
	in.Fits[0].Profile = "Q"
	row = refusal(t, b, "profile", in, planner.TableRates, "profile")
	if got, want := row.Error(), `rates L / Q: profile = "Q", allowed: a code of profiles`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// What another program might write is refused as well: words in columns of numbers, and days that no calendar has.
func TestSchemaRefusesOtherPrograms(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	for _, q := range []string{
		"UPDATE orders SET length_m = 'much'", "UPDATE orders SET due = '2026-02-30'", "UPDATE orders SET due = '3.2.2026'", "UPDATE orders SET priority = 1.5",
		"UPDATE orders SET profile = 'Q'", "DELETE FROM profiles", "DELETE FROM steps", "UPDATE outages SET machine = 'Q'", "UPDATE outages SET from_time = '2026-12-07 25:00'",
		"UPDATE steps SET forms = 'ingot'", "UPDATE plant SET position = 2", "UPDATE stock SET code = 'P'", "UPDATE changes SET before = 'x'",
	} {
		if _, err := b.db.Exec(q); err == nil {
			t.Errorf("%s: no error", q)
		}
	}
	keeps(t, b, small())
}
