package sheets

import (
	"reflect"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/records"
)

// recordTables is the sheets of what was recorded. They are read into records, which are added to the book, not merged into an Input.
var recordTables = []table{
	{name: planner.TableReceipts, kind: records.KindReceipt, keys: 1, rows: rowsOf[records.Receipt],
		explain: "weighed loads; each makes a lot, and its delivery received", columns: append([]column{
			code("Code", "ticket of the weighbridge", "T-20931").need(),
			of(kindDay, "Day", "day it came", "2027-01-18").need(),
			code("Lot", "number of the lot that it makes; blank is the ticket's", "A-2231"),
			code("Delivery", "code of the delivery; blank if none was announced", "D-101"),
			yesNo("Part", "whether more of the delivery is still to come", "no"),
			code("Lane", "code of the lane; blank is the delivery's", ""),
			code("Supplier", "code of the supplier; blank is the lane's", "NORTHFOAM"),
			code("Material", "code of the material; blank is the delivery's or the lane's", "WHITE-INGOT"),
			word("Form", formWords, "form; blank is the material's, and another is refused", ""),
			word("Source", words(inventory.PostConsumer, inventory.PreConsumer, inventory.VirginSource, inventory.InHouse), "source; blank is the material's, and another is refused", ""),
			of(kindDay, "Ordered", "day of the order; blank is the delivery's", "2027-01-04"),
			mass("Gross", "weight with the vehicle", "36500"),
			mass("Tare", "weight of the vehicle", "14700"),
			mass("Net", "weight of the material; blank is gross less tare", ""),
		}, append(resultColumns, decisionColumns...)...)},
	{name: planner.TableTests, kind: records.KindTest, keys: 1, rows: rowsOf[records.Test],
		explain: "results of lots that came after the receipt, holds and releases", columns: append([]column{
			code("Code", "number of the test", "Q-118").need(),
			of(kindDay, "Day", "day of the result", "2027-01-20").need(),
			code("Lot", "number of the lot", "A-2231").need(),
		}, append(resultColumns, decisionColumns...)...)},
	{name: planner.TableProcessRuns, kind: records.KindProcess, keys: 1, rows: rowsOf[records.Process],
		explain: "runs of the steps before extrusion", columns: []column{
			code("Code", "number of the run", "PEL-0118-1").need(),
			of(kindDay, "Day", "day of the run", "2027-01-18").need(),
			code("Shift", "code of the shift; may be blank", "early"),
			code("Step", "code of the step", "PELLETIZE").need(),
			column{field: "Lots", kind: kindParts, within: kindAmount, amount: quantity.KindMass, explain: "what was taken of which lot: LOT MASS; LOT MASS", example: "A-2231 1200; A-2229 800"},
			mass("Regrind", "own regrind of the grade that was taken", ""),
			code("Grade", "grade of the pellets made; blank if the product stays part of its lots, as crushed ingots do", "WHITE"),
			mass("Out", "product, weighed", "1905"),
			mass("FilterLoss", "of what was lost, on the melt filter", "22"),
			hours("Hours", "hours of running", "5.5"),
			text("Note", "anything", ""),
		}},
	{name: planner.TableRuns, kind: records.KindRun, keys: 1, rows: rowsOf[records.Run],
		explain: "what a line did of one profile, a shift as a rule", columns: []column{
			code("Code", "number of the run", "L1-0118-1").need(),
			of(kindDay, "Day", "day of the run", "2027-01-18").need(),
			code("Shift", "code of the shift; may be blank", "early"),
			code("Line", "code of the line", "L1").need(),
			code("Profile", "code of the profile", "SK80").need(),
			length("Good", "good metres", "2150"),
			mass("Scrap", "scrap, of starts and changeovers too", "31"),
			mass("Fed", "pellets used, if they were weighed", ""),
			hours("Run", "hours that it made product, good or not", "6.6"),
			hours("SetUp", "hours of changeovers and starts", "0.9"),
			hours("Down", "hours it stood with its crew; blank is the sum of the stops", "0.5"),
			column{field: "Stops", kind: kindParts, within: kindAmount, amount: quantity.KindHours, explain: "hours by reason: REASON HOURS; REASON HOURS", example: "DIE 0.5"},
			text("Note", "anything", ""),
		}},
	{name: planner.TableCounts, kind: records.KindCount, keys: 1, rows: rowsOf[records.Count],
		explain: "stock found by counting or weighing; the book is set to it", columns: []column{
			code("Code", "number of the count", "C-0118").need(),
			of(kindDay, "Day", "day of the count", "2027-01-18").need(),
			word("Counted", words(records.InLot, records.InPellets, records.InRegrind, records.InProfile), "what was counted", "pellets").need(),
			code("Item", "number of the lot, code of the grade or of the profile", "WHITE").need(),
			mass("Mass", "found, of lots, pellets and regrind", "14250"),
			length("Length", "found, of profiles", ""),
			text("Note", "anything", ""),
		}},
	{name: planner.TableETAChanges, kind: records.KindETA, keys: 1, rows: rowsOf[records.ETAChange],
		explain: "new dates and statuses of deliveries", columns: []column{
			code("Code", "number of the change", "E-31").need(),
			of(kindDay, "Day", "day it became known", "2027-01-11").need(),
			code("Delivery", "code of the delivery", "D-101").need(),
			of(kindDay, "ETA", "new day it is expected; blank is as it was", "2027-01-25"),
			column{field: "Spread", kind: kindMeasured, within: kindNumber, labels: days, explain: "new standard deviation of the arrival; blank is as it was", example: "2"},
			word("Status", words(inventory.Ordered, inventory.Afloat, inventory.AtPort, inventory.OnRoad, inventory.Rejected), "how far it has come; blank is as it was", "afloat"),
			text("Note", "why", "missed its transhipment"),
		}},
	{name: planner.TableShipments, kind: records.KindShipment, keys: 1, rows: rowsOf[records.Shipment],
		explain: "profile that left the rack", columns: []column{
			code("Code", "number of the delivery note", "S-3310").need(),
			of(kindDay, "Day", "day it left", "2027-01-18").need(),
			code("Order", "code of the order; may be blank", "O-1001"),
			code("Profile", "code of the profile; blank is the order's", ""),
			length("Length", "metres that left", "6000").need().positive(),
			text("Note", "anything", ""),
		}},
}

// rowsOf is no list of an input: it says only what type a sheet's records have.
func rowsOf[T any](*planner.Input) any { return new([]T) }

func result(field string, within kind, labels []label, explain, example string) column {
	c := column{field: field, kind: kindMeasured, within: within, labels: labels, explain: explain, example: example}
	if within == kindAmount {
		c.amount, c.most = quantity.KindShare, 1
	}
	return c
}

var (
	traces        = unitless("mg/kg")
	resultColumns = []column{
		result("Moisture", kindAmount, nil, "moisture and volatiles, as a share; blank if not tested", "0.004"),
		result("Contamination", kindAmount, nil, "foreign matter, as a share; blank if not tested", "0.012"),
		result("MFR", kindNumber, meltFlow, "melt flow rate at 200 °C and 5 kg; blank if not tested", "7.8"),
		result("Bromine", kindNumber, traces, "bromine screen; blank if not tested", "35"),
		result("HBCDD", kindNumber, traces, "hexabromocyclododecane; blank if not tested", "12"),
	}
	decisionColumns = []column{
		word("Decision", words(records.Hold, records.Release), "hold or release; blank leaves it to the limits", ""),
		text("Reason", "why it is on hold", ""),
		text("Note", "anything", ""),
	}
)

// base is the kind of the numbers in a column.
func (c *column) base() kind {
	if c.kind == kindMeasured || c.kind == kindParts {
		return c.within
	}
	return c.kind
}

// sheetNamed is tableNamed for records as well.
func sheetNamed(name string) (*table, bool) {
	for i := range recordTables {
		if plainHeading(recordTables[i].name) == plainHeading(name) {
			return &recordTables[i], true
		}
	}
	return tableNamed(name)
}

func recordTable(k records.Kind) *table {
	for i := range recordTables {
		if recordTables[i].kind == k {
			return &recordTables[i]
		}
	}
	panic("sheets: kind of record without a table")
}

// recordOf is a row's record.
func recordOf(v reflect.Value) records.Record { return v.Interface().(records.Record) }
