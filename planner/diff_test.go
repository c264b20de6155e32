package planner_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// daysOf is buckets of a day each, then one of a week.
func daysOf(from calendar.Day, days int, week bool) []calendar.Bucket {
	var list []calendar.Bucket
	for d := from; d < from+calendar.Day(days); d++ {
		list = append(list, calendar.Bucket{Index: len(list), Span: calendar.Span{From: d, To: d + 1}})
	}
	if week {
		d := from + calendar.Day(days)
		list = append(list, calendar.Bucket{Index: len(list), Span: calendar.Span{From: d, To: d + 7}})
	}
	return list
}

func TestDiffOfAPlanWithItself(t *testing.T) {
	p := audited(t, workshop(), brief())
	if d := planner.Diff(p, p); !d.Empty() || !d.SameHorizon {
		t.Errorf("a plan differs from itself: %+v", d)
	}
}

// TestDiffByHand compares two plans of eight and one days whose differences are typed by hand.
func TestDiffByHand(t *testing.T) {
	a := &planner.Plan{Start: monday, Buckets: daysOf(monday, 7, true), Objective: 100, LinesToRun: []int{2, 2, 2, 2, 2, 1, 1, 2},
		Costs:     []planner.Cost{{Name: "crew", Amount: 60}, {Name: "lateness", Amount: 40}},
		Margin:    planner.Margin{Sales: 500, Net: 500},
		Runs:      []planner.Run{{Line: "A", Profile: "P", Bucket: 0, Length: 100}, {Line: "A", Profile: "P", Bucket: 7, Length: 700}, {Line: "B", Profile: "Q", Bucket: 2, Length: 50}},
		Orders:    []planner.OrderResult{{Order: "1", Promise: monday, Length: 5}, {Order: "2", Promise: monday + 3, DaysLate: 3, Length: 5}, {Order: "3", Unmet: 4, Length: 5}, {Order: "4", Promise: monday, Length: 5}},
		Purchases: []planner.Purchase{{Lane: "road", Loads: 2, OrderBy: monday}},
		Shortages: []planner.Shortage{{Grade: "W", First: monday + 7, MassIn4Weeks: 900}},
	}
	b := &planner.Plan{Start: monday + 1, Buckets: daysOf(monday+1, 13, false), Objective: 90, LinesToRun: []int{2, 2, 2, 2, 1, 1, 3, 2, 2, 2, 2, 2, 2},
		Costs:  []planner.Cost{{Name: "crew", Amount: 60}, {Name: "lateness", Amount: 10}, {Name: "energy", Amount: 20}},
		Margin: planner.Margin{Sales: 500, Net: 500},
		// the week's 700 m are 400 on A and 200 on B, day by day, and 100 come forward to Thursday; Q moves from B to A
		Runs: []planner.Run{{Line: "A", Profile: "P", Bucket: 2, Length: 100}, {Line: "A", Profile: "P", Bucket: 6, Length: 300}, {Line: "A", Profile: "P", Bucket: 9, Length: 100},
			{Line: "B", Profile: "P", Bucket: 11, Length: 200}, {Line: "A", Profile: "Q", Bucket: 1, Length: 50}},
		Orders: []planner.OrderResult{{Order: "1", Promise: monday + 1, DaysLate: 1, Length: 5}, {Order: "2", Promise: monday + 1, DaysLate: 0, Length: 5}, {Order: "3", Promise: monday + 9, DaysLate: 9, Length: 5},
			{Order: "5", Promise: monday + 2, Length: 5}},
		Purchases: []planner.Purchase{{Lane: "road", Loads: 1, OrderBy: monday}, {Lane: "road", Loads: 1, OrderBy: monday + 7}},
	}
	d := planner.Diff(a, b)
	want := &planner.PlanDiff{
		Span:      calendar.Span{From: monday + 1, To: monday + 14},
		Objective: planner.MoneyChange{Name: "objective", Was: 100, Is: 90},
		Costs:     []planner.MoneyChange{{Name: "lateness", Was: 40, Is: 10}, {Name: "energy", Was: 0, Is: 20}},
		Weeks:     []planner.WeekChange{{Monday: monday + 7, Was: 2, Is: 3}},
		Runs: []planner.RunChange{
			{Profile: "P", FromLine: "A", ToLine: "B", From: monday + 7, To: monday + 7, Length: 200},
			{Profile: "P", FromLine: "A", ToLine: "A", From: monday + 7, To: monday + 3, Length: 100},
			{Profile: "Q", FromLine: "B", ToLine: "A", From: monday + 2, To: monday + 2, Length: 50}},
		Orders: []planner.OrderChange{
			{Order: "1", Fate: planner.NewlyLate, Was: a.Orders[0], Is: b.Orders[0]}, {Order: "2", Fate: planner.Rescued, Was: a.Orders[1], Is: b.Orders[1]},
			{Order: "3", Fate: planner.Rescued, Was: a.Orders[2], Is: b.Orders[2]}, {Order: "4", Fate: planner.OrderGone, Was: a.Orders[3]}, {Order: "5", Fate: planner.OrderNew, Is: b.Orders[3]}},
		Loads: []planner.LoadChange{{Lane: "road", Day: monday, Was: 2, Is: 1}, {Lane: "road", Day: monday + 7, Was: 0, Is: 1}},
		Short: []planner.ShortChange{{Grade: "W", Was: monday + 7, WasMass: 900}},
	}
	if diff := cmp.Diff(want, d); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestDiffAddsUp holds the moves of real plans against the metres by profile: what is made more is what the moves add less what they
// take away.
func TestDiffAddsUp(t *testing.T) {
	in := workshop()
	a := audited(t, in, brief())
	in.Orders[2].Length *= 2
	in.Plant.Crew = 1.5
	b := audited(t, in, brief())
	d := planner.Diff(a, b)
	if d.Empty() || len(d.Runs) == 0 {
		t.Fatal("a plan with half the crew runs the same")
	}
	more := map[string]quantity.Length{}
	for _, r := range d.Runs {
		if r.From == 0 {
			more[r.Profile] += r.Length
		}
		if r.To == 0 {
			more[r.Profile] -= r.Length
		}
	}
	for _, c := range d.Profiles {
		if got, want := float64(more[c.Profile]), float64(c.Is-c.Was); math.Abs(got-want) > 30 { // moves of less than a metre are left out
			t.Errorf("%s: moves add %g m, metres made change by %g m", c.Profile, got, want)
		}
	}
	var costs float64
	for _, c := range d.Costs {
		costs += float64(c.Is - c.Was)
	}
	if want := float64(d.Objective.Is - d.Objective.Was); math.Abs(costs-want) > 1 {
		t.Errorf("costs change by %g, the objective by %g", costs, want)
	}
}
