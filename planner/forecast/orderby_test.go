package forecast

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

const manySamples = 40000

// Sampled reorder points against textbook answers whose use over the lead time is normal, so that z·σ is exact: R1 Taylor, Introduction to Management
// Science, ch. 16 (326.1 with z 1.65, 326.0075 with its full digits), R3 and R5 problems with answers computed (31.449; 92.147). R4: z 1.88 rounded, exactly
// 12,500·(4 + 1.88079). Allowed: three standard errors of the sample.
func TestReorderPointsNormal(t *testing.T) {
	for _, c := range []struct {
		name          string
		use           inventory.Replenishment
		service, want float64
	}{
		{"R1", inventory.Replenishment{Use: 30, UseSD: 5, Lead: 10}, 0.95, 326.0075},
		{"R3", inventory.Replenishment{Use: 5, Lead: 3, LeadSD: 2}, 0.95, 31.449},
		{"R4", inventory.Replenishment{Use: 12500, Lead: 4, LeadSD: 1}, 0.97, 12500 * (4 + 1.880794)},
		{"R5", inventory.Replenishment{Use: 12, UseSD: 5, Lead: 6}, 0.95, 92.147},
	} {
		lead := inventory.LeadTime{Distribution: inventory.Normal, Mean: c.use.Lead, SD: c.use.LeadSD}
		got, se := ReorderPoint(c.use, lead, c.service, manySamples, 1)
		near(t, c.name, got, c.want, 3*se)
		near(t, c.name+" by the formula", float64(c.use.ReorderPoint(inventory.ServiceFactor(c.service))), c.want, 1e-3*c.want)
	}
}

// Where use and lead time both vary (R2 of the same book: 30 ± 5 a day, 10 ± 3 days, printed 450.8; R7: 1,536.03) the use over the lead time is no
// longer normal. The sample is held against its exact distribution, ∫ Φ((x − d·l) ÷ (σ·√l)) dF(l), and the formula against the print.
func TestReorderPointsMixed(t *testing.T) {
	for _, c := range []struct {
		name    string
		use     inventory.Replenishment
		printed float64
	}{
		{"R2", inventory.Replenishment{Use: 30, UseSD: 5, Lead: 10, LeadSD: 3}, 450.8},
		{"R7", inventory.Replenishment{Use: 100, UseSD: 12, Lead: 12, LeadSD: 2}, 1536.03},
	} {
		lead := inventory.LeadTime{Distribution: inventory.Normal, Mean: c.use.Lead, SD: c.use.LeadSD}
		got, se := ReorderPoint(c.use, lead, 0.95, manySamples, 1)
		within := func(x float64) float64 {
			const steps = 4000
			sum := 0.0
			for i := range steps {
				l := lead.Quantile((float64(i) + 0.5) / steps)
				sum += distuv.UnitNormal.CDF((x-float64(c.use.Use)*l)/(float64(c.use.UseSD)*math.Sqrt(l)+1e-12)) / steps
			}
			return sum
		}
		low, high := 0.0, 1e4
		for range 60 {
			if mid := (low + high) / 2; within(mid) < 0.95 {
				low = mid
			} else {
				high = mid
			}
		}
		near(t, c.name, got, low, 3*se)
		near(t, c.name+" by the formula", float64(c.use.ReorderPoint(1.65)), c.printed, 0.003*c.printed)
	}
}

// With a steady use and a lognormal lead time of 44 ± 10.5 days (World Bank, Connecting to Compete 2023) the reorder point at 95 % is the use of
// 63.03 days, which the normal formula puts at 61.27.
func TestReorderPointLognormal(t *testing.T) {
	got, se := ReorderPoint(inventory.Replenishment{Use: 1}, inventory.LeadTime{Distribution: inventory.Lognormal, Mean: 44, SD: 10.5}, 0.95, manySamples, 3)
	near(t, "days of use", got, 63.03, 3*se)
	if 61.27 > got-3*se {
		t.Errorf("%.2f ± %.2f days can't be told from the normal formula's 61.27", got, se)
	}
	got, se = ReorderPoint(inventory.Replenishment{Use: 1}, inventory.LeadTime{Distribution: inventory.Gamma, Mean: 44, SD: 10.5}, 0.95, manySamples, 3)
	near(t, "days of use, gamma", got, distuv.Gamma{Alpha: 17.56, Beta: 1 / 2.506}.Quantile(0.95), 3*se+0.05)
}

// The higher the service level that is chosen, the earlier the day to order and the more the loads; without a choice it is the plant's.
func TestServiceLevelIsChosen(t *testing.T) {
	in, p := small()
	j, err := prepare(context.Background(), in, p, Options{Runs: 60, Seed: 4, Resolved: -1})
	if err != nil {
		t.Fatal(err)
	}
	if err := j.run(context.Background(), time.Now()); err != nil {
		t.Fatal(err)
	}
	at := func(service float64) *Result {
		j.opt.Service = service
		return j.summary()
	}
	if r := at(0); r.Service != float64(in.Plant.ServiceLevel) && (in.Plant.ServiceLevel != 0 || r.Service != usualService) {
		t.Errorf("service level %g without a choice, the plant's is %g", r.Service, float64(in.Plant.ServiceLevel))
	}
	low, high, moved := at(0.6), at(0.98), 0
	if low.Service != 0.6 || len(low.OrderBy) == 0 || len(low.OrderBy) != len(high.OrderBy) {
		t.Fatalf("service level %g, %d and %d order-by dates", low.Service, len(low.OrderBy), len(high.OrderBy))
	}
	for i, l := range low.OrderBy {
		h := high.OrderBy[i]
		switch {
		case l.Never:
			continue
		case h.Never || h.By > l.By || h.Loads < l.Loads:
			t.Errorf("%s %s: %v, %d loads at 60 %%, %v, %d loads at 98 %%", l.Grade, l.Lane, l.By, l.Loads, h.By, h.Loads)
		}
		moved += count(h.By < l.By)
	}
	if moved == 0 {
		t.Error("no day moved from 60 % to 98 %")
	}
}

// A lane that gives one load a week has its first ordered so early that the last of those that the shortage takes is not too late: by a week
// for each load before one that is needed in the week in which the grade runs short, and no later than all at once.
func TestOrdersAsTheLaneGivesThem(t *testing.T) {
	shared, p := small()
	own := *shared
	own.Lanes = slices.Clone(own.Lanes)
	in := &own
	j, err := prepare(context.Background(), in, p, Options{Runs: 40, Seed: 4, Resolved: -1})
	if err != nil {
		t.Fatal(err)
	}
	if err := j.run(context.Background(), time.Now()); err != nil {
		t.Fatal(err)
	}
	at := func(aWeek float64) []OrderBy {
		for s := range j.in.Lanes {
			j.in.Lanes[s].Load, j.in.Lanes[s].LoadsAWeek = 1000, aWeek
		}
		return j.summary().OrderBy
	}
	free, held := at(0), at(1)
	moved := 0
	for i, a := range free {
		b := held[i]
		if a.Never != b.Never || a.Loads != b.Loads || b.By > a.By {
			t.Errorf("%s on %s: %d loads by %v at once, %d by %v one a week", a.Grade, a.Lane, a.Loads, a.By, b.Loads, b.By)
		}
		if !a.Never && a.Loads > 6 { // more than one a week for the four weeks, so some week brings more than one
			moved++
			if b.By > a.By-7 {
				t.Errorf("%s on %s: %d loads by %v at once, by %v one a week", a.Grade, a.Lane, a.Loads, a.By, b.By)
			}
		}
	}
	for s := range j.in.Lanes {
		j.in.Lanes[s].OrderDays = [7]bool{time.Wednesday: true}
	}
	for i, b := range at(1) {
		if a := held[i]; !b.Never && (b.By.Weekday() != time.Wednesday || b.By > a.By || b.By <= a.By-7) {
			t.Errorf("%s on %s: by %v on any day, by %v, a %v, on Wednesdays", a.Grade, a.Lane, a.By, b.By, b.By.Weekday())
		}
	}
	if moved == 0 {
		t.Error("no grade takes so many loads that it matters")
	}
}

// What is owed by the plan's own need and have begins on the day that the plan tells for its first shortage, where that is told by weeks; and on
// the days of a made-up week in which 300 kg of 700 kg are served, the rest evenly: after three days, half of it after five.
func TestOwedFromTheDayThatPelletsRunOut(t *testing.T) {
	in, shared := small()
	own := *shared
	p := &own
	j, err := prepare(context.Background(), in, p, Options{Runs: 1, Seed: 4, Resolved: -1})
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for _, s := range p.Shortages {
		k, owed := slices.IndexFunc(in.Grades, func(g inventory.Grade) bool { return g.Code == s.Grade }), make([]float64, len(j.replan.Weeks))
		for _, r := range p.NeedHave {
			if b := p.Buckets[r.Bucket]; r.Grade == s.Grade {
				w := slices.IndexFunc(j.replan.Weeks, func(w calendar.Bucket) bool { return w.Span.Has(b.Span.From) })
				owed[w] = float64(r.Cumulative)
				if b.Weekly() && b.Span.From == s.First {
					told++
				}
			}
		}
		if got := j.owedAt(k, owed, 0); got != s.LastsTill && !slices.ContainsFunc(p.Buckets, func(b calendar.Bucket) bool { return !b.Weekly() && b.Span.From == s.First }) {
			t.Errorf("%s is owed from %v, the plan says %v", s.Grade, got, s.LastsTill)
		}
	}
	t.Logf("%d shortages told by the week", told)
	week := j.replan.Weeks[1].Span
	j.plan.NeedHave = nil
	for b, x := range p.Buckets {
		if x.Span.From == week.From {
			j.plan.NeedHave = []planner.NeedHave{{Grade: in.Grades[0].Code, Bucket: b, Need: 700}}
		}
	}
	for kg, day := range map[float64]calendar.Day{0: 3, 200: 5, 399: 6} {
		if got := j.owedAt(0, []float64{0, 400}, kg); got != week.From+day {
			t.Errorf("more than %g kg are owed from %v, want %v", kg, got, week.From+day)
		}
	}
}

// The published delay of vessels has the published share in time and mean of the late ones: 52.5 % and 5.19 days (Global Liner Performance, June
// 2024); the dwell at the port its mean of 2.89 days (PMSA, January 2024), told as days beyond it.
func TestPublishedDelays(t *testing.T) {
	const n = 20000
	inTime, late, dwell := 0.0, 0.0, 0.0
	for i := range n {
		u := (float64(i) + 0.5) / n
		if d := publishedDelay(false, u); d == 0 {
			inTime++
		} else {
			late += d
		}
		dwell += publishedDelay(true, u) / n
	}
	near(t, "share in time", inTime/n, 0.525, 1e-3)
	near(t, "mean of the late, days", late/(n-inTime), 5.19, 0.01)
	near(t, "mean dwell beyond the mean, days", dwell, 0, 0.01)
}
