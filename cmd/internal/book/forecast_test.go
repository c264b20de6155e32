package book

import (
	"context"
	"reflect"
	"testing"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/forecast"
)

// TestForecastIsKept keeps a forecast with its plan and reads it back; a second takes its place, and its two-stage plan is left out.
func TestForecastIsKept(t *testing.T) {
	ctx := context.Background()
	b := fresh(t)
	id, err := b.SavePlan(ctx, &planner.Plan{Start: calendar.Date(2027, 1, 4)}, PlanMeta{})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := b.Forecast(ctx, id); r != nil || err != nil {
		t.Fatalf("a forecast %v before one was made, error %v", r, err)
	}
	for _, runs := range []int{10, 20} {
		want := &forecast.Result{Runs: runs, Currency: "EUR", Weeks: []calendar.Bucket{{Span: calendar.Span{From: 20000, To: 20007}}}, Metres: forecast.Series{{Plan: 1, P10: 0.5, P90: 2}},
			OrderNow: &forecast.OrderNow{Cost: 1}}
		if err := b.SaveForecast(ctx, id, want); err != nil {
			t.Fatal(err)
		}
		got, err := b.Forecast(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		want.OrderNow = nil
		if !reflect.DeepEqual(got.Weeks, want.Weeks) || !reflect.DeepEqual(got.Metres, want.Metres) || got.Runs != runs || got.OrderNow != nil {
			t.Errorf("kept %+v, read %+v", want, got)
		}
	}
	if err := b.SaveForecast(ctx, id+1, &forecast.Result{}); err == nil {
		t.Error("a forecast of a plan that is not there is kept")
	}
}
