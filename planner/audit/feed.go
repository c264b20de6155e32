package audit

import (
	"math"

	"feedline/inventory"
	"feedline/planner"
)

// checkFeed follows the material from the yard to the pellets used.
func (a *auditor) checkFeed() {
	a.checkPurchases()
	for _, m := range a.in.Materials {
		a.checkYard(m)
	}
	for _, d := range a.p.Draws {
		a.checkDraw(d)
	}
	for _, g := range a.in.Grades {
		for t := range a.p.Buckets {
			a.checkRecipe(g, t)
		}
		a.checkPellets(g)
		a.checkCover(g)
	}
	for t := range a.p.Buckets {
		a.checkSteps(t)
		a.checkYardSpace(t)
	}
}

// ledger is a stock simulated from its count on, beside what the plan says it is.
type ledger struct {
	rule        Rule
	unit        string
	near, drift float64 // tolerances in the bucket and over the horizon
	stock       num
	before      num // the plan's closing of the bucket before
}

// post books a bucket: opening and closing are the plan's, in and out what the audit adds up.
func (a *auditor) post(l *ledger, w place, opening, in, out, closing num) {
	a.equal(l.rule, w, opening, l.before, l.near, l.unit, "opening is the closing before, or the count")
	a.equal(l.rule, w, closing, opening.add(in).sub(out), l.near, l.unit, "closing")
	l.stock = l.stock.add(in).sub(out)
	a.atLeast(l.rule, w, l.stock, num{}, l.drift, l.unit, "simulated stock")
	a.equal(l.rule, w, closing, l.stock, l.drift, l.unit, "closing against the simulated stock")
	l.before = closing
}

func (a *auditor) checkYard(m inventory.Material) {
	arrivals, drawn := a.arrivals(m.Code), make([]num, len(a.p.Buckets))
	for _, d := range a.p.Draws {
		if d.Material == m.Code {
			drawn[d.Bucket] = drawn[d.Bucket].add(computed(d.In))
		}
	}
	levels := byBucket(a.p.Yard, len(a.p.Buckets), func(y planner.YardLevel) (bool, int) { return y.Material == m.Code, y.Bucket })
	free := a.freeLots(m.Code)
	l := ledger{rule: Yard, unit: "kg", near: massTolerance, drift: massDrift, stock: free, before: free}
	for t, y := range levels {
		w := a.at(t, "material "+m.Code)
		a.equal(Arrivals, w, computed(y.Arrived), arrivals[t], massTolerance, "kg", "arrivals of committed deliveries and ordered loads")
		a.equal(Yard, w, computed(y.Drawn), drawn[t], massTolerance, "kg", "drawn")
		a.post(&l, w, computed(y.Opening), arrivals[t], drawn[t], computed(y.Closing))
		a.hold(t, computed(y.Closing).mul(entered(m.Price)))
	}
	a.endStock(l.before.mul(a.materialWorth(m)))
}

// byBucket picks a code's rows and puts them in bucket order.
func byBucket[T any](list []T, buckets int, pick func(T) (bool, int)) []T {
	out := make([]T, buckets)
	for _, x := range list {
		if ok, t := pick(x); ok {
			out[t] = x
		}
	}
	return out
}

func (a *auditor) checkDraw(d planner.Draw) {
	w, r := a.at(d.Bucket, drawName(d)), a.route[d.Material]
	a.equal(Draws, w, computed(d.Out), computed(d.In).mul(r.yield), massTolerance, "kg", "pellets made")
	if d.Material != "" {
		_, ok := a.ingredient(d.Grade, d.Material)
		a.holds(Draws, w, ok, "the material is no ingredient of the grade")
	}
	a.bill(costProcess, computed(d.In).mul(r.cost))
}

func (a *auditor) ingredient(grade, material string) (inventory.Ingredient, bool) {
	for _, i := range a.in.Ingredients {
		if i.Grade == grade && i.Material == material {
			return i, true
		}
	}
	return inventory.Ingredient{}, false
}

// checkRecipe checks what a grade is made of in a bucket, by mass of pellets made.
func (a *auditor) checkRecipe(g inventory.Grade, t int) {
	w := a.at(t, "grade "+g.Code)
	made, fresh, own, hips, recycled, flow := map[string]num{}, num{}, num{}, num{}, num{}, 0.0
	known := num{}
	for _, d := range a.p.Draws {
		if d.Grade != g.Code || d.Bucket != t {
			continue
		}
		out := computed(d.In).mul(a.route[d.Material].yield)
		if d.Material == "" {
			own = own.add(out)
			continue
		}
		m := a.material[d.Material]
		made[m.Code], fresh = made[m.Code].add(out), fresh.add(out)
		if m.Polymer == "HIPS" {
			hips = hips.add(out)
		}
		if m.Source == inventory.PostConsumer || m.Source == inventory.PreConsumer {
			recycled = recycled.add(out)
		}
		if m.MFR > 0 {
			known = known.add(out)
			flow += out.float() * math.Log(m.MFR)
		}
	}
	whole1, total := whole(1), fresh.add(own)
	for _, i := range a.in.Ingredients {
		if i.Grade == g.Code {
			a.atMost(Recipe, w, made[i.Material], total.mul(orElse(entered(i.MaxShare), whole1)), massTolerance, "kg", "most of material "+i.Material)
			a.atLeast(Recipe, w, made[i.Material], fresh.mul(entered(i.MinShare)), massTolerance, "kg", "least of material "+i.Material)
		}
	}
	a.atMost(Recipe, w, own, total.mul(entered(g.MaxRegrind)), massTolerance, "kg", "most own regrind")
	a.atMost(Recipe, w, hips, fresh.mul(entered(g.MaxHIPS)), massTolerance, "kg", "most HIPS")
	a.atLeast(Recipe, w, recycled, fresh.mul(entered(g.MinRecycled)), massTolerance, "kg", "least recycled content")
	if k := known.float(); g.MFRMin > 0 {
		a.atLeast(Recipe, w, computed(flow), computed(k*math.Log(g.MFRMin)), massTolerance, "kg·ln(g/10 min)", "least melt flow rate")
	}
	if k := known.float(); g.MFRMax > 0 {
		a.atMost(Recipe, w, computed(flow), computed(k*math.Log(g.MFRMax)), massTolerance, "kg·ln(g/10 min)", "most melt flow rate")
	}
}

// checkPellets follows a grade's pellets and its regrind.
func (a *auditor) checkPellets(g inventory.Grade) {
	levels := byBucket(a.p.Pellets, len(a.p.Buckets), func(x planner.PelletLevel) (bool, int) { return x.Grade == g.Code, x.Bucket })
	counted, ownCount := a.stockOf(inventory.PelletStock, g.Code), a.stockOf(inventory.RegrindStock, g.Code)
	silo := ledger{rule: Pellets, unit: "kg", near: massTolerance, drift: massDrift, stock: counted, before: counted}
	own := ledger{rule: RegrindRule, unit: "kg", near: massTolerance, drift: massDrift, stock: ownCount, before: ownCount}
	worth := a.pelletWorth(g.Code)
	ownWorth := worth.mul(a.route[""].yield)
	for t, x := range levels {
		w := a.at(t, "grade "+g.Code)
		made, fed := a.madeOf(g.Code, t)
		used, scrap := a.usedOf(g.Code, t)
		recovered, missing := scrap.mul(entered(a.in.Plant.RegrindYield)), computed(x.Shortfall)
		a.equal(Pellets, w, computed(x.Made), made, massTolerance, "kg", "pellets made")
		a.equal(Pellets, w, computed(x.Used), used, massTolerance, "kg", "pellets used by runs")
		a.admitted(Shortfall, w, missing, num{}, massTolerance, "kg", "pellets missing", true)
		a.post(&silo, w, computed(x.Opening), made.add(missing), used, computed(x.Closing))
		a.equal(RegrindRule, w, computed(x.RegrindIn), recovered, massTolerance, "kg", "scrap recovered")
		a.equal(RegrindRule, w, computed(x.RegrindOut), fed, massTolerance, "kg", "regrind fed")
		a.post(&own, w, computed(x.RegrindOpening), recovered, fed, computed(x.RegrindClosing))
		if g.Silo > 0 {
			a.atMost(Space, w, computed(x.Closing), most(entered(g.Silo), counted), massTolerance, "kg", "pellets in the silo")
		}
		a.hold(t, computed(x.Closing).mul(worth))
		a.hold(t, computed(x.RegrindClosing).mul(ownWorth))
		a.bill(costShort, missing.mul(a.missingPrice()))
		a.belowTarget(t, entered(g.StockTarget).sub(computed(x.Closing)), worth)
	}
	a.endStock(silo.before.mul(worth))
	a.endStock(own.before.mul(ownWorth))
}

// madeOf is the pellets made of a grade in a bucket and the own regrind fed for them.
func (a *auditor) madeOf(grade string, t int) (made, fed num) {
	for _, d := range a.p.Draws {
		if d.Grade != grade || d.Bucket != t {
			continue
		}
		made = made.add(computed(d.In).mul(a.route[d.Material].yield))
		if d.Material == "" {
			fed = fed.add(computed(d.In))
		}
	}
	return made, fed
}

// usedOf is the pellets that a grade's runs use in a bucket and the scrap they make.
func (a *auditor) usedOf(grade string, t int) (used, scrap num) {
	for _, r := range a.p.Runs {
		if r.Bucket == t && a.profile[r.Profile].Grade == grade {
			used, scrap = used.add(computed(r.Pellets)), scrap.add(computed(r.Scrap))
		}
	}
	return used, scrap
}

// checkCover walks the closing pellets through the plan's own use.
func (a *auditor) checkCover(g inventory.Grade) {
	levels := byBucket(a.p.Pellets, len(a.p.Buckets), func(x planner.PelletLevel) (bool, int) { return x.Grade == g.Code, x.Bucket })
	for t, x := range levels {
		left, days := float64(x.Closing), 0.0
		for o := t + 1; ; o++ {
			if o == len(levels) {
				days = math.Inf(1)
				break
			}
			use, n := float64(levels[o].Used), float64(a.p.Buckets[o].Span.Days())
			if use > left {
				days += n * max(0, left) / use
				break
			}
			left, days = left-use, days+n
		}
		// Where what is left comes to nothing, rounding decides whether it lasts a bucket longer.
		near := days == x.CoverDays || math.Abs(days-x.CoverDays) <= coverTolerance || math.Abs(left) <= massTolerance
		a.tally[Cover].Checked++
		if !near {
			a.find(Cover, a.at(t, "grade "+g.Code), Finding{Want: days, Have: x.CoverDays, Unit: "d"})
		}
	}
}

func (a *auditor) checkSteps(t int) {
	hours := map[string]num{}
	for _, d := range a.p.Draws {
		if d.Bucket == t {
			for step, h := range a.route[d.Material].hours {
				hours[step] = hours[step].add(computed(d.In).mul(h))
			}
		}
	}
	for _, s := range a.in.Steps {
		if s.Rate > 0 {
			open := a.machineHours(s.Code, a.p.Buckets[t].Span).mul(whole(max(1, s.Machines))).mul(orElse(entered(s.Availability), whole(1)))
			a.atMost(Steps, a.at(t, "step "+s.Code), hours[s.Code], open, hoursTolerance, "h", "machine hours")
		}
	}
}

// checkYardSpace adds up what lies in the yard at the end of a bucket, lots on hold too.
func (a *auditor) checkYardSpace(t int) {
	room := entered(a.in.Plant.Yard)
	if room.sign() <= 0 {
		return
	}
	sum := num{}
	for _, l := range a.in.Lots {
		if l.Hold {
			sum = sum.add(entered(l.Mass).over(entered(a.material[l.Material].BulkDensity)))
		}
	}
	for _, y := range a.p.Yard {
		if y.Bucket == t {
			sum = sum.add(computed(y.Closing).over(entered(a.material[y.Material].BulkDensity)))
		}
	}
	a.overfull(t, "yard", sum, room)
}

// overfull checks a space and bills what is too much.
func (a *auditor) overfull(t int, name string, volume, room num) {
	over := most(num{}, volume.sub(room)).mul(whole(overfullPrice))
	a.bill(costOverfull, over)
	paid := a.paid[costOverfull]+moneyTolerance >= over.float()*(1-moneyShare)
	a.admitted(Space, a.at(t, name), volume, room, volumeTolerance, "m³", "volume stored", paid)
}
