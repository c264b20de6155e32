package forecast

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

// OrderBy is the last day to order on a lane so that a load arrives, with the service level's probability, before a grade runs short on
// committed supply: the day it runs short is the samples', the lead time of the new load is drawn by itself, without their shocks.
type OrderBy struct {
	Grade, Lane string
	By          calendar.Day // on which the lane takes orders; without one in time the day that it would have to be
	SE          float64      // standard error of By, days
	Short       Chance       // of the grade running short at all within the horizon, if nothing more is ordered
	Formula     calendar.Day // by the plan's own first short day and the lead time's quantile at the plant's service level, as the plan tells it; 0 if the plan is not short
	Loads       int          // whole loads that cover, with the service level's probability, what is owed four weeks after the grade runs short
	TooLate     bool         // By lies before the day on which the plan was made, or the lane takes no order in time
	Never       bool         // the grade runs short in too few samples for any day: 1 − P < service level
}

// orderBys works out the order-by dates of each grade and lane that can feed it.
func (j *job) orderBys(r *Result, got []*sample) {
	if j.supply == nil {
		return
	}
	service := cmp.Or(j.opt.Service, float64(j.in.Plant.ServiceLevel), usualService)
	r.Service = service
	formula := map[[2]string]calendar.Day{}
	for _, o := range j.plan.OrderBy {
		formula[[2]string{o.Grade, o.Lane}] = o.By
	}
	for k, g := range j.in.Grades {
		for s, lane := range j.in.Lanes {
			yield := j.replan.PelletYield(k, lane.Material)
			if yield <= 0 || lane.Load <= 0 || j.replan.MostOf(k, lane.Material) <= 0 {
				continue
			}
			o := j.orderBy(k, s, yield, service, got)
			o.Formula = formula[[2]string{g.Code, lane.Code}]
			r.OrderBy = append(r.OrderBy, o)
		}
	}
}

// usualService is the service level of a plant that gives none.
const usualService = 0.95

// leadDeviate marks the stream that lead times of order-by dates are drawn from, apart from those of the samples.
const leadDeviate = 0x6f72646572

func (j *job) orderBy(k, s int, yield, service float64, got []*sample) OrderBy {
	lane := j.in.Lanes[s]
	o := OrderBy{Grade: j.in.Grades[k].Code, Lane: lane.Code}
	slack, owed := make([]float64, len(got)), make([]float64, 0, len(got))
	rng := rand.New(rand.NewPCG(j.opt.Seed, leadDeviate+uint64(s)))
	short, pellets := 0, float64(lane.Load)*yield
	for i, x := range got {
		z := rng.NormFloat64()
		lead := lane.LeadTime.Quantile(distuv.UnitNormal.CDF(z))
		first, kg, ok := j.runsOut(x.without[k])
		slack[i] = math.Inf(1)
		if ok {
			short++
			part := min(1, j.replan.MostOf(k, lane.Material)*j.needFrom(k, first)/kg)
			slack[i] = float64(j.firstOrder(k, s, x.without[k], kg, pellets/part)) - lead
			owed = append(owed, part*kg)
		}
	}
	o.Short = chance(short, len(got))
	slices.Sort(slack)
	at := quantileDown(slack, 1-service)
	if math.IsInf(at, 1) {
		o.Never = true
		return o
	}
	o.By = calendar.Day(math.Floor(at))
	can := true
	if d, ok := lane.LastOrder(o.By); ok {
		o.By = d
	} else {
		can = false
	}
	o.TooLate = o.By < j.plan.MadeOn(j.in) || !can
	d := math.Sqrt(service * (1 - service) / float64(len(got)))
	if high := quantileDown(slack, min(1, 1-service+d)); !math.IsInf(high, 1) {
		o.SE = (high - quantileDown(slack, max(0, 1-service-d))) / 2
	} else {
		o.SE = at - quantileDown(slack, max(0, 1-service-d))
	}
	slices.Sort(owed)
	o.Loads = max(1, lane.MinLoads, int(math.Ceil(quantile(owed, service)/pellets)))
	return o
}

// quantileDown is the order statistic at or below the quantile p of sorted x, which may hold infinities.
func quantileDown(x []float64, p float64) float64 {
	return x[min(len(x)-1, int(math.Floor(p*float64(len(x)))))]
}

// firstOrder is the day by which the first of the loads that cover kg is there, so that those after it, as the lane gives them, come before
// what is owed outgrows those before them. each is what is owed that a load makes up for.
func (j *job) firstOrder(k, s int, owed []float64, kg, each float64) calendar.Day {
	atOnce, weeks := j.replan.Pace(s)
	first := j.owedAt(k, owed, 0)
	for n := atOnce; atOnce > 0 && float64(n)*each < kg; n += atOnce {
		first = min(first, j.owedAt(k, owed, float64(n)*each)-calendar.Day(7*weeks*(n/atOnce)))
	}
	return first
}

// owedAt is the day on which more than so much is owed, and enough to count: in a week what the grade has is used first, the part of the plan's
// own need that is served, and what is short then grows evenly. Without the plan's need it is the week's first day.
func (j *job) owedAt(k int, owed []float64, kg float64) calendar.Day {
	before := 0.0
	for t, x := range owed {
		if x > kg && x >= planner.ShortFrom {
			span := j.replan.Weeks[t].Span
			served := 0.0
			if need := j.needIn(k, span); need > 0 {
				served = min(max(1-(x-before)/need, 0), 1)
			}
			share := served + (1-served)*max(0, kg-before)/(x-before)
			return min(span.From+calendar.Day(math.Floor(share*float64(span.Days()))), span.To-1)
		}
		before = x
	}
	return j.replan.Weeks[len(owed)-1].Span.To
}

// needIn is the pellets of grade k that the plan needs in the buckets that begin in span, kilograms.
func (j *job) needIn(k int, span calendar.Span) (kg float64) {
	for _, r := range j.plan.NeedHave {
		if r.Grade == j.in.Grades[k].Code && span.Has(j.plan.Buckets[r.Bucket].Span.From) {
			kg += float64(r.Need)
		}
	}
	return kg
}

// needFrom is the pellets of grade k that the plan needs in the four weeks from day, kilograms; +Inf where it does not know.
func (j *job) needFrom(k int, day calendar.Day) float64 {
	kg := math.Inf(1)
	for _, r := range j.plan.NeedHave {
		if from := j.plan.Buckets[r.Bucket].Span.From; r.Grade == j.in.Grades[k].Code && day <= from && from < day+28 {
			if math.IsInf(kg, 1) {
				kg = 0
			}
			kg += float64(r.Need)
		}
	}
	return kg
}

// runsOut is the first day of the first short week, and the pellets owed four weeks after.
func (j *job) runsOut(owed []float64) (day calendar.Day, kg float64, ok bool) {
	weeks := j.replan.Weeks
	t := slices.IndexFunc(owed, func(x float64) bool { return x >= planner.ShortFrom })
	if t < 0 {
		return 0, 0, false
	}
	for u := t; u < len(owed) && weeks[u].Span.From < weeks[t].Span.From+28; u++ {
		kg = max(kg, owed[u])
	}
	return weeks[t].Span.From, kg, true
}

// ReorderPoint is the stock at which to order so that it lasts until the load comes with probability service, by n samples of daily use and
// lead time (whole days are not asked for), with its standard error: use over a lead time of L days has mean L·Use and variance
// L·UseSD², and is taken as normal. Compare inventory.Replenishment.ReorderPoint, which takes all of it as normal.
func ReorderPoint(use inventory.Replenishment, lead inventory.LeadTime, service float64, n int, seed uint64) (kg, se float64) {
	rng := rand.New(rand.NewPCG(seed, leadDeviate))
	x := make([]float64, n)
	for i := range x {
		l := lead.Quantile(distuv.UnitNormal.CDF(rng.NormFloat64()))
		x[i] = float64(use.Use)*l + math.Sqrt(l)*float64(use.UseSD)*rng.NormFloat64()
	}
	slices.Sort(x)
	d := math.Sqrt(service * (1 - service) / float64(n))
	return quantile(x, service), (quantile(x, min(1, service+d)) - quantile(x, max(0, service-d))) / 2
}
