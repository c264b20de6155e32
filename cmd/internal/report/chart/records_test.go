package chart

import (
	"math"
	"strings"
	"testing"

	"feedline/cmd/internal/report/reporttest"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// flows is the example of individuals charts in NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: ten batches of a flow rate,
// with a mean of 50.81 and limits of 45.82 and 55.80 (printed there as 55.8041 and 45.8159).
var flows = []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}

// TestControls books the example as yields in percent and expects its limits, steps before lines, what was reversed left out.
func TestControls(t *testing.T) {
	in, _ := reporttest.Full()
	var list []records.Entry
	add := func(r records.Record, reversed int64) {
		list = append(list, records.Entry{ID: int64(len(list) + 1), Head: r.Head(), Record: r, ReversedBy: reversed})
	}
	for i := len(flows) - 1; i >= 0; i-- { // entered backwards: the days count
		d := reporttest.Monday + calendar.Day(i)
		add(records.Run{Day: d, Line: "L1", Profile: "SK80", Good: 1000, Scrap: 20, Run: 8}, 0)
		add(records.Process{Day: d, Step: "PELLET", Lots: []records.Draw{{Lot: "A", Mass: 1000}}, Out: quantity.Mass(10 * flows[i])}, 0)
	}
	add(records.Process{Day: reporttest.Monday, Step: "PELLET", Lots: []records.Draw{{Lot: "A", Mass: 1000}}, Out: 1}, 7)
	add(records.Process{Day: reporttest.Monday, Step: "CRUSH", Lots: []records.Draw{{Lot: "A", Mass: 1000}}, Out: 990}, 0)
	got := Controls(in, list)
	if len(got) != 2 || got[0].Title != "Yield of PELLET" || got[1].Title != "Good share of L1" {
		t.Fatalf("charts %+v, want PELLET and L1; one value of CRUSH is too few", got)
	}
	l := got[0].Limits
	if math.Abs(l.Centre-50.81) > 1e-6 || math.Abs(l.Low-45.8159) > 1e-3 || math.Abs(l.High-55.8041) > 1e-3 {
		t.Errorf("limits %+v, want 45.8159, 50.81, 55.8041", l)
	}
	if v := got[1].Values[0]; math.Abs(v-95) > 1e-9 { // 1000 m at 0.38 kg and 20 kg of scrap: 380 ÷ 400
		t.Errorf("good share %v %%, want 95", v)
	}
	f := got[0].figure("control-1")
	if !strings.Contains(f.Desc, "10 values between 45.8 and 55.8 % around 50.8, none outside of the limits") {
		t.Errorf("description: %s", f.Desc)
	}
}

// TestNoColourMissed: every ink has a variable, and a plot's ticks are round and few.
func TestNoColourMissed(t *testing.T) {
	for k := inkText; k < inks; k++ {
		if css[k] == "" {
			t.Errorf("ink %d stands for nothing", k)
		}
	}
	for _, c := range [][2]float64{{0, 1}, {0, 7.4}, {0, 73}, {45, 56}, {-3, 3}, {0, 1e9}, {5, 5}} {
		ticks := niceTicks(c[0], c[1])
		if n := len(ticks); n < 1 || n > 7 {
			t.Errorf("%d ticks from %v to %v", n, c[0], c[1])
		}
	}
}
