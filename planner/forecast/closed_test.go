package forecast

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// TestShortByClosedForm plans a full line that eats 16,800 m × 0.5 kg ÷ 0.95 of ingot a week and has three weeks of it, with one delivery after:
// ETA day 24, ± 5 days normal, refused with probability 0.1. Short at the end of the fourth week (day 28) is who waits for it then: it comes on day
// 24 + ⌈5z⌉, that is after day 27 for z > 0.6; at the end of the fifth after day 34, z > 2.
func TestShortByClosedForm(t *testing.T) {
	in, p := twoLines(16800)
	in.Lines, in.Fits = in.Lines[:1], in.Fits[:1]
	week := 16800 * 0.5 / 0.95
	in.Lots[0].Mass = quantity.Mass(3 * week)
	in.Deliveries = []inventory.Delivery{{Code: "D", Material: "IN", Mass: 60000, ETA: p.Start + 24, Spread: 5, Status: inventory.OnRoad}}
	in.Lanes = []inventory.Lane{{Code: "LA", Material: "IN", Mode: inventory.Trailer, Load: 20000, Price: 1, From: p.Start + 300, To: p.Start + 301,
		LeadTime: inventory.LeadTime{Distribution: inventory.Lognormal, Mean: 14, SD: 4}}}
	in.Suppliers = []inventory.Supplier{{Code: "S"}}
	in.Lanes[0].Supplier = "S"
	plan, err := planner.Make(context.Background(), in, planner.Options{Start: p.Start, Now: p.Start.UTC().Add(time.Hour), Work: 20e6})
	if err != nil {
		t.Fatal(err)
	}
	spread := None
	spread.Rejection = 0.1
	r, err := Run(context.Background(), in, plan, Options{Runs: 1000, Seed: 3, Spread: spread})
	if err != nil {
		t.Fatal(err)
	}
	beyond := func(z float64) float64 { return 0.1 + 0.9*(1-distuv.UnitNormal.CDF(z)) }
	g := r.Grades[0]
	for w, want := range map[int]float64{2: 0, 3: beyond(0.6), 4: beyond(2), 5: beyond(17.0 / 5)} {
		near(t, fmt.Sprintf("short at the end of week %d", w+1), g.Short[w].P, want, 3*math.Sqrt(want*(1-want)/1000))
		near(t, fmt.Sprintf("standard error of week %d", w+1), g.Short[w].SE, math.Sqrt(want*(1-want)/1000), 0.003)
	}
	// The load is the only thing drawn: it must lead what matters, and later or refused must mean less.
	if d := r.Drivers[0]; d.Name != "D" || d.Share < 0.9 || d.Margin >= 0 {
		t.Errorf("what matters most is %+v, want the delivery", d)
	}
	// Who runs short does so in the week from day 21; the load must be ordered the lead time's upper quantile before.
	o := r.OrderBy[0]
	if o.Never || o.By > p.Start+21 || o.By < p.Start+21-35 {
		t.Errorf("order by %v (day %d), want within five weeks before day 21", o.By, o.By-p.Start)
	}
}

// TestCalibration holds one forecast's quantiles against as many histories drawn with another seed: of the metres and margins of all weeks that
// vary nine in ten must stay below P90, give or take 3 %, and one in ten below P10.
func TestCalibration(t *testing.T) {
	in, p := small()
	run := func(seed uint64) (*job, *Result) {
		j, err := prepare(context.Background(), in, p, Options{Runs: 250, Seed: seed})
		if err != nil {
			t.Fatal(err)
		}
		if err := j.run(context.Background(), time.Now()); err != nil {
			t.Fatal(err)
		}
		r := j.summary()
		if r.Failed > 0 || r.Cold > 0 || r.Runs != 250 {
			t.Errorf("%d of 250 samples, %d without a trusted program, %d programs solved without a start", r.Runs, r.Failed, r.Cold)
		}
		return j, r
	}
	_, r := run(11)
	histories, _ := run(12)
	below10, below90, n := 0, 0, 0
	for i := range histories.samples {
		s := &histories.samples[i]
		if !s.solved {
			continue
		}
		for w := range r.Weeks {
			for _, c := range []struct {
				b Band
				x float64
			}{{r.Metres[w], s.outcome.Metres[w]}, {r.Margin[w], s.outcome.Margin(w)}} {
				if c.b.P90-c.b.P10 < 1e-6*math.Abs(c.b.P90) {
					continue
				}
				n++
				below10 += count(c.x <= c.b.P10)
				below90 += count(c.x <= c.b.P90)
			}
		}
	}
	near(t, "share of histories below P90", float64(below90)/float64(n), 0.9, 0.03)
	near(t, "share of histories below P10", float64(below10)/float64(n), 0.1, 0.03)
	t.Logf("%.3f below P10, %.3f below P90 of %d figures", float64(below10)/float64(n), float64(below90)/float64(n), n)
}
