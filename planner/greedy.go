package planner

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"sync"

	"feedline/lines"
	"feedline/planner/solve"
)

// First plans by rules, each in the time of a linear program. Bucket by bucket, as many lines are kept on as the work of the
// next weeks asks for; each runs what it has on until that is covered for a while, then takes on the profile that runs out
// first. Feed is left aside: with the whole numbers of the lines held, a linear program decides the hours, the feed and
// (in fractions) the loads. That is done for several settings of the rules; the best plan's loads are rounded up as they accumulate.
//
// Which setting is best differs from plant to plant: on the demonstration plant the cost lay between 1.52 and 1.82 million.
const (
	usefulUse = 0.88 // share of a line's hours that is left for running beside changeovers
	leastRun  = 6.0  // hours: no changeover for less
)

// rules are a setting of the rules.
type rules struct {
	lotDays  float64 // a run covers the demand of so many days ahead
	economic float64 // or, where it is above 0, so many times the days of the profile's economic lot
	nearDays float64 // the lines on are those that the work of so many days needs
	worthOn  float64 // a line is worth being on from this share of its hours
	fastest  bool    // the fastest lines come first; else those that are on
	follow   bool    // the released plan, as far as it goes
	setUps   int     // so many lines that are not set up yet may be, in the order in which lines take work,
	also     int     // and the line of this number, counted from 1; 0 for none
}

// withSetUps is the sets, and after them the same with lines to be set up, if there are any: one, two and so on up to mostSetUps.
func (f *facts) withSetUps(sets []rules) []rules {
	n, list := 0, slices.Clone(sets)
	for _, ln := range f.in.Lines {
		n += int(isOne(ln.State == lines.Uncommissioned))
	}
	for k := range min(n, mostSetUps) {
		for _, r := range sets {
			r.setUps = k + 1
			list = append(list, r)
		}
	}
	return list
}

// mostSetUps bounds the lines that rules may set up.
const mostSetUps = 3

// ruleSets are all settings that are walked through; settled is how many of them, the best by their own estimate, are settled by a
// linear program.
var ruleSets = settings()

const settled = 2

// guidedSets are the settings that follow the relaxation.
var guidedSets = settingsGuided()

func settingsGuided() []rules {
	var list []rules
	for _, times := range []float64{0.3, 0.4, 0.5, 0.6} {
		for _, near := range []float64{7, 14, 21} {
			for _, worth := range []float64{0.3, 0.4, 0.5, 0.6, 0.7} {
				list = append(list, rules{economic: times, nearDays: near, worthOn: worth, fastest: true})
			}
		}
	}
	return list
}

func settings() []rules {
	var list []rules
	for _, fastest := range []bool{false, true} {
		for _, lot := range []float64{10, 14, 21, 30, 45} {
			for _, near := range []float64{14, 28, 42} {
				for _, worth := range []float64{0.25, 0.5, 0.75} {
					list = append(list, rules{lotDays: lot, nearDays: near, worthOn: worth, fastest: fastest})
				}
			}
		}
		for _, times := range []float64{0.35, 0.5, 0.7, 1} {
			for _, near := range []float64{14, 28, 42} {
				for _, worth := range []float64{0.25, 0.5, 0.75} {
					list = append(list, rules{economic: times, nearDays: near, worthOn: worth, fastest: fastest})
				}
			}
		}
	}
	return list
}

// floor is the state of the lines and the rack while the rules walk the buckets.
type floor struct {
	f         *formulation
	rules     rules
	x         []float64
	on        []bool
	since     []int // days on or off, by line
	mounted   []int // fit, by line; -1 if none
	made      []float64
	due       [][]float64 // what is to be made, cumulative, by profile and bucket: demand and stock target less opening stock
	asked     [][]float64 // demand less opening stock, cumulative
	bucket    int
	fitters   float64
	crewLeft  float64   // people not yet on a line in this bucket; only play counts them
	dieUse    []int     // dies on lines or taken in this bucket, by profile
	forbidden []bool    // by fit
	changes   []bool    // by fit: changed to in this bucket
	order     []int     // lines, in the order in which they take work
	setUp     []bool    // by line: the rules may set it up
	lots      []float64 // days of the economic lot, by profile
	cost      float64   // what it has come to so far, roughly
	guide     *guide    // nil for none
	used      []float64 // pellets, by grade; with a guide
	tune      *tuning   // nil for none
}

// firstPlan returns column values with all whole numbers decided, continuous ones NaN, or nil if no linear program could be solved in time.
// Rules are tried on opt.Workers goroutines; the result does not depend on their number.
func (f *formulation) firstPlan(ctx context.Context, opt solve.Options) []float64 {
	sets := f.withSetUps(ruleSets)
	if f.promise != nil {
		follow := sets[0]
		follow.follow = true
		sets = append([]rules{follow}, sets...)
	}
	first := 0 // a walk that follows a promise is settled whatever it seems to cost
	if f.promise != nil {
		first = 1
	}
	return f.walk(ctx, sets, first, settled, opt)
}

// walk walks the sets of rules and settles the cheapest by their own estimate, the first ones in any case. It returns the best,
// nil if there is none.
func (f *formulation) walk(ctx context.Context, sets []rules, first, settled int, opt solve.Options) []float64 {
	walks := make([]*floor, len(sets))
	sideBySide(opt.Workers, len(sets), func(i int) {
		walks[i] = newFloor(f, sets[i])
		walks[i].all()
	})
	slices.SortStableFunc(walks[first:], byCost)
	walks = walks[:min(len(walks), settled+first)]
	relaxed := make([]solve.Result, len(walks))
	sideBySide(opt.Workers, len(walks), func(i int) {
		if q := f.settle(walks[i].x, nil, opt); q != nil {
			relaxed[i] = q.loose(ctx)
		}
	})
	best := -1
	for i, r := range relaxed {
		if r.Stop == solve.Optimal && (best < 0 || r.Objective < relaxed[best].Objective) {
			best = i
		}
	}
	if best < 0 {
		return nil
	}
	f.roundAllLoads(relaxed[best].X, walks[best].x)
	return walks[best].x
}

// setUpDoubt is the share of a walk's estimate that must speak for each line set up: less is within what the estimate errs by, and on the demonstration
// plant plans with a new line that began from such a walk stayed a hundredth dearer.
const setUpDoubt = 0.03

// byCost compares walks by what they seem to cost.
func byCost(a, b *floor) int {
	cost := func(w *floor) float64 { return w.cost + setUpDoubt*float64(w.rules.setUps)*math.Abs(w.cost) }
	return cmp.Compare(cost(a), cost(b))
}

// all walks through all buckets.
func (w *floor) all() {
	for t := range w.f.buckets {
		w.step(t)
	}
}

// sideBySide does task 0 … n−1 on so many goroutines; 0 stands for all cores.
func sideBySide(workers, n int, task func(i int)) {
	gate, done := make(chan struct{}, goroutines(workers)), sync.WaitGroup{}
	for i := range n {
		gate <- struct{}{}
		done.Go(func() {
			task(i)
			<-gate
		})
	}
	done.Wait()
}

// goroutines is how many Options.Workers asks for.
func goroutines(workers int) int {
	if workers <= 0 {
		return runtime.GOMAXPROCS(0)
	}
	return workers
}

// grounds is what all walks of a formulation share. It is not changed by them.
type grounds struct {
	idle        []float64 // the idle plan
	due, asked  [][]float64
	lots        []float64
	order, fast []int // lines as they are listed, and the fastest first
}

// gatherGrounds works out what walks share.
func (f *formulation) gatherGrounds() *grounds {
	g := &grounds{idle: f.idlePlan(), order: sequence(len(f.in.Lines)), fast: sequence(len(f.in.Lines))}
	slices.SortStableFunc(g.fast, func(a, b int) int { return cmp.Compare(f.speed(b), f.speed(a)) })
	for p := range f.in.Profiles {
		sum := -f.rack0[p] + float64(f.in.Profiles[p].StockTarget)
		list, asked := make([]float64, len(f.buckets)), make([]float64, len(f.buckets))
		for t := range list {
			for _, c := range f.classes[p] {
				sum += c.metres[t]
			}
			list[t], asked[t] = sum, sum-float64(f.in.Profiles[p].StockTarget)
		}
		g.due, g.asked = append(g.due, list), append(g.asked, asked)
		g.lots = append(g.lots, f.economicLot(p))
	}
	return g
}

// newFloor is where a walk by rules r begins.
func newFloor(f *formulation, r rules) *floor { return floorIn(new(floor), f, r) }

// floorIn is newFloor in the memory of w, a floor that is no longer needed.
func floorIn(w *floor, f *formulation, r rules) *floor {
	g, lineCount := f.grounds, len(f.in.Lines)
	if g == nil {
		g = f.gatherGrounds()
	}
	*w = floor{f: f, rules: r, due: g.due, asked: g.asked, lots: g.lots, order: g.order,
		x: append(w.x[:0], g.idle...), made: zeros(w.made, len(f.in.Profiles)), used: zeros(w.used, len(f.in.Grades)),
		on: zeros(w.on, lineCount), since: zeros(w.since, lineCount), mounted: zeros(w.mounted, lineCount), setUp: zeros(w.setUp, lineCount),
		dieUse: zeros(w.dieUse, len(f.in.Profiles)), changes: zeros(w.changes, len(f.fits)), forbidden: zeros(w.forbidden, len(f.fits))}
	if r.fastest {
		w.order = g.fast
	}
	for l, ln := range f.in.Lines {
		w.on[l], w.since[l], w.mounted[l] = ln.State == lines.Running, math.MaxInt16, -1
		for _, j := range f.fitsOf[l] {
			if f.mountedAtStart(j) > 0 {
				w.mounted[l] = j
			}
		}
	}
	left := r.setUps
	for _, l := range w.order {
		if left > 0 && f.in.Lines[l].State == lines.Uncommissioned {
			w.setUp[l] = true
			left--
		}
	}
	if r.also > 0 {
		w.setUp[r.also-1] = true
	}
	return w
}

// zeros is n zeros, in the memory of list if that is enough.
func zeros[T any](list []T, n int) []T {
	if cap(list) < n {
		return make([]T, n)
	}
	list = list[:n]
	clear(list)
	return list
}

// need is the metres of profile p that demand up to the given days after the start of the bucket calls for and that are not made yet.
func (w *floor) need(p int, days float64) float64 {
	t := w.bucket
	for ahead := w.f.days(t); t+1 < len(w.f.buckets) && ahead < days; ahead += w.f.days(t) {
		t++
	}
	return max(0, w.due[p][t]-w.made[p])
}

// runsOut is the days from the start of the bucket until what is made of profile p no longer covers its demand.
func (w *floor) runsOut(p int) float64 {
	days := 0.0
	for t := w.bucket; t < len(w.f.buckets); t++ {
		if w.due[p][t] > w.made[p]+quantumMetres {
			return days
		}
		days += w.f.days(t)
	}
	return math.Inf(1)
}

func (w *floor) step(t int) {
	w.open(t)
	if w.playHeld() {
		w.count(t)
		return
	}
	want := w.linesWanted()
	for _, l := range w.order {
		if w.f.avail[l][t] > 0 {
			if w.mounted[l] < 0 && w.promised(l) == nil && w.f.ask(l, t).fit < 0 && w.next(l, w.f.avail[l][t]-float64(w.f.in.Lines[l].Startup.Hours)) < 0 {
				want[l] = want[l] && w.on[l] // no die to start with
			}
			want[l] = want[l] && (w.on[l] || w.commission(l))
			w.switchLine(l, want)
			w.runLine(l)
		}
		w.note(l)
	}
	w.count(t)
}

// count adds to the walk's cost what bucket t costs of crew, changes and starts, and what follows from what is made.
func (w *floor) count(t int) {
	f := w.f
	for l, ln := range f.in.Lines {
		if w.on[l] {
			w.cost += ln.Crew * float64(f.in.Plant.CrewCost) * f.avail[l][t]
		}
		if yes(f.started[l][t], w.x) {
			w.cost += float64(ln.Startup.Cost)
		}
	}
	for j := range f.fits {
		if w.changes[j] {
			w.cost += f.fits[j].setupCost
		}
	}
	w.countStock(t)
	w.countPins()
	if w.guide != nil {
		w.cost += w.guide.missing(f, w.used, t)
	}
}

// countStock adds what lateness, holding and what is below stock targets cost.
func (w *floor) countStock(t int) {
	f := w.f
	for p, pr := range f.in.Profiles {
		stock := w.made[p] - w.asked[p][t]
		if stock < 0 {
			late, unmet := f.latePrices(p)
			w.cost -= stock * late * f.days(t)
			if t == len(f.buckets)-1 {
				w.cost -= stock * unmet
			}
			stock = 0
		}
		w.cost += stock * float64(pr.Price) * float64(f.in.Plant.HoldingRate) * f.days(t) / daysAYear
		w.cost += max(0, float64(pr.StockTarget)-stock) * float64(pr.Price) * f.targetPrice(t)
	}
}

// latePrices are what a late metre and day, and a metre never made, of profile p cost at the mean of its classes.
func (f *facts) latePrices(p int) (late, unmet float64) {
	metres := 0.0
	for _, c := range f.classes[p] {
		late += c.late * c.total
		unmet += c.unmet * c.total
		metres += c.total
	}
	if metres > 0 {
		late, unmet = late/metres, unmet/metres
	}
	return late, unmet
}

// economicLot is the days of demand of profile p's economic lot, at which the changeovers and the keeping of the rack cost the same: the
// root of 2 × changeover ÷ (demand a day × keeping a metre for a day) (Harris, How many parts to make at once, 1913; the formula from memory).
func (f *facts) economicLot(p int) float64 {
	change, metres, days := 0.0, 0.0, 0.0
	for _, j := range f.fitsBy[p] {
		ft := f.fits[j]
		crew := f.in.Lines[ft.line].Crew * float64(f.in.Plant.CrewCost)
		change += (ft.setupCost + ft.setup*crew) / float64(len(f.fitsBy[p]))
	}
	for _, c := range f.classes[p] {
		metres += c.total
	}
	for t := range f.buckets {
		days += f.days(t)
	}
	keep := metres / days * float64(f.in.Profiles[p].Price) * float64(f.in.Plant.HoldingRate) / daysAYear
	if keep <= 0 {
		return math.Inf(1)
	}
	return math.Sqrt(2 * change / keep)
}

// speed is the kilograms an hour that line l makes, at the mean of its profiles.
func (f *facts) speed(l int) float64 {
	kg := 0.0
	for _, j := range f.fitsOf[l] {
		kg += f.fits[j].rate * f.fits[j].pelletsPerM / float64(len(f.fitsOf[l]))
	}
	return kg
}

// open begins bucket t: what it has of fitters, crew and dies, and what is forbidden in it.
func (w *floor) open(t int) {
	w.bucket = t
	w.crewLeft = math.Inf(1)
	if c := w.f.in.Plant.Crew; c > 0 {
		w.crewLeft = c
	}
	w.fitters = math.Inf(1)
	if h := float64(w.f.in.Plant.FitterHours); h > 0 {
		w.fitters = h * w.f.openDays[t]
	}
	clear(w.dieUse)
	for _, j := range w.mounted {
		if j >= 0 {
			w.dieUse[w.f.fits[j].profile]++
		}
	}
	clear(w.changes)
	clear(w.forbidden)
	w.readPins()
}

// linesWanted marks the lines to have on: those that are on first, as many as the work ahead needs and the crew allows.
func (w *floor) linesWanted() []bool {
	want := make([]bool, len(w.on))
	work := make([]float64, len(w.f.in.Profiles))
	for p := range work {
		work[p] = w.need(p, w.rules.nearDays)
	}
	crew := w.f.in.Plant.Crew
	if crew <= 0 {
		crew = math.Inf(1)
	}
	crew = w.wantPromised(want, work, crew)
	crew = w.wantPinned(want, work, crew)
	for _, wasOn := range []bool{true, false} {
		for _, l := range w.order {
			ln := w.f.in.Lines[l]
			must := w.on[l] && w.since[l] < ln.MinRunDays
			now := w.on[l] == wasOn
			if w.rules.fastest { // one pass in the order of speed, but lines that must stay on come first
				now = must == wasOn
			}
			if !now || want[l] || ln.Crew > crew || !w.choosable(l) {
				continue
			}
			if w.takeWork(l, work) >= w.rules.worthOn*w.hoursAhead(l) || must {
				want[l] = true
				crew -= ln.Crew
			}
		}
	}
	return want
}

// choosable reports whether the rules may choose line l: it is set up and has hours, and neither a promise nor a pin decides.
func (w *floor) choosable(l int) bool {
	f, ln := w.f, w.f.in.Lines[l]
	switch {
	case f.avail[l][w.bucket] <= 0 || !w.setUp[l] && ln.State == lines.Uncommissioned || w.setUpBy(l) < 0:
		return false
	case w.on[l] && w.since[l] < ln.MinRunDays: // it can't be stopped
		return true
	}
	return w.promised(l) == nil && (f.asks == nil || !f.stands(l, w.bucket) && (w.on[l] || !w.standsSoon(l)))
}

// setUpBy is the bucket in which setting up line l must begin, at the latest, for it to be started now; -1 if there is none, len(buckets) if
// it is set up, or that has begun in time.
func (w *floor) setUpBy(l int) int {
	f, ln := w.f, w.f.in.Lines[l]
	if ln.State != lines.Uncommissioned {
		return len(f.buckets)
	}
	latest := -1
	for o := 0; o <= w.bucket && int(f.buckets[o].Span.From)+ln.Commissioning.Days <= int(f.buckets[w.bucket].Span.From); o++ {
		if r := f.commissioned[l][o]; r.is {
			if yes(r, w.x) {
				return len(f.buckets)
			}
			latest = o
		}
	}
	return latest
}

// commission sees to it that line l is set up for a start now, as late as it may be, and reports whether it is.
func (w *floor) commission(l int) bool {
	o := w.setUpBy(l)
	if o >= 0 && o < len(w.f.buckets) {
		w.set(w.f.commissioned[l][o], 1)
		w.cost += float64(w.f.in.Lines[l].Commissioning.Cost)
	}
	return o >= 0
}

// hoursAhead is the running hours that line l has in the days ahead.
func (w *floor) hoursAhead(l int) float64 {
	hours, days := 0.0, 0.0
	for t := w.bucket; t < len(w.f.buckets) && days < w.rules.nearDays; t++ {
		hours += w.f.avail[l][t] - w.f.ask(l, t).idle
		days += w.f.days(t)
	}
	return hours * usefulUse
}

// takeWork takes off work, profile by profile, what line l could do in the days ahead; it returns the hours.
func (w *floor) takeWork(l int, work []float64) float64 {
	left := w.hoursAhead(l)
	used := 0.0
	for _, j := range w.f.fitsOf[l] {
		ft := w.f.fits[j]
		h := min(left-used, work[ft.profile]/ft.rate)
		work[ft.profile] -= h * ft.rate
		used += h
	}
	return used
}

// switchLine turns line l on or off as wanted, within its least run and stop.
func (w *floor) switchLine(l int, want []bool) {
	ln := w.f.in.Lines[l]
	switch {
	case want[l] && !w.on[l] && w.since[l] >= ln.MinStopDays:
		w.on[l], w.since[l] = true, 0
		w.set(w.f.started[l][w.bucket], 1)
	case !want[l] && w.on[l] && w.since[l] >= ln.MinRunDays:
		w.on[l], w.since[l] = false, 0
	}
}

// runLine gives line l its runs of the bucket.
func (w *floor) runLine(l int) {
	if !w.on[l] {
		return
	}
	if c := w.promised(l); c != nil && c.on {
		w.follow(l, c)
		return
	}
	t := w.bucket
	left := w.f.avail[l][t]
	if yes(w.f.started[l][t], w.x) {
		left -= float64(w.f.in.Lines[l].Startup.Hours)
	}
	left, changes := w.runPinned(l, left)
	w.runOn(l, left, changes)
}

// runOn gives line l runs for the hours left, when it has changed dies so many times in the bucket.
func (w *floor) runOn(l int, left float64, changes int) {
	t := w.bucket
	for ; left > 0; changes++ {
		if j := w.mounted[l]; j >= 0 && !w.forbidden[j] {
			ft := w.f.fits[j]
			h := min(left, w.need(ft.profile, w.lotDays(ft.profile))/ft.rate)
			w.make(j, h)
			left -= h
		}
		if changes > 0 && !w.f.buckets[t].Weekly() {
			return // one changeover a day
		}
		next := w.next(l, left)
		if next < 0 {
			return
		}
		left -= w.change(l, next)
	}
}

// make runs fit j for so many hours of the bucket.
func (w *floor) make(j int, hours float64) {
	ft := w.f.fits[j]
	w.made[ft.profile] += hours * ft.rate
	if w.guide != nil {
		w.cost += hours * w.guide.hour[j][w.bucket]
		w.used[w.f.gradeOf[ft.profile]] += hours * ft.rate * ft.pelletsPerM
	}
}

// lotDays is the days of demand that a run of profile p covers.
func (w *floor) lotDays(p int) float64 {
	if w.tune != nil {
		return w.tune.lot[p]
	}
	if w.rules.economic > 0 {
		return min(max(7, w.rules.economic*w.lots[p]), 140)
	}
	return w.rules.lotDays
}

// next is the fit that line l should change to with the given hours left: the one that runs out first. -1 if none pays.
func (w *floor) next(l int, left float64) int {
	best, soonest := -1, math.Inf(1)
	for _, j := range w.f.fitsOf[l] {
		ft := w.f.fits[j]
		if j == w.mounted[l] || !w.canChange(l, j, left) {
			continue
		}
		if w.need(ft.profile, w.lotDays(ft.profile))/ft.rate < leastRun {
			continue
		}
		out := w.runsOut(ft.profile)
		if w.tune != nil {
			out -= w.tune.ahead[ft.profile] + w.tune.like[j]
		}
		if out < soonest {
			best, soonest = j, out
		}
	}
	return best
}

// change puts fit j's die on line l and returns the hours that it takes.
func (w *floor) change(l, j int) float64 {
	ft := w.f.fits[j]
	w.mounted[l] = j
	w.changes[j] = true
	w.dieUse[ft.profile]++
	w.fitters -= ft.fitters
	w.set(w.f.changed[j][w.bucket], 1)
	return ft.setup
}

// note writes line l's state at the end of the bucket.
func (w *floor) note(l int) {
	t := w.bucket
	w.since[l] += w.f.buckets[t].Span.Days()
	if w.f.avail[l][t] <= 0 {
		return
	}
	w.set(w.f.on[l][t], isOne(w.on[l]))
	if j := w.mounted[l]; j >= 0 {
		w.set(w.f.mounted[j][t], 1)
	}
}

func (w *floor) set(r ref, value float64) {
	if r.is {
		w.x[r.v] = value
	}
}

// roundAllLoads sets the loads of x to the fractional ones of relaxed, made whole.
func (f *formulation) roundAllLoads(relaxed, x []float64) {
	for s := range f.in.Lanes {
		f.roundLoads(s, relaxed, x)
	}
}

// roundLoads sets lane s's loads in x to the fractional ones of relaxed, rounded up as they accumulate, within what can be
// ordered at once and in a run of weeks.
func (f *formulation) roundLoads(s int, relaxed, x []float64) {
	wanted, ordered := 0.0, 0.0
	for t := range f.buckets {
		r := f.loads[s][t]
		if !r.is {
			continue
		}
		wanted += relaxed[r.v]
		n := min(math.Ceil(wanted-ordered-roundFrom), f.m.Upper[r.v], f.roomForLoads(s, t, x))
		if n < max(1, float64(f.in.Lanes[s].MinLoads)) {
			n = 0
		}
		f.order(s, t, n, x)
		ordered += n
	}
}

// roundFrom is the part of a load that is not yet worth a whole one.
const roundFrom = 0.05

// roomForLoads is how many loads of lane s can still be ordered in bucket t beside those that x orders before it.
func (f *formulation) roomForLoads(s, t int, x []float64) float64 {
	if f.in.Lanes[s].LoadsAWeek <= 0 {
		return math.Inf(1)
	}
	limit, weeks := f.loadLimit(s)
	first := f.buckets[t].Span.From.Monday() - 7*(weeks-1)
	for o := t - 1; o >= 0 && f.buckets[o].Span.From >= first; o-- {
		limit -= f.loads[s][o].at(x)
	}
	return limit
}
