package planner

import (
	"context"
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/solve"
)

// Starting from an earlier plan (Options.From). The plan may be of an older input with another start, horizon or other lines: what
// it says of lines, dies and loads is taken over day by day as far as it is still possible, and the rules of greedy.go carry on where
// it ends. Its hours, feed and metres are not looked at: a linear program decides them anew.
//
// A week of the old plan that is now seven days has its changeovers spread over its first days. A changeover that can't be made on its day
// (the line is down, the die on another line, the fitters' hours used up) is made on the next possible one, unless the plan has another then.

// script is an earlier plan as the lines follow it.
type script struct {
	from, to calendar.Day // days it speaks of
	parts    [][]stretch  // by line, in the order of time
	loads    []Purchase
}

// stretch is what a line does in a bucket of the earlier plan.
type stretch struct {
	span    calendar.Span
	on      bool
	changes []int     // fits changed to, in order
	made    []float64 // metres by profile, nil if none
}

// readScript resolves a plan's lines and profiles in f; what f does not know is left out.
func (f *facts) readScript(p *Plan) *script {
	s := &script{from: p.Start, to: p.Start, parts: make([][]stretch, len(f.in.Lines)), loads: p.Purchases}
	if n := len(p.Buckets); n > 0 {
		s.to = p.Buckets[n-1].Span.To
	}
	for l := range s.parts {
		s.parts[l] = make([]stretch, len(p.Buckets))
		for t, b := range p.Buckets {
			s.parts[l][t].span = b.Span
		}
	}
	for _, u := range p.Lines {
		if l, ok := f.lineAt[u.Line]; ok && u.Bucket < len(p.Buckets) {
			s.parts[l][u.Bucket].on = u.On
		}
	}
	for _, r := range p.Runs {
		l, known := f.lineAt[r.Line]
		if !known || r.Bucket >= len(p.Buckets) {
			continue
		}
		if j := f.fitFor(l, r.Profile); j >= 0 {
			s.parts[l][r.Bucket].add(f, j, r)
		}
	}
	return s
}

func (x *stretch) add(f *facts, j int, r Run) {
	if r.Changeover {
		x.changes = append(x.changes, j)
	}
	if x.made == nil {
		x.made = make([]float64, len(f.in.Profiles))
	}
	x.made[f.fits[j].profile] += float64(r.Length)
}

// scene is what the script has a line do in a bucket of the new plan.
type scene struct {
	known   bool // the script speaks of the bucket
	on      bool
	changes []int
	made    []float64
}

// sceneOf gathers line l's parts that fall into span.
func (s *script) sceneOf(f *facts, l int, span calendar.Span) scene {
	c := scene{known: span.From >= s.from && span.From < s.to, made: make([]float64, len(f.in.Profiles))}
	for _, x := range s.parts[l] {
		days := x.span.Overlap(span).Days()
		if days == 0 {
			continue
		}
		c.on = c.on || x.on
		for p, m := range x.made {
			c.made[p] += m * float64(days) / float64(x.span.Days())
		}
		for i, j := range x.changes {
			if span.Has(x.dayOf(i)) {
				c.changes = append(c.changes, j)
			}
		}
	}
	return c
}

// dayOf spreads the changeovers of a part over its days, the last two of a week left free.
func (x *stretch) dayOf(i int) calendar.Day {
	days := max(1, x.span.Days()-2)
	return x.span.From + calendar.Day(i*days/len(x.changes))
}

// resumed is the whole-number columns of the model as an earlier plan has them; continuous ones are NaN. What f's limits on lines, dies,
// fitters and loads don't allow any more is left out.
// With fill the rules add runs where they see a profile run out and hours left.
func (f *formulation) resumed(p *Plan, fill bool) []float64 {
	s, w := f.readScript(p), newFloor(f, ruleSets[0])
	waiting := make([]int, len(f.in.Lines)) // a changeover put off, by line
	for l := range waiting {
		waiting[l] = -1
	}
	for t := range f.buckets {
		w.open(t)
		if w.playHeld() {
			continue
		}
		want := w.linesWanted()
		for l := range f.in.Lines {
			c := s.sceneOf(f.facts, l, f.buckets[t].Span)
			switch {
			case f.avail[l][t] <= 0:
				if n := len(c.changes); n > 0 {
					waiting[l] = c.changes[n-1]
				}
			case c.known:
				left := w.play(l, c, &waiting[l])
				if fill && w.on[l] {
					w.runOn(l, left, w.changesOn(l))
				}
			default:
				w.switchLine(l, want)
				w.runLine(l)
			}
			w.note(l)
		}
	}
	f.resumeLoads(s, w.x)
	return w.x
}

// littleDearer is the share by which a plan made of an earlier one may cost more than that one before loads are ordered anew.
const littleDearer = 0.002

// resume makes a plan of an earlier one: with its set-ups and loads as they are, if it has f's days and f allows them, else with its runs and loads; where that costs more than a little, the best of that, of the same with
// runs added, and of either with its loads ordered anew, one step after the other, to fit the feed and the demand as they are now. None
// need exist. from is a basis to start from or nil; with the plan goes the basis that it stands on.
func (f *formulation) resume(ctx context.Context, p *Plan, from *standing, workers int) (solve.Result, *standing) {
	scripts := [][]float64{f.resumed(p, false), f.resumed(p, true)}
	programs, tries := make([]*settling, len(scripts)), make([]resumption, len(scripts))
	asTold := func(i int) {
		if programs[i] = f.settle(scripts[i], from, solve.Options{Seed: f.opt.Seed}); programs[i] != nil {
			tries[i].keep(programs[i].with(ctx, scripts[i]), programs[i])
		}
	}
	enough := float64(p.Objective) + littleDearer*math.Abs(float64(p.Objective))
	as := resumption{Result: solve.Result{Bound: math.Inf(-1)}}
	if x := f.asItIs(p); x != nil {
		if q := f.settle(x, from, solve.Options{Seed: f.opt.Seed}); q != nil {
			as.keep(q.with(ctx, x), q)
		}
	}
	if as.Has && as.Objective <= enough {
		as.Stop = solve.NotRun
		return as.Result, as.stands
	}
	asTold(0)
	told := tries[0].Result
	if !told.Has || told.Objective > enough {
		sideBySide(workers, len(scripts), func(i int) {
			if i > 0 {
				asTold(i)
			}
			if tries[i].Has && (i == 0 || !told.Has || tries[i].Objective < told.Objective) {
				tries[i].keep(programs[i].stepLoads(ctx, tries[i].Result), programs[i])
			}
		})
	}
	best, work := as, as.Work
	for _, r := range tries {
		work += r.Work
		if r.Has && (!best.Has || r.Objective < best.Objective) {
			best = r
		}
	}
	best.Work, best.Stop = work, solve.NotRun
	return best.Result, best.stands
}

// asItIs is the whole numbers of a plan that has f's days; nil if it has others. A line may have been played otherwise by the rules where these are
// given more, such as fitters: what was possible is then still possible as it was.
func (f *formulation) asItIs(p *Plan) []float64 {
	if !slices.EqualFunc(p.Buckets, f.buckets, func(x, y calendar.Bucket) bool { return x.Span == y.Span }) {
		return nil
	}
	return f.wholeOf(p)
}

// Redo is the cost of a plan of in that does what p does, as far as in lets it: p's runs and loads, amounts decided anew. p may be of another input,
// as a what-if is: where it then costs less than a plan of in itself, so much was left to be found in that. ok is false if in refuses it.
func Redo(ctx context.Context, in *Input, opt Options, p *Plan) (cost quantity.Money, ok bool) {
	f, err := prepare(in, opt)
	if err != nil {
		return 0, false
	}
	r, _ := f.resume(ctx, p, readBases(p.Warm)[warmAmounts].standing(f), opt.Workers)
	return quantity.Money(r.Objective), r.Has
}

// resumption is a plan made of an earlier one, with the basis that it stands on.
type resumption struct {
	solve.Result
	stands *standing
}

// keep takes r, a solution of q, if it is better. The work of both counts.
func (s *resumption) keep(r solve.Result, q *settling) {
	work := s.Work + r.Work
	if r.Has && (!s.Has || r.Objective < s.Objective) {
		s.Result, s.stands = r, q.standing()
	}
	s.Work = work
}

// changesOn counts the changeovers of the bucket on line l.
func (w *floor) changesOn(l int) int {
	n := 0
	for _, j := range w.f.fitsOf[l] {
		n += int(isOne(w.changes[j]))
	}
	return n
}

// play lets line l do what the scene says and returns the hours that it has left. waiting is a changeover put off, -1 for none.
func (w *floor) play(l int, c scene, waiting *int) float64 {
	changes := c.changes
	if len(changes) == 0 && *waiting >= 0 {
		changes = []int{*waiting}
	}
	a := w.f.ask(l, w.bucket)
	if j := a.fit; a.run > 0 && j >= 0 && j != w.mounted[l] && w.canChange(l, j, w.f.avail[l][w.bucket]) {
		changes = append([]int{j}, changes...)
	}
	c.on = (c.on || a.run > 0) && !w.f.stands(l, w.bucket)
	if c.on && !w.on[l] && (w.standsSoon(l) || !w.canStart(l, changes)) {
		c.on = false
	}
	want := make([]bool, len(w.on))
	want[l] = c.on && w.crewLeft >= w.f.in.Lines[l].Crew
	w.switchLine(l, want)
	if !w.on[l] {
		return 0
	}
	w.crewLeft -= w.f.in.Lines[l].Crew
	left := w.f.avail[l][w.bucket] - a.idle
	if yes(w.f.started[l][w.bucket], w.x) {
		left -= float64(w.f.in.Lines[l].Startup.Hours)
	}
	*waiting = -1
	for i, j := range changes {
		if j == w.mounted[l] {
			continue
		}
		if !w.canChange(l, j, left) || i > 0 && !w.f.buckets[w.bucket].Weekly() {
			*waiting = j
			continue
		}
		left -= w.change(l, j)
	}
	for _, j := range w.f.fitsOf[l] {
		m := c.made[w.f.fits[j].profile]
		w.made[w.f.fits[j].profile] += m
		left -= m / w.f.fits[j].rate
	}
	return max(0, left)
}

// canStart reports whether line l, which stands, can be started in the bucket: it is set up, and has a die on it or takes one of changes.
// The commissioning of a new line is decided here, as late as it may be.
func (w *floor) canStart(l int, changes []int) bool {
	f, ln := w.f, w.f.in.Lines[l]
	left := f.avail[l][w.bucket] - float64(ln.Startup.Hours)
	if w.mounted[l] < 0 && !slices.ContainsFunc(changes, func(j int) bool { return w.canChange(l, j, left) }) {
		return false
	}
	return w.commission(l)
}

// resumeLoads orders in x what the script orders, in the bucket of the same day, within what f allows.
func (f *formulation) resumeLoads(s *script, x []float64) {
	wanted := make([][]float64, len(f.in.Lanes))
	for i := range wanted {
		wanted[i] = make([]float64, len(f.buckets))
	}
	for _, b := range s.loads {
		lane, known := f.laneAt[b.Lane]
		if t := f.bucketOf(b.OrderBy); known && t >= 0 && t < len(f.buckets) {
			wanted[lane][t] += float64(b.Loads)
		}
	}
	for lane := range f.in.Lanes {
		put := 0.0 // loads that found no room yet
		for t := range f.buckets {
			r := f.loads[lane][t]
			put += wanted[lane][t]
			if !r.is || put == 0 {
				continue
			}
			n := min(put, f.m.Upper[r.v], math.Floor(f.roomForLoads(lane, t, x)))
			if n < max(1, float64(f.in.Lanes[lane].MinLoads)) {
				continue
			}
			f.order(lane, t, n, x)
			put -= n
		}
	}
}

// order sets the loads of a lane in bucket t.
func (f *formulation) order(lane, t int, n float64, x []float64) {
	x[f.loads[lane][t].v] = n
	if p := f.placed[lane][t]; p.is {
		x[p.v] = isOne(n > 0)
	}
}
