package planner

import (
	"context"
	"math"
	"slices"
	"time"

	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/mip"
)

// What a line would bring, were it started, idled or set up, is found by planning again with that one thing asked for. The plan's whole
// numbers are taken over, with what they need for it (a line started sooner goes on as planned; of a line to be set up a plan by rules is tried
// as well), what the line does is decided anew some weeks at a time, and then all of the plan is improved area by area, as
// in the search. A plant so small that its whole model may be searched is searched at once. The plan itself is improved with the same
// work, and what that brings is not counted as the step's. What is found is a plan, so that its gain can be had; with more work it
// may be higher.

// LineStep is what may be done with a line.
type LineStep string

// The steps.
const (
	StartLine      LineStep = "start"      // one that stands in the first week is started on the first day that it can be
	IdleLine       LineStep = "idle"       // one that runs at some time stands over the whole horizon
	CommissionLine LineStep = "commission" // setting up begins on the first day that it may
)

// LineValue is what a step with one line would bring over the horizon, against the plan.
type LineValue struct {
	Line       string
	Do         LineStep
	Can        bool            // false: it can't be done, such as for want of hours, of a die or by its least stay; the rest is 0 then
	Gain       quantity.Money  // by which the cost falls; below 0 it costs
	Length     quantity.Length // good metres more, below 0 fewer
	Pellets    quantity.Mass   // used more
	LateOrders int             // orders late or never complete more, below 0 fewer

	// With feed: the same step where pellets can be had in every bucket at what they cost to have, against the plan in which they can.
	// Of a line that is started or set up; 0 for one that is idled.
	FedGain    quantity.Money
	FedLength  quantity.Length
	FedPellets quantity.Mass

	Cut bool // the search was cut short: the gains are the least that it brings
}

const (
	// lineWork is the work units for one step with one line, and lineMore for each thousand rows of the model.
	lineWork, lineMore = 24_000_000, 1_000_000
	lineFirst          = 8    // times as much for what the search begins with: the plan with the least that the step asks for
	lineShare          = 2    // the part of the work for what the line itself does
	lineAllTo          = 1500 // columns up to which the whole plan is free
	lineGap            = 1e-6
)

// sayLines adds what each line would bring, those that stand first.
func (f *formulation) sayLines(a *answering, p *Plan, h *heldProgram) {
	b := a.purse(1, int64(lineWork+lineMore*f.m.NumRows()/1000))
	defer b.stop()
	tries := f.lineSteps(p)
	values := make([]*LineValue, len(tries))
	r := replanning{f: f, h: h, b: b, fed: f.fedCosts()}
	fed := slices.ContainsFunc(tries, func(v LineValue) bool { return v.Do != IdleLine })
	r.each = a.left() * time.Duration(goroutines(f.opt.Workers)) / time.Duration(1+searchesOf(tries, fed))
	r.begin(len(tries) > 0, fed)
	sideBySide(f.opt.Workers, len(tries), func(i int) {
		if b.ctx.Err() == nil {
			values[i] = r.try(tries[i])
		}
	})
	for _, v := range values {
		if v != nil {
			p.LineValues = append(p.LineValues, *v)
		}
	}
	if n := len(p.LineValues); n < len(tries) {
		p.miss(AnswerLines, "%d of %d steps tried: %s", n, len(tries), b.why())
	}
	slices.SortStableFunc(p.LineValues, func(x, y LineValue) int { return f.lineAt[x.Line] - f.lineAt[y.Line] })
}

// searchesOf is how many searches the steps take, with those of the plan itself.
func searchesOf(tries []LineValue, fed bool) int {
	n := 1 + int(isOne(fed))
	for _, v := range tries {
		n += 1 + int(isOne(v.Do != IdleLine))
	}
	return n
}

// lineSteps lists what could be done otherwise: lines that stand in the first week first.
func (f *facts) lineSteps(p *Plan) (list []LineValue) {
	week := f.start + 7
	var idle []LineValue
	for _, ln := range f.in.Lines {
		soon, ever := false, false
		for _, u := range p.Lines {
			if u.Line == ln.Code && u.On {
				ever = true
				soon = soon || f.buckets[u.Bucket].Span.From < week
			}
		}
		switch {
		case ln.State == lines.Uncommissioned:
			if !ever {
				list = append(list, LineValue{Line: ln.Code, Do: CommissionLine})
			}
		case !soon:
			list = append(list, LineValue{Line: ln.Code, Do: StartLine})
		}
		if ever {
			idle = append(idle, LineValue{Line: ln.Code, Do: IdleLine})
		}
	}
	return append(list, idle...)
}

// outcome is what a solution comes to.
type outcome struct {
	cost    float64
	metres  float64
	pellets float64 // kg used
	late    int
}

func (h *heldProgram) outcomeOf(cost, x []float64) *outcome {
	f, o := h.f, new(outcome)
	o.cost = h.m.Offset
	for j, c := range cost {
		o.cost += c * x[j]
	}
	for j, ft := range f.fits {
		for t := range f.buckets {
			o.metres += max(0, f.run[j][t].at(x)) * ft.rate
		}
	}
	for k := range f.in.Grades {
		for t := range f.buckets {
			o.pellets += f.pelletUse(k, t, x)
		}
	}
	for _, days := range h.outcomes(x) {
		o.late += int(isOne(days > 0))
	}
	return o
}

// fedCosts is the costs of f's model where missing pellets cost what pellets cost to have.
func (f *formulation) fedCosts() []float64 {
	cost := slices.Clone(f.m.Cost)
	for k := range f.short {
		for _, r := range f.short[k] {
			cost[r.v] = f.pelletValue(k)
		}
	}
	return cost
}

// replanning is what the steps are tried with.
type replanning struct {
	f         *formulation
	h         *heldProgram  // the plan's whole numbers
	b         *purse        // for each search
	each      time.Duration // for each search, more only for what it begins with; 0 = no limit
	fed       []float64     // costs with feed
	plan, had *outcome      // of the plan, and of it with feed, each improved; nil where they are not asked for
}

// begin improves the plan as each step is, now and, if asked for, with feed.
func (r *replanning) begin(now, withFeed bool) {
	tasks := []func(){}
	search := func(cost []float64, into **outcome) {
		m := r.f.m.Clone()
		m.Cost = cost
		*into, _, _ = r.search(m, r.h.x, -1)
	}
	if now {
		tasks = append(tasks, func() { search(r.f.m.Cost, &r.plan) })
	}
	if withFeed {
		tasks = append(tasks, func() { search(r.fed, &r.had) })
	}
	sideBySide(r.f.opt.Workers, len(tasks), func(i int) { tasks[i]() })
}

// try works v out; nil if there was no time.
func (r *replanning) try(v LineValue) *LineValue {
	m, ok := r.f.stepModel(v)
	if !ok {
		return &v
	}
	l := r.f.lineAt[v.Line]
	now, cut, stop := r.search(m, r.h.x, l)
	switch {
	case now == nil && stop == solve.Infeasible:
		return &v
	case now == nil || r.plan == nil:
		return nil
	}
	v.Can, v.Cut = true, cut
	v.Gain = quantity.Money(r.plan.cost - now.cost)
	v.Length, v.Pellets = quantity.Length(now.metres-r.plan.metres), quantity.Mass(now.pellets-r.plan.pellets)
	v.LateOrders = now.late - r.plan.late
	if v.Do == IdleLine || r.had == nil {
		return &v
	}
	m.Cost = r.fed
	with, cut, _ := r.search(m, r.h.x, l)
	v.Cut = v.Cut || cut
	if with != nil {
		v.FedGain = quantity.Money(r.had.cost - with.cost)
		v.FedLength, v.FedPellets = quantity.Length(with.metres-r.had.metres), quantity.Mass(with.pellets-r.had.pellets)
	}
	return &v
}

// search looks for the best solution of m, a copy of the model with other bounds or costs: from x, with line l to be decided first, or none.
// It returns nil, with the reason, if it found none; cut says that it was cut short.
func (r *replanning) search(m *model.Model, x []float64, l int) (found *outcome, cut bool, stop solve.Stop) {
	f, began := r.f, time.Now()
	opt := mip.Options{Options: solve.Options{Work: r.b.work, Workers: 1, Seed: f.opt.Seed, Gap: lineGap}, Incumbents: [][]float64{x}}
	if m.NumVars() <= lineAllTo {
		res := mip.Solve(r.b.ctx, m, opt)
		if !res.Has {
			return nil, true, res.Stop
		}
		return r.h.outcomeOf(m.Cost, res.X), res.Stop != solve.Optimal && res.Stop != solve.GapReached, res.Stop
	}
	ctx, halt := r.b.ctx, context.CancelFunc(func() {})
	if r.each > 0 {
		ctx, halt = context.WithTimeout(ctx, r.each)
	}
	defer halt()
	own := &purse{ctx: r.b.ctx, work: lineFirst * r.b.work}
	first, stop := r.h.started(own, m, l)
	if first == nil {
		return nil, true, stop
	}
	if l >= 0 && f.in.Lines[l].State == lines.Uncommissioned {
		if other := r.h.setUpByRules(own, m, l); other != nil && other.plan.Objective < first.plan.Objective {
			first = other
		}
	}
	g := *f
	g.m, g.opt = m, Options{Work: max(1, r.b.work), Workers: 1, Seed: f.opt.Seed, Gap: lineGap}
	s := searching{f: &g, began: began, time: r.each, best: first.plan, stands: first.stands}
	if l >= 0 {
		s.aroundLine(ctx, l, r.b.work/lineShare)
	}
	s.improve(ctx, 1)
	return r.h.outcomeOf(m.Cost, s.best.X), true, s.best.Stop
}

// started is a plan that a search begins with, and the basis of its amounts.
type started struct {
	plan   solve.Result
	stands *standing
}

// started is the plan that h holds with the least that m asks for of line l. One that is to be started is on sooner than planned, with the
// die that is on or the first that can come on, and goes on as planned; where it can't, it stands again after its least run, and for good. Without
// a plan it says whether there is none, or something ran out.
func (h *heldProgram) started(b *purse, m *model.Model, l int) (*started, solve.Stop) {
	if l < 0 {
		return h.heldBy(b, m, nil)
	}
	f := h.f
	dies, ways := []int{-1}, []func(j int) map[model.Var]float64{func(j int) map[model.Var]float64 { return f.leastOf(m, l, j) }}
	if from := slices.IndexFunc(f.on[l], func(r ref) bool { return r.is && m.Lower[r.v] > 0.5 }); from >= 0 {
		dies = append(dies, f.fitsOf[l]...)
		ways = append([]func(j int) map[model.Var]float64{func(j int) map[model.Var]float64 { return f.soonerOf(h.x, l, from, j) }}, ways...)
	}
	for _, way := range ways {
		for _, j := range dies {
			if r, stop := h.heldBy(b, m, way(j)); r != nil || stop != solve.Infeasible {
				return r, stop
			}
		}
	}
	return nil, solve.Infeasible
}

// setUpByRules is a plan from nothing in which line l is set up when m asks for it, by the rules that seem best; nil if there is none. A line more
// can change what all others do, which areas around it do not find.
func (h *heldProgram) setUpByRules(b *purse, m *model.Model, l int) *started {
	f := h.f
	at := slices.IndexFunc(f.commissioned[l], func(r ref) bool { return r.is && m.Lower[r.v] > 0.5 })
	if at < 0 {
		return nil
	}
	var best *floor
	for _, set := range ruleSets {
		if b.ctx.Err() != nil {
			break
		}
		set.also = l + 1
		w := newFloor(f, set)
		if w.all(); best == nil || w.cost < best.cost {
			best = w
		}
	}
	if best == nil {
		return nil
	}
	for t, r := range f.commissioned[l] {
		best.set(r, isOne(t == at))
	}
	g := *f
	g.m = m
	q := g.settle(best.x, h.stands, solve.Options{Seed: g.opt.Seed})
	if q == nil {
		return nil
	}
	r := q.loose(b.ctx)
	if !r.Has {
		return nil
	}
	x := slices.Clone(best.x)
	g.roundAllLoads(r.X, x)
	q.hold(x)
	if r = q.solveWithin(b.ctx, lp.Limits{Work: max(1, b.work)}); !r.Has {
		return nil
	}
	r.Stop = solve.NotRun
	return &started{r, q.standing()}
}

// soonerOf is the columns of line l as in x, but on from bucket from on: until it is on in x, if that is not longer than it must run and
// may not stand; else as long as it must run. Fit j comes on with it and stays until x changes dies; -1 for the die that x has.
func (f *formulation) soonerOf(x []float64, l, from, j int) map[model.Var]float64 {
	ln, was := f.in.Lines[l], f.onAtStart(l) > 0.5
	days := func(a, b int) int { return int(f.buckets[b].Span.From - f.buckets[a].Span.From) }
	till, next := from+1, from+1
	for till < len(f.buckets) && days(from, till) < ln.MinRunDays {
		till++
	}
	for next < len(f.buckets) && f.on[l][next].at(x) < 0.5 {
		next++
	}
	if next < len(f.buckets) && (next <= till || days(till, next) < ln.MinStopDays) {
		till = next
	}
	y, own := map[model.Var]float64{}, j >= 0
	set := func(r ref, v float64) {
		if r.is {
			y[r.v] = v
		}
	}
	for t := range f.buckets {
		if f.avail[l][t] <= 0 {
			continue
		}
		on := t >= from && t < till || f.on[l][t].at(x) > 0.5
		set(f.on[l][t], isOne(on))
		set(f.started[l][t], isOne(on && !was))
		was = on
		own = own && (t <= from || !slices.ContainsFunc(f.fitsOf[l], func(k int) bool { return yes(f.changed[k][t], x) }))
		for _, k := range f.fitsOf[l] {
			if own && t >= from {
				set(f.changed[k][t], isOne(k == j && t == from))
				set(f.mounted[k][t], isOne(k == j))
			}
		}
	}
	return y
}

// leastOf is the columns of line l as m asks for them: off, but for the bucket in which it must be on and as long as it must run on; the
// die is that of the start until then, and stays on while it runs if j is -1; else that of fit j comes on. A line that stands for good has none on.
func (f *formulation) leastOf(m *model.Model, l, j int) map[model.Var]float64 {
	x := map[model.Var]float64{}
	set := func(r ref, v float64) {
		if r.is {
			x[r.v] = v
		}
	}
	from, till, was := len(f.buckets), len(f.buckets), f.onAtStart(l) > 0.5
	for t := range f.buckets {
		if r := f.on[l][t]; r.is && m.Lower[r.v] > 0.5 && from == len(f.buckets) {
			from = t
			for till = t + 1; till < len(f.buckets) && int(f.buckets[till].Span.From-f.buckets[t].Span.From) < f.in.Lines[l].MinRunDays; {
				till++
			}
		}
		if r := f.commissioned[l][t]; r.is {
			set(r, m.Lower[r.v])
		}
	}
	for t := range f.buckets {
		on := t >= from && t < till
		if f.on[l][t].is && f.avail[l][t] > 0 {
			set(f.on[l][t], isOne(on))
			set(f.started[l][t], isOne(on && !was))
			was = on
		}
		if f.avail[l][t] <= 0 {
			continue
		}
		for _, k := range f.fitsOf[l] {
			set(f.changed[k][t], isOne(k == j && t == from))
			set(f.mounted[k][t], isOne(k == j && on)+isOne(f.mountedAtStart(k) > 0 && from < len(f.buckets) && (t < from || j < 0 && on)))
		}
	}
	return x
}

// heldBy solves m with the whole numbers of h, but those of other at what it says, from the basis of its amounts. Loads are held too.
func (h *heldProgram) heldBy(b *purse, m *model.Model, other map[model.Var]float64) (*started, solve.Stop) {
	if !b.open() {
		return nil, solve.WorkLimit
	}
	x := slices.Clone(h.x)
	for j, v := range other {
		x[j] = v
	}
	g := *h.f
	g.m = m
	q := g.settle(x, h.stands, solve.Options{Seed: g.opt.Seed})
	if q == nil {
		return nil, solve.Infeasible
	}
	q.hold(x)
	r := q.solveWithin(b.ctx, lp.Limits{Work: b.work})
	b.work -= r.Work
	if !r.Has {
		return nil, r.Stop
	}
	r.Stop = solve.NotRun // of a search, which has yet to begin
	return &started{r, q.standing()}, solve.Optimal
}

// aroundLine decides what line l does anew, with the loads, some buckets at a time from the first on, within work units.
func (s *searching) aroundLine(ctx context.Context, l int, work int64) {
	f := s.f
	lines := make([]bool, len(f.in.Lines))
	lines[l] = true
	w := &drawing{f, f.opt.Seed}
	width := w.width(areaStart, 2*(len(f.fitsOf[l])+1))
	y := newLayout(f)
	each := work / int64(1+len(f.buckets)/width)
	for from := 0; from < len(f.buckets) && ctx.Err() == nil; from += width {
		a := area{from: from, to: min(from+width, len(f.buckets)), reach: areaReach, lines: lines, loads: true}
		part := y.cut(&a, s.best.X)
		r := s.solvePart(ctx, part.m, max(1, each), 1)
		s.spent += r.Work
		if r.Has {
			x := slices.Clone(s.best.X)
			part.write(r.X, x)
			s.best.X, s.best.Objective = x, r.Objective
		}
	}
}

// stepModel is the model in which v is done; ok is false if there is no bucket for it.
func (f *formulation) stepModel(v LineValue) (m *model.Model, ok bool) {
	m = f.m.Clone()
	l := f.lineAt[v.Line]
	f.letGo(m, l) // a step is against the promise; the price of a change stays
	switch v.Do {
	case IdleLine:
		for t := range f.buckets {
			for _, r := range []ref{f.on[l][t], f.commissioned[l][t]} {
				if r.is {
					m.Lower[r.v], m.Upper[r.v] = 0, 0
				}
			}
		}
		return m, true
	case CommissionLine:
		return m, force(m, f.commissioned[l])
	}
	return m, force(m, f.on[l])
}

// force sets the first of the columns to 1; false if there is none.
func force(m *model.Model, refs []ref) bool {
	for _, r := range refs {
		if r.is {
			m.Lower[r.v] = math.Min(1, m.Upper[r.v])
			return m.Lower[r.v] == 1
		}
	}
	return false
}
