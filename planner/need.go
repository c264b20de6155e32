package planner

import (
	"context"
	"math"
	"slices"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// What demand calls for against what committed supply can give takes two linear programs.
//
// The first is the planning model without the state of the set-ups, with pellets free of charge and starts and loads allowed in
// fractions: its runs are what the lines would eat if feed were no limit. What is left in the rack at its end is worth nothing there, and a
// metre costs something to keep: need is what orders, forecasts, stock targets and pins call for, not stock made because hours are
// to spare. The second holds these runs fixed, leaves out new loads and
// minimises the pellets owed, day by day: what opening stock and committed deliveries can serve,
// as early as they can. What is owed at the end of a bucket is the cumulative shortage; a later delivery may make it good.

// shortFrom is the least amount of pellets that counts as a shortage: half an hour of one line.
const shortFrom = 50.0 // kilograms

// needHave solves both programs. It returns no rows when either could not be solved (cancelled, numerical trouble).
func needHave(ctx context.Context, f *formulation, from named, opt solve.Options) needs {
	x, basis := f.unlimitedRuns(ctx, from, opt)
	if x == nil {
		return needs{}
	}
	g := committed(f, x)
	res := lp.Solve(ctx, g.m, opt)
	if res.Stop != solve.Optimal {
		return needs{}
	}
	return needs{g.needRows(res.X), basis}
}

// needs is need against have by grade and bucket, with the basis of the first program.
type needs struct {
	rows  [][]NeedHave
	basis named
}

// unlimitedRuns solves the relaxation with pellets free of charge, from a basis if there is one; it returns the column values of f's model, or
// nil, and the basis.
func (f *formulation) unlimitedRuns(ctx context.Context, from named, opt solve.Options) ([]float64, named) {
	m := f.m.Clone()
	last := len(f.buckets) - 1
	for k := range f.in.Grades {
		for t := range f.buckets {
			m.Cost[f.short[k][t].v] = 0
		}
		m.Cost[f.pellets[k][last].v], m.Cost[f.own[k][last].v] = 0, 0
	}
	f.asAskedFor(m)
	s := lp.NewSolver(m, opt) // without the reductions of lp.Solve, which cost more on these models than they save
	if len(from) > 0 {
		s.SetBasis(from.on(m))
	}
	if s.Solve(ctx, lp.Limits{}) != solve.Optimal {
		return nil, nil
	}
	return s.X(), nameBasis(m, s.Basis())
}

// leastKeeping is what a metre in the rack costs at least while need is worked out, money a metre and day: next to nothing beside
// lateness, but more than a metre that nobody asks for brings.
const leastKeeping = 1e-6

// asAskedFor takes out of m, a copy of f's model, what makes metres worth making beyond what is asked for.
func (f *formulation) asAskedFor(m *model.Model) {
	for p, pr := range f.in.Profiles {
		for t, r := range f.rack[p] {
			m.Cost[r.v] = max(leastKeeping, float64(pr.Price)*float64(f.in.Plant.HoldingRate)/daysAYear) * f.days(t)
		}
	}
}

// committed is the feed part of f with runs, changeovers and starts held at x, no new loads, and pellets owed in place of pellets missing.
func committed(f *formulation, x []float64) *formulation {
	g := &formulation{facts: f.facts, m: &model.Model{Name: "committed"}, committedOnly: true}
	g.run, g.changed = held(f.run, x), held(f.changed, x)
	for l := range f.startScrap {
		g.startScrap = append(g.startScrap, held(f.startScrap[l], x))
	}
	g.buildFeed()
	for j := range g.m.Cost {
		g.m.Cost[j] = 0
	}
	g.owed = g.grid(len(f.in.Grades))
	for k, grade := range f.in.Grades {
		for t := range f.buckets {
			g.m.Lower[g.short[k][t].v] = -model.Infinity
			g.owed[k][t] = column(g.m.AddVar(label("owed", grade.Code, t), 0, model.Infinity, f.days(t)))
			g.emit(new(row).add(before(g.owed[k], t, 0), 1).add(g.short[k][t], 1).add(g.owed[k][t], -1), 0, 0, "owed", grade.Code, t)
		}
	}
	return g
}

// held turns columns into constants at their value in x.
func held(refs [][]ref, x []float64) [][]ref {
	out := make([][]ref, len(refs))
	for i, list := range refs {
		for _, r := range list {
			out[i] = append(out[i], constant(r.at(x)))
		}
	}
	return out
}

// needRows reads need and have off a solution of a committed formulation, by grade and bucket.
func (f *formulation) needRows(x []float64) [][]NeedHave {
	rows := make([][]NeedHave, len(f.in.Grades))
	for k, g := range f.in.Grades {
		for t := range f.buckets {
			need := f.pelletUse(k, t, x)
			short := f.short[k][t].at(x)
			rows[k] = append(rows[k], NeedHave{Grade: g.Code, Bucket: t, Need: quantity.Mass(need), Have: quantity.Mass(need - short),
				Short: quantity.Mass(short), Cumulative: quantity.Mass(f.owed[k][t].at(x))})
		}
	}
	return rows
}

// pelletUse is the pellets of grade k used up in bucket t, kilograms.
func (f *formulation) pelletUse(k, t int, x []float64) float64 {
	use := 0.0
	f.eachPelletUse(k, t, func(v ref, coef float64) { use += float64(v.at(x) * coef) })
	return use
}

// shortage sums up a grade's need and have; ok is false if committed supply lasts.
func (f *facts) shortage(k int, rows []NeedHave) (Shortage, bool) {
	first := slices.IndexFunc(rows, func(r NeedHave) bool { return r.Cumulative >= shortFrom })
	if first < 0 {
		return Shortage{}, false
	}
	span := f.buckets[first].Span
	s := Shortage{Grade: f.in.Grades[k].Code, First: span.From, WeeksAhead: float64(span.From-f.start) / 7}
	served := 1.0
	if rows[first].Need > 0 {
		served = min(max(float64(rows[first].Have/rows[first].Need), 0), 1)
	}
	s.LastsTill = min(span.From+calendar.Day(math.Floor(served*float64(span.Days()))), span.To-1)
	over := len(rows)
	for t := first; t < len(rows); t++ {
		s.Mass = max(s.Mass, rows[t].Cumulative)
		if f.buckets[t].Span.From < s.First+28 {
			s.MassIn4Weeks = max(s.MassIn4Weeks, rows[t].Cumulative)
		}
		if over == len(rows) && rows[t].Cumulative < shortFrom {
			over = t
		}
	}
	s.OrdersAtRisk = f.ordersAtRisk(k, s.First, over)
	return s, true
}

// ordersAtRisk lists the orders for profiles of grade k that fall due from the first short day until the shortage is made good
// (bucket over), or within four weeks if it is not sooner.
func (f *facts) ordersAtRisk(k int, first calendar.Day, over int) []string {
	until := first + 28
	if over < len(f.buckets) {
		until = min(until, f.buckets[over].Span.From)
	}
	var codes []string
	for _, o := range f.in.Orders {
		if f.gradeOf[f.profileAt[o.Profile]] == k && first <= o.Due && o.Due < until {
			codes = append(codes, o.Code)
		}
	}
	slices.Sort(codes)
	return codes
}

// orderBy gives, for a short grade, each lane that can feed it: the loads that cover four weeks of shortage, or as much of it as the
// recipe lets the lane's material be, and the last day to order the first of them so that each arrives, at the service level, before the
// pellets run out with those before it. Lanes that do alone come first, then the cheapest landed. bought is the day of the plan's first
// order on each lane that it uses.
func (f *facts) orderBy(k int, s Shortage, rows []NeedHave, bought map[string]calendar.Day) []OrderBy {
	var list []OrderBy
	today := dayAt(f.in, f.opt.Now, f.start)
	for lane, x := range f.in.Lanes {
		m := f.materialAt[x.Material]
		most := f.mostOf(k, m)
		if most <= 0 || x.Load <= 0 || f.paths[m].yield <= 0 {
			continue
		}
		service := orDefault(float64(f.in.Plant.ServiceLevel), defaultService)
		pellets := float64(x.Load) * f.paths[m].yield
		covers := min(float64(s.MassIn4Weeks), most*f.needFrom(rows, s.First))
		loads := max(int(math.Ceil(covers/pellets)), x.MinLoads, 1)
		atOnce, weeks := loads, calendar.Day(0)
		if x.LoadsAWeek > 0 {
			limit, w := f.loadLimit(lane)
			if n := int(limit); n < loads {
				atOnce, weeks = n, w
			}
		}
		by, can := inventory.OrderByDate(x, s.LastsTill, service), true
		for i := atOnce; i < loads && float64(i)*pellets < covers; i += atOnce {
			needed := f.owedMoreThan(rows, float64(i)*pellets*float64(s.MassIn4Weeks)/covers)
			by = min(by, inventory.OrderByDate(x, needed, service)-7*weeks*calendar.Day(i/atOnce))
		}
		if d, ok := x.LastOrder(by); ok {
			by = d
		} else {
			can = false
		}
		ordered, any := bought[x.Code]
		list = append(list, OrderBy{Grade: s.Grade, Lane: f.in.Lanes[lane].Code, Loads: loads, By: by, Needed: s.LastsTill, TooLate: by < today || !can,
			Mass: quantity.Mass(float64(loads)) * x.Load, Landed: inventory.LandedCost(x, quantity.Share(f.paths[m].yield)), InPlan: any && ordered <= by,
			AtOnce: atOnce, Weeks: int(weeks), Most: quantity.Share(most)})
	}
	slices.SortStableFunc(list, func(a, b OrderBy) int {
		if a.TooLate != b.TooLate {
			return int(isOne(a.TooLate) - isOne(b.TooLate))
		}
		if a.Alone() != b.Alone() {
			return int(isOne(b.Alone()) - isOne(a.Alone()))
		}
		switch {
		case a.Landed < b.Landed:
			return -1
		case a.Landed > b.Landed:
			return 1
		}
		return 0
	})
	return list
}

// mostOf is the most of grade k's feed that material m may be by the recipe's shares, HIPS and recycled content: 0 if it is no ingredient.
func (f *facts) mostOf(k, m int) float64 {
	i := slices.IndexFunc(f.feedsOf[k], func(i int) bool { return f.feeds[i].material == m })
	if i < 0 {
		return 0
	}
	g, x := f.in.Grades[k], f.in.Materials[m]
	most, others := f.feeds[f.feedsOf[k][i]].maxShare, 0.0
	for _, i := range f.feedsOf[k] {
		if fd := f.feeds[i]; fd.material != m {
			others += fd.minShare
		}
	}
	most = min(most, 1-others)
	if x.Polymer == "HIPS" {
		most = min(most, float64(g.MaxHIPS))
	}
	if !recycled(x) {
		most = min(most, 1-float64(g.MinRecycled))
	}
	return most
}

// needFrom is the pellets needed in the buckets that begin within four weeks of first, kilograms.
func (f *facts) needFrom(rows []NeedHave, first calendar.Day) float64 {
	kg := 0.0
	for t, r := range rows {
		if from := f.buckets[t].Span.From; first <= from && from < first+28 {
			kg += float64(r.Need)
		}
	}
	return kg
}

// owedMoreThan is the day on which more than so much is owed: in a bucket what is there is used first, what is short then in proportion.
func (f *facts) owedMoreThan(rows []NeedHave, kg float64) calendar.Day {
	before := 0.0
	for t, r := range rows {
		owed, span := float64(r.Cumulative), f.buckets[t].Span
		if owed > kg {
			served := 1.0
			if r.Need > 0 {
				served = min(max(float64(r.Have/r.Need), 0), 1)
			}
			share := served + (1-served)*(kg-before)/(owed-before)
			return min(span.From+calendar.Day(math.Floor(share*float64(span.Days()))), span.To-1)
		}
		before = owed
	}
	return f.end()
}
