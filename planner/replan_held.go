package planner

import (
	"context"
	"fmt"
	"slices"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// heldPlan is a plan with its set-ups, starts and loads read into constants, in the plan's own buckets, and the hours, feed and
// lateness of least cost that go with them.
type heldPlan struct {
	f         *formulation
	plan      *Plan
	within    [][]float64 // by fit: the most hours that the set-ups allow
	net       [][]float64 // by line: crewed hours left for running
	work      [][]bool    // by line: whether the plan runs anything
	fixed     fixedCosts
	bought    []lot
	arrivals  [][]float64 // kg by material: committed deliveries and the plan's loads
	x         []float64
	objective float64
}

// lot is loads that the plan orders; ordered and arrives are buckets, arrives may be after the last.
type lot struct {
	lane, material   int
	ordered, arrives int
	purchase         Purchase
}

// fixedCosts is what the plan's set-ups, starts and crews cost, by bucket or week; what is not tied to one beside them.
type fixedCosts struct {
	crew, changeover, start []float64
	commission              float64
	rest                    float64 // loads bought, changes to the released plan
}

func newFixedCosts(n int) fixedCosts {
	return fixedCosts{crew: make([]float64, n), changeover: make([]float64, n), start: make([]float64, n)}
}

func (c *fixedCosts) total() float64 {
	sum := c.commission + c.rest
	for t := range c.crew {
		sum += c.crew[t] + c.changeover[t] + c.start[t]
	}
	return sum
}

// holdPlan reads p, a plan of in, and solves for its hours and feed.
func holdPlan(ctx context.Context, in *Input, p *Plan) (*heldPlan, error) {
	fa, err := factsOf(in, p)
	if err != nil {
		return nil, err
	}
	n := len(fa.buckets)
	h := &heldPlan{plan: p, f: &formulation{facts: fa, m: &model.Model{Name: "held"}, committedOnly: true}, fixed: newFixedCosts(n)}
	if err := h.read(); err != nil {
		return nil, err
	}
	h.build()
	res := lp.Solve(ctx, h.f.m, solve.Options{})
	if res.Stop != solve.Optimal {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("%w: its set-ups leave no way to run (%s)", ErrOtherBook, res.Stop)
	}
	h.x, h.objective = res.X, res.Objective
	return h, nil
}

// factsOf gathers the facts that p was made from.
func factsOf(in *Input, p *Plan) (*facts, error) {
	daily := 0
	for _, b := range p.Buckets {
		if !b.Weekly() {
			daily++
		}
	}
	if len(p.Buckets) == 0 {
		return nil, fmt.Errorf("%w: it has no day", ErrOtherBook)
	}
	weeks := int(p.Buckets[len(p.Buckets)-1].Span.To-p.Start) / 7
	f, err := prepareFacts(in, Options{Now: p.Made, Start: p.Start, DailyDays: daily, Weeks: weeks})
	if err != nil {
		return nil, err
	}
	if !slices.Equal(f.buckets, p.Buckets) {
		return nil, fmt.Errorf("%w: its days are others", ErrOtherBook)
	}
	return f, nil
}

// read turns the plan's set-ups, starts and loads into constants.
func (h *heldPlan) read() error {
	f := h.f
	f.run, f.changed, f.mounted = f.grid(len(f.fits)), f.grid(len(f.fits)), f.grid(len(f.fits))
	f.on, f.started, f.startScrap = f.grid(len(f.in.Lines)), f.grid(len(f.in.Lines)), make([][][]ref, len(f.in.Lines))
	h.work = make([][]bool, len(f.in.Lines))
	for l := range f.in.Lines {
		f.startScrap[l] = f.grid(len(f.in.Grades))
		h.work[l] = make([]bool, len(f.buckets))
	}
	for _, c := range h.plan.Costs {
		switch c.Name {
		case costCommission:
			h.fixed.commission += float64(c.Amount)
		case costChange, costFrozen:
			h.fixed.rest += float64(c.Amount)
		}
	}
	fitAt := map[[2]string]int{}
	for j, ft := range f.fits {
		fitAt[[2]string{f.in.Lines[ft.line].Code, f.profileCode(j)}] = j
	}
	if err := h.readLines(fitAt); err != nil {
		return err
	}
	if err := h.readRuns(fitAt); err != nil {
		return err
	}
	return h.readLoads()
}

func (h *heldPlan) readLines(fitAt map[[2]string]int) error {
	f := h.f
	for _, u := range h.plan.Lines {
		l, ok := f.lineAt[u.Line]
		if !ok || u.Bucket < 0 || u.Bucket >= len(f.buckets) {
			return fmt.Errorf("%w: there is no line %s now", ErrOtherBook, u.Line)
		}
		f.on[l][u.Bucket], f.started[l][u.Bucket] = constant(isOne(u.On)), constant(isOne(u.Started))
		if u.Mounted == "" {
			continue
		}
		j, ok := fitAt[[2]string{u.Line, u.Mounted}]
		if !ok {
			return fmt.Errorf("%w: %s can't run %s now", ErrOtherBook, u.Line, u.Mounted)
		}
		f.mounted[j][u.Bucket] = constant(1)
	}
	return nil
}

// readRuns takes the changeovers and the grade of each start's scrap from the plan's runs.
func (h *heldPlan) readRuns(fitAt map[[2]string]int) error {
	f := h.f
	for _, x := range h.plan.Runs {
		j, ok := fitAt[[2]string{x.Line, x.Profile}]
		if !ok || x.Bucket < 0 || x.Bucket >= len(f.buckets) {
			return fmt.Errorf("%w: %s can't run %s now", ErrOtherBook, x.Line, x.Profile)
		}
		ft, t := f.fits[j], x.Bucket
		h.work[ft.line][t] = h.work[ft.line][t] || float64(x.Hours) > quantumHours
		atStart := float64(x.Scrap) - float64(x.Hours)*ft.rate*ft.scrapPerM
		if x.Changeover {
			f.changed[j][t] = constant(1)
			h.fixed.changeover[t] += ft.setupCost
			atStart -= ft.setupScrap
		}
		if kg := float64(f.in.Lines[ft.line].Startup.Scrap); kg > 0 && f.started[ft.line][t].value > 0 && atStart > quantumKilograms {
			f.startScrap[ft.line][f.gradeOf[ft.profile]][t] = constant(min(1, atStart/kg))
		}
	}
	return nil
}

func (h *heldPlan) readLoads() error {
	f := h.f
	for m := range f.arrivals {
		h.arrivals = append(h.arrivals, slices.Clone(f.arrivals[m]))
	}
	for _, b := range h.plan.Purchases {
		s, ok := f.laneAt[b.Lane]
		if !ok || b.Bucket < 0 || b.Bucket >= len(f.buckets) {
			return fmt.Errorf("%w: there is no lane %s now", ErrOtherBook, b.Lane)
		}
		at := lot{lane: s, material: f.materialAt[f.in.Lanes[s].Material], ordered: b.Bucket, arrives: max(0, f.bucketOf(b.Arrives)), purchase: b}
		h.bought = append(h.bought, at)
		if at.arrives < len(f.buckets) {
			h.arrivals[at.material][at.arrives] += float64(b.Mass)
		}
	}
	return nil
}

// build adds the columns and rows; the plan's loads come beside the deliveries.
func (h *heldPlan) build() {
	f := h.f
	h.net, h.within = make([][]float64, len(f.in.Lines)), make([][]float64, len(f.fits))
	for j := range f.fits {
		h.within[j] = make([]float64, len(f.buckets))
	}
	for l := range f.in.Lines {
		h.net[l] = make([]float64, len(f.buckets))
		for t := range f.buckets {
			if f.avail[l][t] > 0 && f.on[l][t].value > 0.5 {
				h.hours(l, t)
			}
		}
	}
	f.buildDemand()
	committed := f.arrivals
	f.arrivals = h.arrivals
	f.buildFeed()
	f.arrivals = committed
	f.buildPins()
	for _, b := range h.bought {
		h.fixed.rest += float64(b.purchase.Cost)
	}
	f.m.Offset = h.fixed.total()
}

// hours adds what line l can run in bucket t: limits 1 and 2 with the set-ups held.
func (h *heldPlan) hours(l, t int) {
	f, ln := h.f, h.f.in.Lines[l]
	avail := f.avail[l][t]
	setups := f.started[l][t].value * float64(ln.Startup.Hours)
	hours := new(row)
	for _, j := range f.fitsOf[l] {
		ft := f.fits[j]
		setups += f.changed[j][t].value * ft.setup
		within := min(avail, avail*f.mountedBefore(j, t).value+(avail-ft.setup)*f.changed[j][t].value)
		if within <= 0 {
			continue
		}
		h.within[j][t] = within
		f.run[j][t] = column(f.m.AddVar(label("run", ln.Code, f.profileCode(j), t), 0, within, 0))
		f.cost(f.run[j][t], costEnergy, f.energyAnHour(j))
		hours.add(f.run[j][t], 1)
	}
	h.net[l][t] = max(0, avail-setups)
	h.fixed.crew[t] += ln.Crew * float64(f.in.Plant.CrewCost) * avail
	h.fixed.start[t] += f.started[l][t].value * float64(ln.Startup.Cost)
	if len(hours.terms) > 0 {
		f.emit(hours, -model.Infinity, h.net[l][t], "hours", ln.Code, t)
	}
}

// energyAnHour is what the energy of an hour of fit j costs.
func (f *facts) energyAnHour(j int) float64 {
	ft := f.fits[j]
	ln := f.in.Lines[ft.line]
	return (ln.BaseKW + ft.rate*ft.pelletsPerM*ln.KWhPerKg) * float64(f.in.Plant.EnergyPrice)
}
