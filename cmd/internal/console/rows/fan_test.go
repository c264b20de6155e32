package rows_test

import (
	"slices"
	"strings"
	"testing"

	"feedline/cmd/internal/console/rows"
	"feedline/lines/calendar"
	"feedline/planner/forecast"
)

// TestFanOfMetres draws two bands by hand on sixteen cells whose last is 150,000 m, the most: at 50, 60, 90 and 100 thousand the cells 5, 6, 9 and 10.
func TestFanOfMetres(t *testing.T) {
	_, _, f := facts()
	column := func() []string {
		out := table(t, page(t, f, "supply", rows.Place{}), "output")
		at := slices.IndexFunc(out.Columns, func(c rows.Column) bool { return c.Key == "range" })
		var list []string
		for _, r := range out.Rows {
			list = append(list, r.Cells[at].Text)
		}
		return list
	}
	for _, s := range column() {
		if s != "" {
			t.Errorf("a range %q without a forecast", s)
		}
	}
	week := func(n calendar.Day) calendar.Bucket {
		return calendar.Bucket{Span: calendar.Span{From: monday + 7*n, To: monday + 7*n + 7}}
	}
	f.Likely = &forecast.Result{Weeks: []calendar.Bucket{week(0), week(1)}, Metres: forecast.Series{{P10: 50e3, P50: 60e3, P90: 90e3, Plan: 100e3}, {P10: 150e3, P50: 150e3, P90: 150e3, Plan: 150e3}}}
	got := column()
	if want := "     ·=···│     "; got[0] != want {
		t.Errorf("range %q, want %q", got[0], want)
	}
	if want := strings.Repeat(" ", 15) + "│"; got[1] != want {
		t.Errorf("range %q, want %q", got[1], want)
	}
	if got[2] != "" {
		t.Errorf("a range %q after the forecast's last week", got[2])
	}
}
