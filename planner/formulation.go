package planner

import (
	"fmt"
	"math"
	"strings"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner/model"
)

// formulation is the planning model of some facts, with the columns and rows that a plan is read from.
// Columns are indexed by fit, line, grade … then bucket; a ref that is not a column is a constant.
type formulation struct {
	*facts
	m     *model.Model
	costs []costTerm

	run, changed, carried, mounted [][]ref   // by fit: hours; changeover to; die carried through the whole bucket; die on at the end
	grounds                        *grounds  // what walks by rules share; nil if it is not prepared
	broken                         []ref     // hours by which each pin is not kept
	on, started, commissioned      [][]ref   // by line
	startScrap                     [][][]ref // by line, grade: share of a start-up whose scrap is of the grade
	draw                           [][]ref   // by feed: kg of material taken
	yard                           [][]ref   // by material: kg at the end
	pellets, own, fed, short       [][]ref   // by grade: pellets, own regrind at the end; own regrind fed; pellets missing
	loads, placed                  [][]ref   // by lane; placed is whether any is ordered, where the lane has a least order
	rack                           [][]ref   // by profile: metres at the end
	late                           [][][]ref // by profile, class

	promise map[string][]*promised // what the released plan says, by line code and bucket; nil without one
	frozen  calendar.Day           // the promise holds before it
	held    *heldDays              // what of the promise is held (frozen.go); nil without one

	lean                   bool            // a relaxation without set-up states, see relaxed
	leanSolved             *heldProgram    // that relaxation of the same facts, solved for the first bound; nil until then
	yardRow                [][]model.Row   // by material: the balances, limit 9
	pelletsRow, regrindRow [][]model.Row   // by grade: the balances, limits 6 and 7
	metresRow              [][]model.Row   // by profile: the balances, limit 5
	shippedRow             [][][]model.Row // by profile, class: what was shipped stays shipped; -1 where there is none

	committedOnly bool      // no new loads
	looseClasses  bool      // what is late may pass from one class to another, and no stock target is asked for
	extra         [][]ref   // by fit: hours beyond the set-ups of the plan, of a re-planning formulation (replan.go); nil otherwise
	campaign      []float64 // by fit: hours of a campaign, of a capacity formulation (capacity.go); nil otherwise
	supply        []ref     // by material: kg supplied in the first bucket beside arrivals, of a capacity formulation; nil otherwise
	owed          [][]ref   // by grade: pellets owed at the end, of a committed formulation (need.go)
}

// ref is a column or a constant.
type ref struct {
	v     model.Var
	is    bool // a column
	value float64
}

func column(v model.Var) ref     { return ref{v: v, is: true} }
func constant(value float64) ref { return ref{value: value} }
func (r ref) at(x []float64) float64 {
	if r.is {
		return x[r.v]
	}
	return r.value
}

// row gathers lower ≤ Σ coef·ref ≤ upper; constants are moved to the bounds.
type row struct {
	terms    []model.Term
	constant float64
}

func (r *row) add(x ref, coef float64) *row {
	if coef == 0 {
		return r
	}
	if x.is {
		r.terms = append(r.terms, model.Term{Var: x.v, Coef: coef})
	} else {
		r.constant += x.value * coef
	}
	return r
}

func (f *formulation) emit(r *row, lower, upper float64, name string, index ...any) model.Row {
	return f.m.AddRow(label(name, index...), lower-r.constant, upper-r.constant, r.terms...)
}

// costTerm is a part of a column's cost with the name it is reported under.
type costTerm struct {
	kind   string
	v      model.Var
	amount float64
}

// The names of the parts of the objective.
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
	costFrozen     = "frozen days not kept" // in plans made while frozen days were priced
	costChange     = "changes to the released plan"
	costOverfull   = "overfull yard or rack"
	costEnd        = "value of end stocks"
)

var costOrder = []string{costUnmet, costLate, costBuying, costProcess, costEnergy, costCrew, costChangeover, costStart,
	costCommission, costHolding, costTarget, costChange, costShort, costPins, costFrozen, costOverfull, costEnd}

// cost adds amount per unit of x to the objective under a name.
func (f *formulation) cost(x ref, kind string, amount float64) {
	if x.is && amount != 0 {
		f.m.Cost[x.v] += amount
		f.costs = append(f.costs, costTerm{kind, x.v, amount})
	}
}

// label names a column or row, such as run[L1,SK-70,12], with characters that every MPS reader takes.
func label(name string, index ...any) string {
	var b strings.Builder
	b.WriteString(name)
	sep := byte('[')
	for _, x := range index {
		b.WriteByte(sep)
		sep = ','
		if s, ok := x.(string); ok {
			b.WriteString(plain(s))
		} else {
			fmt.Fprint(&b, x)
		}
	}
	b.WriteByte(']')
	return b.String()
}

// plain replaces what a name in free MPS must not hold: blanks, and anything but printable ASCII.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r <= ' ' || r > '~' || strings.ContainsRune("[],$", r) {
			return '_'
		}
		return r
	}, s)
}

// formulate builds the model. Limits carry the numbers of the planning model in DEVELOPERS.md.
func formulate(fa *facts) *formulation {
	f := &formulation{facts: fa, m: &model.Model{Name: "feedline"}}
	f.buildLines()
	f.buildDemand()
	f.buildFeed()
	f.buildPins()
	f.buildPromise()
	f.grounds = f.gatherGrounds()
	return f
}

// relaxed builds the model without the state of the set-ups: any profile runs on any line that it fits at any time, and changeovers,
// though they have their columns, are asked for by nothing. With integrality ignored, its optimum is a bound on the plan's cost,
// a little below that of the whole model's relaxation, from a third of the rows and in a fraction of the time.
func relaxed(fa *facts) *formulation {
	f := &formulation{facts: fa, m: &model.Model{Name: "relaxed"}, lean: true}
	f.buildLines()
	f.buildDemand()
	f.buildFeed()
	f.buildPins()
	return f
}

// grid makes rows × buckets refs, all the constant 0.
func (f *formulation) grid(rows int) [][]ref {
	g := make([][]ref, rows)
	for i := range g {
		g[i] = make([]ref, len(f.buckets))
	}
	return g
}

// rowGrid makes list × buckets rows, all -1: none.
func (f *formulation) rowGrid(list int) [][]model.Row {
	g := make([][]model.Row, list)
	for i := range g {
		g[i] = make([]model.Row, len(f.buckets))
		for t := range g[i] {
			g[i][t] = -1
		}
	}
	return g
}

// before is the ref of the bucket before t, or the opening value.
func before(list []ref, t int, opening float64) ref {
	if t == 0 {
		return constant(opening)
	}
	return list[t-1]
}

// buildFeed adds the yard, the steps, the pellets, the regrind and the loads: limits 6, 7, 8, 9 and 10.
func (f *formulation) buildFeed() {
	f.draw = f.grid(len(f.feeds))
	f.yard, f.yardRow = f.grid(len(f.in.Materials)), f.rowGrid(len(f.in.Materials))
	f.pellets, f.own = f.grid(len(f.in.Grades)), f.grid(len(f.in.Grades))
	f.fed, f.short = f.grid(len(f.in.Grades)), f.grid(len(f.in.Grades))
	f.pelletsRow, f.regrindRow = f.rowGrid(len(f.in.Grades)), f.rowGrid(len(f.in.Grades))
	f.buildLoads()
	for t := range f.buckets {
		f.feedColumns(t)
		for m := range f.in.Materials {
			f.yardBalance(m, t)
		}
		for k := range f.in.Grades {
			f.pelletBalance(k, t)
			f.regrindBalance(k, t)
			f.recipe(k, t)
		}
		f.stepHours(t)
		f.yardSpace(t)
	}
}

// feedColumns adds the columns of bucket t that the balances share.
func (f *formulation) feedColumns(t int) {
	rate := float64(f.in.Plant.HoldingRate) * f.days(t) / daysAYear
	last := t == len(f.buckets)-1
	for i, fd := range f.feeds {
		f.draw[i][t] = column(f.m.AddVar(label("draw", f.in.Materials[fd.material].Code, f.in.Grades[fd.grade].Code, t), 0, model.Infinity, 0))
		f.cost(f.draw[i][t], costProcess, f.paths[fd.material].cost)
	}
	for m, mat := range f.in.Materials {
		f.yard[m][t] = column(f.m.AddVar(label("yard", mat.Code, t), 0, model.Infinity, 0))
		f.cost(f.yard[m][t], costHolding, float64(mat.Price)*rate)
		if last {
			f.cost(f.yard[m][t], costEnd, -endStockShare*f.materialValue(m))
		}
	}
	for k, g := range f.in.Grades {
		f.gradeColumns(k, t, g, rate, last)
	}
}

func (f *formulation) gradeColumns(k, t int, g inventory.Grade, rate float64, last bool) {
	worth := f.pelletValue(k)
	silo := model.Infinity
	if g.Silo > 0 {
		silo = max(float64(g.Silo), f.pellet0[k])
	}
	f.pellets[k][t] = column(f.m.AddVar(label("pellets", g.Code, t), 0, silo, 0))
	f.own[k][t] = column(f.m.AddVar(label("regrind", g.Code, t), 0, model.Infinity, 0))
	f.fed[k][t] = column(f.m.AddVar(label("regrindfed", g.Code, t), 0, model.Infinity, 0))
	f.short[k][t] = column(f.m.AddVar(label("short", g.Code, t), 0, model.Infinity, 0))
	f.cost(f.pellets[k][t], costHolding, worth*rate)
	f.cost(f.own[k][t], costHolding, worth*f.regrind.yield*rate)
	f.cost(f.fed[k][t], costProcess, f.regrind.cost)
	f.cost(f.short[k][t], costShort, orDefault(float64(f.in.Plant.ShortfallPrice), defaultShortPrice))
	if last {
		f.cost(f.pellets[k][t], costEnd, -endStockShare*worth)
		f.cost(f.own[k][t], costEnd, -endStockShare*worth*f.regrind.yield)
	}
	if g.StockTarget > 0 && !f.looseClasses {
		f.stockTarget(f.pellets[k][t], float64(g.StockTarget), worth*f.targetPrice(t), "pellettarget", g.Code, t)
	}
}

// targetPrice is what a unit of worth 1 costs while it is missing from a stock target over bucket t: a share of lateness, and what
// holding it would have cost, so that a target is not given up for the cost of holding it.
func (f *formulation) targetPrice(t int) float64 {
	plant := f.in.Plant
	return (orDefault(float64(plant.LateCostADay), defaultLateADay)*targetWeight + float64(plant.HoldingRate)/daysAYear) * f.days(t)
}

// stockTarget prices each unit that stock lies below its target.
func (f *formulation) stockTarget(stock ref, target, price float64, name string, index ...any) {
	below := column(f.m.AddVar(label(name, index...), 0, target, 0))
	f.cost(below, costTarget, price)
	f.emit(new(row).add(stock, 1).add(below, 1), target, model.Infinity, name, index...)
}

// materialValue is what a kilogram of material m is worth in the yard: its book price, or less if a lane lands it cheaper.
func (f *formulation) materialValue(m int) float64 {
	value := float64(f.in.Materials[m].Price)
	for _, lane := range f.in.Lanes {
		if f.materialAt[lane.Material] == m && lane.Load > 0 {
			value = min(value, float64(lane.LoadCost())/float64(lane.Load))
		}
	}
	return value
}

// pelletValue is what a kilogram of pellets of grade k is worth: the cheapest feed's, processing included.
func (f *formulation) pelletValue(k int) float64 {
	value := math.Inf(1)
	for _, i := range f.feedsOf[k] {
		m := f.feeds[i].material
		if y := f.paths[m].yield; y > 0 {
			value = min(value, (f.materialValue(m)+f.paths[m].cost)/y)
		}
	}
	if math.IsInf(value, 1) {
		return 0
	}
	return value
}

// yardBalance is limit 9: what was there and what arrives is drawn or stays.
func (f *formulation) yardBalance(m, t int) {
	r := new(row).add(before(f.yard[m], t, f.yard0[m]), 1).add(f.yard[m][t], -1)
	for i, fd := range f.feeds {
		if fd.material == m {
			r.add(f.draw[i][t], -1)
		}
	}
	for s, lane := range f.in.Lanes {
		if f.materialAt[lane.Material] != m {
			continue
		}
		for o := range f.buckets {
			if f.loads[s][o].is && f.arrivalBucket(s, o) == t {
				r.add(f.loads[s][o], float64(lane.Load))
			}
		}
	}
	if f.supply != nil && t == 0 {
		r.add(f.supply[m], 1)
	}
	f.yardRow[m][t] = f.emit(r, -f.arrivals[m][t], -f.arrivals[m][t], "yard", f.in.Materials[m].Code, t)
}

// pelletBalance is limit 6: what is there and what is made feeds the runs or stays.
func (f *formulation) pelletBalance(k, t int) {
	r := new(row).add(before(f.pellets[k], t, f.pellet0[k]), 1).add(f.pellets[k][t], -1).
		add(f.short[k][t], 1).add(f.fed[k][t], f.regrind.yield)
	for _, i := range f.feedsOf[k] {
		r.add(f.draw[i][t], f.paths[f.feeds[i].material].yield)
	}
	f.addPelletUse(r, k, t, -1)
	f.pelletsRow[k][t] = f.emit(r, 0, 0, "pellets", f.in.Grades[k].Code, t)
}

// addPelletUse adds sign × the pellets of grade k that runs, changeovers and start-ups of bucket t use up.
func (f *formulation) addPelletUse(r *row, k, t int, sign float64) {
	f.eachPelletUse(k, t, func(v ref, coef float64) { r.add(v, sign*coef) })
}

// eachPelletUse calls use with all that uses up pellets of grade k in bucket t, and how many kilograms a unit of it takes.
func (f *formulation) eachPelletUse(k, t int, use func(v ref, coef float64)) {
	for j, ft := range f.fits {
		if f.gradeOf[ft.profile] == k {
			use(f.run[j][t], ft.pelletsPerM*ft.rate)
			use(f.changed[j][t], ft.setupScrap)
			use(f.extraAt(j, t), ft.pelletsPerM*ft.rate+f.extraSetup(j, t)*ft.setupScrap)
		}
	}
	for l, ln := range f.in.Lines {
		use(f.startScrap[l][k][t], float64(ln.Startup.Scrap))
	}
}

// regrindBalance is limit 7: recovered scrap is fed or stays; the share fed is capped.
func (f *formulation) regrindBalance(k, t int) {
	rec := float64(f.in.Plant.RegrindYield)
	r := new(row).add(before(f.own[k], t, f.own0[k]), 1).add(f.own[k][t], -1).add(f.fed[k][t], -1)
	for j, ft := range f.fits {
		if f.gradeOf[ft.profile] == k {
			r.add(f.run[j][t], rec*ft.scrapPerM*ft.rate)
			r.add(f.changed[j][t], rec*ft.setupScrap)
			r.add(f.extraAt(j, t), rec*(ft.scrapPerM*ft.rate+f.extraSetup(j, t)*ft.setupScrap))
		}
	}
	for l, ln := range f.in.Lines {
		r.add(f.startScrap[l][k][t], rec*float64(ln.Startup.Scrap))
	}
	f.regrindRow[k][t] = f.emit(r, 0, 0, "regrind", f.in.Grades[k].Code, t)
	limit := float64(f.in.Grades[k].MaxRegrind)
	if limit >= 1 {
		return
	}
	cap := new(row).add(f.fed[k][t], f.regrind.yield*(1-limit))
	for _, i := range f.feedsOf[k] {
		cap.add(f.draw[i][t], -limit*f.paths[f.feeds[i].material].yield)
	}
	f.emit(cap, -model.Infinity, 0, "regrindcap", f.in.Grades[k].Code, t)
}

// recipe is limit 8: shares, HIPS, melt flow rate and recycled content of what is fed, by mass of pellets made.
// Own regrind counts to the feed; it has the recipe's own composition and adds no recycled content of its own.
func (f *formulation) recipe(k, t int) {
	g := f.in.Grades[k]
	for _, i := range f.feedsOf[k] {
		fd := f.feeds[i]
		code := f.in.Materials[fd.material].Code
		if fd.maxShare < 1 {
			f.shareRow(k, t, func(j int) float64 { return isOne(j == i) - fd.maxShare }, -fd.maxShare, -model.Infinity, 0, "most", g.Code, code)
		}
		if fd.minShare > 0 {
			f.shareRow(k, t, func(j int) float64 { return isOne(j == i) - fd.minShare }, 0, 0, model.Infinity, "least", g.Code, code)
		}
	}
	if g.MaxHIPS < 1 {
		f.shareRow(k, t, func(j int) float64 { return isOne(f.materialOf(j).Polymer == "HIPS") - float64(g.MaxHIPS) }, 0, -model.Infinity, 0, "hips", g.Code)
	}
	if g.MinRecycled > 0 {
		f.shareRow(k, t, func(j int) float64 { return isOne(recycled(f.materialOf(j))) - float64(g.MinRecycled) }, 0, 0, model.Infinity, "recycled", g.Code)
	}
	f.meltFlow(k, t)
}

func (f *facts) materialOf(feed int) inventory.Material {
	return f.in.Materials[f.feeds[feed].material]
}

// recycled reports whether the material counts as recycled content (ISO 14021, clause 7.8).
func recycled(m inventory.Material) bool {
	return m.Source == inventory.PostConsumer || m.Source == inventory.PreConsumer
}

func isOne(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// shareRow adds lower ≤ Σ_j coef(j)·(pellets made from feed j) + regrind·(pellets made from own regrind) ≤ upper over grade k's feeds.
func (f *formulation) shareRow(k, t int, coef func(j int) float64, regrind, lower, upper float64, name string, index ...any) {
	r := new(row).add(f.fed[k][t], regrind*f.regrind.yield)
	for _, j := range f.feedsOf[k] {
		r.add(f.draw[j][t], coef(j)*f.paths[f.feeds[j].material].yield)
	}
	f.emit(r, lower, upper, name, append(index, t)...)
}

// meltFlow bounds the blend's melt flow rate by the logarithmic mixing rule, ln MFR = Σ w·ln MFR_m.
// Materials whose rate is not known count as inside the window.
func (f *formulation) meltFlow(k, t int) {
	g := f.in.Grades[k]
	bound := func(limit, lower, upper float64, name string) {
		if limit <= 0 {
			return
		}
		f.shareRow(k, t, func(j int) float64 {
			if mfr := f.materialOf(j).MFR; mfr > 0 {
				return math.Log(mfr / limit)
			}
			return 0
		}, 0, lower, upper, name, g.Code)
	}
	bound(g.MFRMin, 0, model.Infinity, "mfrmin")
	bound(g.MFRMax, -model.Infinity, 0, "mfrmax")
}

// stepHours is limit 10: the steps' machine hours.
func (f *formulation) stepHours(t int) {
	for i, st := range f.steps {
		if st.hours == nil {
			continue
		}
		r := new(row)
		for j, fd := range f.feeds {
			r.add(f.draw[j][t], f.paths[fd.material].hours[i])
		}
		for k := range f.in.Grades {
			r.add(f.fed[k][t], f.regrind.hours[i])
		}
		if len(r.terms) > 0 {
			f.emit(r, -model.Infinity, st.hours[t], "step", st.code, t)
		}
	}
}

// yardSpace is limit 10 for the yard. What committed deliveries overfill is priced, not forbidden.
func (f *formulation) yardSpace(t int) {
	if f.in.Plant.Yard <= 0 {
		return
	}
	r := new(row)
	for m, mat := range f.in.Materials {
		if mat.BulkDensity > 0 {
			r.add(f.yard[m][t], 1/float64(mat.BulkDensity))
		}
	}
	over := column(f.m.AddVar(label("yardover", t), 0, model.Infinity, 0))
	f.cost(over, costOverfull, overfullPrice)
	f.emit(r.add(over, -1), -model.Infinity, float64(f.in.Plant.Yard)-f.heldVolume(), "yardspace", t)
}

// heldVolume is the room that lots on hold take up, cubic metres.
func (f *facts) heldVolume() float64 {
	v := 0.0
	for _, lot := range f.in.Lots {
		if d := f.in.Materials[f.materialAt[lot.Material]].BulkDensity; lot.Hold && d > 0 {
			v += float64(lot.Mass) / float64(d)
		}
	}
	return v
}
