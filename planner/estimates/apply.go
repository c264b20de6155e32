package estimates

import (
	"fmt"
	"math"
	"slices"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner"
	"feedline/yield"
)

// Figures is the report's estimates that a plan can be made with.
func (r Report) Figures() []planner.Estimate {
	var list []planner.Estimate
	for _, e := range r.Estimates {
		if e.Kind != string(SupplierOf) {
			list = append(list, e.Estimate)
		}
	}
	return list
}

// FiguresFor is Figures with in's rows of overrules in place of those of the input that the report is of, as in a what-if.
func (r Report) FiguresFor(in *planner.Input) []planner.Estimate {
	list := r.Figures()
	overrule(in, list)
	return list
}

// Apply is in with the figures that estimates replace, and the Basis that names them. A figure of in that is not what was entered when
// the estimate was made, as in a what-if, is left alone, and the Basis says so. in is not changed; the copy shares with it what no
// estimate touches.
func Apply(in *planner.Input, list []planner.Estimate) *planner.Input {
	out := *in
	out.Overrides, out.Fits = slices.Clone(in.Overrides), slices.Clone(in.Fits)
	out.Changeovers, out.Lanes = slices.Clone(in.Changeovers), slices.Clone(in.Lanes)
	out.Basis = nil
	at := placesOf(&out)
	for _, e := range list {
		x := at.figure(e)
		if x == nil {
			continue
		}
		if e.Used && math.Abs(x.entered-e.Entered) > 1e-9*math.Abs(e.Entered) {
			e.Used, e.Entered, e.Note = false, x.entered, "entered otherwise in this plan"
		}
		if e.Used {
			x.put()
		}
		if out.Basis == nil {
			out.Basis = &planner.Basis{}
		}
		out.Basis.Estimates = append(out.Basis.Estimates, e)
	}
	return &out
}

// AsPlanned is in as p was made with it as far as records change it: the estimates that p names, and the lines as p begins with them.
func AsPlanned(in *planner.Input, p *planner.Plan) *planner.Input {
	return p.AsBegun(Apply(in, p.Estimates))
}

// places finds the figures of an input.
type places struct {
	in       *planner.Input
	steps    map[string]float64
	override map[pair]int
	fit      map[pair]int
	change   map[pair]int
	lane     map[string]int
	profile  map[string]lines.Profile
}

func placesOf(in *planner.Input) *places {
	p := &places{in, map[string]float64{}, map[pair]int{}, map[pair]int{}, map[pair]int{}, map[string]int{}, map[string]lines.Profile{}}
	for _, s := range in.Steps {
		p.steps[s.Code] = float64(s.Yield)
	}
	for i, o := range in.Overrides {
		p.override[pair{o.Step, o.Material}] = i
	}
	for i, f := range in.Fits {
		p.fit[pair{f.Line, f.Profile}] = i
	}
	for i, c := range in.Changeovers {
		p.change[pair{c.From, c.To}] = i
	}
	for i, l := range in.Lanes {
		p.lane[l.Code] = i
	}
	for _, x := range in.Profiles {
		p.profile[x.Code] = x
	}
	return p
}

// place is a figure as it stands, and what sets it to the estimate.
type place struct {
	entered float64
	put     func()
}

// figure is the place of an estimate, nil if the input has none.
func (p *places) figure(e planner.Estimate) *place {
	k := pair{e.A, e.B}
	switch Kind(e.Kind) {
	case Yield:
		return p.yield(e, k)
	case Rate, Availability, Quality:
		if i, ok := p.fit[k]; ok {
			return p.ofFit(e, &p.in.Fits[i])
		}
	case SetUp:
		if i, ok := p.change[k]; ok {
			c := &p.in.Changeovers[i]
			return &place{float64(c.Hours), func() { c.Hours = quantity.Hours(e.Value) }}
		}
	case LeadTime:
		if i, ok := p.lane[e.A]; ok {
			l := &p.in.Lanes[i]
			return &place{l.LeadTime.Mean, func() { l.LeadTime = e.LeadTime }}
		}
	}
	return nil
}

func (p *places) yield(e planner.Estimate, k pair) *place {
	if i, ok := p.override[k]; ok {
		return &place{float64(p.in.Overrides[i].Yield), func() { p.in.Overrides[i].Yield = quantity.Share(e.Value) }}
	}
	y, ok := p.steps[e.A]
	if !ok {
		return nil
	}
	return &place{y, func() {
		p.in.Overrides = append(p.in.Overrides, yield.Override{Step: e.A, Material: e.B, Yield: quantity.Share(e.Value)})
	}}
}

// ofFit scales both limits of a line by the rate's ratio to what was entered: which of them binds is not recorded.
func (p *places) ofFit(e planner.Estimate, f *lines.Fit) *place {
	switch Kind(e.Kind) {
	case Rate:
		return &place{ideal(p.profile[f.Profile], *f), func() {
			ratio := e.Value / e.Entered
			f.Melt *= quantity.MassRate(ratio)
			f.HaulOff *= quantity.Speed(ratio)
		}}
	case Availability:
		return &place{float64(f.Availability), func() { f.Availability = quantity.Share(e.Value) }}
	}
	return &place{float64(f.Quality), func() { f.Quality = quantity.Share(e.Value) }}
}

// Change is an estimate that a plan used otherwise than the plan before, and what that does.
type Change struct {
	Name     string
	Was, Now float64
	Unit     string
	Text     string // of now, "as entered" if it is no longer estimated
	Effect   string // such as "IMW: −310 kg of pellets from 61 t in the yard and on the way"
}

// Changes compares the figures used by two plans on the plant in: in is as entered.
func Changes(in *planner.Input, was, now []planner.Estimate) []Change {
	before := map[string]planner.Estimate{}
	for _, e := range was {
		before[e.Name] = e
	}
	var list []Change
	for _, e := range now {
		old, known := before[e.Name]
		a, b := e.Entered, used(e)
		if known {
			a = used(old)
		}
		if !alike(a, b) {
			list = append(list, Change{Name: e.Name, Was: a, Now: b, Unit: e.Unit, Text: told(e), Effect: effect(in, e, a, b)})
		}
		delete(before, e.Name)
	}
	for _, e := range was {
		if _, gone := before[e.Name]; gone && !alike(used(e), e.Entered) {
			list = append(list, Change{Name: e.Name, Was: used(e), Now: e.Entered, Unit: e.Unit, Text: "as entered", Effect: effect(in, e, used(e), e.Entered)})
		}
	}
	slices.SortStableFunc(list, func(x, y Change) int {
		return int(math.Copysign(1, moved(y)-moved(x)))
	})
	return list
}

// moved is how far a change went, as a share of the figure.
func moved(c Change) float64 { return math.Abs(c.Now-c.Was) / max(math.Abs(c.Was), 1e-9) }

func used(e planner.Estimate) float64 {
	if e.Used {
		return e.Value
	}
	return e.Entered
}

func told(e planner.Estimate) string {
	if e.Used {
		return e.Text
	}
	return "as entered"
}

// alike reports whether two figures differ by less than a ten-thousandth, which no plan shows.
func alike(a, b float64) bool { return math.Abs(a-b) <= 1e-4*math.Abs(a) }

// effect is what a figure's change from a to b means, by itself, for what is in the yard, for a line's metres and for order-by dates.
func effect(in *planner.Input, e planner.Estimate, a, b float64) string {
	switch Kind(e.Kind) {
	case Yield:
		return yieldEffect(in, e, a, b)
	case Rate, Availability, Quality:
		return fmt.Sprintf("%+.1f %% good metres of %s an hour on %s", 100*(b-a)/a, e.B, e.A)
	case LeadTime:
		return fmt.Sprintf("orders on %s go out %.1f days %s", e.A, math.Abs(b-a), map[bool]string{true: "earlier", false: "later"}[b > a])
	case SetUp:
		return fmt.Sprintf("%+.2f h a changeover", b-a)
	}
	return ""
}

// yieldEffect is the pellets that a step's yield gives more or less of a material's free lots and deliveries.
func yieldEffect(in *planner.Input, e planner.Estimate, a, b float64) string {
	mass := inventory.AvailableMass(in.Lots, e.B)
	for _, d := range in.Deliveries {
		if d.Coming() && d.Material == e.B {
			mass += d.Mass
		}
	}
	for _, m := range in.Materials {
		if m.Code != e.B {
			continue
		}
		path := yield.Chain{Steps: in.Steps, Overrides: in.Overrides}.For(m.Code, string(m.Form))
		for _, s := range path.Steps {
			if s.Step == e.A && s.Out > 0 {
				others := float64(path.Yield) / float64(s.Out/s.In)
				return fmt.Sprintf("%+.0f kg of pellets of the %.1f t of %s in the yard and on their way", float64(mass)*others*(b-a), float64(mass)/1000, m.Code)
			}
		}
	}
	return ""
}
