package planner

import (
	"math"
	"slices"

	"feedline/inventory"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner/model"
)

// Capacity is a linear program of what the plant could make of a given supply: the whole horizon as one period, without opening stocks, with
// demand, lines, crew, dies, fitters, steps and recipes, and set-ups as one for each campaign of usual length. Material is bought as
// it suits the recipes, at the cheapest lane's cost or else at book price, up to the tonnes of row Supply. Its objective, maximised, is the margin:
// sales less feed and processes, money over the horizon.
type Capacity struct {
	Program *model.Model
	Supply  model.Row // upper side: kilograms supplied over the horizon
	Months  float64   // length of the horizon, of 30.44 days
	Limits  []Limit   // what may bind beside the supply

	f *formulation
}

// Limit is a row or column that may bind, with words for it.
type Limit struct {
	Kind  string // "line", "step", "crew", "fitters", "dies" or "demand"
	Name  string // code; "" for crew and fitters
	row   model.Row
	col   model.Var
	isCol bool
}

const (
	daysAMonth   = daysAYear / 12
	campaignDays = 14 // a campaign covers the demand of so many days
)

// NewCapacity builds the program of in from the given day over so many weeks, with the lines for which on says so. Errors as for Make.
func NewCapacity(in *Input, start calendar.Day, weeks int, on func(lines.Line) bool) (*Capacity, error) {
	fa, err := prepareFacts(in, Options{Start: start, Weeks: weeks})
	if err != nil {
		return nil, err
	}
	whole := []calendar.Bucket{{Span: calendar.Span{From: start, To: fa.end()}}}
	fa = gatherIn(in, Options{Start: start}, whole)
	for l, ln := range in.Lines {
		if !on(ln) {
			fa.avail[l][0] = 0
		}
	}
	for _, list := range [][]float64{fa.yard0, fa.pellet0, fa.own0, fa.rack0} {
		clear(list)
	}
	for m := range fa.arrivals {
		clear(fa.arrivals[m])
	}
	fa.pins = nil
	f := &formulation{facts: fa, m: &model.Model{Name: "capacity"}, committedOnly: true, looseClasses: true}
	c := &Capacity{f: f, Program: f.m, Months: float64(whole[0].Span.Days()) / daysAMonth}
	c.build()
	return c, nil
}

func (c *Capacity) build() {
	f := c.f
	f.run, f.changed, f.extra = f.grid(len(f.fits)), f.grid(len(f.fits)), f.grid(len(f.fits))
	for range f.in.Lines {
		f.startScrap = append(f.startScrap, f.grid(len(f.in.Grades)))
	}
	c.campaigns()
	c.floor()
	f.supply = make([]ref, len(f.in.Materials))
	total := new(row)
	for m, mat := range f.in.Materials {
		if !c.isSupplied(mat.Code) {
			continue
		}
		f.supply[m] = column(f.m.AddVar(label("supply", mat.Code), 0, model.Infinity, 0))
		f.cost(f.supply[m], costBuying, c.landed(m))
		total.add(f.supply[m], 1)
	}
	c.Supply = f.emit(total, -model.Infinity, 0, "supply")
	f.buildDemand()
	f.buildFeed()
	c.steps()
	c.margin()
}

// steps notes the steps' rows as limits.
func (c *Capacity) steps() {
	for i, name := range c.f.m.RowName {
		for _, st := range c.f.steps {
			if name == label("step", st.code, 0) {
				c.Limits = append(c.Limits, Limit{Kind: "step", Name: st.code, row: model.Row(i)})
			}
		}
	}
}

// campaigns sets the hours of each fit's usual campaign: what its profile sells in a fortnight on one line, at least leastRun.
func (c *Capacity) campaigns() {
	f := c.f
	f.campaign = make([]float64, len(f.fits))
	for j, ft := range f.fits {
		metres := 0.0
		for _, cl := range f.classes[ft.profile] {
			metres += cl.total
		}
		f.campaign[j] = max(leastRun, metres/ft.rate*campaignDays/f.days(0))
	}
}

// floor adds the hours of the lines and what they have in common.
func (c *Capacity) floor() {
	f := c.f
	fitters, crew := new(row), new(row)
	used := make([]*row, len(f.in.Profiles))
	for p := range used {
		used[p] = new(row)
	}
	for l, ln := range f.in.Lines {
		h := f.avail[l][0]
		if h <= 0 {
			continue
		}
		on := column(f.m.AddVar(label("crewed", ln.Code), 0, h, 0))
		f.cost(on, costCrew, ln.Crew*float64(f.in.Plant.CrewCost))
		c.Limits = append(c.Limits, Limit{Kind: "line", Name: ln.Code, col: on.v, isCol: true})
		crew.add(on, ln.Crew/h)
		hours := new(row).add(on, -1)
		for _, j := range f.fitsOf[l] {
			ft, share := f.fits[j], f.extraSetup(j, 0)
			f.extra[j][0] = column(f.m.AddVar(label("run", ln.Code, f.profileCode(j)), 0, model.Infinity, 0))
			f.cost(f.extra[j][0], costEnergy, f.energyAnHour(j)+share*ft.setupCost)
			hours.add(f.extra[j][0], 1+share*ft.setup)
			fitters.add(f.extra[j][0], share*ft.fitters)
			used[ft.profile].add(f.extra[j][0], 1/h)
		}
		f.emit(hours, -model.Infinity, 0, "hours", ln.Code)
	}
	limit := func(r *row, most float64, kind, name string) {
		if len(r.terms) > 0 && most > 0 {
			c.Limits = append(c.Limits, Limit{Kind: kind, Name: name, row: f.emit(r, -model.Infinity, most, kind, name)})
		}
	}
	limit(fitters, float64(f.in.Plant.FitterHours)*f.openDays[0], "fitters", "")
	limit(crew, f.in.Plant.Crew, "crew", "")
	for p, pr := range f.in.Profiles {
		if len(used[p].terms) > pr.Dies {
			limit(used[p], float64(pr.Dies), "dies", pr.Code)
		}
	}
}

// isSupplied reports whether a material can be had: a lane, a delivery or a lot brings it.
func (c *Capacity) isSupplied(code string) bool {
	in := c.f.in
	return slices.ContainsFunc(in.Lanes, func(l inventory.Lane) bool { return l.Material == code && l.Load > 0 }) ||
		slices.ContainsFunc(in.Deliveries, func(d inventory.Delivery) bool { return d.Material == code }) ||
		slices.ContainsFunc(in.Lots, func(l inventory.Lot) bool { return l.Material == code })
}

// landed is what a kilogram of material m costs in the yard: by the cheapest lane, else its book price.
func (c *Capacity) landed(m int) float64 {
	in, cost := c.f.in, math.Inf(1)
	for _, l := range in.Lanes {
		if c.f.materialAt[l.Material] == m && l.Load > 0 {
			cost = min(cost, float64(l.LoadCost())/float64(l.Load))
		}
	}
	if math.IsInf(cost, 1) {
		return float64(in.Materials[m].Price)
	}
	return cost
}

// margin turns the costs into a margin to be maximised: what is not made is not sold, nothing is kept, no pellets are missing.
func (c *Capacity) margin() {
	f := c.f
	m := f.m
	fix := func(r ref) {
		if r.is {
			m.Lower[r.v], m.Upper[r.v] = 0, 0
		}
	}
	sales := 0.0
	for p, pr := range f.in.Profiles {
		fix(f.rack[p][0])
		for k, cl := range f.classes[p] {
			price := 0.0
			for _, o := range cl.orders {
				price += f.orderPrice(o) * float64(f.in.Orders[o].Length) / cl.total
			}
			if len(cl.orders) == 0 {
				price = float64(pr.Price)
			}
			sales += price * cl.total
			if x := f.late[p][k][0]; x.is {
				m.Cost[x.v] = price
				c.Limits = append(c.Limits, Limit{Kind: "demand", Name: pr.Code, col: x.v, isCol: true})
			}
		}
	}
	for k := range f.in.Grades {
		fix(f.short[k][0])
		fix(f.pellets[k][0])
		if x := f.own[k][0]; x.is {
			m.Cost[x.v] = 0 // scrap that no recipe takes back is left over
		}
	}
	for i := range f.in.Materials {
		fix(f.yard[i][0])
	}
	m.Maximize = true
	for j := range m.Cost {
		m.Cost[j] = -m.Cost[j]
	}
	m.Offset = sales
}

// Metres is the good metres made in an answer x, over the horizon.
func (c *Capacity) Metres(x []float64) float64 {
	sum := 0.0
	for j, ft := range c.f.fits {
		sum += max(0, c.f.extra[j][0].at(x)) * ft.rate
	}
	return sum
}

// Bought is the kilograms of each material bought in an answer x, over the horizon.
func (c *Capacity) Bought(x []float64) []float64 {
	kg := make([]float64, len(c.f.supply))
	for m, s := range c.f.supply {
		kg[m] = s.at(x)
	}
	return kg
}

// Binding lists the limits that bind in an optimum with the duals y and reduced costs d of the program's own sense: more of it would be worth something. Demand binds where all of a
// profile that is asked for is made.
func (c *Capacity) Binding(y, d []float64) []Limit {
	var list []Limit
	for _, l := range c.Limits {
		worth := 0.0
		switch {
		case l.Kind == "line": // at its upper bound
			worth = d[l.col]
		case l.isCol: // nothing unmade: at its lower bound
			worth = -d[l.col]
		default:
			worth = math.Abs(y[l.row])
		}
		if worth > bindsFrom && !slices.ContainsFunc(list, func(o Limit) bool { return o.Kind == l.Kind && o.Name == l.Name }) {
			list = append(list, l)
		}
	}
	return list
}

// bindsFrom is the money a unit from which a dual counts as not zero.
const bindsFrom = 1e-6
