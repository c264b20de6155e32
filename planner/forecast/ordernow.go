package forecast

import (
	"context"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/model"
	"feedline/planner/solve"
)

// OrderNow is the plant's own two-stage plan: which loads to order in the near weeks before it is known how things turn out, when all that
// comes later, the later loads too, can be adapted. Costs are expected ones of the planning model over the scenarios, in money.
type OrderNow struct {
	Scenarios int
	Weeks     int // near weeks
	Orders    []NearOrder
	Cost      float64 // of ordering so and adapting later
	Bound     float64 // proven for Cost
	PlanCost  float64 // of ordering as the plan does and adapting later
	MeanCost  float64 // of ordering what would be best if all came as its mean, and adapting later
	Foresight float64 // of ordering with the scenario known
	VSS       float64 // value of the stochastic solution: MeanCost − Cost
	EVPI      float64 // expected value of perfect information: Cost − Foresight
	Stop      solve.Stop
	Rows      int // of the extensive form
	Columns   int
}

// NearOrder is the loads to order on a lane on a day.
type NearOrder struct {
	Lane       string
	Day        calendar.Day
	Loads      int
	Plan, Mean int // loads that the plan orders in that week; that would be best for the mean
}

const (
	// nearWeeks are the weeks whose orders are decided now.
	nearWeeks = 4
	// scenarioStream marks the stream of scenarios, apart from those of the samples.
	scenarioStream = 0x7363656e6172696f
	// scenarioWork limits each of the two-stage plan's solves, in the solver's units.
	scenarioWork = 3_000_000_000
	// scenarioGap is the relative gap at which they end: of the whole cost, most of which no order changes.
	scenarioGap = 1e-4
)

// orderProgram is the two-stage program over so many scenarios of equal probability, drawn as the samples are but from a stream of their own, and the
// orders of the near weeks; the plan's own are to be valued too.
func (j *job) orderProgram(scenarios int) (*TwoStage, []planner.LoadOrder) {
	p := new(TwoStage)
	var orders, near []planner.LoadOrder
	for i := range scenarios {
		drawn := j.plant.draw(j.opt.Seed^scenarioStream, i)
		world := drawn.World
		world.Arrivals = drawn.committed
		m, list := j.replan.OrderProgram(nearWeeks, &world, j.arrivals(drawn, i))
		p.Scenarios = append(p.Scenarios, Scenario{1 / float64(scenarios), m})
		orders = list
	}
	var plan []float64
	for _, o := range orders {
		if o.Week >= nearWeeks {
			continue
		}
		near, plan = append(near, o), append(plan, o.Plan)
		p.First = append(p.First, o.Col)
		if o.Placed >= 0 {
			p.First, plan = append(p.First, o.Placed), append(plan, float64(count(o.Plan > 0)))
		}
	}
	p.Also = [][]float64{plan}
	return p, near
}

// orderNow works the two-stage plan out.
func (j *job) orderNow(ctx context.Context, scenarios int) (*OrderNow, error) {
	p, near := j.orderProgram(scenarios)
	w, err := p.Solve(ctx, solve.Options{Work: scenarioWork, Gap: scenarioGap, Workers: j.opt.Workers})
	if err != nil {
		return nil, err
	}
	r := &OrderNow{Scenarios: scenarios, Weeks: nearWeeks, Cost: w.Value, Bound: w.Bound, PlanCost: w.AlsoValue[0], MeanCost: w.MeanValue, Foresight: w.Foresight,
		VSS: w.VSS, EVPI: w.EVPI, Stop: w.Stop, Rows: w.Rows, Columns: w.Columns}
	at := map[model.Var]int{}
	for k, v := range p.First {
		at[v] = k
	}
	for _, o := range near {
		n := NearOrder{Lane: j.in.Lanes[o.Lane].Code, Day: o.Day, Loads: whole(w.First[at[o.Col]]), Plan: whole(o.Plan), Mean: whole(w.MeanFirst[at[o.Col]])}
		if n.Loads > 0 || n.Plan > 0 || n.Mean > 0 {
			r.Orders = append(r.Orders, n)
		}
	}
	return r, nil
}

func whole(x float64) int { return int(x + 0.5) }

// arrivals draws when new loads come in a scenario: each load's own part from a stream by scenario and lane, one a day of ordering. The
// share refused is an expected one, for a scenario stands for many.
func (j *job) arrivals(w *world, scenario int) planner.Arrival {
	streams := make([]*rand.Rand, len(j.in.Lanes))
	for s := range streams {
		streams[s] = rand.New(rand.NewPCG(j.opt.Seed^scenarioStream, uint64(scenario)<<16+uint64(s)))
	}
	return func(lane int, day calendar.Day) (calendar.Day, float64) {
		l := j.in.Lanes[lane]
		z := j.plant.deviate(w, lane, l.Import, streams[lane].NormFloat64())
		return inventory.LoadArrival(l, day, distuv.UnitNormal.CDF(z)), 1 - j.plant.spread.Rejection
	}
}
