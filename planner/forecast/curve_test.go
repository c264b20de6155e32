package forecast

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

// twoLines is a plant round the clock with a line that runs, 100 m/h, and one not set up, 60 m/h, that make 0.5 kg/m of pellets that an ingot
// at 1 a kilogram yields 95 % of. A metre sells at 2; two people at 10 an hour crew a line. Changeovers take nothing.
func twoLines(metresAWeek float64) (*planner.Input, *planner.Plan) {
	start := calendar.Date(2027, time.January, 4)
	day := 24 * time.Hour
	in := &planner.Input{
		Plant:       planner.Plant{Name: "two lines", Currency: "EUR", Zone: "UTC", CrewCost: 10, HoldingRate: 0.1, Weeks: 8, DailyDays: 7},
		Calendar:    calendar.Calendar{Zone: time.UTC, Shifts: []calendar.Shift{{Code: "all", Weekdays: [7]bool{true, true, true, true, true, true, true}, End: day}}},
		Materials:   []inventory.Material{{Code: "IN", Form: inventory.Ingot, Source: inventory.PostConsumer, Polymer: "EPS", Price: 1}},
		Grades:      []inventory.Grade{{Code: "G", MaxHIPS: 1}},
		Ingredients: []inventory.Ingredient{{Grade: "G", Material: "IN", MaxShare: 1}},
		Steps:       []yield.Step{{Code: "PEL", Order: 1, Forms: []string{"ingot"}, Yield: 0.95}},
		Profiles:    []lines.Profile{{Code: "P", Grade: "G", PerMetre: 0.5, DieFamily: "F", Dies: 2, Price: 2}},
		Lines: []lines.Line{{Code: "L1", State: lines.Running, Mounted: "P", Crew: 2},
			{Code: "L2", State: lines.Uncommissioned, Crew: 2, Startup: lines.Startup{Hours: 5, Cost: 600}, Commissioning: lines.Commissioning{Earliest: start, Days: 7, Cost: 30000}}},
		Fits:        []lines.Fit{{Line: "L1", Profile: "P", Melt: 50, Strands: 1, Availability: 1, Quality: 1}, {Line: "L2", Profile: "P", Melt: 30, Strands: 1, Availability: 1, Quality: 1}},
		Lots:        []inventory.Lot{{Code: "A", Material: "IN", Mass: 50000, Received: start - 1}},
		Changeovers: []lines.Changeover{{From: "*", To: "*"}},
	}
	for w := range calendar.Day(8) {
		in.Forecasts = append(in.Forecasts, planner.Forecast{Profile: "P", From: start + 7*w, To: start + 7*w + 7, Length: quantity.Length(metresAWeek)})
	}
	p := &planner.Plan{Currency: "EUR", Start: start, Buckets: calendar.Buckets(start, 7, 8)}
	return in, p
}

// TestCurveByHand: a tonne makes 1,900 m; it earns 3,800 less 1,000 of feed and 19 hours of crew at 20 on L1. L1 makes 16,800 m a week, so that a demand of
// 22,000 leaves 5,200 to L2, of 31.67 hours a tonne. All by hand, a month being 30.4375 days.
func TestCurveByHand(t *testing.T) {
	in, p := twoLines(22000)
	c, err := CurveOf(context.Background(), in, p)
	if err != nil {
		t.Fatal(err)
	}
	month := 30.4375 / 7
	full := 16800 * month / 1900
	slope := 3800 - 1000 - 19*20.0
	if len(c.Points) != 2 {
		t.Fatalf("breaks at %+v, want 0 and that of a full line", c.Points)
	}
	near(t, "slope", c.Points[0].Slope, slope, 1e-6*slope)
	near(t, "break, t a month", c.Points[1].Tonnes, full, 1e-6*full)
	near(t, "metres a month", c.Points[1].Metres, 16800*month, 1e-3)
	near(t, "margin a month", c.Points[1].Margin, slope*full, 1e-6*slope*full)
	near(t, "slope with the line full", c.Points[1].Slope, 0, 1e-6)
	if len(c.Points[0].Binding) != 0 || !slices.Equal(c.Points[1].Binding, []string{"line L1"}) {
		t.Errorf("binding %v and %v, want nothing but the supply, and line L1", c.Points[0].Binding, c.Points[1].Binding)
	}
	if len(c.Lines) != 1 {
		t.Fatalf("idle lines %+v", c.Lines)
	}
	l2 := c.Lines[0]
	gain := 5200 * month / 1900 * (3800 - 1000 - 1900.0/60*20)
	near(t, "L2 breaks even, t a month", l2.BreakEven, full, 1e-6*full)
	near(t, "L2 adds, a month", l2.GainMost, gain, 1e-6*gain)
	near(t, "L2 pays back in months", l2.Best, (30000+600+5*2*10)/gain, 1e-6)
	if !math.IsInf(l2.Payback, 1) {
		t.Errorf("payback %v months without any supply planned, want none", l2.Payback)
	}
}

// TestCurveOfAPlant holds a curve of many breaks to what must be true of it: concave, rising, its slopes those between its points, and what
// the margin is in between, solved anew, on the straight lines.
func TestCurveOfAPlant(t *testing.T) {
	in, p := small()
	c, err := CurveOf(context.Background(), in, p)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Points) < 3 {
		t.Fatalf("only %d points", len(c.Points))
	}
	again, err := newCapacity(context.Background(), in, p, func(l lines.Line) bool { return l.State != lines.Uncommissioned })
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(c.Points); i++ {
		a, b := c.Points[i-1], c.Points[i]
		slope := (b.Margin - a.Margin) / (b.Tonnes - a.Tonnes)
		near(t, "slope", a.Slope, slope, 1e-3*(1+slope))
		if b.Slope > a.Slope+1e-6 || b.Margin < a.Margin-1e-6 {
			t.Errorf("from %+v to %+v the margin is not concave and rising", a, b)
		}
		v, err := again.solve(context.Background(), a.Tonnes+0.3*(b.Tonnes-a.Tonnes))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "margin between two points", v.v, a.Margin+0.3*(b.Margin-a.Margin), 1e-6*math.Abs(b.Margin))
	}
	if last := c.Points[len(c.Points)-1]; last.Slope > 1e-3 {
		t.Errorf("the last point's slope is %v, want 0", last.Slope)
	}
}
