package audit

import (
	"math"
	"slices"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

// checkNeed checks need against have and what is read off it. A plan that was stopped may have none.
func (a *auditor) checkNeed() {
	if len(a.p.NeedHave) == 0 {
		a.holds(Shortages, a.at(-1, "plan"), len(a.p.Shortages) == 0 && len(a.p.OrderBy) == 0, "shortages or order-by dates without need against have")
		return
	}
	for _, g := range a.in.Grades {
		rows := byBucket(a.p.NeedHave, len(a.p.Buckets), func(x planner.NeedHave) (bool, int) { return x.Grade == g.Code, x.Bucket })
		a.checkRowsOfNeed(g, rows)
		a.checkShortage(g, rows)
	}
	a.checkShared()
	a.once(Shortages, rowsOf(a.p.Shortages, func(x planner.Shortage) row { return row{code: x.Grade} }))
	a.once(OrderBy, rowsOf(a.p.OrderBy, func(x planner.OrderBy) row { return row{code: x.Grade + ", lane " + x.Lane} }))
	for _, s := range a.p.Shortages {
		a.once(Shortages, rowsOf(s.OrdersAtRisk, func(code string) row { return row{code: s.Grade + ", order " + code} }))
		a.checkWays(s)
	}
	for _, x := range a.p.OrderBy {
		a.checkOrderBy(x)
	}
}

// once checks that a list names nothing twice.
func (a *auditor) once(r Rule, list []row) {
	seen := map[row]bool{}
	for _, x := range list {
		a.holds(r, a.at(-1, "grade "+x.code), !seen[x], "named twice")
		seen[x] = true
	}
}

// checkWays checks that a shortage has an order-by date on every lane whose material the grade takes.
func (a *auditor) checkWays(s planner.Shortage) {
	for _, lane := range a.in.Lanes {
		_, ok := a.ingredient(s.Grade, lane.Material)
		if !ok || a.most(s.Grade, lane.Material) <= 0 || lane.Load <= 0 || a.route[lane.Material].yield.sign() <= 0 {
			continue
		}
		has := slices.ContainsFunc(a.p.OrderBy, func(x planner.OrderBy) bool { return x.Grade == s.Grade && x.Lane == lane.Code })
		a.holds(OrderBy, a.at(-1, "grade "+s.Grade+", lane "+lane.Code), has, "the lane can feed the grade and has no order-by date")
	}
}

func (a *auditor) checkRowsOfNeed(g inventory.Grade, rows []planner.NeedHave) {
	cumulative, have := num{}, num{}
	supply := a.stockOf(inventory.PelletStock, g.Code)
	for t, x := range rows {
		w := a.at(t, "grade "+g.Code)
		amount(a, w, -massTolerance, x.Need, x.Cumulative)
		short := computed(x.Need).sub(computed(x.Have))
		a.equal(NeedHave, w, computed(x.Short), short, massTolerance, "kg", "short = need − have")
		cumulative, have = cumulative.add(short), have.add(computed(x.Have))
		a.equal(NeedHave, w, computed(x.Cumulative), cumulative, massDrift, "kg", "cumulative short")
		a.atLeast(NeedHave, w, computed(x.Cumulative), num{}, massDrift, "kg", "cumulative short")
		supply = supply.add(a.pelletsFrom(t, g.MaxRegrind == 1, func(m string) num {
			if _, ok := a.ingredient(g.Code, m); !ok {
				return num{}
			}
			return a.withRegrind(g, a.route[m].yield)
		}))
		if g.MaxRegrind < 1 {
			a.atMost(NeedHave, w, have, supply, massDrift, "kg", "have, against all that committed supply can give")
		}
	}
}

// withRegrind is the pellets from a kilogram with as much own regrind beside it as the grade takes.
func (a *auditor) withRegrind(g inventory.Grade, y num) num {
	return y.over(whole(1).sub(entered(g.MaxRegrind)))
}

// pelletsFrom is the most pellets from what committed supply adds in bucket t (in the first the free lots too).
func (a *auditor) pelletsFrom(t int, skip bool, yield func(material string) num) num {
	sum := num{}
	if skip {
		return sum
	}
	for _, m := range a.in.Materials {
		kg := a.committed(m.Code)[t]
		if t == 0 {
			kg = kg.add(a.freeLots(m.Code))
		}
		sum = sum.add(kg.mul(yield(m.Code)))
	}
	return sum
}

// checkShared checks all grades together, as materials are shared: each material at the most that any grade makes of it.
func (a *auditor) checkShared() {
	supply, have := num{}, num{}
	for _, g := range a.in.Grades {
		if g.MaxRegrind >= 1 {
			return
		}
		supply = supply.add(a.stockOf(inventory.PelletStock, g.Code))
	}
	for t := range a.p.Buckets {
		supply = supply.add(a.pelletsFrom(t, false, func(m string) num {
			best := num{}
			for _, g := range a.in.Grades {
				if _, ok := a.ingredient(g.Code, m); ok {
					best = most(best, a.withRegrind(g, a.route[m].yield))
				}
			}
			return best
		}))
		for _, x := range a.p.NeedHave {
			if x.Bucket == t {
				have = have.add(computed(x.Have))
			}
		}
		a.atMost(NeedHave, a.at(t, "all grades"), have, supply, massDrift, "kg", "have, against all that committed supply can give")
	}
}

// checkShortage checks a grade's shortage against its rows.
func (a *auditor) checkShortage(g inventory.Grade, rows []planner.NeedHave) {
	w := a.at(-1, "grade "+g.Code)
	i := slices.IndexFunc(a.p.Shortages, func(s planner.Shortage) bool { return s.Grade == g.Code })
	first := slices.IndexFunc(rows, func(x planner.NeedHave) bool { return float64(x.Cumulative) >= shortFrom })
	if !a.holds(Shortages, w, (i < 0) == (first < 0), "a shortage is not reported, or reported and not there") || i < 0 {
		return
	}
	s, from, in4 := a.p.Shortages[i], a.p.Buckets[first].Span, 0.0
	top := 0.0
	for t, x := range rows {
		if t >= first {
			top = max(top, float64(x.Cumulative))
			if a.p.Buckets[t].Span.From < from.From+28 {
				in4 = max(in4, float64(x.Cumulative))
			}
		}
	}
	a.equal(Shortages, w, whole(s.First), whole(from.From), 0, "day", "first short day")
	a.equal(Shortages, w, computed(s.WeeksAhead), whole(from.From-a.p.Start).over(whole(7)), dayTolerance, "weeks", "weeks ahead")
	a.equal(Shortages, w, computed(s.Mass), computed(top), massDrift, "kg", "short in all")
	a.equal(Shortages, w, computed(s.MassIn4Weeks), computed(in4), massDrift, "kg", "short in four weeks")
	a.checkLastsTill(w, s, rows[first], from)
	for _, code := range s.OrdersAtRisk {
		o, ok := a.order[code]
		a.holds(Shortages, w, ok && a.profile[o.Profile].Grade == g.Code && o.Due >= s.First, "order "+code+" at risk is not of the grade, or due before the shortage")
	}
	a.checkAtRisk(w, s, rows, first)
}

// checkLastsTill checks the day that pellets last to, within the first short bucket by proportion.
func (a *auditor) checkLastsTill(w place, s planner.Shortage, x planner.NeedHave, span calendar.Span) {
	served := 1.0
	if x.Need > 0 {
		served = min(1, max(0, float64(x.Have/x.Need)))
	}
	day := float64(span.From) + served*float64(span.Days())
	ok := math.Abs(float64(s.LastsTill)-math.Floor(day)) < 1 || math.Abs(day-math.Round(day)) < dayTolerance
	a.holds(Shortages, w, ok && span.From <= s.LastsTill && s.LastsTill <= span.To, "the day that pellets last to does not divide the bucket as need and have do")
}

// checkAtRisk checks that no order is left out: those of the grade due from the first short day until the shortage is
// made good, within four weeks.
func (a *auditor) checkAtRisk(w place, s planner.Shortage, rows []planner.NeedHave, first int) {
	until := s.First + 28
	for t := first; t < len(rows); t++ {
		if float64(rows[t].Cumulative) < shortFrom {
			until = min(until, a.p.Buckets[t].Span.From)
			break
		}
	}
	for _, o := range a.in.Orders {
		if a.profile[o.Profile].Grade == s.Grade && s.First <= o.Due && o.Due < until {
			a.holds(Shortages, w, slices.Contains(s.OrdersAtRisk, o.Code), "order "+o.Code+" is at risk and not listed")
		}
	}
}

func (a *auditor) checkOrderBy(x planner.OrderBy) {
	w, lane := a.at(-1, "lane "+x.Lane+", grade "+x.Grade), a.lane[x.Lane]
	_, ok := a.ingredient(x.Grade, lane.Material)
	a.holds(OrderBy, w, ok, "the lane's material is no ingredient of the grade")
	i := slices.IndexFunc(a.p.Shortages, func(s planner.Shortage) bool { return s.Grade == x.Grade })
	if !a.holds(OrderBy, w, i >= 0, "the grade is not short") {
		return
	}
	s, r := a.p.Shortages[i], a.route[lane.Material]
	a.equal(OrderBy, w, whole(x.Needed), whole(s.LastsTill), 0, "day", "needed when committed pellets run out")
	pellets, covers := entered(lane.Load).mul(r.yield), computed(s.MassIn4Weeks)
	early, late := []calendar.Day{x.Needed}, []calendar.Day{x.Needed} // by each order of so many loads at once
	if x.Most == 0 {
		a.holds(OrderBy, w, x.AtOnce == 0 && x.Weeks == 0, "loads at once without the most of the feed that they may be")
	} else {
		covers, early, late = a.checkLoadsNeeded(w, x, s, pellets)
	}
	allInTime := func(first calendar.Day, needed []calendar.Day) bool {
		for i, day := range needed {
			if !inTime(lane.LeadTime, day-first-calendar.Day(7*x.Weeks*i), a.service) {
				return false
			}
		}
		return true
	}
	a.holds(OrderBy, w, allInTime(x.By, late), "a load ordered on the day is not there in time at the service level, or one that the lane gives after it")
	for d := x.By + 1; d <= x.Needed; d++ {
		a.holds(OrderBy, w, !takesOrders(lane, d) || !allInTime(d, early), "loads ordered later, from "+d.String()+", are still there in time")
	}
	can := takesOrders(lane, x.By)
	if !can { // then it is the day that it would have to be
		a.holds(OrderBy, w, !allInTime(x.By+1, early), "loads ordered a day later are still there in time")
	}
	a.holds(OrderBy, w, x.TooLate == (x.By < a.madeOn() || !can), "too late does not fit the day")
	a.atLeast(OrderBy, w, whole(x.Loads), whole(max(1, lane.MinLoads)), 0, "loads", "least loads an order")
	a.atLeast(OrderBy, w, whole(x.Loads).mul(pellets), covers, massDrift, "kg", "pellets of the loads, against the shortage of four weeks")
	if x.Loads > max(1, lane.MinLoads) {
		a.atMost(OrderBy, w, whole(x.Loads-1).mul(pellets), covers, massDrift, "kg", "pellets of one load fewer")
	}
	a.equal(OrderBy, w, computed(x.Mass), whole(x.Loads).mul(entered(lane.Load)), massTolerance, "kg", "mass of the loads")
	a.equal(OrderBy, w, computed(x.Landed), landed(lane).over(pellets), priceTolerance, a.in.Plant.Currency+"/kg", "landed cost")
	bought := slices.ContainsFunc(a.p.Purchases, func(b planner.Purchase) bool { return b.Lane == x.Lane && b.OrderBy <= x.By })
	a.holds(OrderBy, w, x.InPlan == bought, "in plan does not fit the purchases")
}

// checkLoadsNeeded checks how many loads the lane gives at once and how much of the grade its material may be, and gives the pellets that its
// loads are to cover and the days by which each order of them is needed: when what is owed grows beyond what those before it bring, as early
// and as late as rounding may put it.
func (a *auditor) checkLoadsNeeded(w place, x planner.OrderBy, s planner.Shortage, pellets num) (covers num, early, late []calendar.Day) {
	lane, most := a.lane[x.Lane], a.most(x.Grade, a.lane[x.Lane].Material)
	a.equal(OrderBy, w, computed(x.Most), computed(most), shareTolerance, "", "the most of the feed that the material may be")
	atOnce := float64(max(int(lane.LoadsAWeek+dayTolerance), lane.MinLoads, 1))
	if lane.LoadsAWeek <= 0 || atOnce >= float64(x.Loads) {
		a.holds(OrderBy, w, x.AtOnce == x.Loads && x.Weeks == 0, "the lane gives all loads at once")
	} else {
		a.holds(OrderBy, w, float64(x.AtOnce) == atOnce && x.Weeks == int(math.Ceil(atOnce/lane.LoadsAWeek-dayTolerance)), "loads at once do not fit the most loads a week")
	}
	rows := byBucket(a.p.NeedHave, len(a.p.Buckets), func(r planner.NeedHave) (bool, int) { return r.Grade == x.Grade, r.Bucket })
	need := 0.0
	for t, r := range rows {
		if from := a.p.Buckets[t].Span.From; s.First <= from && from < s.First+28 {
			need += float64(r.Need)
		}
	}
	in4, part := float64(s.MassIn4Weeks), min(float64(s.MassIn4Weeks), most*need)
	early, late = []calendar.Day{x.Needed}, []calendar.Day{x.Needed}
	for i := max(x.AtOnce, 1); i < x.Loads && float64(i)*pellets.float() < part; i += max(x.AtOnce, 1) {
		kg := float64(i) * pellets.float() * in4 / part
		early, late = append(early, a.owedAt(rows, kg*(1-rounding))), append(late, a.owedAt(rows, kg*(1+rounding)))
	}
	return computed(part), early, late
}

// rounding is the share by which floating point may move a mass: it decides the day where the mass is reached as the day turns.
const rounding = 1e-9

// owedAt is the day on which more than so much is owed: in a bucket what is there is used first, then what is short grows evenly.
func (a *auditor) owedAt(rows []planner.NeedHave, kg float64) calendar.Day {
	before, served := 0.0, 1.0
	t := slices.IndexFunc(rows, func(r planner.NeedHave) bool { return float64(r.Cumulative) > kg })
	if t < 0 {
		return a.p.Buckets[len(a.p.Buckets)-1].Span.To
	}
	if t > 0 {
		before = float64(rows[t-1].Cumulative)
	}
	if rows[t].Need > 0 {
		served = min(1, max(0, float64(rows[t].Have/rows[t].Need)))
	}
	span := a.p.Buckets[t].Span
	day := float64(span.Days()) * (served + (1-served)*(kg-before)/(float64(rows[t].Cumulative)-before))
	return min(span.From+calendar.Day(day), span.To-1)
}

// most is the most of a grade's feed that a material may be.
func (a *auditor) most(grade, material string) float64 {
	g, m, share := a.grade[grade], a.material[material], 1.0
	for _, i := range a.in.Ingredients {
		if i.Grade == grade && i.Material != material {
			share -= float64(i.MinShare)
		}
	}
	if i, ok := a.ingredient(grade, material); ok && i.MaxShare > 0 {
		share = min(share, float64(i.MaxShare))
	}
	if m.Polymer == "HIPS" {
		share = min(share, float64(g.MaxHIPS))
	}
	if m.Source != inventory.PostConsumer && m.Source != inventory.PreConsumer {
		share = min(share, 1-float64(g.MinRecycled))
	}
	return share
}

// madeOn is the day at the plant on which the plan was made; without a clock its first.
func (a *auditor) madeOn() calendar.Day {
	switch z := a.in.Calendar.Zone; {
	case a.p.Made.IsZero():
		return a.p.Start
	case z != nil:
		return calendar.DayOf(a.p.Made.In(z))
	}
	return calendar.DayOf(a.p.Made.UTC())
}
