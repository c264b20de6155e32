package planner

import (
	"slices"

	"feedline/lines/calendar"
	"feedline/planner/model"
)

// LoadOrder is loads that may be ordered on a lane in a week: a column of an order program.
type LoadOrder struct {
	Lane   int // in the input
	Week   int
	Day    calendar.Day // of ordering
	Col    model.Var    // loads
	Placed model.Var    // 1 if any are, where the lane has a least order; else -1
	Plan   float64      // loads that the plan orders then
}

// Arrival tells when the loads ordered on a lane on a day come, and the share of them that is accepted.
type Arrival func(lane int, day calendar.Day) (comes calendar.Day, accepted float64)

// OrderProgram is the program in the world w with the plan's loads to be decided anew: those ordered in the first near weeks in whole
// loads, later ones in any amount, as far as each lane takes them. w's arrivals must be without the plan's loads (Committed). A load is
// paid for as it is ordered; one that comes after the horizon counts for what stocks at its end do. The orders of all weeks are
// returned by lane and week, the near ones with Week < near; columns and rows do not depend on the world.
func (r *Replan) OrderProgram(near int, w *World, arrival Arrival) (*model.Model, []LoadOrder) {
	b := orderBuilder{r: r, near: near, world: w, arrival: arrival, m: r.ProgramIn(w), yard: map[model.Row][]model.Term{}, plan: map[[2]int]float64{}}
	for _, l := range r.daily.bought {
		b.m.Offset -= float64(l.purchase.Cost)
		b.plan[[2]int{l.lane, r.weekOf[l.ordered]}] += float64(l.purchase.Loads)
	}
	for s := range r.f.in.Lanes {
		if r.f.in.Lanes[s].Load > 0 {
			b.lane(s)
		}
	}
	return b.finish(), b.orders
}

// orderBuilder puts an order program together.
type orderBuilder struct {
	r       *Replan
	near    int
	world   *World
	arrival Arrival
	m       *model.Model
	plan    map[[2]int]float64         // loads that the plan orders, by lane and week
	yard    map[model.Row][]model.Term // what the yard's rows get
	rows    []orderRow
	orders  []LoadOrder
}

// orderRow is a row on orders alone.
type orderRow struct {
	name         string
	lower, upper float64
	terms        []model.Term
}

// lane adds the orders of lane s.
func (b *orderBuilder) lane(s int) {
	f, from := b.r.f, len(b.orders)
	for t := range f.buckets {
		if day := f.orderDay(s, t); f.in.Lanes[s].TakesOrders(day) {
			b.order(LoadOrder{Lane: s, Week: t, Day: day, Placed: -1, Plan: b.plan[[2]int{s, t}]})
		}
	}
	if f.in.Lanes[s].LoadsAWeek > 0 {
		b.loadsAWeek(s, b.orders[from:])
	}
}

// order adds the loads of o: their cost, and their mass where they come.
func (b *orderBuilder) order(o LoadOrder) {
	f := b.r.f
	lane := f.in.Lanes[o.Lane]
	name, mat := label("loads", lane.Code, o.Week), f.materialAt[lane.Material]
	comes, accepted := b.arrival(o.Lane, o.Day)
	cost, kg := float64(lane.LoadCost())*accepted, float64(lane.Load)*accepted
	at := max(0, f.bucketOf(comes))
	if at >= len(f.buckets) {
		cost -= kg * endStockShare * f.materialValue(mat)
	}
	most := max(f.mostLoads(o.Lane, o.Week), o.Plan)
	if o.Week < b.near {
		o.Col = b.m.AddInt(name, 0, most, cost)
	} else {
		o.Col = b.m.AddVar(name, 0, most, cost)
	}
	if at < len(f.buckets) {
		row := f.yardRow[mat][at]
		b.yard[row] = append(b.yard[row], model.Term{Var: o.Col, Coef: kg * b.world.yield(mat)})
	}
	if o.Week < b.near && lane.MinLoads > 1 {
		o.Placed = b.m.AddInt(label("order", lane.Code, o.Week), 0, 1, 0)
		b.rows = append(b.rows,
			orderRow{label("leastloads", lane.Code, o.Week), 0, model.Infinity, []model.Term{{Var: o.Col, Coef: 1}, {Var: o.Placed, Coef: -float64(lane.MinLoads)}}},
			orderRow{label("mostloads", lane.Code, o.Week), -model.Infinity, 0, []model.Term{{Var: o.Col, Coef: 1}, {Var: o.Placed, Coef: -most}}})
	}
	b.orders = append(b.orders, o)
}

// loadsAWeek bounds a lane's loads in any run of weeks that allows at least one order, never below what the plan orders there.
func (b *orderBuilder) loadsAWeek(s int, list []LoadOrder) {
	limit, weeks := b.r.f.loadLimit(s)
	for i, first := range list {
		var terms []model.Term
		planned := 0.0
		for _, o := range list[i:] {
			if o.Week-first.Week < int(weeks) {
				terms = append(terms, model.Term{Var: o.Col, Coef: 1})
				planned += o.Plan
			}
		}
		if len(terms) > 1 {
			b.rows = append(b.rows, orderRow{label("loadsaweek", b.r.f.in.Lanes[s].Code, first.Week), -model.Infinity, max(limit, planned), terms})
		}
	}
}

// finish is the model of the columns with their rows.
func (b *orderBuilder) finish() *model.Model {
	old := b.m
	m := &model.Model{Name: "orders", Offset: old.Offset, Cost: old.Cost, Lower: old.Lower, Upper: old.Upper, Integer: old.Integer, VarName: old.VarName}
	for i := range old.RowLower {
		vars, coefs := old.RowTerms(model.Row(i))
		terms := slices.Clone(b.yard[model.Row(i)])
		for k, v := range vars {
			terms = append(terms, model.Term{Var: v, Coef: coefs[k]})
		}
		m.AddRow(old.RowName[i], old.RowLower[i], old.RowUpper[i], terms...)
	}
	for _, r := range b.rows {
		m.AddRow(r.name, r.lower, r.upper, r.terms...)
	}
	return m
}
