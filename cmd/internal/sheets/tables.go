package sheets

import (
	"slices"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// tables is every table of the plant book, in its order. Codes that a table refers to lie in tables before it
// but for a few; Check finds those that are missing.
var tables = slices.Concat(
	[]table{{name: planner.TablePlant, needed: true, sideways: true, rows: func(in *planner.Input) any { return &in.Plant },
		explain: "what holds for the plant as a whole; one setting a row", columns: plantColumns}},
	feedTables, floorTables, calendarTables, supplyTables, demandTables, recordingTables)

var (
	meltFlow = unitless("g/10 min")
	days     = unitless("days")
	crew     = unitless("people")
)

var plantColumns = []column{
	code("Name", "the plant's name, as it stands on reports", "Riverside works").need(),
	code("Currency", "ISO 4217 code; all amounts of money are in it but for the lanes' that name their own", "EUR").need(),
	code("Zone", "IANA name of the time zone that shifts and outages are in", "Europe/Berlin").need(),
	units("Units", "units to show: metric or us; sheets may have any units in their headings", "metric"),
	amount("Yard", quantity.KindVolume, "room for materials; blank if it is no limit", "900"),
	amount("Rack", quantity.KindVolume, "room for finished profiles; blank if it is no limit", "2400"),
	num("Crew", crew, "people on a shift for all lines together; blank if they are no limit", "9"),
	amount("CrewCost", quantity.KindHourPrice, "cost of a person and hour", "31"),
	hours("FitterHours", "fitters' hours a working day for changeovers; blank if they are no limit", "16"),
	amount("FitterCost", quantity.KindHourPrice, "cost of a fitter's hour", "38"),
	num("EnergyPrice", unitless("/kWh"), "price of electricity", "0.19"),
	share("RegrindYield", "own scrap that comes back as regrind", "0.95"),
	share("HoldingRate", "cost of capital and handling a year, as a share of the value in stock", "0.12"),
	share("LateCostADay", "cost of a late metre a day, as a share of its price", "0.01"),
	share("UnmetCost", "good-will lost with a metre never made, as a share of its price, beside the lost sale", "0.2").upTo(10),
	amount("ShortfallPrice", quantity.KindMassPrice, "price of missing pellets where a pin forces it; keep it above all others", "50"),
	share("ArrivalQuantile", "deliveries are planned to arrive by this quantile of their spread; blank is 0.8", "0.8"),
	share("ServiceLevel", "for order-by dates: loads are to be in time with this likelihood; blank is 0.95", "0.95"),
	whole("DailyDays", "length of the daily part of the horizon in days; blank is 14", "14"),
	whole("Weeks", "length of the horizon in weeks; blank is 26", "26"),
	whole("FrozenDays", "days that a released plan holds", "3"),
	money("ChangeCost", "price of each run day changed against the released plan", "150"),
}

func units(field, explain, example string) column {
	c := word(field, []string{"metric", "us"}, explain, example).or("metric")
	c.stored = []any{quantity.Metric, quantity.US}
	return c
}

func words[T ~string](list ...T) []string {
	var s []string
	for _, w := range list {
		s = append(s, string(w))
	}
	return s
}

var formWords = words(inventory.Ingot, inventory.Block, inventory.Flake, inventory.Pellet, inventory.Virgin, inventory.Regrind)

var feedTables = []table{
	{name: planner.TableMaterials, needed: true, keys: 1, rows: func(in *planner.Input) any { return &in.Materials },
		explain: "what can be bought and fed", columns: []column{
			code("Code", "short code of the material, as the other sheets use it", "WHITE-INGOT").need(),
			text("Name", "its name", "White EPS ingot, hot-melt"),
			word("Form", formWords, "shape it is received in", "ingot").need(),
			word("Source", words(inventory.PostConsumer, inventory.PreConsumer, inventory.VirginSource, inventory.InHouse),
				"where its polymer was diverted from; the first two count as recycled content", "post-consumer").need(),
			word("Polymer", []string{"GPPS", "HIPS", "EPS"}, "polymer", "EPS").need(),
			code("Colour", "colour class", "white"),
			num("MFR", meltFlow, "melt flow rate at 200 °C and 5 kg; blank if it is not known", "7"),
			share("Moisture", "share of moisture and volatiles", "0.005"),
			share("Contamination", "share of foreign matter", "0.01"),
			amount("Price", quantity.KindMassPrice, "book value", "0.62"),
			amount("BulkDensity", quantity.KindDensity, "as stored in the yard; blank if it takes up no room", "620"),
		}},
	{name: planner.TableGrades, needed: true, keys: 1, rows: func(in *planner.Input) any { return &in.Grades },
		explain: "pellet grades that profiles are made of", columns: []column{
			code("Code", "short code of the grade", "WHITE").need(),
			text("Name", "its name", "White moulding grade"),
			mass("Silo", "silo room; blank if it is no limit", "60000"),
			num("MFRMin", meltFlow, "least melt flow rate of the blend; blank if it is no limit", "4"),
			num("MFRMax", meltFlow, "largest melt flow rate of the blend; blank if it is no limit", "9"),
			share("MinRecycled", "least recycled content; blank if it is no limit", "0.7"),
			share("MaxRegrind", "most own regrind in the feed; blank is none", "0.2"),
			share("MaxHIPS", "most HIPS in the feed; blank if it is no limit", "0.1").or("1"),
			mass("StockTarget", "pellets to keep in the silo", "10000"),
		}},
	{name: planner.TableRecipes, needed: true, keys: 2, rows: func(in *planner.Input) any { return &in.Ingredients },
		explain: "which materials a grade may be fed, and how much of each; a material without a row can't be fed to the grade", columns: []column{
			code("Grade", "code of a grade", "WHITE").need(),
			code("Material", "code of a material", "WHITE-INGOT").need(),
			share("MinShare", "least share of the feed, by mass of pellets made", "0"),
			share("MaxShare", "largest share of the feed; blank is 1", "0.8").or("1"),
		}},
	{name: planner.TableSteps, keys: 1, rows: func(in *planner.Input) any { return &in.Steps },
		explain: "steps before extrusion, such as crushing and pelletizing", columns: []column{
			code("Code", "short code of the step", "PELLETIZE").need(),
			text("Name", "its name", "Pelletizer with melt filter"),
			whole("Order", "steps are passed in rising order", "20"),
			{field: "Forms", kind: kindWords, words: formWords, explain: "forms of material that pass it, with spaces between", example: "ingot block flake", needed: true},
			share("Yield", "mass out ÷ mass in", "0.96").need().positive(),
			amount("Rate", quantity.KindMassRate, "mass in per hour and machine; blank if it is no limit", "450"),
			whole("Machines", "how many there are; blank is 1", "2").or("1"),
			share("Availability", "running ÷ working hours; blank is 1", "0.9").or("1"),
			amount("Cost", quantity.KindMassPrice, "energy, filters and labour per mass in", "0.07"),
		}},
	{name: planner.TableStepYields, keys: 2, rows: func(in *planner.Input) any { return &in.Overrides },
		explain: "yields of a step for single materials, where they differ from the step's", columns: []column{
			code("Step", "code of a step", "PELLETIZE").need(),
			code("Material", "code of a material", "WHITE-INGOT").need(),
			share("Yield", "mass out ÷ mass in", "0.94").need().positive(),
		}},
}
