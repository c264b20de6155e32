package planner

// Rules that follow a released plan beyond its frozen days, where the rules say so; within them see frozen.go.

// promised is what the released plan says of line l in the bucket, if the rules are to follow it; nil if not, or if it told only a
// longer bucket.
func (w *floor) promised(l int) *promised {
	f := w.f
	if f.promise == nil || !w.rules.follow {
		return nil
	}
	if c := f.promise[f.in.Lines[l].Code][w.bucket]; c != nil && c.whole && f.pinOver(l, w.bucket, c) == "" {
		return c
	}
	return nil
}

// wantPromised takes the lines that are promised to be on out of the crew that is left and marks them.
func (w *floor) wantPromised(want []bool, work []float64, crew float64) float64 {
	for l, ln := range w.f.in.Lines {
		c := w.promised(l)
		if c == nil || !c.on || w.f.avail[l][w.bucket] <= 0 || ln.Crew > crew {
			continue
		}
		w.takeWork(l, work)
		want[l] = true
		crew -= ln.Crew
	}
	return crew
}

// follow gives line l the runs that c promises, as far as its hours, dies and fitters reach.
func (w *floor) follow(l int, c *promised) {
	t := w.bucket
	left := w.f.avail[l][t]
	if yes(w.f.started[l][t], w.x) {
		left -= float64(w.f.in.Lines[l].Startup.Hours)
	}
	changes := 0
	bring := func(profile string) bool {
		j := w.f.fitFor(l, profile)
		if j < 0 || j == w.mounted[l] {
			return j >= 0
		}
		if changes > 0 && !c.week || !w.canChange(l, j, left) {
			return false
		}
		changes++
		left -= w.change(l, j)
		return true
	}
	for _, r := range c.runs {
		// The one die that may come on in a day is the one to end it with: a run of another whose die is not on is left out.
		if !c.week && r.Profile != c.mounted && w.f.fitFor(l, r.Profile) != w.mounted[l] || !bring(r.Profile) {
			continue
		}
		ft := w.f.fits[w.mounted[l]]
		h := max(0, min(left, float64(r.Length)/ft.rate))
		w.made[ft.profile] += h * ft.rate
		left -= h
	}
	if c.mounted != "" && !c.week {
		bring(c.mounted)
	}
}

// canChange reports whether fit j can be changed to on line l with the given hours left.
func (w *floor) canChange(l, j int, left float64) bool {
	ft := w.f.fits[j]
	dies := w.f.in.Profiles[ft.profile].Dies
	return !w.forbidden[j] && !w.changes[j] && ft.setup <= left && ft.fitters <= w.fitters && (dies <= 0 || w.dieUse[ft.profile] < dies)
}
