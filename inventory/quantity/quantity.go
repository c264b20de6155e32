// Package quantity holds the typed amounts of the plant: mass, length, rates, money. Each type
// stores one SI or trade unit, named beside it; parsing and printing convert to metric or US units
// with the exact factors of NIST SP 811 (2008), appendix B.8.
package quantity

// The amounts. Their zero values are nothing, zero.
type (
	Mass          float64 // kilograms
	Length        float64 // metres
	Volume        float64 // cubic metres
	Hours         float64 // hours
	MassRate      float64 // kilograms per hour
	Speed         float64 // metres per minute
	LinearDensity float64 // kilograms per metre
	Density       float64 // kilograms per cubic metre
	Money         float64 // the plant's currency
	MassPrice     float64 // the plant's currency per kilogram
	LengthPrice   float64 // the plant's currency per metre
	HourPrice     float64 // the plant's currency per hour
	Share         float64 // fraction of one, 0…1
)

// System is a system of units to read and print in.
type System int

// The systems.
const (
	Metric System = iota // kg, t, m, kg/h, m/min
	US                   // lb, short ton, ft, lb/h, ft/min
)

// Exact factors, NIST SP 811 (2008) appendix B.8 (figures in bold there are exact).
const (
	KgPerPound    = 0.45359237
	KgPerShortTon = 907.18474
	KgPerTonne    = 1000
	MetrePerFoot  = 0.3048
	MetrePerInch  = 0.0254
	M3PerFoot3    = MetrePerFoot * MetrePerFoot * MetrePerFoot // 0.028316846592
)
