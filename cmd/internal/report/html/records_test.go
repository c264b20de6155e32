package html

import (
	"math"
	"strings"
	"testing"

	"feedline/cmd/internal/report/chart"
	"feedline/cmd/internal/report/reporttest"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/yield"
)

// learned is a plan made with an estimate, and records whose smoothed mean signals: the example of EWMA charts in NIST/SEMATECH
// e-Handbook of Statistical Methods, 6.3.2.4: twenty values, target 50, standard deviation 2.0539, weight 0.3, the smoothed mean ends at
// 51.99, within its limits; here the limits are those around 48, so that it ends above them.
func learned() (*planner.Input, *planner.Plan, *estimates.Report) {
	in, p := reporttest.Full()
	p.Estimates = []planner.Estimate{{Name: "yield PEL <INW>", Entered: 0.95, Value: 0.931, Low: 0.923, High: 0.939, Records: 42, Used: true, Text: "0.931 ± 0.008 from 42 runs"},
		{Name: "set-up SK SK", Unit: "h", Entered: 2.75, Value: 2.5, Low: 2.1, High: 2.9, Records: 4, Note: "overruled"}}
	x := []float64{52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	c := estimates.Chart{Name: "yield PEL INW of =NORTH", Values: x, EWMA: yield.EWMA(x, 50, 0.3), Base: 12}
	for i := range x {
		c.Days = append(c.Days, reporttest.Monday+calendar.Day(i))
	}
	c.Single, _ = yield.IndividualsLimits(x[:12])
	c.Smooth = yield.EWMALimits(48, 2.0539, 0.3)
	c.Alarms = []estimates.Alarm{{Index: 19, Smooth: true, Words: "yield PEL INW of =NORTH: smoothed 51.99 of what was entered, above the limit 50.6"}}
	calm := estimates.Chart{Name: "rate L1 SK80", Values: x, EWMA: yield.EWMA(x, 50, 0.3), Days: c.Days, Single: c.Single, Smooth: yield.EWMALimits(50, 2.0539, 0.3)}
	return in, p, &estimates.Report{Charts: []estimates.Chart{calm, c}, Records: 40}
}

// TestRecordsAreReported: the page says each estimate with its interval and number of records, and what is out of control, first.
func TestRecordsAreReported(t *testing.T) {
	in, p, r := learned()
	page := write(t, in, p, Options{Records: r, Controls: chart.Watched(*r, 8)})
	for _, want := range []string{"yield PEL &lt;INW&gt;", ">0.931<", ">0.923<", ">0.939<", ">42<", "overruled", "drifts", "Out of control: yield PEL INW of =NORTH",
		"above the limit 50.6.", "smoothed mean (EWMA)"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if a, b := strings.Index(page, ">yield PEL INW of =NORTH<"), strings.Index(page, ">rate L1 SK80<"); a < 0 || b >= 0 {
		t.Errorf("what is out of control stands at %d, a steady rate at %d; want the one alone", a, b)
	}
	if last := r.Charts[1].EWMA[19]; math.Abs(last-51.99) > 0.005 {
		t.Errorf("smoothed mean %v, want 51.99", last)
	}
}
