package planner

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"unicode"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/yield"
)

// tables lists the tables in the order of the book with the keys of their records.
func (in *Input) tables() []table {
	return []table{
		{TablePlant, []Plant{in.Plant}, keyed(func(Plant) string { return "" })},
		{TableMaterials, in.Materials, keyed(func(r inventory.Material) string { return r.Code })},
		{TableGrades, in.Grades, keyed(func(r inventory.Grade) string { return r.Code })},
		{TableRecipes, in.Ingredients, keyed(ingredientKey)},
		{TableSteps, in.Steps, keyed(func(r yield.Step) string { return r.Code })},
		{TableStepYields, in.Overrides, keyed(overrideKey)},
		{TableProfiles, in.Profiles, keyed(func(r lines.Profile) string { return r.Code })},
		{TableLines, in.Lines, keyed(func(r lines.Line) string { return r.Code })},
		{TableRates, in.Fits, keyed(fitKey)},
		{TableChangeovers, in.Changeovers, keyed(changeoverKey)},
		{TableShifts, in.Calendar.Shifts, keyed(func(r calendar.Shift) string { return r.Code })},
		{TableClosures, in.Calendar.Closures, keyed(func(r calendar.Closure) string { return r.Code })},
		{TableOutages, in.Calendar.Outages, keyed(func(r calendar.Outage) string { return r.Code })},
		{TableSuppliers, in.Suppliers, keyed(func(r inventory.Supplier) string { return r.Code })},
		{TableLanes, in.Lanes, keyed(func(r inventory.Lane) string { return r.Code })},
		{TableDeliveries, in.Deliveries, keyed(func(r inventory.Delivery) string { return r.Code })},
		{TableLots, in.Lots, keyed(func(r inventory.Lot) string { return r.Code })},
		{TableStock, in.Stock, keyed(stockKey)},
		{TableOrders, in.Orders, keyed(func(r Order) string { return r.Code })},
		{TableForecast, in.Forecasts, keyed(forecastKey)},
		{TablePins, in.Pins, keyed(func(r Pin) string { return r.Code })},
		{TableReasons, in.Reasons, keyed(func(r lines.Reason) string { return r.Code })},
		{TableLimits, in.Limits, keyed(func(r inventory.Limit) string { return JoinKey(string(r.Measure), r.Use) })},
		{TableOverrules, in.Overrules, keyed(func(r Overrule) string { return r.Estimate })},
	}
}

func keyed[T any](key func(T) string) func(any) string {
	return func(row any) string { return key(row.(T)) }
}

func ingredientKey(r inventory.Ingredient) string { return JoinKey(r.Grade, r.Material) }
func overrideKey(r yield.Override) string         { return JoinKey(r.Step, r.Material) }
func fitKey(r lines.Fit) string                   { return JoinKey(r.Line, r.Profile) }
func changeoverKey(r lines.Changeover) string     { return JoinKey(r.From, r.To) }
func stockKey(r inventory.Stock) string           { return JoinKey(string(r.Kind), r.Code) }
func forecastKey(r Forecast) string               { return JoinKey(r.Profile, r.From.String()) }

// FieldName is the heading that the sheets give to a field of a table's records, without its unit; field is
// its Go name, with the names of the structs it lies in before it, joined by points: "PerMetre" is "mass per metre".
func FieldName(table, field string) string {
	if n, ok := fieldNames[table+"."+field]; ok {
		return n
	}
	if n, ok := fieldNames[field]; ok {
		return n
	}
	return spacedWords(field)
}

// fieldNames are the headings that are not just the words of the field's name.
var fieldNames = map[string]string{
	"Span": "last day", "Span.From": "first day", "Span.To": "last day", // half-open within, last day included in the sheets
	"From": "first day", "To": "last day",
	"changeovers.From": "from", "changeovers.To": "to",
	"outages.From": "from", "outages.To": "to",
	"stock.Mass": "mass", "PerMetre": "mass per metre",
	"RackLitresPerMetre": "rack volume", "ScrewMM": "screw diameter",
	"BaseKW": "base power", "KWhPerKg": "energy",
	"Mean": "lead time mean", "SD": "lead time SD", "Distribution": "lead time distribution",
	"LeadTime.Mean": "lead time mean", "LeadTime.SD": "lead time SD", "LeadTime.Distribution": "lead time distribution",
	"Earliest": "commissioning earliest", "Days": "commissioning days",
	"Rate": "exchange rate", "steps.Rate": "rate",
	"receipts.Code": "ticket", "runs.Good": "good metres", "runs.Run": "run time", "runs.SetUp": "set-up time", "runs.Down": "down time",
}

// spacedWords splits a Go name into its words, in lower case but for initials: MFRMin is "MFR min".
func spacedWords(name string) string {
	var words []string
	r := []rune(strings.ReplaceAll(name, ".", ""))
	start := 0
	for i := 1; i <= len(r); i++ {
		end := i == len(r) || unicode.IsUpper(r[i]) && (!unicode.IsUpper(r[i-1]) || i+1 < len(r) && unicode.IsLower(r[i+1]))
		if !end {
			continue
		}
		w := string(r[start:i])
		if len(w) == 1 || strings.ToUpper(w) != w {
			w = strings.ToLower(w)
		}
		words, start = append(words, w), i
	}
	return strings.Join(words, " ")
}

// greatest is the largest amount of each type that is believed, in its stored unit: far above any one plant's,
// low enough that a slip of the keyboard, a column in the wrong unit or a code in a number's place shows.
var greatest = map[reflect.Type]float64{
	reflect.TypeFor[quantity.Mass]():          1e9,
	reflect.TypeFor[quantity.Length]():        1e9,
	reflect.TypeFor[quantity.Volume]():        1e7,
	reflect.TypeFor[quantity.Hours]():         1e5,
	reflect.TypeFor[quantity.MassRate]():      1e6,
	reflect.TypeFor[quantity.Speed]():         1e4,
	reflect.TypeFor[quantity.LinearDensity](): 1e3,
	reflect.TypeFor[quantity.Density]():       1e4,
	reflect.TypeFor[quantity.Money]():         1e10,
	reflect.TypeFor[quantity.MassPrice]():     1e5,
	reflect.TypeFor[quantity.LengthPrice]():   1e6,
	reflect.TypeFor[quantity.HourPrice]():     1e5,
	reflect.TypeFor[quantity.Share]():         10,
	reflect.TypeFor[float64]():                1e6,
	reflect.TypeFor[int]():                    1e5,
}

// amounts finds the numbers of a record, of whatever field, that are negative, not finite or beyond belief.
func (c *checker) amounts(name, key, field string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		if v.Type().PkgPath() == "time" {
			return
		}
		for i := range v.NumField() {
			f := v.Type().Field(i).Name
			if field != "" {
				f = field + "." + f
			}
			c.amounts(name, key, f, v.Field(i))
		}
	case reflect.Float64:
		c.amount(name, key, field, v.Float(), greatest[v.Type()])
	case reflect.Int:
		if most, ok := greatest[v.Type()]; ok {
			c.amount(name, key, field, float64(v.Int()), most)
		}
	}
}

func (c *checker) amount(name, key, field string, x, most float64) {
	if x >= 0 && x <= most {
		return
	}
	p := Problem{Table: name, Key: key, Field: FieldName(name, field), Value: number(x), Allowed: "0 to " + number(most)}
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		p.Remedy = "enter a number"
	case x > most:
		p.Remedy = "is the unit in the heading right?"
	}
	c.add(p)
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }
func quoted(s string) string  { return fmt.Sprintf("%q", s) }
