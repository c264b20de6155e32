package quantity

import (
	"math/big"
	"strings"
)

// Kind is what a unit measures; each kind has one type in this package.
type Kind int

// The kinds, one for each type.
const (
	KindMass Kind = iota
	KindLength
	KindVolume
	KindHours
	KindMassRate
	KindSpeed
	KindLinearDensity
	KindDensity
	KindMoney
	KindMassPrice
	KindLengthPrice
	KindHourPrice
	KindShare
)

var kindNames = [...]string{"mass", "length", "volume", "time", "mass rate", "speed", "mass per length",
	"density", "money", "price per mass", "price per length", "price per hour", "share"}

// String is the kind in words, such as "mass rate".
func (k Kind) String() string { return kindNames[k] }

// Unit is a unit of measure. One of it is exactly num÷den of the unit that its kind is stored in;
// num and den are decimal literals, so that reading a number never rounds twice.
type Unit struct {
	Symbol  string
	Kind    Kind
	System  System  // in which it is at home
	Either  bool    // at home in both systems
	Factor  float64 // stored units per unit, correctly rounded
	Aliases []string

	num, den string
}

// Units is the table of units, by kind; the first of a kind and system is the one it is printed in.
// Prices are per unit of mass, length or time in the plant's currency, so their symbols begin with a slash.
// "ton" is in no row: it may be a tonne, a short ton or a long ton.
var Units = []Unit{
	unit(KindMass, Metric, "kg", "1", "1", "kgs", "kilogram", "kilograms"),
	unit(KindMass, Metric, "t", "1000", "1", "tonne", "tonnes", "metric ton", "metric tons"),
	unit(KindMass, Metric, "g", "0.001", "1", "gram", "grams"),
	unit(KindMass, US, "lb", "0.45359237", "1", "lbs", "pound", "pounds"),
	unit(KindMass, US, "st", "907.18474", "1", "short ton", "short tons"),

	unit(KindLength, Metric, "m", "1", "1", "metre", "metres", "meter", "meters"),
	unit(KindLength, Metric, "km", "1000", "1"),
	unit(KindLength, Metric, "mm", "0.001", "1"),
	unit(KindLength, US, "ft", "0.3048", "1", "foot", "feet"),
	unit(KindLength, US, "in", "0.0254", "1", "inch", "inches"),

	unit(KindVolume, Metric, "m³", "1", "1", "m3", "m^3", "cbm"),
	unit(KindVolume, Metric, "L", "0.001", "1", "litre", "litres", "liter", "liters"),
	unit(KindVolume, US, "ft³", "0.028316846592", "1", "ft3", "ft^3", "cu ft"),
	unit(KindVolume, US, "gal", "0.003785411784", "1", "gallon", "gallons"),

	either(KindHours, "h", "1", "1", "hr", "hrs", "hour", "hours"),
	either(KindHours, "min", "1", "60", "minute", "minutes"),
	either(KindHours, "d", "24", "1", "day", "days"),

	unit(KindMassRate, Metric, "kg/h", "1", "1", "kg/hr"),
	unit(KindMassRate, Metric, "t/h", "1000", "1", "t/hr"),
	unit(KindMassRate, US, "lb/h", "0.45359237", "1", "lb/hr", "lbs/h", "lbs/hr", "pph"),

	unit(KindSpeed, Metric, "m/min", "1", "1"),
	unit(KindSpeed, US, "ft/min", "0.3048", "1", "fpm"),

	unit(KindLinearDensity, Metric, "kg/m", "1", "1"),
	unit(KindLinearDensity, Metric, "g/m", "0.001", "1"),
	unit(KindLinearDensity, US, "lb/ft", "0.45359237", "0.3048", "lbs/ft"),

	unit(KindDensity, Metric, "kg/m³", "1", "1", "kg/m3", "kg/m^3"),
	unit(KindDensity, Metric, "g/cm³", "1000", "1", "g/cm3", "g/cm^3", "g/cc"),
	unit(KindDensity, US, "lb/ft³", "0.45359237", "0.028316846592", "lb/ft3", "lb/ft^3", "pcf"),

	either(KindMoney, "", "1", "1"),

	unit(KindMassPrice, Metric, "/kg", "1", "1"),
	unit(KindMassPrice, Metric, "/t", "1", "1000"),
	unit(KindMassPrice, US, "/lb", "1", "0.45359237"),
	unit(KindMassPrice, US, "/st", "1", "907.18474", "/short ton"),

	unit(KindLengthPrice, Metric, "/m", "1", "1"),
	unit(KindLengthPrice, Metric, "/km", "1", "1000"),
	unit(KindLengthPrice, US, "/ft", "1", "0.3048"),

	either(KindHourPrice, "/h", "1", "1", "/hr", "/hour"),

	either(KindShare, "", "1", "1"), // the fraction itself
	either(KindShare, "%", "0.01", "1", "percent", "pct"),
}

func unit(k Kind, sys System, symbol, num, den string, aliases ...string) Unit {
	f, _ := new(big.Rat).Quo(rat(num), rat(den)).Float64()
	return Unit{Symbol: symbol, Kind: k, System: sys, Factor: f, Aliases: aliases, num: num, den: den}
}

func either(k Kind, symbol, num, den string, aliases ...string) Unit {
	u := unit(k, Metric, symbol, num, den, aliases...)
	u.Either = true
	return u
}

// rat is the exact value of a decimal literal.
func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("quantity: bad literal in the table of units")
	}
	return r
}

// Lookup finds the unit of any kind with the given symbol or alias, in any case of letters but for a lone T,
// which is "ton" to many. The empty symbol, of money and of plain fractions, is found under neither: see DefaultUnit.
func Lookup(symbol string) (Unit, bool) {
	name := strings.Join(strings.Fields(symbol), " ")
	if name == "" || name == "T" {
		return Unit{}, false
	}
	for _, u := range Units {
		if u.answersTo(name) {
			return u, true
		}
	}
	return Unit{}, false
}

func (u Unit) answersTo(name string) bool {
	if strings.EqualFold(u.Symbol, name) {
		return true
	}
	for _, a := range u.Aliases {
		if strings.EqualFold(a, name) {
			return true
		}
	}
	return false
}

// DefaultUnit is the unit that a kind is printed in, and read in where none is written.
func DefaultUnit(k Kind, sys System) Unit {
	for _, u := range Units {
		if u.Kind == k && (u.Either || u.System == sys) {
			return u
		}
	}
	panic("quantity: kind without a unit")
}

// symbols lists the units of a kind for messages: those of sys first.
func symbols(k Kind, sys System) string {
	var home, away []string
	for _, u := range Units {
		switch {
		case u.Kind != k || u.Symbol == "":
		case u.Either || u.System == sys:
			home = append(home, u.Symbol)
		default:
			away = append(away, u.Symbol)
		}
	}
	return strings.Join(append(home, away...), ", ")
}

// ToStored converts x of the unit to the unit that its kind is stored in.
func (u Unit) ToStored(x float64) float64 { return x * u.Factor }

// FromStored converts v from the unit that its kind is stored in.
func (u Unit) FromStored(v float64) float64 { return v / u.Factor }
