package planner_test

import (
	"context"
	"math"
	"testing"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/benchplant"
)

// TestPinsThatCanBeKeptAre plans bench plant S with pins that nothing stands against, from nothing and from a plan without them. A
// pin is priced above all that breaking it could bring, so none is broken.
func TestPinsThatCanBeKeptAre(t *testing.T) {
	in, opt := benchplant.Input(benchplant.S, 1), benchplant.Options()
	opt.Work, opt.Brief = 60_000_000, true
	start := planner.StartDay(in, opt)
	base, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	line := in.Lines[1].Code
	profile := ""
	for _, f := range in.Fits {
		if f.Line == line {
			profile = f.Profile
		}
	}
	for _, c := range []struct {
		name string
		pin  planner.Pin
	}{
		{"stands three days", planner.Pin{Kind: planner.PinIdle, From: start + 3, To: start + 6}},
		{"stands three weeks", planner.Pin{Kind: planner.PinIdle, From: start, To: start + 21}},
		{"stands from the middle of a week", planner.Pin{Kind: planner.PinIdle, From: start + 31, To: start + 45}},
		{"runs a profile two days", planner.Pin{Kind: planner.PinRun, Profile: profile, From: start + 8, To: start + 10}},
		{"runs a profile for a week", planner.Pin{Kind: planner.PinRun, Profile: profile, From: start + 28, To: start + 35}},
		{"runs no such profile", planner.Pin{Kind: planner.PinForbid, Profile: profile, From: start, To: start + 35}},
	} {
		for _, from := range []*planner.Plan{nil, base} {
			c.pin.Code, c.pin.Line = "try", line
			in.Pins, opt.From = []planner.Pin{c.pin}, from
			p := audited(t, in, opt)
			if len(p.Unkept) > 0 {
				t.Errorf("%s %s (from a plan: %t): not kept: %v", line, c.name, from != nil, p.Unkept)
			}
		}
	}
}

// TestPinsThatCannotBeKeptAreNamed pins a line to run while it is still being set up; the audit holds the plan's list against its own.
func TestPinsThatCannotBeKeptAreNamed(t *testing.T) {
	in := twoLines()
	in.Lines[2].Commissioning.Days = 5
	in.Pins = []planner.Pin{{Code: "A", Kind: planner.PinRun, Line: "N", Profile: "P1", From: monday + 1, To: monday + 2}}
	p := audited(t, in, exact())
	want := in.Calendar.SpanHours("N", calendar.Span{From: monday + 1, To: monday + 2})
	if len(p.Unkept) != 1 || p.Unkept[0].Pin != in.Pins[0] || p.Unkept[0].First != monday+1 || math.Abs(float64(p.Unkept[0].Hours)-want) > 1e-6 {
		t.Errorf("not kept: %v, want pin A by %v h from %s", p.Unkept, want, monday+1)
	}
}
