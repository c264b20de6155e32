// Package estimates learns from a plant's records what its plan is made of: yields by step, material and supplier, rates,
// availability and quality by line and profile, set-up times, lead times; and watches them by control charts.
//
// A figure that was entered is the belief before there are records. What the records say is pooled in two stages: over all of a
// kind (a step's materials, a line's profiles) the ratio of actual to entered tells how far the plant is off its figures on the
// whole, and single groups are shrunk towards that as long as their records are few (yield.EstimateRatio; how much groups differ
// among themselves is estimated by moments, as in Efron and Morris, "Data analysis using Stein's estimator", JASA 70, 1975).
package estimates

import (
	"fmt"
	"math"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// Kind is what is estimated.
type Kind string

// The kinds.
const (
	Yield        Kind = "yield"        // of a step for a material
	SupplierOf   Kind = "supplier"     // of a step for a material of a supplier; planned with by material only
	Rate         Kind = "rate"         // of a line on a profile, actual ÷ entered
	Availability Kind = "availability" // running ÷ crewed hours, set-ups not counted
	Quality      Kind = "quality"      // good ÷ all metres
	SetUp        Kind = "set-up"       // hours of a changeover
	LeadTime     Kind = "lead time"    // days of a lane
)

// Estimate is an estimate with the place in the input that it belongs to.
type Estimate struct {
	planner.Estimate
	Weight float64 // of the records against what was believed before, a share
	// Of a lead time: the loads still open, and what each family says.
	Open int
	Fits []inventory.LeadTimeFit // likeliest first
}

// Report is all that the records say.
type Report struct {
	Estimates []Estimate
	Charts    []Chart
	OEE       []LineOEE
	Bias      []Bias
	Records   int // entries that were looked at
}

// Alarms is the charts that signal.
func (r Report) Alarms() []Chart {
	var list []Chart
	for _, c := range r.Charts {
		if len(c.Alarms) > 0 {
			list = append(list, c)
		}
	}
	return list
}

// From estimates from entries that stand, in the order they were entered; today is the day up to which open loads have waited.
func From(in *planner.Input, list []records.Entry, today calendar.Day) Report {
	o := observe(in, list)
	r := Report{Records: len(list)}
	r.Estimates = append(r.Estimates, o.yields()...)
	r.Estimates = append(r.Estimates, o.lineFigures()...)
	r.Estimates = append(r.Estimates, o.setUps()...)
	r.Estimates = append(r.Estimates, o.leadTimes(today)...)
	all := make([]planner.Estimate, len(r.Estimates))
	for i, e := range r.Estimates {
		all[i] = e.Estimate
	}
	overrule(in, all)
	for i := range all {
		r.Estimates[i].Estimate = all[i]
	}
	r.Charts = o.charts()
	r.OEE = o.oee()
	r.Bias = o.bias(today)
	return r
}

// overruled begins the note of an estimate that a row of overrules keeps out.
const overruled = "overruled"

// overrule is list with what in's rows of overrules keep out marked, and that only.
func overrule(in *planner.Input, list []planner.Estimate) {
	notes := map[string]string{}
	for _, o := range in.Overrules {
		notes[o.Estimate] = overruled
		if o.Note != "" {
			notes[o.Estimate] = overruled + ": " + o.Note
		}
	}
	for i := range list {
		e := &list[i]
		if strings.HasPrefix(e.Note, overruled) {
			e.Used, e.Note = true, ""
		}
		if note, ok := notes[e.Name]; ok {
			e.Used, e.Note = false, note
		}
	}
}

// z95 is the standard normal's quantile of 0.975: estimates are given with a 95 % interval.
const z95 = 1.959963984540054

// figure is a planner.Estimate of a value with its standard deviation.
func figure(k Kind, a, b, unit string, entered, value, sd, most float64, n int, of string) planner.Estimate {
	half := z95 * sd
	return planner.Estimate{Name: strings.TrimSpace(string(k) + " " + a + " " + b), Kind: string(k), A: a, B: b, Unit: unit, Entered: entered, Value: value, Low: max(0, value-half), High: min(most, value+half), Records: n, Used: n > 0,
		Text: text(value, half, unit, n, of)}
}

// InUnits is an estimate as it is shown in a system of units: rates by the hour are in feet in US units.
func InUnits(e planner.Estimate, units quantity.System) planner.Estimate {
	length := quantity.DefaultUnit(quantity.KindLength, units)
	if e.Unit != rateUnit || length.FromStored(1) == 1 {
		return e
	}
	e.Unit = length.Symbol + "/h"
	for _, x := range []*float64{&e.Entered, &e.Value, &e.Low, &e.High} {
		*x = length.FromStored(*x)
	}
	if _, from, ok := strings.Cut(e.Text, " from "); ok {
		e.Text = amount(e.Value, e.High-e.Value, " "+e.Unit) + " from " + from
	}
	return e
}

// rateUnit is what rates are estimated in.
const rateUnit = "m/h"

// text is such as "0.931 ± 0.008 from 42 runs".
func text(value, half float64, unit string, n int, of string) string {
	if unit != "" {
		unit = " " + unit
	}
	if n == 1 {
		of = of[:len(of)-1]
	}
	return fmt.Sprintf("%s from %d %s", amount(value, half, unit), n, of)
}

// amount is such as "0.931 ± 0.008".
func amount(value, half float64, unit string) string {
	digits := 3
	if math.Abs(value) >= 10 {
		digits = 1
	} else if math.Abs(value) >= 2 {
		digits = 2
	}
	return fmt.Sprintf("%.*f ± %.*f%s", digits, value, digits, half, unit)
}
