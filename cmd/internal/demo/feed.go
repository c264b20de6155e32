package demo

import (
	"time"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/yield"
)

// The grades.
const (
	white = "WH"
	grey  = "GY"
	black = "BK"
)

func materials() []inventory.Material {
	const gpps, hips, eps = "GPPS", "HIPS", "EPS"
	return []inventory.Material{
		{Code: "INW", Name: "White ingot, domestic", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: eps, Colour: "white", MFR: 7.5, Moisture: 0.004, Contamination: 0.015, Price: 0.76, BulkDensity: 640},
		{Code: "IMW", Name: "White ingot, import", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: eps, Colour: "white", MFR: 9, Moisture: 0.006, Contamination: 0.02, Price: 0.70, BulkDensity: 620},
		{Code: "BLW", Name: "White pressed block", Form: inventory.Block, Source: inventory.PostConsumer, Polymer: eps, Colour: "white", MFR: 8, Moisture: 0.015, Contamination: 0.03, Price: 0.55, BulkDensity: 350},
		{Code: "VGP", Name: "Virgin crystal pellet", Form: inventory.Virgin, Source: inventory.VirginSource, Polymer: gpps, Colour: "clear", MFR: 3.5, Price: 1.52, BulkDensity: 620},
		{Code: "INM", Name: "Mixed-colour ingot", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: eps, Colour: "mixed", MFR: 8.5, Moisture: 0.006, Contamination: 0.025, Price: 0.58, BulkDensity: 640},
		{Code: "RGM", Name: "Bought mixed regrind", Form: inventory.Regrind, Source: inventory.PreConsumer, Polymer: gpps, Colour: "mixed", MFR: 6, Moisture: 0.002, Contamination: 0.01, Price: 0.72, BulkDensity: 380},
		{Code: "FLH", Name: "HIPS flake", Form: inventory.Flake, Source: inventory.PreConsumer, Polymer: hips, Colour: "mixed", MFR: 5, Moisture: 0.002, Contamination: 0.01, Price: 0.82, BulkDensity: 400},
		{Code: "PLB", Name: "Recycled black pellet", Form: inventory.Pellet, Source: inventory.PostConsumer, Polymer: gpps, Colour: "black", MFR: 6.5, Price: 0.98, BulkDensity: 610},
	}
}

func grades() []inventory.Grade {
	return []inventory.Grade{
		{Code: white, Name: "White", Silo: 70000, MFRMin: 4, MFRMax: 10, MinRecycled: 0.5, MaxRegrind: 0.15, MaxHIPS: 0.1, StockTarget: 12000},
		{Code: grey, Name: "Grey", Silo: 40000, MFRMin: 4, MFRMax: 10, MinRecycled: 0.8, MaxRegrind: 0.2, MaxHIPS: 0.25, StockTarget: 6000},
		{Code: black, Name: "Black", Silo: 35000, MFRMin: 4, MFRMax: 11, MinRecycled: 0.8, MaxRegrind: 0.25, MaxHIPS: 0.4, StockTarget: 4000},
	}
}

func ingredients() []inventory.Ingredient {
	return []inventory.Ingredient{
		{Grade: white, Material: "INW", MaxShare: 1},
		{Grade: white, Material: "IMW", MaxShare: 0.9},
		{Grade: white, Material: "BLW", MaxShare: 0.35},
		{Grade: white, Material: "VGP", MaxShare: 0.5},
		{Grade: grey, Material: "INM", MaxShare: 1},
		{Grade: grey, Material: "RGM", MaxShare: 0.6},
		{Grade: grey, Material: "FLH", MaxShare: 0.25},
		{Grade: black, Material: "PLB", MaxShare: 1},
		{Grade: black, Material: "INM", MaxShare: 0.5},
		{Grade: black, Material: "FLH", MaxShare: 0.3},
	}
}

// steps can crush about 92 t and pelletize about 73 t a week.
func steps() []yield.Step {
	return []yield.Step{
		{Code: "CRU", Name: "Crusher", Order: 1, Forms: []string{"ingot", "block"}, Yield: 0.985, Rate: 800, Machines: 1, Availability: 0.9, Cost: 0.035},
		{Code: "PEL", Name: "Pelletizer with melt filter", Order: 2, Forms: []string{"ingot", "block", "flake", "regrind"}, Yield: 0.965, Rate: 325, Machines: 2, Availability: 0.88, Cost: 0.11},
		{Code: "SIE", Name: "Sieve and silo transfer", Order: 3, Forms: []string{"pellet", "virgin"}, Yield: 0.998, Cost: 0.01},
	}
}

func overrides() []yield.Override {
	return []yield.Override{
		{Step: "PEL", Material: "BLW", Yield: 0.935},
		{Step: "PEL", Material: "IMW", Yield: 0.955},
		{Step: "PEL", Material: "RGM", Yield: 0.98},
	}
}

func suppliers() []inventory.Supplier {
	return []inventory.Supplier{
		{Code: "OSTERWICK", Name: "Osterwick Foam Return", Country: "BE"},
		{Code: "VANDEMERE", Name: "Vandemere Ingot Yard", Country: "NL"},
		{Code: "SUNDAPORT", Name: "Sundaport Densifying", Country: "MY"},
		{Code: "KELLSTEIN", Name: "Kellstein Compounds", Country: "DE"},
		{Code: "BOREVALL", Name: "Borevall Styrenics", Country: "BE"},
	}
}

func lanes() []inventory.Lane {
	return []inventory.Lane{
		{Code: "WH-ROAD", Name: "White ingot by road", Supplier: "OSTERWICK", Material: "INW", Mode: inventory.Trailer, Load: 22000, MinLoads: 1, LoadsAWeek: 1,
			LeadTime: inventory.LeadTime{Distribution: inventory.Fixed, Mean: 9}, Price: 0.76, Freight: 480},
		{Code: "WH-SEA", Name: "White ingot by sea", Supplier: "SUNDAPORT", Material: "IMW", Mode: inventory.Container, Import: true, Load: 19800, MinLoads: 2, LoadsAWeek: 3,
			LeadTime: inventory.LeadTime{Distribution: inventory.Lognormal, Mean: 44, SD: 10.5}, Price: 0.56, Freight: 3900, Currency: "USD", Rate: 0.92, OrderDays: [7]bool{time.Tuesday: true, time.Thursday: true}},
		{Code: "WH-VIRGIN", Name: "Virgin pellet by silo truck", Supplier: "BOREVALL", Material: "VGP", Mode: inventory.Bulk, Load: 24000, MinLoads: 1, LoadsAWeek: 1,
			LeadTime: inventory.LeadTime{Distribution: inventory.Fixed, Mean: 5}, Price: 1.52, Freight: 350},
		{Code: "GY-ROAD", Name: "Mixed ingot by road", Supplier: "VANDEMERE", Material: "INM", Mode: inventory.Trailer, Load: 21000, MinLoads: 1, LoadsAWeek: 1,
			LeadTime: inventory.LeadTime{Distribution: inventory.Lognormal, Mean: 12, SD: 3}, Price: 0.58, Freight: 620},
		{Code: "BK-ROAD", Name: "Black pellet by road", Supplier: "KELLSTEIN", Material: "PLB", Mode: inventory.Trailer, Load: 20000, MinLoads: 1, LoadsAWeek: 1,
			LeadTime: inventory.LeadTime{Distribution: inventory.Lognormal, Mean: 16, SD: 4}, Price: 0.98, Freight: 540},
	}
}

// deliveries are what is committed: road loads ordered two weeks before they come, those for later weeks called off in the week
// before the start. The second half of the sea freight has slipped from week 5 to week 10.
func deliveries(start calendar.Day) []inventory.Delivery {
	road := func(code, lane, material string, kg float64, week, day int, status inventory.DeliveryStatus) inventory.Delivery {
		return inventory.Delivery{Code: code, Lane: lane, Material: material, Mass: mass(kg), Ordered: on(start, min(week-2, -1), day), ETA: max(start, on(start, week, day)), Spread: 1, Status: status}
	}
	sea := func(code string, kg float64, week int, spread float64, status inventory.DeliveryStatus) inventory.Delivery {
		return inventory.Delivery{Code: code, Lane: "WH-SEA", Material: "IMW", Mass: mass(kg), Ordered: on(start, week-8, 2), ETA: on(start, week, 2), Spread: spread, Status: status}
	}
	slipped := sea("D-108", 99000, 10, 6, inventory.Afloat)
	slipped.Ordered = on(start, -3, 2)
	slipped.Late, slipped.Note = true, "Vessel missed its transhipment: five weeks later than booked, five containers"
	return []inventory.Delivery{
		road("D-101", "WH-ROAD", "INW", 22000, 0, 3, inventory.OnRoad),
		road("D-102", "WH-ROAD", "INW", 22000, 1, 3, inventory.Ordered),
		road("D-103", "WH-ROAD", "INW", 22000, 3, 1, inventory.Ordered),
		road("D-104", "WH-ROAD", "INW", 22000, 4, 1, inventory.Ordered),
		sea("D-107", 19800, 2, 4, inventory.AtPort),
		slipped,
		road("D-111", "GY-ROAD", "INM", 21000, 1, 0, inventory.OnRoad),
		road("D-112", "GY-ROAD", "INM", 21000, 3, 0, inventory.Ordered),
		road("D-113", "GY-ROAD", "INM", 21000, 5, 0, inventory.Ordered),
		road("D-114", "GY-ROAD", "INM", 21000, 7, 0, inventory.Ordered),
		road("D-115", "", "RGM", 18000, 4, 2, inventory.Ordered),
		road("D-121", "BK-ROAD", "PLB", 20000, 1, 4, inventory.OnRoad),
		road("D-122", "BK-ROAD", "PLB", 20000, 4, 4, inventory.Ordered),
		road("D-123", "BK-ROAD", "PLB", 20000, 8, 4, inventory.Ordered),
	}
}

func lots(start calendar.Day) []inventory.Lot {
	return []inventory.Lot{
		{Code: "A-2207", Material: "INW", Supplier: "OSTERWICK", Mass: 31400, Received: start - 12},
		{Code: "A-2211", Material: "IMW", Supplier: "SUNDAPORT", Mass: 22800, Received: start - 9},
		{Code: "A-2214", Material: "BLW", Supplier: "OSTERWICK", Mass: 9600, Received: start - 6},
		{Code: "A-2215", Material: "BLW", Supplier: "OSTERWICK", Mass: 11200, Received: start - 5, Hold: true, Reason: "bromine screen 410 mg/kg: waits for the HBCDD result"},
		{Code: "A-2190", Material: "INM", Supplier: "VANDEMERE", Mass: 38500, Received: start - 21},
		{Code: "A-2203", Material: "RGM", Supplier: "VANDEMERE", Mass: 14200, Received: start - 14},
		{Code: "A-2198", Material: "FLH", Supplier: "KELLSTEIN", Mass: 12800, Received: start - 17},
		{Code: "A-2212", Material: "PLB", Supplier: "KELLSTEIN", Mass: 27500, Received: start - 8},
		{Code: "A-2180", Material: "VGP", Supplier: "BOREVALL", Mass: 5200, Received: start - 30},
	}
}
