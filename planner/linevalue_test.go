package planner_test

import (
	"context"
	"math"
	"testing"

	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/benchplant"
)

// twoLines is the shed with more demand than its line can make, a second line that stands and costs more to start than it brings, a third
// that is not set up, and pellets for half of the demand.
func twoLines() *planner.Input {
	s := shed{rate: [2]float64{60, 60}, price: [2]float64{3, 2}, setup: 3, cost: 50, hour: 2}
	for d := range 7 {
		s.demand[0][d], s.demand[1][d] = 1500, 1000
	}
	in := s.input()
	in.Materials[0].Price = 2
	in.Stock[0].Mass = 6000
	in.Lines = append(in.Lines, lines.Line{Code: "M", State: lines.Ready, BaseKW: 2, Startup: lines.Startup{Cost: 40000, Hours: 2}},
		lines.Line{Code: "N", State: lines.Uncommissioned, BaseKW: 2, Commissioning: lines.Commissioning{Earliest: monday, Cost: 60000}})
	in.Fits = append(in.Fits, lines.Fit{Line: "M", Profile: "P1", HaulOff: 0.9, Strands: 1, Availability: 1, Quality: 1},
		lines.Fit{Line: "N", Profile: "P1", HaulOff: 1.1, Strands: 1, Availability: 1, Quality: 1})
	in.Profiles[1].Dies = 3
	return in
}

// pinned adds a pin for the line's days [from, to), counted from the plan's start.
func pinned(in *planner.Input, kind planner.PinKind, line string, from, to int) *planner.Input {
	in.Pins = append(in.Pins, planner.Pin{Code: "try", Kind: kind, Line: line, From: monday + calendar.Day(from), To: monday + calendar.Day(to)})
	return in
}

// TestLineValueIsWhatAPlanBrings plans anew what each line is said to bring: with the line pinned idle; with it pinned to run on the first
// day, which it does as there is more demand than lines; and with it ready and its setting up paid for. With feed is a plant in
// which a kilogram missing costs what a kilogram of the material does.
func TestLineValueIsWhatAPlanBrings(t *testing.T) {
	plant := func(feed bool) *planner.Input {
		in := twoLines()
		if feed {
			in.Plant.ShortfallPrice = 2
		}
		return in
	}
	cost := func(in *planner.Input) *planner.Plan { return audited(t, in, exact()) }
	setUp := func(in *planner.Input) *planner.Input {
		in.Lines[2].State = lines.Ready
		return in
	}
	p := cost(plant(false))
	fed := cost(plant(true))
	for _, c := range []struct {
		line  string
		do    planner.LineStep
		again func(in *planner.Input) *planner.Input
		paid  float64
	}{
		{"L", planner.IdleLine, func(in *planner.Input) *planner.Input { return pinned(in, planner.PinIdle, "L", 0, 7) }, 0},
		{"M", planner.StartLine, func(in *planner.Input) *planner.Input { return pinned(in, planner.PinRun, "M", 0, 1) }, 0},
		{"N", planner.CommissionLine, setUp, 60000},
	} {
		found := false
		for _, v := range p.LineValues {
			if v.Line != c.line || v.Do != c.do {
				continue
			}
			found = true
			again := cost(c.again(plant(false)))
			near(t, c.line+" gain, EUR", float64(v.Gain), float64(p.Objective)-float64(again.Objective)-c.paid)
			near(t, c.line+" metres", float64(v.Length), made(again)-made(p))
			if got, want := v.LateOrders, lateOf(again)-lateOf(p); got != want {
				t.Errorf("%s: %d late orders more, planned anew %d", c.line, got, want)
			}
			if c.do != planner.IdleLine {
				again = cost(c.again(plant(true)))
				near(t, c.line+" gain with feed, EUR", float64(v.FedGain), float64(fed.Objective)-float64(again.Objective)-c.paid)
			}
			if !v.Can || v.Cut {
				t.Errorf("%s: can be done: %t, cut short: %t", c.line, v.Can, v.Cut)
			}
		}
		if !found {
			t.Errorf("no value of %s %s: %+v", c.do, c.line, p.LineValues)
		}
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-4*(1+math.Abs(want)) {
		t.Errorf("%s: %.4f, planned anew %.4f", what, got, want)
	}
}

func made(p *planner.Plan) float64 {
	sum := 0.0
	for _, r := range p.Runs {
		sum += float64(r.Length)
	}
	return sum
}

func lateOf(p *planner.Plan) int {
	n := 0
	for _, o := range p.Orders {
		if o.DaysLate > 0 || o.Promise == 0 {
			n++
		}
	}
	return n
}

// TestStartedSoonerGoesOnAsPlanned has a plan of bench plant S in which a line that could run stands for three weeks and runs all the time after
// that, as a pin asked for that is gone. Started on the first day it keeps what it was to make later: the step costs next to nothing.
func TestStartedSoonerGoesOnAsPlanned(t *testing.T) {
	opt := benchplant.Options()
	opt.Work, opt.Brief = 100_000_000, true
	in := benchplant.Input(benchplant.S, 1)
	in.Lines[1].State = lines.Ready
	start := planner.StartDay(in, opt)
	in.Pins = []planner.Pin{{Code: "stand", Kind: planner.PinIdle, Line: in.Lines[1].Code, From: start, To: start + 21}}
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	in.Pins = nil
	p, err = planner.AnswersWithin(in, opt, p, 1<<40)
	if err != nil {
		t.Fatal(err)
	}
	later := 0.0
	for _, r := range p.Runs {
		if r.Line == in.Lines[1].Code {
			later += float64(r.Length)
		}
	}
	for _, v := range p.LineValues {
		if v.Do == planner.StartLine && v.Line == in.Lines[1].Code {
			if !v.Can || float64(v.Gain) < -0.02*float64(p.Objective) || float64(v.Length) < -0.01*later {
				t.Errorf("starting %s: can %t, gains %.0f EUR and %.0f m, with %.0f m of its own planned later", v.Line, v.Can, float64(v.Gain), float64(v.Length), later)
			}
			return
		}
	}
	t.Error("no word on starting the line:", p.LineValues, p.Missing)
}
