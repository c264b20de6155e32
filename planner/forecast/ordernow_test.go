package forecast

import (
	"context"
	"math"
	"os"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/peer"
)

// TestOrderNow makes the two-stage plan of a plant, holds it against CBC's answer to the same extensive form, and the order of its values: no
// decision is better than with foresight, none of the plan's or the mean's better than the program's own, within the gap.
func TestOrderNow(t *testing.T) {
	in, p := small()
	j, err := prepare(context.Background(), in, p, Options{Runs: 1, Seed: 4})
	if err != nil {
		t.Fatal(err)
	}
	const scenarios = 3
	r, err := j.orderNow(context.Background(), scenarios)
	if err != nil {
		t.Fatal(err)
	}
	slack := 2 * scenarioGap * math.Abs(r.Cost)
	if r.EVPI < -slack || r.VSS < -slack || r.PlanCost < r.Cost-slack || r.Bound > r.Cost+slack {
		t.Errorf("cost %.1f, bound %.1f; with foresight %.1f, ordering for the mean %.1f, as planned %.1f", r.Cost, r.Bound, r.Foresight, r.MeanCost, r.PlanCost)
	}
	near(t, "value of the stochastic solution", r.VSS, r.MeanCost-r.Cost, 1e-6)
	near(t, "value of perfect information", r.EVPI, r.Cost-r.Foresight, 1e-6)
	for _, o := range r.Orders {
		if o.Day < p.Start || o.Day >= p.Start+7*nearWeeks {
			t.Errorf("an order on %s, outside of the near weeks from %s", o.Day, p.Start)
		}
	}
	cbc, err := peer.Find("cbc")
	if err != nil {
		if os.Getenv("FEEDLINE_CI") == "1" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	program, _ := j.orderProgram(scenarios)
	m, _ := program.Extensive()
	theirs, err := cbc.Solve(context.Background(), m, peer.Options{Time: 3 * time.Minute, Gap: scenarioGap})
	if err != nil {
		t.Fatal(err)
	}
	if theirs.Objective < r.Bound-1e-6*math.Abs(r.Bound) || theirs.Optimal && r.Cost > theirs.Objective+slack {
		t.Errorf("cost %.2f, bound %.2f, CBC's %.2f", r.Cost, r.Bound, theirs.Objective)
	}
}

// TestPlanWithItsOwnLoads orders in the plan's own world what the plan orders, loads coming when they do in the plan: that costs what the plan costs.
func TestPlanWithItsOwnLoads(t *testing.T) {
	in, p := small()
	r, err := planner.NewReplan(context.Background(), in, p, planner.ReplanOptions{})
	if err != nil {
		t.Fatal(err)
	}
	world := r.Planned()
	world.Arrivals = r.Committed()
	arrives := func(lane int, day calendar.Day) (calendar.Day, float64) {
		for _, b := range p.Purchases {
			if b.Lane == in.Lanes[lane].Code && p.Buckets[b.Bucket].Span.From.Monday() == day.Monday() {
				return b.Arrives, 1
			}
		}
		return p.Start + 10000, 1
	}
	m, orders := r.OrderProgram(nearWeeks, world, arrives)
	loads, bought := 0.0, 0
	for _, o := range orders {
		m.Lower[o.Col], m.Upper[o.Col] = o.Plan, o.Plan
		loads += o.Plan
		if o.Placed >= 0 {
			m.Lower[o.Placed], m.Upper[o.Placed] = float64(count(o.Plan > 0)), float64(count(o.Plan > 0))
		}
	}
	for _, b := range p.Purchases {
		bought += b.Loads
	}
	near(t, "loads", loads, float64(bought), 0)
	near(t, "cost", lp.Solve(context.Background(), m, solve.Options{}).Objective, r.Plan.Cost, 1e-7*math.Abs(r.Plan.Cost))
}

// TestEstimatesAreSpreads gives one material's yield and one line's availability, rate and quality an interval: what is drawn scatters as it says, all else as usual.
func TestEstimatesAreSpreads(t *testing.T) {
	in, p := small()
	with := *p
	line, material, a, b := in.Lines[0].Code, in.Materials[0].Code, in.Profiles[0].Code, in.Profiles[1].Code
	with.Estimates = []planner.Estimate{
		{Kind: "yield", A: "CR", B: material, Value: 0.98, Low: 0.98 - 0.02, High: 1, Used: true},
		{Kind: "yield", A: "PEL", B: material, Value: 0.95, Low: 0.95 - 0.03, High: 0.95 + 0.03, Used: true},
		{Kind: "availability", A: line, B: a, Value: 0.9, Low: 0.891, High: 0.909, Used: true},
		{Kind: "rate", A: line, B: a, Value: 400, Low: 388, High: 412, Used: true},
		{Kind: "quality", A: line, B: a, Value: 0.97, Low: 0.9506, High: 0.9894, Used: true},
		{Kind: "rate", A: line, B: b, Value: 300, Low: 297, High: 303, Used: true},
		{Kind: "yield", A: "PEL", B: in.Materials[1].Code, Value: 0.95, Low: 0.5, High: 1, Used: false},
	}
	j, err := prepare(context.Background(), in, &with, Options{Runs: 1, Spread: Spread{UptimeWeek: -1}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "spread of the yield", j.plant.yield[0], math.Hypot(0.02/0.98, 0.03/0.95)/normal95, 1e-9)
	near(t, "spread of the uptime", j.plant.uptime[0], (math.Sqrt(0.01*0.01+0.03*0.03+0.02*0.02)+0.01)/2/normal95, 1e-9)
	near(t, "spread of a yield not planned with", j.plant.yield[1], usual.Yield, 0)
	near(t, "spreads that are estimates'", float64(j.plant.known), 2, 0)
	const n = 4000
	yields, uptimes := make([]float64, n), make([]float64, n)
	for i := range n {
		w := j.plant.draw(1, i)
		yields[i], uptimes[i] = w.Yield[0], w.Uptime[0][0]
	}
	cut := 0.9733 // variance of a normal cut at three deviations
	near(t, "drawn yields", stat.StdDev(yields, nil), j.plant.yield[0]*math.Sqrt(cut), 3*j.plant.yield[0]/math.Sqrt(2*n))
	near(t, "drawn uptimes", stat.StdDev(uptimes, nil), j.plant.uptime[0]*math.Sqrt(cut), 3*j.plant.uptime[0]/math.Sqrt(2*n))
}
