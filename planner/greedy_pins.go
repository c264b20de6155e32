package planner

// Rules that keep pins. A pin broken is priced above all that it could bring, and the areas that a plan is improved by are too
// small to turn a line off for weeks: what the rules break stays broken.

// ask is what pins ask of a line in a bucket.
type ask struct {
	idle float64 // hours to stand
	run  float64 // hours to be busy,
	fit  int     // with this fit; -1 for any
}

// gatherAsks sums the pins up by line and bucket.
func (f *facts) gatherAsks() {
	if len(f.pins) == 0 {
		return
	}
	f.asks = make([][]ask, len(f.in.Lines))
	for l := range f.asks {
		f.asks[l] = make([]ask, len(f.buckets))
		for t := range f.asks[l] {
			f.asks[l][t].fit = -1
		}
	}
	for _, p := range f.pins {
		switch a := &f.asks[p.line][p.bucket]; p.pin.Kind {
		case PinIdle:
			a.idle += p.hours
		case PinRun:
			if a.run == 0 && p.profile >= 0 {
				a.fit = f.fitFor(p.line, p.pin.Profile)
			}
			a.run += p.hours
		}
	}
}

func (f *facts) ask(l, t int) ask {
	if f.asks == nil {
		return ask{fit: -1}
	}
	return f.asks[l][t]
}

// stands reports whether a pin has line l stand over all of bucket t.
func (f *facts) stands(l, t int) bool {
	a := f.ask(l, t)
	return a.idle > 0 && f.avail[l][t]-a.idle <= quantumHours
}

// standsSoon reports whether a pin has line l stand before the least run of a start in the bucket is over.
func (w *floor) standsSoon(l int) bool {
	days := 0
	for t := w.bucket; t < len(w.f.buckets) && (t == w.bucket || days < w.f.in.Lines[l].MinRunDays); t++ {
		if w.f.stands(l, t) {
			return true
		}
		days += w.f.buckets[t].Span.Days()
	}
	return false
}

// readPins marks what pins forbid over all of the bucket.
func (w *floor) readPins() {
	for _, p := range w.f.pins {
		if p.bucket != w.bucket || p.hours <= 0 || w.f.avail[p.line][p.bucket]-p.hours > quantumHours {
			continue
		}
		for _, j := range w.f.fitsOf[p.line] {
			q := w.f.fits[j].profile
			if p.pin.Kind == PinIdle || p.pin.Kind == PinForbid && q == p.profile || p.pin.Kind == PinRun && p.profile >= 0 && q != p.profile {
				w.forbidden[j] = true
			}
		}
	}
}

// wantPinned takes the lines that pins have run out of the crew that is left and marks them.
func (w *floor) wantPinned(want []bool, work []float64, crew float64) float64 {
	if w.f.asks == nil {
		return crew
	}
	for l, ln := range w.f.in.Lines {
		if w.f.ask(l, w.bucket).run <= 0 || want[l] || w.f.avail[l][w.bucket] <= 0 || w.setUpBy(l) < 0 || ln.Crew > crew {
			continue
		}
		w.takeWork(l, work)
		want[l] = true
		crew -= ln.Crew
	}
	return crew
}

// runPinned gives line l, which is on with so many hours left, what a pin has it run, and returns the hours left then and the changeovers made.
func (w *floor) runPinned(l int, left float64) (hours float64, changes int) {
	a := w.f.ask(l, w.bucket)
	left = max(0, left-a.idle)
	if a.run <= 0 {
		return left, 0
	}
	ask := a.run
	if j := a.fit; j >= 0 && j != w.mounted[l] {
		if !w.canChange(l, j, left) {
			return left, 0
		}
		setup := w.change(l, j)
		left, ask, changes = left-setup, ask-setup, 1
	}
	if j := w.mounted[l]; j >= 0 && !w.forbidden[j] {
		h := max(0, min(left, ask))
		w.make(j, h)
		left -= h
	}
	return left, changes
}

// countPins adds what pins that are not kept in the bucket cost.
func (w *floor) countPins() {
	if w.f.asks == nil {
		return
	}
	for l := range w.on {
		switch a := w.f.ask(l, w.bucket); {
		case w.on[l] && w.f.stands(l, w.bucket):
			w.cost += pinPricePerHour * a.idle
		case a.run > 0 && (!w.on[l] || a.fit >= 0 && a.fit != w.mounted[l] && !w.changes[a.fit]):
			w.cost += pinPricePerHour * a.run
		}
	}
}
