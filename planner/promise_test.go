package planner_test

import (
	"context"
	"math"
	"testing"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// TestPromiseByHand asks one line that stands free with its die on for more and more metres. A line that runs 24 h a day at
// 110 kg/h ÷ 0.35 kg/m × 0.9 × 0.95 = 268.7 m/h makes 6449 m a day; an order of 3,000 m from the rack takes no hours.
func TestPromiseByHand(t *testing.T) {
	in := workshop()
	plenty(in)
	in.Orders, in.Forecasts = in.Orders[:1], nil
	in.Orders[0].Length = 3000 // all in the rack
	in.Plant.Rack = 0
	in.Profiles[0].StockTarget = 0
	p := audited(t, in, quick())
	const aDay = 110 / 0.35 * 0.9 * 0.95 * 24
	for _, days := range []float64{0.5, 1, 2.5, 5} {
		got, err := planner.Promise(context.Background(), in, quick(), p, "SK60", quantity.Length(days*aDay-1))
		if err != nil {
			t.Fatal(err)
		}
		if want := monday + calendar.Day(math.Ceil(days)) - 1; got.Day != want {
			t.Errorf("%.1f days of work: promised for %v, want %v (%s: %s)", days, got.Day, want, got.Limit, got.Words)
		}
		if days > 1 && got.Limit != planner.OfLineHour {
			t.Errorf("%.1f days of work are bound by %s, want line hours", days, got.Limit)
		}
	}
	if _, err := planner.Promise(context.Background(), in, quick(), p, "SK61", 100); err == nil {
		t.Error("a profile that is not there is promised")
	}
}
