package benchplant

import (
	"fmt"
	"math"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

// Steps of the chain: shares and rates.
const (
	crushYield, pelletYield = 0.985, 0.965
	virginYield             = 0.998
	roadDays, seaDays       = 12, 42           // mean lead times
	leastLoad, mostLoad     = 12000.0, 19900.0 // kg
)

func gradeCode(k int) string    { return fmt.Sprintf("G%d", k+1) }
func ingotCode(k int) string    { return fmt.Sprintf("ING%d", k+1) }
func importedCode(k int) string { return fmt.Sprintf("IMP%d", k+1) }

const virginCode = "VIRGIN"

// need is the pellets of each grade that a week's sales take, kilograms; scrap comes back as regrind but for a tenth.
func (w *works) need() []float64 {
	kg := make([]float64, w.grades())
	for _, p := range w.products {
		scrap := 1/w.families[p.family].quality - 1
		kg[p.grade] += p.weekly * p.perMetre * (1 + 0.12*scrap)
	}
	return kg
}

// addFeed adds all from grades to deliveries. Per grade there is an ingot by road and a cheaper one by sea; virgin pellets serve all.
func (w *works) addFeed(in *planner.Input) {
	in.Suppliers = []inventory.Supplier{{Code: "NEAR", Name: "sorters nearby", Country: "BE"}, {Code: "FAR", Name: "densifiers overseas", Country: "MY"}, {Code: "RESIN", Name: "resin works", Country: "DE"}}
	missing, total := 0.0, 0.0
	for k, kg := range w.need() {
		short := w.between(0.05, 0.2)
		missing += short * kg
		total += kg
		w.addGrade(in, k, kg, short)
	}
	in.Materials = append(in.Materials, inventory.Material{Code: virginCode, Name: "virgin pellets", Form: inventory.Virgin, Source: inventory.VirginSource, Polymer: "GPPS", Colour: "clear", MFR: 3.5, Price: 1.52, BulkDensity: 620})
	in.Lanes = append(in.Lanes, lane("VIRGIN", "RESIN", virginCode, inventory.Bulk, missing/2/virginYield, 1, 1.52, 350, inventory.LeadTime{Distribution: inventory.Fixed, Mean: 5}))
	w.addSteps(in, total)
}

// addGrade adds grade k, which takes kg of pellets a week, with its materials, lanes, deliveries and stock.
func (w *works) addGrade(in *planner.Input, k int, kg, short float64) {
	code := gradeCode(k)
	in.Grades = append(in.Grades, inventory.Grade{Code: code, Name: "grade " + code, Silo: quantity.Mass(roundTo(3*kg+20000, 1000)), MFRMin: 3.5, MFRMax: 10,
		MinRecycled: 0.5, MaxRegrind: 0.2, MaxHIPS: 0.2, StockTarget: quantity.Mass(roundTo(0.3*kg, 500))})
	price := roundTo(w.between(0.55, 0.85), 0.01)
	in.Materials = append(in.Materials,
		inventory.Material{Code: ingotCode(k), Name: "ingot, domestic", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "EPS", Colour: code, MFR: 7.5, Price: quantity.MassPrice(price), BulkDensity: 640},
		inventory.Material{Code: importedCode(k), Name: "ingot, import", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "EPS", Colour: code, MFR: 9, Price: quantity.MassPrice(price - 0.06), BulkDensity: 620})
	in.Ingredients = append(in.Ingredients, inventory.Ingredient{Grade: code, Material: ingotCode(k), MaxShare: 1}, inventory.Ingredient{Grade: code, Material: importedCode(k), MaxShare: 0.8},
		inventory.Ingredient{Grade: code, Material: virginCode, MaxShare: 0.4})
	raw := kg * (1 - short) / (crushYield * pelletYield)
	road := lane(fmt.Sprintf("ROAD%d", k+1), "NEAR", ingotCode(k), inventory.Trailer, 0.6*raw, 1, price, 520, inventory.LeadTime{Distribution: inventory.Lognormal, Mean: roadDays, SD: 3})
	sea := lane(fmt.Sprintf("SEA%d", k+1), "FAR", importedCode(k), inventory.Container, 0.4*raw, 2, price-0.2, 3300, inventory.LeadTime{Distribution: inventory.Lognormal, Mean: seaDays, SD: 9})
	in.Lanes = append(in.Lanes, road, sea)
	w.addDeliveries(in, road, 2, 1)
	w.addDeliveries(in, sea, 7, 5)
	in.Lots = append(in.Lots, lot(ingotCode(k), "NEAR", roundTo(1.8*raw, 100)), lot(importedCode(k), "FAR", roundTo(0.7*raw, 100)))
	in.Stock = append(in.Stock, inventory.Stock{Kind: inventory.PelletStock, Code: code, Mass: quantity.Mass(roundTo(0.6*kg, 100))},
		inventory.Stock{Kind: inventory.RegrindStock, Code: code, Mass: quantity.Mass(roundTo(0.03*kg, 50))})
}

// lane brings about kg a week in whole loads: several a week, or one in several weeks; least is the loads of the least order.
func lane(code, supplier, material string, mode inventory.Mode, kg float64, least int, price, freight float64, lead inventory.LeadTime) inventory.Lane {
	l := inventory.Lane{Code: code, Name: code, Supplier: supplier, Material: material, Mode: mode, Import: mode == inventory.Container, MinLoads: least, LeadTime: lead,
		Price: quantity.MassPrice(price), Freight: quantity.Money(freight)}
	if loads := math.Floor(kg / leastLoad); loads >= float64(least) {
		loads = max(float64(least), math.Ceil(kg/mostLoad))
		l.LoadsAWeek, l.Load = loads, quantity.Mass(roundTo(kg/loads, 100))
		return l
	}
	weeks := max(1, math.Floor(float64(least)*mostLoad/kg))
	l.LoadsAWeek, l.Load = float64(least)/weeks, quantity.Mass(roundTo(kg*weeks/float64(least), 100))
	return l
}

// addDeliveries commits the lane's usual loads for so many weeks ahead.
func (w *works) addDeliveries(in *planner.Input, l inventory.Lane, weeks int, spread float64) {
	owed := 0.0
	for week := range weeks {
		for owed += l.LoadsAWeek; owed >= 1; owed-- {
			eta := Start + calendar.Day(7*week+1+w.rng.IntN(4))
			in.Deliveries = append(in.Deliveries, inventory.Delivery{Code: fmt.Sprintf("D%03d", len(in.Deliveries)+1), Lane: l.Code, Material: l.Material, Mass: l.Load,
				Ordered: eta - calendar.Day(l.LeadTime.Mean), ETA: eta, Spread: spread, Status: inventory.Ordered})
		}
	}
}

func lot(material, supplier string, kg float64) inventory.Lot {
	return inventory.Lot{Code: "LOT-" + material, Material: material, Supplier: supplier, Mass: quantity.Mass(kg), Received: Start - 10}
}

// addSteps adds a crusher and pelletizers that do a third more than the week's need, and the rack's stock.
func (w *works) addSteps(in *planner.Input, kg float64) {
	rate := func(machines float64) quantity.MassRate {
		return quantity.MassRate(roundTo(1.35*kg/(hoursAWeek*0.88*machines), 5) + 5)
	}
	machines := math.Ceil(kg / 40000)
	in.Steps = []yield.Step{
		{Code: "CRU", Name: "crusher", Order: 1, Forms: []string{"ingot"}, Yield: crushYield, Rate: rate(machines), Machines: int(machines), Availability: 0.9, Cost: 0.035},
		{Code: "PEL", Name: "pelletizer", Order: 2, Forms: []string{"ingot", "regrind"}, Yield: pelletYield, Rate: rate(machines), Machines: int(machines), Availability: 0.88, Cost: 0.11},
		{Code: "SIE", Name: "sieve", Order: 3, Forms: []string{"virgin"}, Yield: virginYield, Cost: 0.01},
	}
	for _, p := range w.products {
		in.Stock = append(in.Stock, inventory.Stock{Kind: inventory.ProfileStock, Code: p.code, Length: quantity.Length(roundTo(p.weekly*w.between(0.4, 1.4), 10))})
	}
}
