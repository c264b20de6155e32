package inventory

import (
	"math"
	"testing"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

var (
	goodMaterial = Material{Code: "M", Form: Ingot, Source: PostConsumer, Polymer: "EPS", MFR: 8, Moisture: 0.01, Contamination: 0.02, Price: 0.5, BulkDensity: 650}
	goodGrade    = Grade{Code: "G", Silo: 30000, MFRMin: 4, MFRMax: 12, MinRecycled: 0.5, MaxRegrind: 0.2, MaxHIPS: 1, StockTarget: 5000}
	goodLane     = Lane{Code: "N", Material: "M", Mode: Container, Load: 19000, MinLoads: 1, LoadsAWeek: 2, LeadTime: LeadTime{Lognormal, 44, 10.5}, Price: 0.6, Freight: 3000, Currency: "USD", Rate: 0.9}
)

func with[T interface{ Check() []quantity.Problem }](x T, change func(*T)) []quantity.Problem {
	change(&x)
	return x.Check()
}

func TestGoodRecordsHaveNoProblems(t *testing.T) {
	list := append(goodMaterial.Check(), goodGrade.Check()...)
	list = append(list, goodLane.Check()...)
	list = append(list, Ingredient{"G", "M", 0.1, 0.6}.Check()...)
	list = append(list, Ingredient{"G", "M", 0.1, 0}.Check()...) // no upper bound
	list = append(list, Lot{Code: "L", Material: "M", Mass: 5, Hold: true, Reason: "wet"}.Check()...)
	list = append(list, Supplier{Code: "S"}.Check()...)
	list = append(list, Stock{Kind: ProfileStock, Code: "P", Length: 400}.Check()...)
	list = append(list, Stock{Kind: PelletStock, Code: "G", Mass: 400}.Check()...)
	if len(list) != 0 {
		t.Errorf("problems %v, want none", list)
	}
}

// Each change to a good record is found, in the field it was made.
func TestCheckFindsEachFault(t *testing.T) {
	stock := Stock{Kind: ProfileStock, Code: "P", Length: 400}
	for _, c := range []struct {
		field   string
		warning bool
		list    []quantity.Problem
	}{
		{"Code", false, with(goodMaterial, func(m *Material) { m.Code = "" })},
		{"Form", false, with(goodMaterial, func(m *Material) { m.Form = "brick" })},
		{"Source", false, with(goodMaterial, func(m *Material) { m.Source = "" })},
		{"Source", false, with(goodMaterial, func(m *Material) { m.Form = Virgin })},
		{"Polymer", false, with(goodMaterial, func(m *Material) { m.Polymer = "PP" })},
		{"MFR", true, with(goodMaterial, func(m *Material) { m.MFR = 80 })},
		{"Moisture", true, with(goodMaterial, func(m *Material) { m.Moisture = 0.2 })},
		{"Moisture", false, with(goodMaterial, func(m *Material) { m.Moisture = 2 })},
		{"Contamination", false, with(goodMaterial, func(m *Material) { m.Contamination = quantity.Share(math.NaN()) })},
		{"Price", false, with(goodMaterial, func(m *Material) { m.Price = -1 })},
		{"BulkDensity", false, with(goodMaterial, func(m *Material) { m.BulkDensity = 1101 })},
		{"BulkDensity", true, with(goodMaterial, func(m *Material) { m.BulkDensity = 20 })}, // loose foam called ingot
		{"MFRMin", false, with(goodGrade, func(g *Grade) { g.MFRMin = 13 })},
		{"MinRecycled", false, with(goodGrade, func(g *Grade) { g.MinRecycled = 50 })},
		{"MaxRegrind", true, with(goodGrade, func(g *Grade) { g.MaxRegrind = 0.6 })},
		{"StockTarget", true, with(goodGrade, func(g *Grade) { g.StockTarget = 40000 })},
		{"MinShare", false, Ingredient{"G", "M", 0.7, 0.6}.Check()},
		{"Reason", true, Lot{Code: "L", Material: "M", Mass: 5, Hold: true}.Check()},
		{"Mass", false, Lot{Code: "L", Material: "M", Mass: -5}.Check()},
		{"Mode", false, with(goodLane, func(l *Lane) { l.Mode = "cart" })},
		{"Load", false, with(goodLane, func(l *Lane) { l.Load = 27000 })},
		{"Load", true, with(goodLane, func(l *Lane) { l.Load = 24000 })}, // heavier than US roads allow
		{"Currency", false, with(goodLane, func(l *Lane) { l.Currency = "usd" })},
		{"To", false, with(goodLane, func(l *Lane) { l.From = 20000 })},
		{"LeadTime.Distribution", false, with(goodLane, func(l *Lane) { l.LeadTime.Distribution = "beta" })},
		{"LeadTime.Mean", false, with(goodLane, func(l *Lane) { l.LeadTime = LeadTime{Gamma, 0, 0} })},
		{"LeadTime.SD", true, with(goodLane, func(l *Lane) { l.LeadTime.SD = 50 })},
		{"LeadTime.SD", true, with(goodLane, func(l *Lane) { l.LeadTime.Distribution = Fixed })},
		{"Kind", false, with(stock, func(s *Stock) { s.Kind, s.Length = "cups", 0 })},
		{"Mass", false, with(stock, func(s *Stock) { s.Mass = 3 })},
		{"Length", false, with(stock, func(s *Stock) { s.Length = -3 })},
	} {
		if len(c.list) != 1 || c.list[0].Field != c.field || c.list[0].Warning != c.warning {
			t.Errorf("problems %v, want one of %s (warning %v)", c.list, c.field, c.warning)
		}
	}
}

func TestDeliveryCheck(t *testing.T) {
	today := calendar.Date(2026, 11, 25)
	good := Delivery{Code: "D", Material: "M", Mass: 20000, Ordered: today - 30, ETA: today + 5, Spread: 3, Status: Afloat}
	for _, c := range []struct {
		field  string // with a question mark where it is doubtful alone
		change func(*Delivery)
	}{
		{"", func(*Delivery) {}},
		{"", func(d *Delivery) { d.ETA = today }},
		{"", func(d *Delivery) { d.ETA, d.Late = today-1, true }},
		{"", func(d *Delivery) { d.ETA, d.Status = today-1, Received }},
		{"ETA?", func(d *Delivery) { d.ETA, d.Ordered = today-1, 0 }},
		{"ETA?", func(d *Delivery) { d.ETA, d.Ordered = today-180, 0 }},
		{"ETA", func(d *Delivery) { d.ETA, d.Ordered = today-181, 0 }},
		{"ETA", func(d *Delivery) { d.ETA = 0 }},
		{"ETA", func(d *Delivery) { d.Ordered = today + 6 }},
		{"Mass", func(d *Delivery) { d.Mass = 0 }},
		{"Spread", func(d *Delivery) { d.Spread = -1 }},
		{"Status", func(d *Delivery) { d.Status = "lost" }},
	} {
		d := good
		c.change(&d)
		list := d.Check(today)
		got := ""
		for _, x := range list {
			got += x.Field
			if x.Warning {
				got += "?"
			}
		}
		if got != c.field {
			t.Errorf("%+v: problems %v, want %q", d, list, c.field)
		}
	}
	for status, want := range map[DeliveryStatus]bool{Ordered: true, Afloat: true, AtPort: true, OnRoad: true, Received: false, Rejected: false} {
		if got := (Delivery{Status: status}).Coming(); got != want {
			t.Errorf("%s is coming: %v, want %v", status, got, want)
		}
	}
}
