package estimates

import (
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner"
	"feedline/planner/records"
	"feedline/yield"
)

// pair is a place of two codes, such as step and material.
type pair struct{ a, b string }

// series is records of a group in time order: what should have come and what came.
type series struct {
	records []yield.Record
	codes   []string // of the entries
}

func (s *series) add(e records.Entry, in, out float64) {
	if !(in > 0) {
		return
	}
	s.records = append(s.records, yield.Record{Day: e.Head.Day, In: quantity.Mass(in), Out: quantity.Mass(out)})
	s.codes = append(s.codes, e.Head.Code)
}

// observation is the records by what they say something of. Yields and line figures are against what was entered: In is scaled by it.
type observation struct {
	in        *planner.Input
	chain     yield.Chain
	steps     map[string]yield.Step
	fits      map[pair]lines.Fit
	profiles  map[string]lines.Profile
	reasons   map[string]lines.StopKind
	material  map[string]string // by lot
	supplier  map[string]string // by lot
	yield     map[pair]*series  // by step and material
	supplied  map[[3]string]*series
	rate      map[pair]*series // by line and profile
	up        map[pair]*series
	good      map[pair]*series
	setup     map[pair]*series // by changeover row
	last      map[string]string
	busy      map[string]*lines.Performance // by line, in hours at the ideal rate
	receipts  []records.Receipt
	shipments []records.Entry
}

func observe(in *planner.Input, list []records.Entry) *observation {
	o := &observation{in: in, chain: yield.Chain{Steps: in.Steps, Overrides: in.Overrides}, steps: map[string]yield.Step{}, fits: map[pair]lines.Fit{},
		profiles: map[string]lines.Profile{}, reasons: map[string]lines.StopKind{}, material: map[string]string{}, supplier: map[string]string{},
		yield: map[pair]*series{}, supplied: map[[3]string]*series{}, rate: map[pair]*series{}, up: map[pair]*series{}, good: map[pair]*series{},
		setup: map[pair]*series{}, last: map[string]string{}, busy: map[string]*lines.Performance{}}
	for _, s := range in.Steps {
		o.steps[s.Code] = s
	}
	for _, f := range in.Fits {
		o.fits[pair{f.Line, f.Profile}] = f
	}
	for _, p := range in.Profiles {
		o.profiles[p.Code] = p
	}
	for _, r := range in.Reasons {
		o.reasons[r.Code] = r.Kind
	}
	for _, l := range in.Lots {
		o.material[l.Code], o.supplier[l.Code] = l.Material, l.Supplier
	}
	for _, e := range list {
		o.entry(e)
	}
	return o
}

func (o *observation) entry(e records.Entry) {
	if !e.Counts() {
		return
	}
	switch r := e.Record.(type) {
	case records.Receipt:
		o.material[r.Lot], o.supplier[r.Lot] = r.Material, r.Supplier
		o.receipts = append(o.receipts, r)
	case records.Process:
		o.process(e, r)
	case records.Run:
		o.run(e, r)
	case records.Shipment:
		o.shipments = append(o.shipments, e)
	}
}

// of is the series of a group, made if there is none.
func of[K comparable](m map[K]*series, k K) *series {
	if m[k] == nil {
		m[k] = &series{}
	}
	return m[k]
}

// process is a run's yield, if all its lots are of one material; blends say nothing of one.
func (o *observation) process(e records.Entry, r records.Process) {
	s, ok := o.steps[r.Step]
	if !ok || len(r.Lots) == 0 || r.Regrind > 0 {
		return
	}
	material, supplier := o.material[r.Lots[0].Lot], o.supplier[r.Lots[0].Lot]
	for _, d := range r.Lots[1:] {
		if o.material[d.Lot] != material {
			return
		}
		if o.supplier[d.Lot] != supplier {
			supplier = ""
		}
	}
	entered := o.enteredYield(s, material)
	in := float64(records.MassOf(r.InGrams())) * entered
	of(o.yield, pair{r.Step, material}).add(e, in, float64(r.Out))
	if supplier != "" {
		of(o.supplied, [3]string{r.Step, material, supplier}).add(e, in, float64(r.Out))
	}
}

func (o *observation) enteredYield(s yield.Step, material string) float64 {
	for _, x := range o.in.Overrides {
		if x.Step == s.Code && x.Material == material {
			return float64(x.Yield)
		}
	}
	return float64(s.Yield)
}

// run is what a line did in an hour of running, how much of its hours it ran, and how much of it was good.
func (o *observation) run(e records.Entry, r records.Run) {
	k := pair{r.Line, r.Profile}
	fit, ok := o.fits[k]
	p := o.profiles[r.Profile]
	if !ok || p.PerMetre <= 0 {
		return
	}
	ideal := ideal(p, fit)
	gross := float64(r.Good) + float64(r.Scrap)/float64(p.PerMetre)
	down, setup := o.stood(r)
	ran := float64(r.Run)
	of(o.rate, k).add(e, ran*ideal, gross)
	of(o.up, k).add(e, (ran+down)*float64(fit.Availability), ran)
	of(o.good, k).add(e, gross*float64(fit.Quality), float64(r.Good))
	o.changeover(e, r, setup)
	b := o.busy[r.Line]
	if b == nil {
		b = &lines.Performance{IdealRate: 1}
		o.busy[r.Line] = b
	}
	b.PlannedBusy += quantity.Hours(ran + down + setup)
	b.Production += r.Run
	if ideal > 0 {
		b.Produced += gross / ideal
		b.Good += float64(r.Good) / ideal
	}
}

// ideal is the metres an hour of running that the figures entered give, good or not.
func ideal(p lines.Profile, f lines.Fit) float64 {
	f.Availability, f.Quality = 1, 1
	return lines.Rate(p, f).GoodMetresPerHour
}

// stood is the hours that a line was stopped for no plan of its own, and those of set-ups.
func (o *observation) stood(r records.Run) (down, setup float64) {
	down, setup = float64(r.DownHours()), float64(r.SetUp)
	for _, s := range r.Stops {
		switch o.reasons[s.Reason] {
		case lines.PlannedStop:
			down -= float64(s.Hours)
		case lines.SetUp:
			down -= float64(s.Hours)
			setup += float64(s.Hours)
		}
	}
	return max(0, down), setup
}

// changeover is the hours that a change to another profile took against what its row of changeovers says.
func (o *observation) changeover(e records.Entry, r records.Run, setup float64) {
	before := o.last[r.Line]
	o.last[r.Line] = r.Profile
	if before == "" || before == r.Profile || setup <= 0 {
		return
	}
	c, ok := lines.ChangeoverBetween(o.in.Changeovers, o.profiles[before].DieFamily, o.profiles[r.Profile].DieFamily)
	if ok && c.Hours > 0 {
		of(o.setup, pair{c.From, c.To}).add(e, float64(c.Hours), setup)
	}
}

// lane is the days that a lane's loads took, and those that open ones have waited.
type lane struct {
	arrived, open []float64
}
