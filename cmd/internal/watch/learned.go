package watch

import (
	"context"
	"fmt"
	"math"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/watch/alert"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/forecast"
)

// BookDrifts is what the control charts of the book's records show.
func BookDrifts(ctx context.Context, b *book.Book, _ *planner.Input) (list []alert.Drift, err error) {
	_, r, _, err := b.Estimates(ctx, 0)
	if err != nil {
		return nil, err
	}
	for _, c := range r.Alarms() {
		last := c.Alarms[len(c.Alarms)-1]
		if !math.IsNaN(last.Value) && !math.IsInf(last.Value, 0) {
			list = append(list, alert.Drift{Name: c.Name, Ratio: last.Value, Words: last.Words})
		}
	}
	return list, nil
}

// forecastRuns is how many samples the job "forecast" takes: enough for a chance to be known to some three percent.
const forecastRuns = 200

// RunForecast is the Forecaster of package planner/forecast, on one processor.
func RunForecast(ctx context.Context, in *planner.Input, p *planner.Plan) (*forecast.Result, error) {
	return forecast.Run(ctx, estimates.AsPlanned(in, p), p, forecast.Options{Runs: forecastRuns, Seed: 1, Workers: 1})
}

// forecastWord is a forecast in a line.
func forecastWord(r *forecast.Result) string {
	word := fmt.Sprintf("margin %.0f to %.0f (eight of ten samples), %d samples", r.TotalMargin.P10, r.TotalMargin.P90, r.Runs)
	for _, g := range r.Grades {
		if n := len(g.Committed); n > 0 && g.Committed[n-1].P > 0 {
			word += fmt.Sprintf("; %s short if nothing more is ordered: %.0f %%", g.Grade, 100*g.Committed[n-1].P)
		}
	}
	return word
}
