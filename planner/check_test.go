package planner

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/yield"
)

var checkDay = calendar.Date(2027, 1, 4)

// sound is a small plant that nothing is wrong with.
func sound() *Input {
	return &Input{
		Plant: Plant{Name: "small", Currency: "EUR", Zone: "Europe/Berlin", RegrindYield: 0.9},
		Calendar: calendar.Calendar{Shifts: []calendar.Shift{{Code: "day", Weekdays: [7]bool{1: true, 2: true, 3: true, 4: true, 5: true},
			Start: 6 * time.Hour, End: 22 * time.Hour}}},
		Materials: []inventory.Material{
			{Code: "ING", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "EPS", MFR: 8, Price: 0.6, BulkDensity: 620},
			{Code: "VIR", Form: inventory.Virgin, Source: inventory.VirginSource, Polymer: "GPPS", MFR: 4, Price: 1.4, BulkDensity: 620},
		},
		Grades:      []inventory.Grade{{Code: "WH", Silo: 30000, MFRMin: 3, MFRMax: 9, MinRecycled: 0.5, MaxRegrind: 0.2, MaxHIPS: 1}},
		Ingredients: []inventory.Ingredient{{Grade: "WH", Material: "ING", MaxShare: 1}, {Grade: "WH", Material: "VIR", MaxShare: 0.5}},
		Steps:       []yield.Step{{Code: "PEL", Order: 1, Forms: []string{"ingot"}, Yield: 0.96, Rate: 400, Machines: 1, Availability: 0.9}},
		Profiles: []lines.Profile{
			{Code: "SK80", Grade: "WH", PerMetre: 0.38, DieFamily: "SK", Dies: 1, Price: 1.4, RackLitresPerMetre: 2},
			{Code: "CV60", Grade: "WH", PerMetre: 0.18, DieFamily: "CV", Dies: 1, Price: 0.8, RackLitresPerMetre: 3},
		},
		Lines: []lines.Line{{Code: "L1", Mounted: "SK80", Crew: 1, ScrewMM: 75, Startup: lines.Startup{Hours: 3}}},
		Fits: []lines.Fit{
			{Line: "L1", Profile: "SK80", Melt: 140, HaulOff: 6.5, Strands: 1, Availability: 0.9, Quality: 0.97},
			{Line: "L1", Profile: "CV60", Melt: 130, HaulOff: 9, Strands: 2, Availability: 0.9, Quality: 0.97},
		},
		Changeovers: []lines.Changeover{{From: "*", To: "*", Hours: 2}},
		Suppliers:   []inventory.Supplier{{Code: "NF"}},
		Lanes: []inventory.Lane{{Code: "ROAD", Supplier: "NF", Material: "ING", Mode: inventory.Trailer, Load: 22000, MinLoads: 1, LoadsAWeek: 2,
			LeadTime: inventory.LeadTime{Distribution: inventory.Fixed, Mean: 10}, Price: 0.6, Freight: 500}},
		Deliveries: []inventory.Delivery{{Code: "D1", Lane: "ROAD", Material: "ING", Mass: 22000, Ordered: checkDay - 5, ETA: checkDay + 5, Status: inventory.OnRoad}},
		Lots:       []inventory.Lot{{Code: "A1", Material: "ING", Supplier: "NF", Mass: 9000, Received: checkDay - 3}},
		Stock:      []inventory.Stock{{Kind: inventory.PelletStock, Code: "WH", Mass: 5000}, {Kind: inventory.ProfileStock, Code: "SK80", Length: 900}},
		Orders:     []Order{{Code: "O1", Profile: "SK80", Length: 2000, Due: checkDay + 20, Priority: 1}},
		Forecasts:  []Forecast{{Profile: "CV60", From: checkDay, To: checkDay + 28, Length: 4000}},
		Pins:       []Pin{{Code: "P1", Kind: PinRun, Line: "L1", Profile: "SK80", From: checkDay, To: checkDay + 2}},
	}
}

func TestSoundInputHasNoProblems(t *testing.T) {
	for _, p := range sound().Check(checkDay) {
		t.Errorf("unexpected: %v", p)
	}
}

// TestCheck spoils the sound plant in one way each and holds what is found against the exact words.
// "warning: " stands before what does not keep a plan from being made.
func TestCheck(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(in *Input)
		want  string
	}{
		"unknown material": {func(in *Input) { in.Ingredients[0].Material = "INH" },
			`recipes WH / INH: material "INH": allowed the code of a material in materials; did you mean "ING"?` + "\n" +
				`recipes WH / VIR: max share 0.7 in all of WH, own regrind included: allowed at least 1 in all of a grade; raise the largest shares of WH or enter another material`},
		"unknown profile, nothing near": {func(in *Input) { in.Orders[0].Profile = "Zaunlatte" },
			`orders O1: profile "Zaunlatte": allowed the code of a profile in profiles; there are: SK80, CV60`},
		"empty table": {func(in *Input) { in.Suppliers, in.Lots = nil, nil },
			`lanes ROAD: supplier "NF": allowed the code of a supplier in suppliers; suppliers is empty: fill it in first`},
		"machine": {func(in *Input) {
			in.Calendar.Outages = []calendar.Outage{{Code: "M", Machine: "PELL", From: time.Unix(0, 0), To: time.Unix(9, 0)}}
		},
			`outages M: machine "PELL": allowed the code of a line or a step in lines or steps; did you mean "PEL"?`},
		"duplicate code": {func(in *Input) { in.Suppliers = append(in.Suppliers, in.Suppliers[0]) },
			`suppliers NF: "NF": allowed each key once; take one of the rows out or give it a key of its own`},
		"shares below 1": {func(in *Input) { in.Ingredients[0].MaxShare, in.Ingredients[1].MaxShare = 0.4, 0.3 },
			`recipes WH / ING: max share 0.9 in all of WH, own regrind included: allowed at least 1 in all of a grade; raise the largest shares of WH or enter another material`},
		"shares above 1": {func(in *Input) { in.Ingredients[0].MinShare, in.Ingredients[1].MinShare = 0.7, 0.4 },
			`recipes WH / ING: min share 1.1 in all of WH: allowed at most 1 in all of a grade; lower the least shares of WH`},
		"flow out of reach": {func(in *Input) { in.Grades[0].MFRMax = 3.5 },
			`warning: grades WH: MFR max 3.5: allowed a limit that the recipe's materials can meet; as it stands no pellets can be made: change the shares in recipes or the limit`},
		"recycled out of reach": {func(in *Input) {
			in.Grades[0].MinRecycled, in.Ingredients[0].MaxShare, in.Ingredients[1].MaxShare = 0.7, 0.5, 1
		},
			`warning: grades WH: min recycled 0.7: allowed a limit that the recipe's materials can meet; as it stands no pellets can be made: change the shares in recipes or the limit`},
		"grade without materials": {func(in *Input) { in.Grades = append(in.Grades, inventory.Grade{Code: "GY", MaxHIPS: 1}) },
			`warning: grades GY: code "GY": allowed a grade with materials in recipes; without any only its pellets in stock can be used`},
		"load beyond the payload": {func(in *Input) { in.Lanes[0].Load = 26000 },
			`lanes ROAD: load 26 000 kg: allowed above 0, up to 24 000 kg, the payload of a 13.6 m curtainsider; check the weight and the mode`},
		"load that does not fit": {func(in *Input) { in.Materials[0].Form, in.Materials[0].BulkDensity = inventory.Block, 200 },
			`warning: lanes ROAD: load 22 000 kg: allowed as a rule up to 17 000 kg: a 13.6 m curtainsider holds no more at 200 kg/m³; check the weight and the bulk density`},
		"denser than polystyrene": {func(in *Input) { in.Materials[0].BulkDensity = 6200 },
			`materials ING: bulk density 6200 kg/m³: allowed 0 to 1100 kg/m³`},
		"packed denser than polystyrene": {func(in *Input) { in.Profiles[0].RackLitresPerMetre = 0.3 },
			`profiles SK80: rack volume 0.3 L/m: allowed 0.3455 L/m or more: no more than 1100 kg/m³; it is the volume a metre takes up packed, in litres`},
		"past and not late": {func(in *Input) { in.Deliveries[0].Ordered, in.Deliveries[0].ETA = 0, checkDay-1 },
			`warning: deliveries D1: ETA 2027-01-03: allowed 2027-01-04 or later, unless it is marked late; until it has a new ETA, or status = received and a lot, the plan counts on it from its first day`},
		"past for half a year": {func(in *Input) { in.Deliveries[0].Ordered, in.Deliveries[0].ETA = 0, checkDay-181 },
			`deliveries D1: ETA 2026-07-07: allowed 2027-01-04 or later, unless it is marked late; enter its new ETA, or late = yes, or status = received and a lot`},
		"ordered after its arrival": {func(in *Input) { in.Deliveries[0].Ordered = checkDay + 6 },
			`deliveries D1: ETA 2027-01-09: allowed 2027-01-10, when it was ordered, or later`},
		"material of another lane": {func(in *Input) { in.Deliveries[0].Material = "VIR" },
			`deliveries D1: material "VIR": allowed "ING", which lane ROAD brings; correct the material or leave the lane blank`},
		"currency without a rate": {func(in *Input) { in.Lanes[0].Currency = "USD" },
			`lanes ROAD: exchange rate 0: allowed EUR per USD; enter how much of the plant's currency one of the lane's buys`},
		"rate without a currency": {func(in *Input) { in.Lanes[0].Rate = 0.9 },
			`lanes ROAD: exchange rate 0.9: allowed 1 or blank for a lane in the plant's currency; enter the lane's currency or take the rate out`},
		"form of the currency": {func(in *Input) { in.Plant.Currency = "eur" },
			`plant: currency "eur": allowed three capital letters such as EUR or USD (ISO 4217)`},
		"zone": {func(in *Input) { in.Plant.Zone = "Europe/Berlino" },
			`plant: zone "Europe/Berlino": allowed an IANA time zone such as Europe/Berlin or America/Chicago`},
		"line without rates": {func(in *Input) { in.Lines = append(in.Lines, lines.Line{Code: "L2"}) },
			`warning: lines L2: code "L2": allowed a line with rates; without any in rates it makes nothing`},
		"profile that no line makes": {func(in *Input) { in.Fits, in.Pins = in.Fits[:1], nil },
			`warning: profiles CV60: code "CV60": allowed a profile that some line has a rate for; enter its rates: 1 rows of orders and forecast ask for it`},
		"mounted on the wrong line": {func(in *Input) { in.Fits, in.Forecasts, in.Pins, in.Profiles[0].Dies = in.Fits[1:], nil, nil, 1 },
			`warning: profiles SK80: code "SK80": allowed a profile that some line has a rate for; enter its rates: 1 rows of orders and forecast ask for it` + "\n" +
				`lines L1: mounted "SK80": allowed a profile that the line has a rate for; enter rates for L1 / SK80 or correct the profile`},
		"rate beyond the screw": {func(in *Input) { in.Fits[0].Melt = 1400; in.Fits[0].HaulOff = 6.5 },
			`warning: rates L1 / SK80: melt 1400 kg/h: allowed as a rule 0 to 528.19 kg/h; a 75 mm screw gives about 154 kg/h: check the rate and the screw`},
		"changeover missing": {func(in *Input) { in.Changeovers = []lines.Changeover{{From: "SK", To: "CV", Hours: 2}} },
			`warning: changeovers CV / SK: hours none for CV / SK: allowed a row for each change between families of a line; until then it takes no time; a row from * to * covers all`},
		"unknown family": {func(in *Input) { in.Changeovers = append(in.Changeovers, lines.Changeover{From: "SKK", To: "CV"}) },
			`warning: changeovers SKK / CV: from "SKK": allowed a die family of profiles, or * for any; did you mean "SK"?`},
		"more dies than there are": {func(in *Input) {
			in.Lines = append(in.Lines, lines.Line{Code: "L2", Mounted: "SK80"})
			in.Fits = append(in.Fits, lines.Fit{Line: "L2", Profile: "SK80", HaulOff: 6, Strands: 1, Availability: 0.9, Quality: 0.97})
		}, `lines L2: mounted "SK80": allowed on no more lines than it has dies, 1; correct what is mounted or the number of dies`},
		"down till the past": {func(in *Input) { in.Lines[0].State, in.Lines[0].DownUntil = lines.Down, checkDay-2 },
			`warning: lines L1: down until 2027-01-02: allowed after 2027-01-04; if it is back set its state to ready, else enter the new day`},
		"pins against one another": {func(in *Input) {
			in.Pins = append(in.Pins, Pin{Code: "P2", Kind: PinIdle, Line: "L1", From: checkDay + 1, To: checkDay + 3})
		}, `pins P2: kind idle: allowed what can be kept beside pin P1, run SK80, from 2027-01-05 to 2027-01-05; change or take out one of the two`},
		"pin of what the line can't run": {func(in *Input) { in.Fits, in.Forecasts, in.Pins[0].Profile = in.Fits[:1], nil, "CV60" },
			`warning: profiles CV60: code "CV60": allowed a profile that some line has a rate for; enter its rates, or take the profile out` + "\n" +
				`pins P1: profile "CV60": allowed a profile that L1 has a rate for; enter it in rates or correct the pin`},
		"forbid without a profile": {func(in *Input) {
			in.Pins[0] = Pin{Code: "P1", Kind: PinForbid, Line: "L1", From: checkDay, To: checkDay + 1}
		},
			`pins P1: profile "": allowed the profile that is forbidden; to keep the line from running anything use idle`},
		"days the wrong way round": {func(in *Input) { in.Pins[0].To = checkDay },
			`pins P1: last day 2027-01-03: allowed 2027-01-04, the first day, or later`},
		"forecasts that overlap": {func(in *Input) {
			in.Forecasts = append(in.Forecasts, Forecast{Profile: "CV60", From: checkDay + 7, To: checkDay + 35, Length: 1})
		}, `forecast CV60 / 2027-01-11: first day 2027-01-11: allowed after 2027-01-31, the last day of the row before; forecasts of a profile may not overlap: they would count twice`},
		"horizon shorter than a lead time": {func(in *Input) { in.Plant.Weeks, in.Lanes[0].LeadTime.Mean = 4, 40 },
			`warning: plant: weeks 4 weeks: allowed more than the lead time of lane ROAD, 40 days; nothing ordered on it arrives within the horizon`},
		"daily part longer than the horizon": {func(in *Input) { in.Plant.Weeks, in.Plant.DailyDays = 2, 21 },
			`plant: daily days 21 days: allowed at most the horizon, 14 days`},
		"quantile":           {func(in *Input) { in.Plant.ServiceLevel = 1 }, `plant: service level 1: allowed 0.5 or more and below 1; write 95 % as 0.95`},
		"absurd amount":      {func(in *Input) { in.Orders[0].Length = 3e12 }, `orders O1: length 3e+12: allowed 0 to 1e+09; is the unit in the heading right?`},
		"not a number":       {func(in *Input) { in.Plant.ChangeCost = quantity.Money(nan()) }, `plant: change cost NaN: allowed 0 to 1e+10; enter a number`},
		"negative, inside":   {func(in *Input) { in.Lines[0].Startup.Cost = -1 }, `lines L1: startup cost -1: allowed 0 or more`},
		"no shifts":          {func(in *Input) { in.Calendar.Shifts = nil }, `warning: shifts: no rows: allowed at least one shift; without shifts no line has hours to run`},
		"received tomorrow":  {func(in *Input) { in.Lots[0].Received = checkDay + 1 }, `warning: lots A1: received 2027-01-05: allowed 2027-01-04 or earlier`},
		"more than the silo": {func(in *Input) { in.Stock[0].Mass = 31000 }, `warning: grades WH: silo 30000 kg: allowed at least the 31000 kg that are in it now; check the room and the stock`},
		"more than the yard": {func(in *Input) { in.Plant.Yard = 10 }, `warning: plant: yard 10 m³: allowed at least the 14.5161 m³ that the lots take up now; check the room and the stock`},
		"more than the rack": {func(in *Input) { in.Plant.Rack = 1 }, `warning: plant: rack 1 m³: allowed at least the 1.8 m³ that the profiles take up now; check the room and the stock`},
	} {
		t.Run(name, func(t *testing.T) {
			in := sound()
			c.spoil(in)
			var got []string
			for _, p := range in.Check(checkDay) {
				s := p.String()
				if p.Warning {
					s = "warning: " + s
				}
				got = append(got, s)
			}
			if s := strings.Join(got, "\n"); s != c.want {
				t.Errorf("got\n%s\nwant\n%s", s, c.want)
			}
		})
	}
}

func nan() float64 {
	zero := 0.0
	return zero / zero
}

func TestContradict(t *testing.T) {
	run := func(p string) Pin { return Pin{Kind: PinRun, Profile: p} }
	forbid := func(p string) Pin { return Pin{Kind: PinForbid, Profile: p} }
	idle := Pin{Kind: PinIdle}
	for _, c := range []struct {
		a, b Pin
		want bool
	}{
		{run("A"), run("A"), false}, {run("A"), run("B"), true}, {run("A"), run(""), false}, {run(""), idle, true}, {run("A"), forbid("A"), true},
		{run("A"), forbid("B"), false}, {run(""), forbid("A"), false}, {idle, idle, false}, {idle, forbid("A"), false}, {forbid("A"), forbid("B"), false},
	} {
		if contradict(c.a, c.b) != c.want || contradict(c.b, c.a) != c.want {
			t.Errorf("%s beside %s: %v, want %v", pinText(c.a), pinText(c.b), !c.want, c.want)
		}
	}
}

func TestNearest(t *testing.T) {
	words := []string{"running", "ready", "down", "uncommissioned"}
	for given, want := range map[string]string{"runing": "running", "raedy": "ready", "DOWN": "down", "off": "", "": "", strings.Repeat("x", 1000): ""} {
		if got, _ := Nearest(given, words); got != want {
			t.Errorf("nearest to %.20q: %q, want %q", given, got, want)
		}
	}
}

// TestReach compares the knapsack with all divisions of the feed into twentieths.
func TestReach(t *testing.T) {
	m := func(worth float64) inventory.Material { return inventory.Material{MFR: worth} }
	list := []part{{m(3), 0.1, 0.4}, {m(-2), 0.2, 1}, {m(1), 0, 0.3}}
	const regrind, n = 0.2, 20
	best := -1e9
	for a := 0; a <= n; a++ {
		for b := 0; a+b <= n; b++ {
			for c := 0; a+b+c <= n; c++ {
				x := []float64{float64(a) / n, float64(b) / n, float64(c) / n}
				ok, sum := float64(n-a-b-c)/n <= regrind, 0.0
				for i, p := range list {
					ok = ok && p.lo <= x[i] && x[i] <= p.hi
					sum += x[i] * p.material.MFR
				}
				if ok {
					best = max(best, sum)
				}
			}
		}
	}
	if got := reach(list, regrind, func(m inventory.Material) float64 { return m.MFR }); got < best-1e-9 || got > best+1e-9 {
		t.Errorf("reach %v, by enumeration %v", got, best)
	}
}
