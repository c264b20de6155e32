package forecast

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/solve"
)

// summary sums the solved samples up.
func (j *job) summary() *Result {
	r := &Result{Plant: j.plan.Plant, Currency: j.plan.Currency, Made: j.plan.Made, Start: j.plan.Start, Weeks: j.replan.Weeks, Seed: j.opt.Seed,
		Asked: j.opt.Runs, Stop: solve.Optimal, Spread: j.opt.Spread, Estimated: j.plant.known}
	var got []*sample
	for i := range j.samples {
		s := &j.samples[i]
		switch {
		case s.solved:
			got = append(got, s)
			r.Busy += s.elapsed
			r.Cold += s.cold
			r.Iterations += s.iterations
			r.Work += s.work
		case s.failed:
			r.Failed++
		default:
			r.Stop = solve.Cancelled
		}
	}
	r.Runs = len(got)
	j.series(r, got)
	j.grades(r, got)
	j.driversOf(r, got)
	j.orders(r, got)
	j.loadDays(r)
	j.loadWorths(r, got)
	j.orderBys(r, got)
	return r
}

// series fills what is told week by week.
func (j *job) series(r *Result, got []*sample) {
	weeks := len(j.replan.Weeks)
	x := make([]float64, len(got))
	by := func(value func(o *planner.Outcome, t int) float64) Series {
		list := make(Series, weeks)
		for t := range list {
			for i, s := range got {
				x[i] = value(s.outcome, t)
			}
			list[t] = bandOf(x, value(j.replan.Plan, t))
		}
		return list
	}
	r.Metres = by(func(o *planner.Outcome, t int) float64 { return o.Metres[t] })
	r.Margin = by(func(o *planner.Outcome, t int) float64 { return o.Margin(t) })
	r.Lines = by(func(o *planner.Outcome, t int) float64 { return o.Lines[t] })
	r.Late = by(func(o *planner.Outcome, t int) float64 { return o.Late[t] })
	r.Feed = by(func(o *planner.Outcome, t int) float64 { return o.FeedKg[t] / kgPerTonne })
	r.Cover = by(j.cover)
	total := func(value func(o *planner.Outcome, t int) float64) Band {
		sum := func(o *planner.Outcome) float64 {
			v := 0.0
			for t := range weeks {
				v += value(o, t)
			}
			return v
		}
		for i, s := range got {
			x[i] = sum(s.outcome)
		}
		return bandOf(x, sum(j.replan.Plan))
	}
	r.TotalMetres = total(func(o *planner.Outcome, t int) float64 { return o.Metres[t] })
	r.TotalMargin = total(func(o *planner.Outcome, t int) float64 { return o.Margin(t) })
}

const kgPerTonne = 1000.0

// cover walks the feed at the end of week t through the use after it, in days; to the end of the horizon at most.
func (j *job) cover(o *planner.Outcome, t int) float64 {
	left, days := o.FeedKg[t], 0.0
	for u := t + 1; u < len(o.Used); u++ {
		length := float64(j.replan.Weeks[u].Span.Days())
		if o.Used[u] > left {
			return days + length*left/o.Used[u]
		}
		left -= o.Used[u]
		days += length
	}
	return days
}

// grades fills the risk that each grade runs short.
func (j *job) grades(r *Result, got []*sample) {
	if j.supply == nil {
		return
	}
	weeks := len(j.replan.Weeks)
	for k, g := range j.in.Grades {
		risk := GradeRisk{Grade: g.Code, Tonnes: make([]float64, weeks)}
		worst := make([]float64, len(got))
		short, by, committed := make([]int, weeks), make([]int, weeks), make([]int, weeks)
		for i, s := range got {
			was, wasCommitted := false, false
			for t := range weeks {
				kg := s.with[k][t]
				risk.Tonnes[t] += kg / kgPerTonne / float64(len(got))
				worst[i] = max(worst[i], kg/kgPerTonne)
				was = was || kg >= planner.ShortFrom
				wasCommitted = wasCommitted || s.without[k][t] >= planner.ShortFrom
				short[t] += count(kg >= planner.ShortFrom)
				by[t] += count(was)
				committed[t] += count(wasCommitted)
			}
		}
		for t := range weeks {
			risk.Short = append(risk.Short, chance(short[t], len(got)))
			risk.ByWeek = append(risk.ByWeek, chance(by[t], len(got)))
			risk.Committed = append(risk.Committed, chance(committed[t], len(got)))
		}
		risk.Worst = bandOf(worst, 0)
		r.Grades = append(r.Grades, risk)
	}
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// chance is k of n with its standard error; for none or all of n that of half a case (a half added to both sides).
func chance(k, n int) Chance {
	if n == 0 {
		return Chance{math.NaN(), math.NaN()}
	}
	p := float64(k) / float64(n)
	q := (float64(k) + 0.5) / (float64(n) + 1)
	return Chance{p, math.Sqrt(q * (1 - q) / float64(n))}
}

// bandOf is where x lies; plan is kept. x is sorted.
func bandOf(x []float64, plan float64) Band {
	b := Band{Plan: plan}
	n := len(x)
	if n == 0 {
		return b
	}
	mean, sd := 0.0, 0.0
	if n > 1 {
		mean, sd = stat.MeanStdDev(x, nil)
	} else {
		mean = x[0]
	}
	b.Mean, b.MeanSE = mean, sd/math.Sqrt(float64(n))
	slices.Sort(x)
	if x[0] == x[n-1] {
		b.Mean, b.MeanSE = x[0], 0 // without the rounding of a sum
	}
	b.P10, b.P50, b.P90 = quantile(x, 0.1), quantile(x, 0.5), quantile(x, 0.9)
	b.P10SE, b.P90SE = quantileSE(x, 0.1), quantileSE(x, 0.9)
	return b
}

// quantile interpolates between the order statistics of sorted x: x_(1) is the quantile 0 and x_(n) the quantile 1.
func quantile(x []float64, p float64) float64 {
	h := p * float64(len(x)-1)
	i := int(math.Floor(h))
	if i+1 >= len(x) {
		return x[len(x)-1]
	}
	return x[i] + (h-float64(i))*(x[i+1]-x[i])
}

// quantileSE is half the distance of the quantiles one standard deviation of the rank below and above: √(p(1−p) ÷ n).
func quantileSE(x []float64, p float64) float64 {
	d := math.Sqrt(p * (1 - p) / float64(len(x)))
	return (quantile(x, min(1, p+d)) - quantile(x, max(0, p-d))) / 2
}

// driversOf ranks what was drawn by its correlation with the outcome.
func (j *job) driversOf(r *Result, got []*sample) {
	if len(got) < leastForRanks {
		return
	}
	margin, metres := make([]float64, len(got)), make([]float64, len(got))
	for i, s := range got {
		for t := range j.replan.Weeks {
			margin[i] += s.outcome.Margin(t)
			metres[i] += s.outcome.Metres[t]
		}
	}
	rankMargin, rankMetres := ranks(margin), ranks(metres)
	sum := 0.0
	x := make([]float64, len(got))
	for k, d := range j.plant.drivers {
		for i, s := range got {
			x[i] = s.drawn[k]
		}
		rx := ranks(x)
		v := Driver{Kind: d.kind, Name: d.name, Unit: d.unit, Margin: correlation(rx, rankMargin), Metres: correlation(rx, rankMetres)}
		sum += v.Margin * v.Margin
		r.Drivers = append(r.Drivers, v)
	}
	for i := range r.Drivers {
		if sum > 0 {
			r.Drivers[i].Share = r.Drivers[i].Margin * r.Drivers[i].Margin / sum
		}
	}
	slices.SortStableFunc(r.Drivers, func(a, b Driver) int { return cmp.Compare(math.Abs(b.Margin), math.Abs(a.Margin)) })
}

// leastForRanks is the number of samples below which no correlation is told.
const leastForRanks = 20

// correlation is Pearson's of two lists, 0 if one does not vary.
func correlation(x, y []float64) float64 {
	if c := stat.Correlation(x, y, nil); !math.IsNaN(c) {
		return c
	}
	return 0
}

// ranks are 1 … n by size, equal ones sharing their mean.
func ranks(x []float64) []float64 {
	at := make([]int, len(x))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	r := make([]float64, len(x))
	for i := 0; i < len(at); {
		k := i
		for k < len(at) && x[at[k]] == x[at[i]] {
			k++
		}
		for _, a := range at[i:k] {
			r[a] = float64(i+k+1) / 2
		}
		i = k
	}
	return r
}

// orders lists the orders that are late in some sample or in the plan, the likeliest first.
func (j *job) orders(r *Result, got []*sample) {
	weeks := j.replan.Weeks
	late := func(o *planner.Outcome, i int) bool {
		due := j.in.Orders[i].Due
		done := o.Done[i]
		return done >= 0 && (done >= len(weeks) || weeks[done].Span.From > due)
	}
	for i, od := range j.in.Orders {
		n := 0
		for _, s := range got {
			n += count(late(s.outcome, i))
		}
		if plan := late(j.replan.Plan, i); n > 0 || plan {
			r.Orders = append(r.Orders, OrderRisk{Order: od.Code, Profile: od.Profile, Due: od.Due, Late: chance(n, len(got)), PlanLate: plan})
		}
	}
	slices.SortStableFunc(r.Orders, func(a, b OrderRisk) int {
		return cmp.Or(cmp.Compare(b.Late.P, a.Late.P), cmp.Compare(a.Order, b.Order))
	})
}

// loadDays tells when loads come.
func (j *job) loadDays(r *Result) {
	for i, l := range j.plant.loads {
		var days []float64
		for k := range j.samples {
			if j.samples[k].solved && j.samples[k].drawn[i] != neverDays {
				days = append(days, j.samples[k].drawn[i])
			}
		}
		if len(days) == 0 {
			continue
		}
		slices.Sort(days)
		at := func(p float64) calendar.Day { return l.planned + calendar.Day(math.Round(quantile(days, p))) }
		r.Loads = append(r.Loads, LoadRisk{Code: l.code, Material: j.in.Materials[l.material].Code, Planned: l.planned, P10: at(0.1), P50: at(0.5), P90: at(0.9)})
	}
}
