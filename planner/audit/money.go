package audit

import (
	"math"
	"slices"

	"feedline/inventory"
	"feedline/lines"
)

type lineProfile = lines.Profile

// The names of the plan's costs.
const (
	costLate       = "lateness"
	costUnmet      = "sales never made"
	costTarget     = "below stock target"
	costBuying     = "loads bought"
	costProcess    = "crushing and pelletizing"
	costEnergy     = "energy"
	costCrew       = "crew"
	costChangeover = "changeovers"
	costStart      = "start-ups"
	costCommission = "commissioning"
	costHolding    = "holding"
	costShort      = "pellets missing"
	costPins       = "pins not kept"
	costFrozen     = "frozen days not kept"
	costChange     = "changes to the released plan"
	costOverfull   = "overfull yard or rack"
	costEnd        = "value of end stocks"
)

// costNames are those that a plan may have.
var costNames = []string{costLate, costUnmet, costTarget, costBuying, costProcess, costEnergy, costCrew, costChangeover,
	costStart, costCommission, costHolding, costShort, costPins, costFrozen, costChange, costOverfull, costEnd}

// settled are the costs that the plan's lists settle; lateness and unmet sales are bounded only.
var settled = []string{costTarget, costBuying, costProcess, costEnergy, costCrew, costChangeover, costStart, costCommission,
	costHolding, costShort, costPins, costFrozen, costChange, costOverfull, costEnd}

// What the objective takes where the book gives no price, and the prices that are not of the book.
const (
	lateShare     = 0.01   // of the price, a late metre and day
	unmetShare    = 0.2    // of the price, beside the sale, a metre never made
	missingPrice  = 50.0   // currency per kilogram of pellets missing
	targetShare   = 0.1    // what is below a stock target against a late metre
	rankStep      = 1.25   // by which the cost of lateness falls with each priority
	endShare      = 0.9    // of its worth that stock counts at the end
	overfullPrice = 1000   // currency per cubic metre and bucket
	daysAYear     = 365.25 // for the holding rate
)

// bill adds to what the plan's lists come to under a cost's name.
func (a *auditor) bill(name string, amount num) { a.bills[name] = a.bills[name].add(amount) }

func (a *auditor) lateShare() num {
	return orElse(entered(a.in.Plant.LateCostADay), entered(lateShare))
}

func (a *auditor) missingPrice() num {
	return orElse(entered(a.in.Plant.ShortfallPrice), entered(missingPrice))
}

func (a *auditor) energy(ln lines.Line, hours, kg num) num {
	kWh := hours.mul(entered(ln.BaseKW)).add(kg.mul(entered(ln.KWhPerKg)))
	return kWh.mul(entered(a.in.Plant.EnergyPrice))
}

// hold bills the holding of a stock worth the given amount over bucket t.
func (a *auditor) hold(t int, worth num) {
	years := whole(a.p.Buckets[t].Span.Days()).over(entered(daysAYear))
	a.bill(costHolding, worth.mul(entered(a.in.Plant.HoldingRate)).mul(years))
}

// endStock credits what is left at the end.
func (a *auditor) endStock(worth num) {
	a.bill(costEnd, num{}.sub(worth.mul(entered(endShare))))
}

// belowTarget bills what is missing from a stock target over bucket t: a share of what it would cost if late, and of what if held.
func (a *auditor) belowTarget(t int, missing, worth num) {
	if missing.sign() > 0 {
		days := whole(a.p.Buckets[t].Span.Days())
		aDay := a.lateShare().mul(entered(targetShare)).add(entered(a.in.Plant.HoldingRate).over(entered(daysAYear)))
		a.bill(costTarget, missing.mul(worth).mul(aDay).mul(days))
	}
}

// materialWorth is the book price of a kilogram, or what the cheapest lane lands it for if that is less.
func (a *auditor) materialWorth(m inventory.Material) num {
	worth := entered(m.Price)
	for _, lane := range a.in.Lanes {
		if lane.Material == m.Code && lane.Load > 0 {
			worth = least(worth, landed(lane).over(entered(lane.Load)))
		}
	}
	return worth
}

// pelletWorth is what a kilogram of a grade's pellets costs from its cheapest ingredient, processing included.
func (a *auditor) pelletWorth(grade string) num {
	best, any := num{}, false
	for _, i := range a.in.Ingredients {
		r := a.route[i.Material]
		if i.Grade != grade || r.yield.sign() <= 0 {
			continue
		}
		w := a.materialWorth(a.material[i.Material]).add(r.cost).over(r.yield)
		if !any || w.less(best) {
			best, any = w, true
		}
	}
	return best
}

// checkMoney compares each cost, the objective and the margin with what the lists come to.
func (a *auditor) checkMoney() {
	for _, ln := range a.in.Lines {
		if ln.State == lines.Uncommissioned && a.everOn(ln.Code) {
			a.bill(costCommission, entered(ln.Commissioning.Cost))
		}
	}
	scale, recosted := 0.0, num{}
	for name, paid := range a.paid {
		a.holds(Costs, a.at(-1, "cost "+name), slices.Contains(costNames, name), "no cost of a plan has this name")
		scale += math.Abs(paid)
	}
	near := moneyTolerance + moneyShare*scale
	unit := a.in.Plant.Currency
	for _, name := range settled {
		a.equal(Costs, a.at(-1, "cost "+name), computed(a.paid[name]), a.bills[name], near, unit, "")
		recosted = recosted.add(a.bills[name])
	}
	a.between(costLate, a.lateLow, a.lateHigh, near)
	a.between(costUnmet, a.unmetLow, a.unmetHigh, near)
	recosted = recosted.add(a.clamped(costLate, a.lateLow, a.lateHigh)).add(a.clamped(costUnmet, a.unmetLow, a.unmetHigh))
	a.report.Recosted = money(recosted)
	a.report.Difference = a.report.Recosted - a.p.Objective
	a.equal(Objective, a.at(-1, "plan"), computed(a.p.Objective), recosted, near, unit, "objective")
	a.checkGap(near)
	a.checkMargin(near)
}

func (a *auditor) between(name string, low, high num, near float64) {
	w, have := a.at(-1, "cost "+name), computed(a.paid[name])
	a.atLeast(Costs, w, have, low, near, a.in.Plant.Currency, "least that the split over priorities can give")
	a.atMost(Costs, w, have, high, near, a.in.Plant.Currency, "most that the split over priorities can give")
}

// clamped is the plan's word for a cost, cut to what is possible.
func (a *auditor) clamped(name string, low, high num) num {
	return least(high, most(low, computed(a.paid[name])))
}

func (a *auditor) everOn(line string) bool {
	for t := range a.p.Buckets {
		if a.uses[lineBucket{line, t}].On {
			return true
		}
	}
	return false
}

// checkGap checks gap = (objective − bound) ÷ the sum of the costs above 0 and that the bound is one. No bound is −∞, with an infinite gap.
func (a *auditor) checkGap(near float64) {
	w, objective, bound := a.at(-1, "plan"), float64(a.p.Objective), float64(a.p.Bound)
	if math.IsInf(bound, -1) {
		a.holds(Objective, w, math.IsInf(a.p.Gap, 1), "there is no bound but a gap")
		return
	}
	a.atMost(Objective, w, computed(bound), computed(objective), near, a.in.Plant.Currency, "bound, against the objective")
	want := max(0, objective-bound)
	gross := 0.0
	for _, c := range a.p.Costs {
		gross += max(0, float64(c.Amount))
	}
	if gross > 0 {
		want /= gross
	}
	a.equal(Objective, w, computed(a.p.Gap), computed(want), gapTolerance, "", "gap")
}

// checkMargin checks the owner's sums: sales; material drawn at book price and what loads cost beside it; the processes' costs.
func (a *auditor) checkMargin(near float64) {
	w, unit := a.at(-1, "margin"), a.in.Plant.Currency
	feed := num{}
	for _, d := range a.p.Draws {
		feed = feed.add(computed(d.In).mul(entered(a.material[d.Material].Price)))
	}
	for _, x := range a.p.Purchases {
		lane := a.lane[x.Lane]
		book := entered(lane.Load).mul(entered(a.material[lane.Material].Price))
		feed = feed.add(whole(x.Loads).mul(landed(lane).sub(book)))
	}
	processes := num{}
	for _, name := range []string{costProcess, costEnergy, costCrew, costChangeover, costStart, costCommission} {
		processes = processes.add(a.bills[name])
	}
	m := a.p.Margin
	a.equal(Margin, w, computed(m.Sales), a.sales, near+moneyShare*math.Abs(float64(m.Sales)), unit, "sales")
	a.equal(Margin, w, computed(m.Feed), feed, near, unit, "feed")
	a.equal(Margin, w, computed(m.Processes), processes, near, unit, "processes")
	a.equal(Margin, w, computed(m.Net), computed(m.Sales).sub(computed(m.Feed)).sub(computed(m.Processes)), near, unit, "net")
}
