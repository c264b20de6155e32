package planner_test

import (
	"context"
	"testing"

	"feedline/planner"
	"feedline/planner/audit"
)

// quick is brief with a quarter of the work.
func quick() planner.Options {
	opt := brief()
	opt.Work /= 4
	return opt
}

// replanned plans under a released plan and audits the changes too.
func replanned(t *testing.T, in *planner.Input, opt planner.Options, released *planner.Plan) *planner.Plan {
	t.Helper()
	opt.Released = released
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	if rep := audit.Against(in, p, released); !rep.OK() {
		t.Fatalf("the audit found the plan wrong:\n%s", rep)
	}
	return p
}

func changedDays(p *planner.Plan, of func(planner.Change) bool) int {
	n := 0
	for _, c := range p.Changes {
		if of(c) {
			n += c.Days
		}
	}
	return n
}

func anyChange(planner.Change) bool { return true }

// TestReleasedPlanIsKept releases a plan, then changes the demand and plans again: without a price of change the plan may go
// anywhere; with one near weeks stay as they were unless they must change; frozen days stay whatever it costs.
func TestReleasedPlanIsKept(t *testing.T) {
	in := workshop()
	released := audited(t, in, quick())
	in.Orders[0].Length, in.Orders[1].Due, in.Orders[2].Due = 6000, in.Orders[1].Due+6, in.Orders[2].Due-8

	free := replanned(t, in, quick(), released)
	if changedDays(free, anyChange) == 0 {
		t.Fatal("nothing changes with another demand: the test shows nothing")
	}
	in.Plant.ChangeCost = 5000
	dear := replanned(t, in, quick(), released)
	if a, b := changedDays(dear, anyChange), changedDays(free, anyChange); a >= b {
		t.Errorf("%d run days changed at 5000 each, %d at nothing", a, b)
	}
	in.Plant.ChangeCost, in.Plant.FrozenDays = 0, 5
	frozen := replanned(t, in, quick(), released)
	if n := changedDays(frozen, func(c planner.Change) bool { return c.Frozen }); n > 0 {
		t.Errorf("%d frozen run days changed: %+v", n, frozen.Changes)
	}
	if frozen.Frozen != monday+5 {
		t.Errorf("frozen before %v, want %v", frozen.Frozen, monday+5)
	}
	for _, u := range frozen.Lines {
		for _, w := range released.Lines {
			// A line that was promised without a die ran nothing that day: it may keep the one that it had.
			if u.Bucket < 5 && u.Line == w.Line && u.Bucket == w.Bucket && (u.On != w.On || u.On && w.Mounted != "" && u.Mounted != w.Mounted) {
				t.Errorf("line %s, day %d: on %v with %s, was promised on %v with %s", u.Line, u.Bucket, u.On, u.Mounted, w.On, w.Mounted)
			}
		}
	}
}

// TestForbiddingSomethingElseKeepsFrozenDays: a pin that forbids what was not promised is no reason to break a frozen day.
func TestForbiddingSomethingElseKeepsFrozenDays(t *testing.T) {
	in := workshop()
	released := audited(t, in, quick())
	in.Orders[0].Length, in.Orders[1].Due, in.Orders[2].Due = 6000, in.Orders[1].Due+6, in.Orders[2].Due-8
	promised := map[[2]string]bool{}
	for _, r := range released.Runs {
		promised[[2]string{r.Line, r.Profile}] = promised[[2]string{r.Line, r.Profile}] || r.Bucket < 5
	}
	for _, u := range released.Lines {
		promised[[2]string{u.Line, u.Mounted}] = promised[[2]string{u.Line, u.Mounted}] || u.Bucket < 5
	}
	pinned := map[string]bool{}
	for _, f := range in.Fits {
		if !promised[[2]string{f.Line, f.Profile}] && !pinned[f.Line] {
			pinned[f.Line] = true
			in.Pins = append(in.Pins, planner.Pin{Code: "NOT-" + f.Line, Kind: planner.PinForbid, Line: f.Line, Profile: f.Profile, From: monday, To: monday + 5})
		}
	}
	near := func(c planner.Change) bool { return c.Bucket < 5 && pinned[c.Line] }
	if free := replanned(t, in, quick(), released); changedDays(free, near) == 0 {
		t.Fatalf("nothing changes within five days, with pins %v: the test shows nothing", in.Pins)
	}
	in.Plant.FrozenDays = 5
	if p := replanned(t, in, quick(), released); changedDays(p, near) > 0 {
		t.Errorf("frozen days are broken for what was never promised: %+v", p.Changes)
	}
}

// TestReleasedPlanOfLastWeek plans a week on: the days of the new plan lie in the released one's weeks.
func TestReleasedPlanOfLastWeek(t *testing.T) {
	in := workshop()
	released := audited(t, in, quick())
	in.Plant.ChangeCost, in.Plant.FrozenDays = 300, 7
	opt := quick()
	opt.Start += 7
	for i := range in.Deliveries {
		in.Deliveries[i].ETA += 7
	}
	replanned(t, in, opt, released)
}

// TestFrozenButDown shows that a promise which can't be kept hinders no plan: the line is down.
func TestFrozenButDown(t *testing.T) {
	in := workshop()
	released := audited(t, in, quick())
	in.Plant.FrozenDays = 4
	down(in, "A")
	p := replanned(t, in, quick(), released)
	if n := changedDays(p, func(c planner.Change) bool { return c.Line == "A" && c.Frozen && c.Forced }); n == 0 {
		t.Errorf("line A is down and was promised to run: %+v", p.Changes)
	}
}
