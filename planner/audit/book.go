package audit

import (
	"cmp"
	"slices"

	"feedline/inventory"
	"feedline/lines"
	"feedline/planner"
	"feedline/yield"
)

// What holds where the book leaves a field empty, as the types of the book say.
const (
	defaultQuantile = 0.8
	defaultService  = 0.95
)

// book is an Input ready for look-ups by code.
type book struct {
	in       *planner.Input
	line     map[string]lines.Line
	profile  map[string]lines.Profile
	grade    map[string]inventory.Grade
	material map[string]inventory.Material
	lane     map[string]inventory.Lane
	order    map[string]planner.Order
	fits     map[[2]string]fit // by line and profile
	onLine   map[string][]string
	route    map[string]route // by material; "" is own regrind

	quantile, service float64
}

// fit is a line's figures for a profile: rate in good metres per hour, kilograms per good metre.
type fit struct {
	rate, pellets, scrap num
}

// route is what a kilogram of a material goes through to become pellets.
type route struct {
	yield, cost num
	hours       map[string]num // machine hours per kilogram, by step; only where the step's rate is a limit
}

func keyed[T any](list []T, code func(T) string) map[string]T {
	m := make(map[string]T, len(list))
	for _, x := range list {
		m[code(x)] = x
	}
	return m
}

func read(in *planner.Input) book {
	b := book{
		in:       in,
		line:     keyed(in.Lines, func(x lines.Line) string { return x.Code }),
		profile:  keyed(in.Profiles, func(x lines.Profile) string { return x.Code }),
		grade:    keyed(in.Grades, func(x inventory.Grade) string { return x.Code }),
		material: keyed(in.Materials, func(x inventory.Material) string { return x.Code }),
		lane:     keyed(in.Lanes, func(x inventory.Lane) string { return x.Code }),
		order:    keyed(in.Orders, func(x planner.Order) string { return x.Code }),
		fits:     map[[2]string]fit{},
		onLine:   map[string][]string{},
		route:    map[string]route{"": routeOf(in, "", string(inventory.Regrind))},
		quantile: defaultQuantile,
		service:  defaultService,
	}
	if q := float64(in.Plant.ArrivalQuantile); q > 0 {
		b.quantile = q
	}
	if q := float64(in.Plant.ServiceLevel); q > 0 {
		b.service = q
	}
	for _, m := range in.Materials {
		b.route[m.Code] = routeOf(in, m.Code, string(m.Form))
	}
	for _, x := range in.Fits {
		b.readFit(x)
	}
	return b
}

// readFit works out rate = min(melt ÷ kg/m, haul-off × 60 × strands) × availability × quality, a limit of 0 being none.
func (b *book) readFit(x lines.Fit) {
	perMetre, quality := entered(b.profile[x.Profile].PerMetre), entered(x.Quality)
	melt := entered(x.Melt).over(perMetre)
	haul := entered(x.HaulOff).mul(whole(60 * max(1, x.Strands)))
	gross := least(melt, haul)
	if melt.sign() <= 0 || haul.sign() <= 0 {
		gross = most(melt, haul)
	}
	f := fit{rate: gross.mul(entered(x.Availability)).mul(quality), pellets: perMetre.over(quality)}
	f.scrap = f.pellets.sub(perMetre)
	if f.rate.sign() > 0 {
		b.fits[[2]string{x.Line, x.Profile}] = f
		b.onLine[x.Line] = append(b.onLine[x.Line], x.Profile)
	}
}

// routeOf multiplies the yields of the steps that a form passes, in their order; each step sees what the ones before leave.
func routeOf(in *planner.Input, material, form string) route {
	steps := slices.Clone(in.Steps)
	slices.SortStableFunc(steps, func(a, b yield.Step) int { return cmp.Compare(a.Order, b.Order) })
	r := route{yield: whole(1), hours: map[string]num{}}
	for _, s := range steps {
		if !slices.Contains(s.Forms, form) {
			continue
		}
		r.cost = r.cost.add(entered(s.Cost).mul(r.yield))
		if s.Rate > 0 {
			r.hours[s.Code] = r.yield.over(entered(s.Rate))
		}
		y := entered(s.Yield)
		for _, o := range in.Overrides {
			if o.Step == s.Code && o.Material == material {
				y = entered(o.Yield)
				break
			}
		}
		r.yield = r.yield.mul(y)
	}
	return r
}

// change is what changing from one die family to another takes, by the most exact match: both, To, From, any.
// Within a family only a row that names it twice counts.
func (b *book) change(from, to string) lines.Changeover {
	best, rank := lines.Changeover{}, 0
	for _, c := range b.in.Changeovers {
		r := 0
		switch {
		case c.From == from && c.To == to:
			r = 4
		case from == to:
		case c.From == "*" && c.To == to:
			r = 3
		case c.From == from && c.To == "*":
			r = 2
		case c.From == "*" && c.To == "*":
			r = 1
		}
		if r > rank {
			best, rank = c, r
		}
	}
	return best
}

// family is the die family of a profile; "" for none.
func (b *book) family(profile string) string { return b.profile[profile].DieFamily }

// dearest is, figure by figure, the most that a change to profile on a line takes from any other profile of the line, from
// what is on it at the plan's start, or from nothing. Its Cost has the fitters' pay in it.
func (b *book) dearest(line, profile string) lines.Changeover {
	var d lines.Changeover
	for _, from := range append([]string{"", b.line[line].Mounted}, b.onLine[line]...) {
		if from == profile {
			continue
		}
		c := b.change(b.family(from), b.family(profile))
		d.Hours, d.Scrap, d.FitterHours = max(d.Hours, c.Hours), max(d.Scrap, c.Scrap), max(d.FitterHours, c.FitterHours)
		pay := entered(c.FitterHours).mul(entered(b.in.Plant.FitterCost))
		if cost := entered(c.Cost).add(pay); entered(d.Cost).less(cost) {
			d.Cost = money(cost)
		}
	}
	return d
}
