package planner

import (
	"math"
)

// Outcome is what becomes of a plan in a world, by week. Stocks, what is owed and what is late are as at the end of the week.
type Outcome struct {
	Cost      float64   // objective of the planning model, in money
	Metres    []float64 // good metres made
	Sales     []float64 // metres shipped at their price
	Feed      []float64 // material drawn at its book price, and what bought loads cost above it, booked when ordered
	Processes []float64 // crushing, pelletizing, energy, crew, changeovers, start-ups; commissioning in the first week
	FeedKg    []float64 // pellets, and material in the yard as the kilograms of pellets that it makes
	Used      []float64 // kilograms of pellets used
	Lines     []float64 // lines to run: the most at once
	Late      []float64 // orders overdue
	LateM     []float64 // metres owed
	Missing   []float64 // kilograms of pellets missing, of all grades
	Done      []int     // by order of the input: week in which it is complete; len(weeks) if it never is, -1 if it is not in the horizon
}

// Margin is what is earned in week t: sales less feed and processes.
func (o *Outcome) Margin(t int) float64 { return o.Sales[t] - o.Feed[t] - o.Processes[t] }

// lists are the outcome's lists of amounts that can't be negative, and the others.
func (o *Outcome) lists() (positive, signed []*[]float64) {
	return []*[]float64{&o.Metres, &o.FeedKg, &o.Used, &o.Lines, &o.Late, &o.LateM, &o.Missing}, []*[]float64{&o.Sales, &o.Feed, &o.Processes}
}

func newOutcome(n int) *Outcome {
	o := new(Outcome)
	positive, signed := o.lists()
	for _, list := range append(positive, signed...) {
		*list = make([]float64, n)
	}
	return o
}

// Read reads what happens off an optimal solution x of the program in the world w, and its objective: the plan's own outcome and what
// the program's answer differs from its answer for the plan's world.
func (r *Replan) Read(x []float64, objective float64, w *World) *Outcome {
	o := r.reader().read(x, objective, w)
	positive, signed := o.lists()
	mine, mineSigned := r.Plan.lists()
	base, baseSigned := r.base.lists()
	for i := range positive {
		correct(*positive[i], *mine[i], *base[i], 0)
	}
	for i := range signed {
		correct(*signed[i], *mineSigned[i], *baseSigned[i], math.Inf(-1))
	}
	for i := range o.Done {
		if o.Done[i] == r.base.Done[i] {
			o.Done[i] = r.Plan.Done[i]
		}
	}
	return o
}

// correct adds to each of x what plan exceeds base by, not below least.
func correct(x, plan, base []float64, least float64) {
	for t := range x {
		x[t] = max(least, plan[t]+(x[t]-base[t]))
	}
}

// planned is what the plan says, by week.
func (r *Replan) planned() *Outcome {
	d := r.daily
	rd := reader{f: d.f, fixed: &d.fixed, bought: d.bought, week: func(t int) int { return t }}
	daily := rd.read(d.x, d.objective, &World{})
	o := newOutcome(len(r.Weeks))
	o.Cost, o.Done = daily.Cost, daily.Done
	for t, w := range r.weekOf {
		for _, list := range [][2][]float64{{o.Metres, daily.Metres}, {o.Sales, daily.Sales}, {o.Feed, daily.Feed}, {o.Processes, daily.Processes},
			{o.Used, daily.Used}, {o.Missing, daily.Missing}} {
			list[0][w] += list[1][t]
		}
		o.FeedKg[w], o.Late[w], o.LateM[w] = daily.FeedKg[t], daily.Late[t], daily.LateM[t]
		o.Lines[w] = max(o.Lines[w], float64(d.plan.LinesToRun[t]))
	}
	for i, t := range o.Done {
		switch {
		case t >= len(r.weekOf):
			o.Done[i] = len(r.Weeks)
		case t >= 0:
			o.Done[i] = r.weekOf[t]
		}
	}
	return o
}

// reader reads outcomes off the columns of a formulation with its set-ups held.
type reader struct {
	f        *formulation
	fixed    *fixedCosts
	bought   []lot
	week     func(bucket int) int // of a purchase
	crewed   [][]ref
	hourCost [][]float64
}

func (r *Replan) reader() *reader {
	return &reader{f: r.f, fixed: &r.fixed, bought: r.daily.bought, week: func(t int) int { return r.weekOf[t] }, crewed: r.crewed, hourCost: r.hourCost}
}

func (rd *reader) read(x []float64, objective float64, w *World) *Outcome {
	o := newOutcome(len(rd.f.buckets))
	o.Cost = objective
	rd.floor(o, x)
	rd.feed(o, x, w)
	rd.demand(o, x, w)
	return o
}

// floor reads metres, lines and what they cost.
func (rd *reader) floor(o *Outcome, x []float64) {
	f := rd.f
	o.Processes[0] += rd.fixed.commission
	for t := range f.buckets {
		o.Processes[t] += rd.fixed.crew[t] + rd.fixed.changeover[t] + rd.fixed.start[t]
	}
	busy := make([]bool, len(f.in.Lines)*len(f.buckets))
	for j, ft := range f.fits {
		energy := f.energyAnHour(j)
		for t := range f.buckets {
			h, more := max(0, f.run[j][t].at(x)), max(0, f.extraAt(j, t).at(x))
			if h+more <= quantumHours {
				continue
			}
			busy[ft.line*len(f.buckets)+t] = true
			o.Metres[t] += (h + more) * ft.rate
			o.Processes[t] += (h+more)*energy + more*f.extraSetup(j, t)*ft.setupCost
		}
	}
	for l := range f.in.Lines {
		for t := range f.buckets {
			if rd.crewed != nil && rd.crewed[l][t].is {
				o.Processes[t] += x[rd.crewed[l][t].v] * rd.hourCost[l][t]
			}
			o.Lines[t] += isOne(busy[l*len(f.buckets)+t])
		}
	}
}

// feed reads stocks, use and what the feed costs. Masses of material in x are of the planned yield.
func (rd *reader) feed(o *Outcome, x []float64, w *World) {
	f := rd.f
	for i, fd := range f.feeds {
		price := float64(f.in.Materials[fd.material].Price)
		for t := range f.buckets {
			kg := f.draw[i][t].at(x) / w.yield(fd.material)
			o.Feed[t] += kg * price
			o.Processes[t] += kg * f.paths[fd.material].cost
		}
	}
	for _, b := range rd.bought {
		o.Feed[rd.week(b.ordered)] += float64(b.purchase.Cost) - float64(b.purchase.Mass)*float64(f.in.Materials[b.material].Price)
	}
	for k := range f.in.Grades {
		for t := range f.buckets {
			o.Processes[t] += f.fed[k][t].at(x) * f.regrind.cost
			o.Missing[t] += f.short[k][t].at(x)
			o.FeedKg[t] += f.pellets[k][t].at(x)
			o.Used[t] += f.pelletUse(k, t, x)
		}
	}
	for m := range f.in.Materials {
		for t := range f.buckets {
			o.FeedKg[t] += f.yard[m][t].at(x) * f.paths[m].yield
		}
	}
}

// demand reads shipments at their price and the orders that are late.
func (rd *reader) demand(o *Outcome, x []float64, w *World) {
	f := rd.f
	o.Done = make([]int, len(f.in.Orders))
	for i := range o.Done {
		o.Done[i] = openingBucketIndex
	}
	for p := range f.in.Profiles {
		owed := rd.owed(p, x, w)
		for c := range f.classes[p] {
			rd.shipments(o, p, c, owed[c], w)
		}
	}
	for i, done := range o.Done {
		if done == openingBucketIndex {
			continue
		}
		for t := max(0, f.bucketOf(f.in.Orders[i].Due)); t < min(done, len(f.buckets)); t++ {
			o.Late[t]++
		}
	}
}

// owed is what is late of profile p, by class and bucket, with what was shipped kept shipped: what a class can't owe for that
// is owed by the class of least priority that can.
func (rd *reader) owed(p int, x []float64, w *World) [][]float64 {
	f := rd.f
	owed := make([][]float64, len(f.classes[p]))
	for c := range owed {
		owed[c] = make([]float64, len(f.buckets))
	}
	for t := range f.buckets {
		rest := 0.0
		for c := range owed {
			at, most := f.late[p][c][t].at(x), w.demand(f.facts, p, c, t)
			if t > 0 {
				most += owed[c][t-1]
			}
			owed[c][t] = min(max(0, at), most)
			rest += at - owed[c][t]
		}
		for c := len(owed) - 1; c >= 0 && rest > 0 && f.looseClasses; c-- {
			most := w.demand(f.facts, p, c, t)
			if t > 0 {
				most += owed[c][t-1]
			}
			more := min(rest, most-owed[c][t])
			owed[c][t] += more
			rest -= more
		}
	}
	return owed
}

// shipments serves the orders of a class first due first; a forecast class is sold at list price.
func (rd *reader) shipments(o *Outcome, p, c int, owed []float64, w *World) {
	f, cl := rd.f, &rd.f.classes[p][c]
	next, want, was := 0, 0.0, 0.0
	if len(cl.orders) > 0 {
		want = float64(f.in.Orders[cl.orders[0]].Length)
	}
	for t := range f.buckets {
		o.LateM[t] += owed[t]
		have := was + w.demand(f.facts, p, c, t) - owed[t]
		was = owed[t]
		if cl.priority == forecastPriority {
			o.Sales[t] += have * float64(f.in.Profiles[p].Price)
			continue
		}
		for next < len(cl.orders) && want <= have+shippedWithin {
			od := cl.orders[next]
			o.Sales[t] += want * f.orderPrice(od)
			o.Done[od] = t
			have -= want
			next++
			if next < len(cl.orders) {
				want = float64(f.in.Orders[cl.orders[next]].Length)
			}
		}
		if next < len(cl.orders) && have > 0 {
			o.Sales[t] += have * f.orderPrice(cl.orders[next])
			want -= have
		}
	}
	for ; next < len(cl.orders); next++ {
		o.Done[cl.orders[next]] = len(f.buckets)
	}
}

// shippedWithin, metres, is what an order may lack by rounding and count as complete.
const shippedWithin = 0.01

// Pace is how many loads lane s gives at once, and after how many weeks as many again; 0, 0 if it is not limited.
func (r *Replan) Pace(s int) (atOnce, weeks int) {
	if r.f.in.Lanes[s].LoadsAWeek <= 0 {
		return 0, 0
	}
	loads, w := r.f.loadLimit(s)
	return int(loads), int(w)
}

// MostOf is the most of grade k's feed that a material may be.
func (r *Replan) MostOf(k int, material string) float64 {
	m, ok := r.f.materialAt[material]
	if !ok {
		return 0
	}
	return r.f.mostOf(k, m)
}

// PelletYield is the kilograms of pellets that a kilogram of a material makes, 0 if no recipe lets grade k take it.
func (r *Replan) PelletYield(k int, material string) float64 {
	m, ok := r.f.materialAt[material]
	if !ok {
		return 0
	}
	for _, i := range r.f.feedsOf[k] {
		if r.f.feeds[i].material == m {
			return r.f.paths[m].yield
		}
	}
	return 0
}
