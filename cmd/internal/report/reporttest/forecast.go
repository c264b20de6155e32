package reporttest

import (
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/forecast"
)

// Forecast is a forecast of p with figures made up: a week for each of the plan's, a band that widens, one that goes below 0, a hostile name.
func Forecast(p *planner.Plan) *forecast.Result {
	r := &forecast.Result{Plant: p.Plant, Currency: p.Currency, Made: p.Made, Start: p.Start, Asked: 200, Runs: 200, Seed: 3}
	band := func(x, wide float64) forecast.Band {
		return forecast.Band{Plan: x, P10: x - wide, P50: x - wide/4, P90: x + wide/2, Mean: x - wide/4, MeanSE: wide / 20}
	}
	for _, b := range p.Buckets {
		if n := len(r.Weeks); n > 0 && r.Weeks[n-1].Span.From.Monday() == b.Span.From.Monday() {
			r.Weeks[n-1].Span.To = b.Span.To
			continue
		}
		r.Weeks = append(r.Weeks, calendar.Bucket{Span: b.Span})
	}
	g := forecast.GradeRisk{Grade: "<b>&WH"}
	for t := range r.Weeks {
		w := float64(t + 1)
		r.Metres, r.Margin, r.Cover = append(r.Metres, band(90000, 4000*w)), append(r.Margin, band(20000-5000*w, 3000*w)), append(r.Cover, band(14, w))
		r.Lines, r.Late = append(r.Lines, band(4, 0.2*w)), append(r.Late, band(3*w, w))
		c := forecast.Chance{P: min(1, 0.1*w), SE: 0.02}
		g.Short, g.ByWeek, g.Committed = append(g.Short, c), append(g.ByWeek, c), append(g.Committed, c)
	}
	r.Grades = []forecast.GradeRisk{g}
	r.TotalMetres, r.TotalMargin = band(500000, 30000), band(70000, 20000)
	r.Drivers = []forecast.Driver{{Kind: "delivery", Name: "<i>D-1", Margin: -0.5}}
	return r
}
