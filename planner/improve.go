package planner

import (
	"context"
	"math"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/mip"
)

// Improving a plan: an area of it is decided anew by branch and cut, all else held, and so on with another area. Areas are of several
// kinds; which kind comes next goes by what it has brought for its work of late, and how large its areas are by whether they were decided
// within their limit. Two areas are tried at a time from the same plan; if both bring something and share no limit, both are taken, else the
// better. The course depends on the seed and not on the number of workers.
//
// Amounts outside of the area's buckets and some after them are held as well, so that a small model is small however large the plant is:
// on ten lines with 40 profiles a model with all amounts free cost a second of processor before its first node. What that forgoes, a
// linear program over the whole now and then brings back.
const (
	tryWork    = 12_000_000 // work units for an area to begin with, and per thousand rows of the whole
	tryMore    = 250_000
	tryGap     = 1e-4 // an area is settled at this gap
	tryAtATime = 2

	areaStart, areaLeast, areaMost = 90.0, 24.0, 900.0 // whole numbers in an area
	areaReach                      = 6                 // buckets in which amounts follow

	settleAfter = 24 // areas taken after which the whole's amounts are decided anew
	staleAfter  = 40 // pairs in a row without gain after which each may take twice the work,
	tryMost     = 8  // up to so many times; then that ends it
	forget      = 0.85
)

// kind is a kind of area with what it has brought.
type kind struct {
	draw       func(w *drawing, size float64) area
	size       float64
	gain, work float64
}

// drawing draws areas.
type drawing struct {
	f   *formulation
	rng uint64
}

// next is a pseudo-random number from 0 to n−1 (splitmix64).
func (w *drawing) next(n int) int {
	w.rng += 0x9e3779b97f4a7c15
	z := w.rng
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return int((z ^ z>>31) % uint64(n))
}

// width is the number of buckets that an area of the given size may span with so many whole numbers a bucket.
func (w *drawing) width(size float64, aBucket int) int {
	return max(1, min(len(w.f.buckets), int(size/float64(max(1, aBucket)))))
}

// span draws the buckets of an area.
func (w *drawing) span(width int) (from, to int) {
	n := len(w.f.buckets)
	from = w.next(n+width-1) - width + 1
	return max(0, from), min(n, from+width)
}

// someLines draws n lines, the second and on from those that share profiles with one before.
func (w *drawing) someLines(n int) (lines []bool, fits int) {
	f := w.f
	lines = make([]bool, len(f.in.Lines))
	last := w.next(len(lines))
	lines[last] = true
	for range n - 1 {
		var near []int
		for l := range lines {
			if !lines[l] && f.shareProfiles(last, l) {
				near = append(near, l)
			}
		}
		if len(near) == 0 {
			break
		}
		last = near[w.next(len(near))]
		lines[last] = true
	}
	for l, in := range lines {
		if in {
			fits += len(f.fitsOf[l])
		}
	}
	return lines, fits
}

func lineArea(n int) func(w *drawing, size float64) area {
	return func(w *drawing, size float64) area {
		lines, fits := w.someLines(n)
		from, to := w.span(w.width(size, 2*(fits+n)))
		return area{from: from, to: to, reach: areaReach, lines: lines}
	}
}

// allArea is all lines in a few buckets.
func allArea(w *drawing, size float64) area {
	from, to := w.span(w.width(size, 2*(len(w.f.fits)+len(w.f.in.Lines))))
	return area{from: from, to: to, reach: areaReach, loads: true}
}

// profileArea is some profiles of a line, on all lines that run them.
func profileArea(w *drawing, size float64) area {
	f := w.f
	l := w.next(len(f.in.Lines))
	profiles, fits := make([]bool, len(f.in.Profiles)), 0
	if n := len(f.fitsOf[l]); n > 0 {
		for range 2 + w.next(3) {
			p := f.fits[f.fitsOf[l][w.next(n)]].profile
			if !profiles[p] {
				profiles[p] = true
				fits += len(f.fitsBy[p])
			}
		}
	}
	from, to := w.span(w.width(size, 2*fits))
	return area{from: from, to: to, reach: areaReach, profiles: profiles}
}

// loadArea is the loads of many buckets, the lines held.
func loadArea(w *drawing, size float64) area {
	n := len(w.f.buckets)
	from, to := w.span(w.width(size, len(w.f.in.Lanes)))
	return area{from: from, to: to, reach: n, loads: true, held: true}
}

// attempt is an area that is tried.
type attempt struct {
	kind   *kind
	area   area
	part   *cutout
	result solve.Result
}

// improve works on s.best until the given share of the limits is spent, or nothing brings anything for long.
func (s *searching) improve(ctx context.Context, until float64) {
	f := s.f
	if len(f.in.Lines) == 0 || len(f.fits) == 0 {
		return
	}
	kinds := []*kind{{draw: allArea}, {draw: lineArea(1)}, {draw: lineArea(2)}, {draw: lineArea(3)}, {draw: profileArea}, {draw: loadArea}}
	for _, k := range kinds {
		k.size = areaStart
	}
	y, w := newLayout(f), &drawing{f, f.opt.Seed}
	start := int64(tryWork + tryMore*f.m.NumRows()/1000)
	work := start
	stale, taken := 0, 0
	for round := 0; stale < staleAfter && !s.done(ctx) && s.spentShare() < until; round++ {
		s.follow(ctx, until)
		now := make([]*attempt, tryAtATime)
		for i := range now {
			k := pick(kinds, round*tryAtATime+i)
			now[i] = &attempt{kind: k, area: k.draw(w, k.size)}
		}
		n := s.try(ctx, y, now, work, until)
		taken += n
		stale++
		if n > 0 {
			stale = 0
		}
		if taken >= settleAfter || stale == staleAfter/2 && taken > 0 {
			taken = 0
			if s.settleAll(ctx) {
				stale = 0
			}
		}
		if stale == staleAfter && work < tryMost*start {
			work, stale = 2*work, 0
		}
	}
	s.settleAll(ctx)
}

// follow tunes rules that follow the relaxation, once it is known, and takes their plans where they are better. What was made of an
// earlier plan is improved on instead, unless it came out much dearer or forgoes much.
func (s *searching) follow(ctx context.Context, until float64) {
	g := s.guided
	if s.guided = nil; g == nil || s.resumed && !s.freed() {
		return
	}
	u := newTuner(s.f, g, s.f.opt.Workers)
	opt := solve.Options{Workers: s.f.opt.Workers, Seed: s.f.opt.Seed}
	within, stop := ctx, context.CancelFunc(func() {})
	if s.time > 0 { // a round of a large plant may take long
		within, stop = context.WithDeadline(ctx, s.began.Add(time.Duration(tuneShare*until*float64(s.time))))
	}
	defer stop()
	rounds := math.MaxInt
	if s.f.m.NumVars() <= proveTo {
		rounds = 1 // branch and cut does the rest
	}
	for ; rounds > 0 && !s.done(ctx) && s.spentShare() < tuneShare*until; rounds-- {
		s.spent += u.round(within, opt)
		if u.better && u.rounds >= u.taken+tuneTaken {
			s.takeTuned(ctx, u, false)
		}
	}
	if u.x != nil {
		s.takeTuned(ctx, u, true)
	}
}

// takeTuned takes the plan of u with its loads made whole, and stepped if so.
func (s *searching) takeTuned(ctx context.Context, u *tuner, step bool) {
	u.taken = u.rounds
	x := append([]float64(nil), u.x...)
	s.f.roundAllLoads(u.relaxed, x)
	r, stands := s.f.settled(ctx, x, u.stands, step)
	if r.Has && r.Objective < s.best.Objective {
		s.stands = stands
	}
	s.take(r)
	s.report("better plan")
}

// pick is the kind for the n-th attempt: each in turn on every second one, else the one that has brought most for its work.
func pick(kinds []*kind, n int) *kind {
	if n%2 == 0 || n < 2*len(kinds) {
		return kinds[n/2%len(kinds)]
	}
	best := kinds[0]
	for _, k := range kinds {
		if k.gain*best.work > best.gain*k.work {
			best = k
		}
	}
	return best
}

// try decides the areas side by side from the plan in hand and takes what they bring; it returns how many were taken.
func (s *searching) try(ctx context.Context, y *layout, now []*attempt, work int64, until float64) int {
	sideBySide(s.f.opt.Workers, len(now), func(i int) {
		a := now[i]
		a.part = y.cut(&a.area, s.best.X)
		a.result = s.solvePart(ctx, a.part.m, work, until)
	})
	held := s.best.Objective
	var best *attempt
	for _, a := range now {
		s.spent += a.result.Work
		s.best.Nodes += a.result.Nodes
		s.best.Iterations += a.result.Iterations
		a.kind.learn(a.result, held)
		if a.result.Has && (best == nil || a.result.Objective < best.result.Objective) {
			best = a
		}
	}
	if best == nil {
		return 0
	}
	x, n := append([]float64(nil), s.best.X...), 0
	for _, a := range now {
		if a == best || a.result.Has && a.part.apart(best.part) {
			a.part.write(a.result.X, x)
			s.best.Objective += a.result.Objective - held
			n++
		}
	}
	s.best.X = x
	s.report("better plan")
	return n
}

// learn keeps what an attempt has brought and fits the size of the next to it.
func (k *kind) learn(r solve.Result, held float64) {
	k.gain, k.work = forget*k.gain, forget*k.work+float64(r.Work)
	if r.Has {
		k.gain += held - r.Objective
	}
	switch {
	case r.Stop == solve.WorkLimit && !r.Has:
		k.size = max(areaLeast, 0.8*k.size)
	case r.Stop != solve.WorkLimit:
		k.size = min(areaMost, 1.1*k.size)
	}
}

// solvePart looks for something better than the plan in hand in a part of it.
func (s *searching) solvePart(ctx context.Context, m *model.Model, work int64, until float64) solve.Result {
	o := s.options("better plan", until)
	if o.Work == 0 || o.Work > work {
		o.Work = work
	}
	beat := s.best.Objective - max(1e-6, 1e-6*math.Abs(s.best.Objective))
	o.Beat = &beat
	o.Gap, o.Workers, o.Progress = tryGap, 1, nil
	r := mip.Solve(ctx, m, o)
	r.Has = r.Has && r.Objective <= beat
	return r
}

// settleAll decides all amounts of the plan in hand anew, and steps its loads. It reports whether that brought anything.
func (s *searching) settleAll(ctx context.Context) bool {
	began := time.Now()
	r, stands := s.f.settled(context.WithoutCancel(ctx), s.best.X, s.stands, true)
	s.spent += r.Work
	if s.time > 0 {
		s.reserve = max(s.reserve, 2*time.Since(began))
	}
	if !r.Has {
		return false
	}
	s.stands = stands
	better := r.Objective < s.best.Objective-1e-6*math.Abs(s.best.Objective)
	s.best.X, s.best.Objective = r.X, r.Objective
	return better
}
