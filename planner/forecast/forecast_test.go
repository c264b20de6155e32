package forecast

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"slices"
	"sync"
	"testing"
	"time"

	"feedline/inventory"
	"feedline/planner"
	"feedline/planner/benchplant"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// small is a small plant with a plan of limited work, made once.
var small = sync.OnceValues(func() (*planner.Input, *planner.Plan) {
	in := benchplant.Input(benchplant.S, 1)
	return in, planOf(in)
})

func planOf(in *planner.Input) *planner.Plan {
	opt := benchplant.Options()
	opt.Work = 400e6
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		panic(err)
	}
	return p
}

func near(t *testing.T, what string, got, want, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s: %.9g, want %.9g ± %.3g", what, got, want, abs)
	}
}

// TestNoSpreadIsThePlan takes every spread away, those of the book too: each quantile of each week must be what the plan's own lists say.
func TestNoSpreadIsThePlan(t *testing.T) {
	in := benchplant.Input(benchplant.S, 1)
	for i := range in.Deliveries {
		in.Deliveries[i].Spread = 0
	}
	for i := range in.Lanes {
		in.Lanes[i].LeadTime = inventory.LeadTime{Distribution: inventory.Fixed, Mean: in.Lanes[i].LeadTime.Mean}
	}
	p := planOf(in)
	r, err := Run(context.Background(), in, p, Options{Runs: 3, Spread: None})
	if err != nil {
		t.Fatal(err)
	}
	made, lines := make([]float64, len(r.Weeks)), make([]float64, len(r.Weeks))
	week := func(bucket int) int {
		for w := range r.Weeks {
			if r.Weeks[w].Span.Has(p.Buckets[bucket].Span.From) {
				return w
			}
		}
		t.Fatalf("bucket %d is in no week", bucket)
		return 0
	}
	for _, x := range p.Runs {
		made[week(x.Bucket)] += float64(x.Length)
	}
	for b, n := range p.LinesToRun {
		lines[week(b)] = max(lines[week(b)], float64(n))
	}
	margin := 0.0
	for w := range r.Weeks {
		for _, q := range []float64{r.Metres[w].P10, r.Metres[w].P50, r.Metres[w].P90, r.Metres[w].Mean, r.Metres[w].Plan} {
			near(t, "metres", q, made[w], 1e-6*(1+made[w]))
		}
		near(t, "lines", r.Lines[w].P90, lines[w], 0)
		margin += r.Margin[w].P50
		for _, b := range []Band{r.Margin[w], r.Cover[w], r.Feed[w], r.Late[w], r.Lines[w]} {
			for _, q := range []float64{b.P10, b.P50, b.P90, b.Mean} {
				near(t, fmt.Sprintf("week %d", w), q, b.Plan, 1e-9*(1+math.Abs(b.Plan)))
			}
		}
	}
	near(t, "margin", margin, float64(p.Margin.Net), 1e-6*math.Abs(float64(p.Margin.Net)))
	near(t, "standard error of the margin", r.TotalMargin.MeanSE, 0, 0)
	for _, o := range r.Orders {
		near(t, "chance that order "+o.Order+" is late", o.Late.P, float64(count(o.PlanLate)), 0)
	}
	shortInPlan := map[string]bool{}
	for _, s := range p.Shortages {
		shortInPlan[s.Grade] = true
	}
	for _, g := range r.Grades {
		near(t, "chance that grade "+g.Grade+" is short on committed supply", g.Committed[len(r.Weeks)-1].P, float64(count(shortInPlan[g.Grade])), 0)
	}
}

// TestSameForAnyWorkers holds whole results, but for times, against each other.
func TestSameForAnyWorkers(t *testing.T) {
	in, p := small()
	var got [3]*Result
	for i, workers := range []int{1, 2, 1} {
		r, err := Run(context.Background(), in, p, Options{Runs: 12, Seed: 5 + uint64(i/2), Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		r.Elapsed, r.Busy = 0, 0
		got[i] = r
	}
	if !reflect.DeepEqual(got[0], got[1]) {
		t.Error("one worker and two give different forecasts")
	}
	if reflect.DeepEqual(got[0].Margin, got[2].Margin) {
		t.Error("two seeds give the same forecast")
	}
}

// TestCancelKeepsWhatIsDone stops after the first samples that are told of.
func TestCancelKeepsWhatIsDone(t *testing.T) {
	in, p := small()
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	r, err := Run(ctx, in, p, Options{Runs: 400, Workers: 1, Progress: func(Progress) { stop() }})
	if err != nil {
		t.Fatal(err)
	}
	if r.Runs < 1 || r.Runs >= 400 || r.Asked != 400 || r.Stop.String() != "cancelled" {
		t.Errorf("%d of %d samples, %s", r.Runs, r.Asked, r.Stop)
	}
}

// TestPartsDecideNothing holds the optima of samples, found in a part of the program from another sample's, against those of cold solves.
func TestPartsDecideNothing(t *testing.T) {
	in, p := small()
	j, err := prepare(context.Background(), in, p, Options{Runs: 70, Seed: 2, Resolved: -1})
	if err != nil {
		t.Fatal(err)
	}
	if err := j.run(context.Background(), time.Now()); err != nil {
		t.Fatal(err)
	}
	if j.program.part == nil {
		t.Fatal("no part was made")
	}
	for _, i := range []int{30, 50, 65, 69} {
		cold := lp.Solve(context.Background(), j.programs(i)[0], solve.Options{})
		near(t, fmt.Sprintf("cost of sample %d", i), j.samples[i].outcome.Cost, cold.Objective, 1e-7*math.Abs(cold.Objective))
	}
}

// TestLoadWorthIsTheDifference holds what a load is worth in the only sample against the costs of two cold solves, and sees that finding it changes nothing else.
func TestLoadWorthIsTheDifference(t *testing.T) {
	in, p := small()
	j, err := prepare(context.Background(), in, p, Options{Runs: 1, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	if err := j.run(context.Background(), time.Now()); err != nil {
		t.Fatal(err)
	}
	r := j.summary()
	base := lp.Solve(context.Background(), j.programs(0)[0], solve.Options{}).Objective
	for i, l := range j.plant.loads {
		at := slices.IndexFunc(r.LoadWorth, func(w LoadWorth) bool { return w.Code == l.code })
		if at < 0 {
			continue
		}
		for share, got := range map[float64]float64{-1: -r.LoadWorth[at].Value, 1: r.LoadWorth[at].More} {
			w := j.plant.draw(2, 0)
			week, _ := j.plant.week(w.day[i])
			w.Arrivals[l.material][week] += share * l.kg
			other := lp.Solve(context.Background(), j.replan.ProgramIn(&w.World), solve.Options{}).Objective
			near(t, fmt.Sprintf("gain by %+.0f of load %s", share, l.code), got, base-other, 1e-6*math.Abs(base))
		}
	}
	without, err := Run(context.Background(), in, p, Options{Runs: 3, Seed: 2, Resolved: -1})
	if err != nil {
		t.Fatal(err)
	}
	with, err := Run(context.Background(), in, p, Options{Runs: 3, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(with.Margin, without.Margin) || !reflect.DeepEqual(with.Grades, without.Grades) || len(with.LoadWorth) == 0 || len(without.LoadWorth) > 0 {
		t.Error("finding what loads are worth changes the forecast")
	}
}
