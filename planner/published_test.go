package planner_test

import (
	"math"
	"testing"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

// sailco is a multi-period production problem told as a plant: Winston and Albright, Practical Management Science, p. 200;
// data as in the public file sailco.gms of a university course. Boats are metres; a day stands for a quarter. Demand is 40, 60, 75, 25;
// 10 boats are in stock; regular labour makes up to regular boats a quarter at 400, overtime any number at 450; holding costs 20.
func sailco(regular float64) *planner.Input {
	const price, overtime = 20 * 365.25, 120.0 // price × a holding rate of 1 a year is 20 a day
	line := func(code string, boats, cost float64) (lines.Line, lines.Fit) {
		return lines.Line{Code: code, State: lines.Running, Mounted: "boat", BaseKW: cost * boats / 24},
			lines.Fit{Line: code, Profile: "boat", HaulOff: quantity.Speed(boats / 24 / 60), Strands: 1, Availability: 1, Quality: 1}
	}
	l1, f1 := line("regular", regular, 400)
	l2, f2 := line("overtime", overtime, 450)
	in := &planner.Input{
		Plant:       planner.Plant{Name: "Sailco", Currency: "USD", Zone: "UTC", EnergyPrice: 1, HoldingRate: 1, LateCostADay: 1, UnmetCost: 1, ShortfallPrice: 50},
		Calendar:    everyDay(),
		Materials:   []inventory.Material{{Code: "M", Name: "M", Form: inventory.Virgin, Source: inventory.VirginSource, Polymer: "GPPS", BulkDensity: 600}},
		Grades:      []inventory.Grade{{Code: "G", Name: "G", MaxRegrind: 1, MaxHIPS: 1}},
		Ingredients: []inventory.Ingredient{{Grade: "G", Material: "M", MaxShare: 1}},
		Steps:       []yield.Step{},
		Profiles:    []lines.Profile{{Code: "boat", Name: "boat", Grade: "G", PerMetre: 1, DieFamily: "hull", Dies: 2, Price: price}},
		Lines:       []lines.Line{l1, l2},
		Fits:        []lines.Fit{f1, f2},
		Stock:       []inventory.Stock{{Kind: inventory.PelletStock, Code: "G", Mass: 1000}, {Kind: inventory.ProfileStock, Code: "boat", Length: 10}},
	}
	for q, boats := range []quantity.Length{40, 60, 75, 25} {
		in.Orders = append(in.Orders, planner.Order{Code: string(rune('1' + q)), Customer: "yard", Profile: "boat", Length: boats, Due: monday + calendar.Day(q), Priority: 1})
	}
	return in
}

func TestMultiPeriodProduction(t *testing.T) {
	opt := brief()
	opt.Weeks, opt.DailyDays, opt.Gap = 1, 7, 1e-9
	for _, c := range []struct {
		regular float64
		want    float64
		plan    [4]float64 // boats made a quarter, where it is unique
	}{
		{40, 78450, [4]float64{40, 50, 75, 25}},
		{50, 77350, [4]float64{50, 50, 65, 25}},
	} {
		p := audited(t, sailco(c.regular), opt)
		if math.Abs(float64(p.Objective)-c.want) > 1e-6*c.want || p.Gap > 1e-6 {
			t.Errorf("regular ≤ %.0f: cost %.4f, gap %g, published %.0f", c.regular, p.Objective, p.Gap, c.want)
		}
		for q, want := range c.plan {
			if made := float64(p.Rack[q].Made); math.Abs(made-want) > 1e-6 {
				t.Errorf("regular ≤ %.0f: %.6f boats in quarter %d, published %.0f", c.regular, made, q+1, want)
			}
		}
	}
}
