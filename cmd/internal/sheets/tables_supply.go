package sheets

import (
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/planner"
)

var supplyTables = []table{
	{name: planner.TableSuppliers, keys: 1, rows: func(in *planner.Input) any { return &in.Suppliers },
		explain: "who sells materials", columns: []column{
			code("Code", "short code of the supplier", "NORTHFOAM").need(),
			text("Name", "its name", "North Foam Recovery"),
			code("Country", "its country", "NL"),
		}},
	{name: planner.TableLanes, keys: 1, rows: func(in *planner.Input) any { return &in.Lanes },
		explain: "ways to buy: supplier, material and route", columns: []column{
			code("Code", "short code of the lane", "WHITE-ROAD").need(),
			text("Name", "its name", "White ingot by road"),
			code("Supplier", "code of a supplier", "NORTHFOAM").need(),
			code("Material", "code of a material", "WHITE-INGOT").need(),
			word("Mode", words(inventory.Van, inventory.Trailer, inventory.Container, inventory.Container20, inventory.Bulk),
				"what a load travels in: van (53 ft dry van), trailer (13.6 m curtainsider), container 40 (40 ft high cube), container 20, bulk (silo truck)", "trailer").need(),
			yesNo("Import", "whether it crosses a customs border", "no"),
			mass("Load", "mass of one whole load", "22000").need().positive(),
			whole("MinLoads", "least loads an order; blank is 1", "1").or("1"),
			num("LoadsAWeek", unitless("loads"), "most loads a week", "2").need(),
			word("LeadTime.Distribution", words(inventory.Fixed, inventory.Normal, inventory.Lognormal, inventory.Gamma),
				"how lead times scatter; blank is fixed", "lognormal").or("fixed"),
			num("LeadTime.Mean", days, "mean from order to availability in the yard", "12").need(),
			num("LeadTime.SD", days, "standard deviation of it", "3"),
			amount("Price", quantity.KindMassPrice, "price in the lane's currency", "0.62").inLanes(),
			money("Freight", "freight a load, all in, in the lane's currency", "540").inLanes(),
			code("Currency", "ISO 4217 code of the lane's currency; blank is the plant's", ""),
			num("Rate", nil, "plant's currency for one of the lane's; blank is 1", ""),
			of(kindDay, "From", "first day that orders can be placed; both blank is always", ""),
			of(kindLastDay, "To", "last day that orders can be placed", ""),
			of(kindWeekdays, "OrderDays", "weekdays that orders can be placed on, such as tue thu; blank is every day", ""),
		}},
	{name: planner.TableDeliveries, keys: 1, rows: func(in *planner.Input) any { return &in.Deliveries },
		explain: "material on its way", columns: []column{
			code("Code", "number of the delivery", "D-101").need(),
			code("Lane", "code of the lane; blank if it came on none", "WHITE-ROAD"),
			code("Material", "code of a material", "WHITE-INGOT").need(),
			mass("Mass", "mass that is to come", "22000").need().positive(),
			of(kindDay, "Ordered", "day of the order; blank if it is not known", "2027-01-04"),
			of(kindDay, "ETA", "day it is expected", "2027-01-18").need(),
			num("Spread", days, "standard deviation of the arrival", "1"),
			word("Status", words(inventory.Ordered, inventory.Afloat, inventory.AtPort, inventory.OnRoad, inventory.Received, inventory.Rejected),
				"how far it has come; received ones are booked as lots, and like rejected ones not counted", "ordered").or("ordered"),
			yesNo("Late", "whether it is said to be late; needed for an ETA in the past", "no"),
			text("Note", "anything", ""),
		}},
	{name: planner.TableLots, keys: 1, rows: func(in *planner.Input) any { return &in.Lots },
		explain: "received material in the yard", columns: []column{
			code("Code", "number of the lot", "A-2201").need(),
			code("Material", "code of a material", "WHITE-INGOT").need(),
			code("Supplier", "code of the supplier; may be blank", "NORTHFOAM"),
			mass("Mass", "what is left of it", "18400").need(),
			of(kindDay, "Received", "day it came; may be blank", "2026-12-14"),
			yesNo("Hold", "whether it is on hold and not available to the plan", "no"),
			text("Reason", "why it is on hold", ""),
		}},
	{name: planner.TableStock, keys: 2, rows: func(in *planner.Input) any { return &in.Stock },
		explain: "counted stock of pellets, own regrind and profiles at the start of the plan", columns: []column{
			word("Kind", words(inventory.PelletStock, inventory.RegrindStock, inventory.ProfileStock), "what is counted", "pellets").need(),
			code("Code", "code of the grade, or of the profile", "WHITE").need(),
			mass("Mass", "of pellets and regrind", "14500"),
			length("Length", "of profiles", ""),
		}},
}

var demandTables = []table{
	{name: planner.TableOrders, keys: 1, rows: func(in *planner.Input) any { return &in.Orders },
		explain: "customers' orders", columns: []column{
			code("Code", "number of the order", "O-1001").need(),
			text("Customer", "who ordered", "Harbour Interiors"),
			code("Profile", "code of a profile", "SK80").need(),
			length("Length", "still to be delivered", "6000").need(),
			of(kindDay, "Due", "last day to ship in time", "2027-02-05").need(),
			whole("Priority", "1 is first, 9 last; a step down divides the cost of lateness by 1.5; blank is 1", "2").or("1").upTo(9),
			amount("Price", quantity.KindLengthPrice, "price; blank is the profile's", ""),
		}},
	{name: planner.TableForecast, keys: 2, rows: func(in *planner.Input) any { return &in.Forecasts },
		explain: "expected demand, orders included: orders due within a row's days consume it", columns: []column{
			code("Profile", "code of a profile", "SK80").need(),
			of(kindDay, "From", "first day", "2027-02-01").need(),
			of(kindLastDay, "To", "last day", "2027-02-28").need(),
			length("Length", "over all of these days", "24000").need(),
		}},
	{name: planner.TablePins, keys: 1, rows: func(in *planner.Input) any { return &in.Pins },
		explain: "the scheduler's word over a line", columns: []column{
			code("Code", "number of the pin", "P-1").need(),
			word("Kind", words(planner.PinRun, planner.PinIdle, planner.PinForbid),
				"run (the line runs this profile, or any if none is named), idle (it stands), forbid (it does not run this profile)", "run").need(),
			code("Line", "code of a line", "L1").need(),
			code("Profile", "code of a profile; blank for idle", "SK80"),
			of(kindDay, "From", "first day", "2027-01-11").need(),
			of(kindLastDay, "To", "last day", "2027-01-13").need(),
			text("Note", "anything", "Customer visits the line"),
		}},
}
