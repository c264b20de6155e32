package estimates

import (
	"math"

	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// LineOEE is the ratios of ISO 22400-2 of a line over its records, planned stops not counted as busy. Amounts are in hours at the ideal rate, so that
// profiles add up.
type LineOEE struct {
	Line string // "" for the whole plant
	lines.Performance
	lines.OEE
}

func (o *observation) oee() []LineOEE {
	var list []LineOEE
	whole := lines.Performance{IdealRate: 1}
	for _, line := range sorted(o.busy, func(s string) string { return s }) {
		p := *o.busy[line]
		list = append(list, LineOEE{line, p, p.Ratios()})
		whole.PlannedBusy += p.PlannedBusy
		whole.Production += p.Production
		whole.Produced += p.Produced
		whole.Good += p.Good
	}
	if len(list) > 0 {
		list = append(list, LineOEE{"", whole, whole.Ratios()})
	}
	return list
}

// Bias is a profile's past forecasts against what was shipped, metres a forecast.
type Bias struct {
	Profile  string
	Spans    int     // forecasts whose days are all past
	Forecast float64 // metres
	Shipped  float64 // metres, in the same days
	Errors           // of shipped − forecast
}

// Errors is the usual measures of a forecast's errors, actual − forecast.
type Errors struct {
	Bias   float64 // mean error; above 0 the forecast was too low
	MAD    float64 // mean absolute error
	MSE    float64 // mean squared error
	MAPE   float64 // mean absolute error as a share of the actual; NaN if an actual is 0
	Signal float64 // sum of errors ÷ MAD, the tracking signal; NaN without errors
}

// ErrorsOf measures forecasts against actuals of the same lengths; it panics if there are more forecasts.
func ErrorsOf(actual, forecast []float64) Errors {
	e, n := Errors{}, float64(len(forecast))
	sum := 0.0
	for i, f := range forecast {
		d := actual[i] - f
		sum += d
		e.MAD += math.Abs(d) / n
		e.MSE += d * d / n
		e.MAPE += math.Abs(d) / math.Abs(actual[i]) / n
	}
	e.Bias, e.Signal = sum/n, sum/e.MAD
	if math.IsInf(e.MAPE, 0) {
		e.MAPE = math.NaN()
	}
	return e
}

func (o *observation) bias(today calendar.Day) []Bias {
	var list []Bias
	for _, p := range o.in.Profiles {
		b := Bias{Profile: p.Code}
		var actual, forecast []float64
		for _, f := range o.in.Forecasts {
			if f.Profile != p.Code || f.To > today {
				continue
			}
			sent := 0.0
			for _, e := range o.shipments {
				if s := e.Record.(records.Shipment); s.Profile == p.Code && f.From <= s.Day && s.Day < f.To {
					sent += float64(s.Length)
				}
			}
			actual, forecast = append(actual, sent), append(forecast, float64(f.Length))
			b.Forecast += float64(f.Length)
			b.Shipped += sent
		}
		if b.Spans = len(forecast); b.Spans > 0 {
			b.Errors = ErrorsOf(actual, forecast)
			list = append(list, b)
		}
	}
	return list
}
