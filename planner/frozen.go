package planner

import (
	"context"
	"math"
	"slices"
	"strings"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/mip"
)

// The frozen days of a released plan are held, not priced: whatever the rest of the plan would gain, they stay as they were released. Where
// the world has become another (a line down, a die gone, a line that runs though it was to stand) some of them can't be. Which
// can is decided before the search, by a small program of the limits on lines alone up to the end of the frozen days: limits 2 to 4
// and the pins, without amounts, as a line may be on without work. It keeps as many hours of the promise as it can, the nearer days first;
// pins, the scheduler's newer word, count twice. What it keeps is a bound of the model, what it does not is lifted, and the plan says why.
// What the small program decides of the lines is also how every first plan begins, so that none breaks what is held.
const (
	frozenWork   = 50_000_000 // work units for the small program
	frozenGap    = 1e-5       // relative; less than an hour's promise among many
	frozenNearer = 0.01       // share by which a day counts more than the one after it
	frozenPins   = 2.0        // what a pin counts against a promise
	frozenStart  = 1.0        // money for a start or a changeover that nothing asks for,
	frozenStay   = 0.01       // and for a bucket in which a line does not stay on, or off, as it was
)

// heldDays is what is decided of the frozen days.
type heldDays struct {
	until  int              // the frozen buckets are those before it
	kept   map[spot]bool    // promises that are held, by line and bucket
	lifted map[spot]string  // those that are not, and why
	x      []float64        // the lines' whole numbers: all up to until, on and off to the end; 0 elsewhere
	free   map[int][]bounds // by line: what holding it has bounded, and how that was bounded before
}

// bounds is a column with its upper bound.
type bounds struct {
	v     model.Var
	upper float64
}

// at is the spot of line l in bucket t.
func at(l, t int) spot { return spot{l, -1, t, false} }

// limitKind is a kind of limits on lines, told by how its rows' names begin, and what it says of a promise that it hinders.
type limitKind struct {
	rows  []string
	pins  bool
	hours bool // a changeover that takes longer than its bucket, too
	say   func(f *formulation, l int, c *promised) string
}

// limitKinds are tried in this order: the first without which a promise could be kept is what hinders it.
var limitKinds = []limitKind{
	{rows: []string{"setupbefore["}, say: func(*formulation, int, *promised) string { return "the line is not set up by then" }},
	{pins: true, say: func(*formulation, int, *promised) string { return "a pin is in its way" }},
	{rows: []string{"minrun[", "minstop["}, say: func(f *formulation, l int, _ *promised) string {
		return "the least days of running and standing: the line " + map[bool]string{true: "runs", false: "stands"}[f.onAtStart(l) > 0.5] + " when the plan begins"
	}},
	{rows: []string{"dies["}, say: func(_ *formulation, _ int, c *promised) string {
		if c.mounted == "" {
			return "no die is free"
		}
		return "no die of " + c.mounted + " is free"
	}},
	{rows: []string{"fitters["}, say: func(*formulation, int, *promised) string { return "the fitters' hours are used up" }},
	{rows: []string{"crew["}, say: func(*formulation, int, *promised) string { return "there is no crew left for it" }},
	{rows: []string{"hours[", "runs["}, hours: true, say: func(*formulation, int, *promised) string {
		return "start-up and changeovers take more hours than there are"
	}},
}

// holdPromise decides which frozen days are kept.
func (f *formulation) holdPromise() {
	h := &heldDays{kept: map[spot]bool{}, lifted: map[spot]string{}, free: map[int][]bounds{}}
	f.held = h
	until := 0
	for until < len(f.buckets) && f.isFrozen(until) {
		until++
	}
	ask := map[spot]bool{}
	for l, ln := range f.in.Lines {
		for t, c := range f.promise[ln.Code][:until] {
			switch {
			case c == nil || f.avail[l][t] <= 0 || f.pinOver(l, t, c) != "":
			case f.withoutFeed(t, c):
				h.lifted[at(l, t)] = "no feed: nothing that " + strings.Join(c.profiles(), ", ") + " could be made of is there by then"
			default:
				ask[at(l, t)] = true
			}
		}
	}
	if len(ask) == 0 {
		return
	}
	small := newHolding(f, until, ask)
	x, broken := small.decide(nil)
	h.until, h.x = until, x
	var not []spot
	for _, s := range small.asked {
		if broken[s] {
			not = append(not, s)
		} else {
			h.kept[s] = true
		}
	}
	h.explain(f, not, ask)
}

// explain says of each promise that is not kept what hinders it: a kind of limits, or two together.
func (h *heldDays) explain(f *formulation, not []spot, ask map[spot]bool) {
	without := func(kinds ...limitKind) {
		if len(not) == 0 {
			return
		}
		_, broken := newHolding(f, h.until, ask).decide(kinds)
		not = slices.DeleteFunc(not, func(s spot) bool {
			if broken[s] {
				return false
			}
			var words []string
			for _, k := range kinds {
				words = append(words, k.say(f, s.line, f.promise[f.in.Lines[s.line].Code][s.bucket]))
			}
			h.lifted[s] = strings.Join(words, ", and ")
			return true
		})
	}
	for _, a := range limitKinds {
		without(a)
	}
	for i, a := range limitKinds {
		for _, b := range limitKinds[:i] {
			without(b, a)
		}
	}
	for _, s := range not {
		h.lifted[s] = "several limits together"
	}
}

// withoutFeed reports whether none of what c runs can be fed in bucket t or before it: no pellets, no regrind and no material are there,
// come, or can be ordered in time.
func (f *formulation) withoutFeed(t int, c *promised) bool {
	runs := false
	for _, r := range c.runs {
		p, known := f.profileAt[r.Profile]
		if !known || r.Length <= 0 {
			continue
		}
		if f.canFeed(f.gradeOf[p], t) {
			return false
		}
		runs = true
	}
	return runs
}

// canFeed reports whether grade k can have any feed up to the end of bucket t.
func (f *formulation) canFeed(k, t int) bool {
	if f.pellet0[k] > 0 || f.own0[k] > 0 {
		return true
	}
	for _, i := range f.feedsOf[k] {
		m := f.feeds[i].material
		if f.yard0[m] > 0 {
			return true
		}
		for o := range t + 1 {
			if f.arrivals[m][o] > 0 {
				return true
			}
		}
		for s, lane := range f.in.Lanes {
			for o := range t + 1 {
				if f.materialAt[lane.Material] == m && f.loads[s][o].is && f.arrivalBucket(s, o) <= t {
					return true
				}
			}
		}
	}
	return false
}

// limit bounds column r of line l from above for a promise that is held.
func (f *formulation) limit(l int, r ref, upper float64) {
	if r.is {
		f.held.free[l] = append(f.held.free[l], bounds{r.v, f.m.Upper[r.v]})
		f.m.Upper[r.v] = upper
	}
}

// isHeld reports whether the promise of line l in bucket t is held.
func (f *formulation) isHeld(l, t int) bool { return f.held != nil && f.held.kept[at(l, t)] }

// letGo frees line l of its promise in m, a copy of f's model.
func (f *formulation) letGo(m *model.Model, l int) {
	if f.held == nil {
		return
	}
	for _, b := range f.held.free[l] {
		m.Upper[b.v] = b.upper
	}
}

// why says why a promise of line l in bucket t that is not kept is not; "" for one that need not be.
func (f *formulation) why(l, t int, c *promised) string {
	switch pin := f.pinOver(l, t, c); {
	case pin != "":
		return "pin " + pin
	case f.avail[l][t] <= 0:
		return "the line has no hours then"
	case c.lost(f.canMake(l)):
		return "the line can't make " + c.mounted + " any longer"
	case f.held != nil:
		return f.held.lifted[at(l, t)]
	}
	return ""
}

// holdingDays is the small program.
type holdingDays struct {
	f      *formulation
	until  int
	m      *model.Model
	place  map[model.Var]model.Var
	none   map[model.Var]bool // columns of fits that can't help: 0
	asked  []spot
	broken map[spot]model.Var
}

// newHolding gathers the columns of lines and asks for promises.
func newHolding(f *formulation, until int, ask map[spot]bool) *holdingDays {
	h := &holdingDays{f: f, until: until, m: &model.Model{Name: "frozen"}, place: map[model.Var]model.Var{}, none: map[model.Var]bool{}, broken: map[spot]model.Var{}}
	for l := range f.in.Lines {
		stay := frozenStay * (1 - 2*f.onAtStart(l))
		for t := range f.buckets {
			h.take(f.on[l][t], stay)
			h.take(f.started[l][t], frozenStart)
			h.take(f.commissioned[l][t], frozenStart)
			for _, r := range f.startScrap[l] {
				h.take(r[t], 0)
			}
		}
		for _, j := range f.fitsOf[l] {
			for t := range until {
				for i, r := range []ref{f.changed[j][t], f.run[j][t], f.carried[j][t], f.mounted[j][t]} {
					if h.helps(l, j) {
						h.take(r, frozenStart*isOne(i == 0))
					} else if r.is {
						h.none[r.v] = true
					}
				}
			}
		}
	}
	for l := range f.in.Lines {
		for t := range until {
			if ask[at(l, t)] {
				h.ask(l, t)
			}
		}
	}
	return h
}

// helps reports whether fit j can be of use on line l in the frozen days: it is on, promised or pinned, or any die will do.
func (h *holdingDays) helps(l, j int) bool {
	f := h.f
	if f.mountedAtStart(j) > 0 {
		return true
	}
	for _, c := range f.promise[f.in.Lines[l].Code][:h.until] {
		if c != nil && (c.has(f.profileCode(j)) || c.on && f.fitFor(l, c.mounted) < 0) {
			return true
		}
	}
	return slices.ContainsFunc(f.pins, func(p pinned) bool {
		return p.line == l && p.bucket < h.until && p.pin.Kind == PinRun && (p.profile < 0 || p.profile == f.fits[j].profile)
	})
}

func (h *holdingDays) take(r ref, cost float64) {
	if !r.is {
		return
	}
	if _, has := h.place[r.v]; has {
		return
	}
	m := h.f.m
	v := h.m.AddVar(m.NameOfVar(r.v), m.Lower[r.v], m.Upper[r.v], cost)
	h.m.Integer[v] = m.Integer[r.v]
	h.place[r.v] = v
}

// of is the column of r in the small program; a constant stays one.
func (h *holdingDays) of(r ref) ref {
	if !r.is {
		return r
	}
	if h.none[r.v] {
		return constant(0)
	}
	return column(h.place[r.v])
}

// ask adds a column that is 1 if the promise of line l in bucket t is broken, and the rows that see to it.
func (h *holdingDays) ask(l, t int) {
	f := h.f
	c, s := f.promise[f.in.Lines[l].Code][t], at(l, t)
	near := 1 + frozenNearer*float64(h.until-t)
	b := column(h.m.AddVar(label("broken", f.in.Lines[l].Code, t), 0, 1, pinPricePerHour*f.avail[l][t]*near))
	h.asked, h.broken[s] = append(h.asked, s), b.v
	atLeast := func(refs ...ref) { // b or one of refs
		r := new(row).add(b, 1)
		for _, x := range refs {
			r.add(h.of(x), 1)
		}
		h.m.AddRow("", 1-r.constant, model.Infinity, r.terms...)
	}
	switch {
	case !c.on:
		h.m.AddRow("", 0, model.Infinity, new(row).add(b, 1).add(h.of(f.on[l][t]), -1).terms...)
	case !c.whole:
		r := new(row).add(b, -1).add(h.of(f.on[l][t]), 1)
		for _, j := range f.fitsOf[l] {
			if !c.has(f.profileCode(j)) {
				r.add(h.of(f.mounted[j][t]), 1)
			}
		}
		h.m.AddRow("", -model.Infinity, 1-r.constant, r.terms...)
	default:
		atLeast(f.on[l][t])
		if !c.week {
			if j := f.fitFor(l, c.mounted); j >= 0 {
				atLeast(f.mounted[j][t])
			}
			return
		}
		if len(c.profiles()) == 0 {
			return
		}
		for _, j := range f.fitsOf[l] {
			if c.promises(f.profileCode(j)) {
				atLeast(f.mountedBefore(j, t), f.changed[j][t])
			} else if x := h.of(f.changed[j][t]); x.is {
				h.m.AddRow("", 0, model.Infinity, new(row).add(b, 1).add(x, -1).terms...)
			}
		}
	}
}

// addLimits takes over the rows that are about the program's columns alone, but for those of the kind given.
func (h *holdingDays) addLimits(without []limitKind) {
	m := h.f.m
	left := func(i int) bool {
		name := m.NameOfRow(model.Row(i))
		return slices.ContainsFunc(without, func(k limitKind) bool {
			return slices.ContainsFunc(k.rows, func(start string) bool { return strings.HasPrefix(name, start) })
		})
	}
	for i := range m.NumRows() {
		vars, coefs := m.RowTerms(model.Row(i))
		terms := make([]model.Term, 0, len(vars))
		known := true
		for k, v := range vars {
			if x, has := h.place[model.Var(v)]; has {
				terms = append(terms, model.Term{Var: x, Coef: coefs[k]})
			} else if known = h.none[model.Var(v)]; !known {
				break
			}
		}
		if known && len(terms) > 0 && !left(i) {
			h.m.AddRow("", m.RowLower[i], m.RowUpper[i], terms...)
		}
	}
}

// takePins takes over what it costs that pins of the frozen days are not kept.
func (h *holdingDays) takePins(without []limitKind) {
	weight := frozenPins
	if slices.ContainsFunc(without, func(k limitKind) bool { return k.pins }) {
		weight = 0
	}
	f := h.f
	for _, c := range f.costs {
		if c.kind == costPins {
			h.take(column(c.v), weight*c.amount)
		}
	}
}

// decide solves the program, without limits of some kinds if any are given: the whole numbers in f's columns, and which promises are broken.
func (h *holdingDays) decide(without []limitKind) (x []float64, broken map[spot]bool) {
	h.takePins(without)
	h.addLimits(without)
	if slices.ContainsFunc(without, func(k limitKind) bool { return k.hours }) {
		for _, refs := range h.f.changed {
			for _, r := range refs[:h.until] {
				if v, has := h.place[r.v]; r.is && has {
					h.m.Upper[v] = 1
				}
			}
		}
	}
	idle := make([]float64, h.m.NumVars())
	for j := range idle {
		if !h.m.Integer[j] {
			idle[j] = math.NaN()
		}
	}
	r := mip.Solve(context.Background(), h.m, mip.Options{Incumbents: [][]float64{idle}, Options: solve.Options{Work: frozenWork, Gap: frozenGap, Workers: 1, Seed: h.f.opt.Seed}})
	x, broken = make([]float64, h.f.m.NumVars()), map[spot]bool{}
	for v, small := range h.place {
		if h.f.m.Integer[v] && r.Has {
			x[v] = math.Round(r.X[small])
		}
	}
	for s, v := range h.broken {
		broken[s] = !r.Has || r.X[v] > 0.5
	}
	return x, broken
}

// restPlan is the idle plan but for what is held: lines go on after the frozen days as they must. Continuous columns are left to be solved for.
func (f *formulation) restPlan() []float64 {
	x := f.idlePlan()
	if f.held == nil {
		return x
	}
	for v, value := range f.held.x {
		if f.m.Integer[v] {
			x[v] = value
		}
	}
	for _, refs := range f.mounted { // dies stay on
		for t := f.held.until; t < len(refs); t++ {
			if was := refs[max(0, t-1)]; refs[t].is && t > 0 && yes(was, x) {
				x[refs[t].v] = 1
			}
		}
	}
	return x
}

// playHeld lets the lines do in a frozen bucket what is decided of it, and returns whether it is one.
func (w *floor) playHeld() bool {
	f, h, t := w.f, w.f.held, w.bucket
	if h == nil || t >= h.until {
		return false
	}
	for l := range f.in.Lines {
		w.set(f.commissioned[l][t], f.commissioned[l][t].at(h.x))
		if f.avail[l][t] > 0 {
			w.playHeldLine(l)
		}
		w.note(l)
	}
	return true
}

func (w *floor) playHeldLine(l int) {
	f, x, t := w.f, w.f.held.x, w.bucket
	on := yes(f.on[l][t], x)
	if on != w.on[l] {
		w.on[l], w.since[l] = on, 0
	}
	w.set(f.started[l][t], f.started[l][t].at(x))
	left := f.avail[l][t] * isOne(on)
	if yes(f.started[l][t], x) {
		left -= float64(f.in.Lines[l].Startup.Hours)
	}
	was := w.mounted[l]
	w.mounted[l] = -1
	dies := []int{was} // in turn
	for _, j := range f.fitsOf[l] {
		if yes(f.changed[j][t], x) {
			left -= w.change(l, j)
			dies = append(dies, j)
		}
	}
	w.mounted[l] = -1
	for _, j := range f.fitsOf[l] {
		if yes(f.mounted[j][t], x) {
			w.mounted[l] = j
		}
	}
	if !on {
		return
	}
	c := f.promise[f.in.Lines[l].Code][t]
	for _, j := range dies {
		if j < 0 || w.forbidden[j] {
			continue
		}
		ft, most := f.fits[j], math.Inf(1)
		if j != w.mounted[l] && c != nil { // it makes room for the next
			most = c.metres(f.profileCode(j))
		}
		h := max(0, min(left, w.need(ft.profile, w.lotDays(ft.profile))/ft.rate, most/ft.rate))
		w.make(j, h)
		left -= h
	}
}

// metres is what a bucket of the released plan runs of a profile.
func (p *promised) metres(profile string) float64 {
	sum := 0.0
	for _, r := range p.runs {
		if r.Profile == profile {
			sum += float64(r.Length)
		}
	}
	return sum
}
