package planner

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"feedline/planner/solve"
)

// Tuning the rules. A walk by the rules takes a fraction of a millisecond, a linear program a thousand times that. So the rules get
// knobs, profile by profile and fit by fit; knobs are turned a little at random, and what the walk makes of them is kept where it costs less by
// the walk's own estimate. After some hundred turns a linear program tells what the plan really costs, and whether to go on from it or from
// where the turns began. Two such chains are made side by side, with seeds of their own, and the better one counts. Where rounds bring nothing
// more, a course with the next setting of the rules is begun.
const (
	tuneTurns  = 800  // walks between two linear programs
	tuneHeat   = 1e-3 // share of the estimate by which a turn may cost more to begin with
	tuneShare  = 0.5  // of the limits of a search that tuning may take
	tuneTaken  = 5    // rounds from one plan with whole loads to the next
	tuneChains = 2    // side by side
	tuneStale  = 6    // rounds without gain after which the next setting is begun with

	walkWork    = 20   // work units of a walk for each fit and bucket,
	walkLeast   = 3000 // and of any walk
	missedShare = 0.1  // of its lateness, for pellets that a plan lacks: others can often be bought
)

// guide is what a relaxation knows of feed, crew and lateness, for rules to follow.
type guide struct {
	made [][]float64 // metres that it makes, by profile and bucket, cumulative
	hour [][]float64 // what an hour of a fit costs beside the crew, its pellets at their dual, by bucket
	feed [][]float64 // pellets that could be used, by grade and bucket, cumulative
	late []float64   // what a kilogram used too soon costs a day, by grade
}

// tuning is a setting of the knobs.
type tuning struct {
	rules rules
	lot   []float64 // days of demand that a run covers, by profile
	ahead []float64 // days that a profile is taken to run out sooner, by profile
	like  []float64 // the same, by fit
}

// guide reads off g, a relaxation that is solved to x with the duals y, what rules can follow.
func (f *formulation) guide(x, y []float64) *guide {
	g := &guide{}
	feed, columns := make([]bool, f.m.NumRows()), f.m.Columns()
	for k := range f.in.Grades {
		can, used := make([]float64, len(f.buckets)), 0.0
		for t := range can {
			feed[f.pelletsRow[k][t]], feed[f.regrindRow[k][t]] = true, true
			used += f.pelletUse(k, t, x)
			can[t] = used + f.pellets[k][t].at(x)
			for _, i := range f.feedsOf[k] {
				m := f.feeds[i].material
				can[t] += f.yard[m][t].at(x) * f.paths[m].yield
			}
		}
		g.feed, g.late = append(g.feed, can), append(g.late, missedShare*f.latePriceOfPellets(k))
	}
	for p := range f.in.Profiles {
		list, made := make([]float64, len(f.buckets)), 0.0
		for t := range list {
			for _, j := range f.fitsBy[p] {
				made += f.fits[j].rate * f.run[j][t].at(x)
			}
			list[t] = made
		}
		g.made = append(g.made, list)
	}
	for j := range f.fits {
		list := make([]float64, len(f.buckets))
		for t, r := range f.run[j] {
			if !r.is {
				continue
			}
			list[t] = f.m.Cost[r.v]
			for i := columns.Start[r.v]; i < columns.Start[r.v+1]; i++ {
				if row := columns.Index[i]; feed[row] {
					list[t] -= columns.Value[i] * y[row]
				}
			}
		}
		g.hour = append(g.hour, list)
	}
	return g
}

// latePriceOfPellets is what a late kilogram of pellets of grade k costs a day, at the mean of its profiles.
func (f *facts) latePriceOfPellets(k int) float64 {
	sum, n := 0.0, 0.0
	for p := range f.in.Profiles {
		if f.gradeOf[p] != k || len(f.fitsBy[p]) == 0 {
			continue
		}
		late, _ := f.latePrices(p)
		sum += late / f.fits[f.fitsBy[p][0]].pelletsPerM
		n++
	}
	return sum / max(1, n)
}

// missing is what it costs over bucket t that more pellets are used, by grade, than could be.
func (g *guide) missing(f *formulation, used []float64, t int) float64 {
	cost := 0.0
	for k, kg := range used {
		cost += max(0, kg-g.feed[k][t]) * g.late[k] * f.days(t)
	}
	return cost
}

// tuner is the state of tuning.
type tuner struct {
	f     *formulation
	guide *guide

	starts []*tuning // settings to begin with, in turn
	at     *tuning   // where the course in hand stands
	held   float64   // what that costs
	from   *standing // its basis
	stale  int       // rounds without gain in it

	best    float64   // cost of the best plan of all courses, loads in fractions
	x       []float64 // its whole numbers of the lines, loads aside
	relaxed []float64 // all of it
	stands  *standing
	rounds  int
	taken   int  // round of the last plan with whole loads
	better  bool // the last round brought a better one
}

// newTuner begins with the cheapest of the settings by its estimate.
func newTuner(f *formulation, g *guide, workers int) *tuner {
	u := &tuner{f: f, guide: g, best: math.Inf(1), taken: -tuneTaken}
	sets := f.withSetUps(guidedSets)
	walks := make([]*floor, len(sets))
	sideBySide(workers, len(walks), func(i int) { walks[i] = u.walk(sets[i], nil) })
	slices.SortStableFunc(walks, byCost)
	for _, w := range walks {
		n := &tuning{rules: w.rules, lot: make([]float64, len(f.in.Profiles)), ahead: make([]float64, len(f.in.Profiles)), like: make([]float64, len(f.fits))}
		for p := range n.lot {
			n.lot[p] = w.lotDays(p)
		}
		u.starts = append(u.starts, n)
	}
	u.restart()
	return u
}

// restart begins a course with the next setting.
func (u *tuner) restart() {
	u.at, u.held, u.from, u.stale = u.starts[0], math.Inf(1), nil, 0
	u.starts = append(u.starts[1:], u.starts[0])
}

// walk walks by rules, tuned or not, towards what the guide makes.
func (u *tuner) walk(r rules, tune *tuning) *floor { return u.walkIn(new(floor), r, tune) }

// walkIn is walk in the memory of w, a floor that is no longer needed.
func (u *tuner) walkIn(w *floor, r rules, tune *tuning) *floor {
	floorIn(w, u.f, r)
	w.guide, w.due, w.tune = u.guide, u.guide.made, tune
	w.all()
	return w
}

// run is a chain of turns and what the linear program makes of its end.
type run struct {
	tune   *tuning
	floor  *floor
	result solve.Result
	stands *standing
}

// round makes the chains of a round and goes on from the better end if it is better. It returns the work.
func (u *tuner) round(ctx context.Context, opt solve.Options) (work int64) {
	runs := make([]run, tuneChains)
	sideBySide(opt.Workers, len(runs), func(i int) {
		r := &runs[i]
		r.tune, r.floor = u.turn(ctx, rand.New(rand.NewPCG(opt.Seed, uint64(tuneChains*u.rounds+i))))
		if q := u.f.settle(r.floor.x, u.from, opt); q != nil {
			r.result = q.loose(ctx)
			r.stands = q.standing()
		}
	})
	u.rounds++
	u.stale++
	u.better = false
	work = int64(len(runs) * tuneTurns * (walkLeast + walkWork*len(u.f.fits)*len(u.f.buckets)))
	for _, r := range runs {
		work += r.result.Work
		if !r.result.Has {
			continue
		}
		if isLess(r.result.Objective, u.held) {
			u.at, u.held, u.from, u.stale = r.tune, r.result.Objective, r.stands, 0
		}
		if isLess(r.result.Objective, u.best) {
			u.x, u.relaxed, u.best, u.stands, u.better = r.floor.x, r.result.X, r.result.Objective, r.stands, true
		}
	}
	if u.stale >= tuneStale {
		u.restart()
	}
	return work
}

// isLess reports whether a is less than b by more than a millionth; any is less than +Inf.
func isLess(a, b float64) bool { return math.IsInf(b, 1) || a < b-1e-6*math.Abs(b) }

// turn turns knobs at random, keeping what costs less by the estimate and, while it is hot, a little more; it returns the best that it met.
func (u *tuner) turn(ctx context.Context, rng *rand.Rand) (*tuning, *floor) {
	now, at := u.at, u.walk(u.at.rules, u.at)
	var best *tuning
	var found, spare *floor
	for i := range tuneTurns {
		if i > 0 && ctx.Err() != nil {
			break
		}
		if spare == nil {
			spare = new(floor)
		}
		try, w := now.turned(rng), spare
		u.walkIn(w, try.rules, try)
		spare = nil
		heat := tuneHeat * math.Abs(at.cost) * (1 - float64(i)/tuneTurns)
		was, had := at, found
		if w.cost < at.cost+heat*rng.ExpFloat64() {
			now, at = try, w
		}
		if found == nil || w.cost < found.cost {
			best, found = try, w
		}
		for _, old := range []*floor{was, had, w} {
			if old != at && old != found {
				spare = old
			}
		}
	}
	return best, found
}

// turned is k with a knob or some turned at random.
func (k *tuning) turned(rng *rand.Rand) *tuning {
	n := *k
	switch rng.IntN(10) {
	case 0:
		n.rules.nearDays = max(3, n.rules.nearDays*math.Exp(0.2*rng.NormFloat64()))
	case 1:
		n.rules.worthOn = min(0.95, max(0.1, n.rules.worthOn+0.1*rng.NormFloat64()))
	case 2, 3:
		n.like = slices.Clone(n.like)
		for range 1 + rng.IntN(4) {
			n.like[rng.IntN(len(n.like))] += 5 * rng.NormFloat64()
		}
	default:
		n.lot, n.ahead = slices.Clone(n.lot), slices.Clone(n.ahead)
		for range 1 + rng.IntN(3) {
			p := rng.IntN(len(n.lot))
			if rng.IntN(2) == 0 {
				n.lot[p] = min(140, max(4, n.lot[p]*math.Exp(0.4*rng.NormFloat64())))
			} else {
				n.ahead[p] += 5 * rng.NormFloat64()
			}
		}
	}
	return &n
}
