package planner_test

import (
	"context"
	"math"
	"testing"

	"feedline/lines"
	"feedline/planner"
	"feedline/planner/audit"
	"feedline/planner/benchplant"
)

// tinyPlant is a bench plant that plans in a moment.
var tinyPlant = benchplant.Size{Name: "tiny", Lines: 2, Profiles: 4, Weeks: 6}

// TestFoldedProgram compares the program that whole numbers are folded into with the whole model that holds them.
func TestFoldedProgram(t *testing.T) {
	for seed := range uint64(3) {
		in, opt := benchplant.Input(tinyPlant, seed), benchplant.Options()
		opt.Work, opt.Brief = 30e6, true
		p, err := planner.Make(context.Background(), in, opt)
		if err != nil {
			t.Fatal(err)
		}
		if rep := audit.Plan(in, p); !rep.OK() {
			t.Errorf("seed %d: the audit found the plan wrong:\n%s", seed, rep)
		}
		folded, whole, ok := planner.HoldsAsTheWhole(in, opt, p)
		if !ok || math.Abs(folded-whole) > 1e-7*math.Abs(whole) {
			t.Errorf("seed %d: folded %v, whole %v, solved %v", seed, folded, whole, ok)
		}
	}
}

// TestWarm makes plans from a plan with its bases, without them and with damaged ones: the bound is the same, and it takes less work with.
func TestWarm(t *testing.T) {
	in, opt := benchplant.Input(tinyPlant, 1), benchplant.Options()
	opt.Work, opt.Brief = 30e6, true
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	if p.Warm == "" {
		t.Fatal("the plan has no bases")
	}
	again := func(warm string) *planner.Plan {
		from := *p
		from.Warm = warm
		o := opt
		o.From, o.Work = &from, 1
		q, err := planner.Make(context.Background(), in, o)
		if err != nil {
			t.Fatal(err)
		}
		return q
	}
	with := again(p.Warm)
	for _, text := range []string{"", "not a basis", p.Warm[:len(p.Warm)/2], "/////////w==" + p.Warm} {
		q := again(text)
		if math.Abs(float64(q.Bound-with.Bound)) > 1e-6*math.Abs(float64(with.Bound)) {
			t.Errorf("bases %.20q: bound %v, with the plan's own %v", text, q.Bound, with.Bound)
		}
		if math.Abs(float64(q.Objective-with.Objective)) > 1e-6*math.Abs(float64(with.Objective)) {
			t.Errorf("bases %.20q: cost %v, with the plan's own %v", text, q.Objective, with.Objective)
		}
	}
}

// TestWarmAfterLoss plans again with a line gone and with an order more, from bases that know other columns and rows: the bound is the one that a
// plan from nothing proves.
func TestWarmAfterLoss(t *testing.T) {
	in, opt := benchplant.Input(tinyPlant, 2), benchplant.Options()
	opt.Work, opt.Brief = 30e6, true
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(in *planner.Input){
		"line down": func(in *planner.Input) {
			in.Lines[0].State, in.Lines[0].DownUntil, in.Lines[0].Mounted = lines.Down, benchplant.Start+14, ""
		},
		"order more": func(in *planner.Input) {
			o := in.Orders[0]
			o.Code, o.Due, o.Priority = "NEW", o.Due+9, 1+o.Priority%3
			in.Orders = append(in.Orders, o)
		},
		"deliveries lost": func(in *planner.Input) { in.Deliveries = nil },
	} {
		in := benchplant.Input(tinyPlant, 2)
		change(in)
		o := opt
		o.Work = 1
		cold, err := planner.Make(context.Background(), in, o)
		if err != nil {
			t.Fatal(err)
		}
		o.From = p
		warm, err := planner.Make(context.Background(), in, o)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(warm.Bound-cold.Bound)) > 1e-6*math.Abs(float64(cold.Bound)) {
			t.Errorf("%s: bound %v from the plan's bases, %v from nothing", name, warm.Bound, cold.Bound)
		}
		if rep := audit.Plan(in, warm); !rep.OK() {
			t.Errorf("%s: the audit found the plan wrong:\n%s", name, rep)
		}
	}
}
