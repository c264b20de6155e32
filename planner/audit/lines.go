package audit

import (
	"fmt"

	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// checkLines walks each line through the buckets, then looks at what the lines share.
func (a *auditor) checkLines() {
	for _, ln := range a.in.Lines {
		a.checkLine(ln)
	}
	for t := range a.p.Buckets {
		a.checkDies(t)
		a.checkFitters(t)
		a.checkCrew(t)
	}
	for _, pin := range a.in.Pins {
		a.checkPin(pin)
	}
	a.settlePins()
}

func (a *auditor) checkLine(ln lines.Line) {
	state := lineState{on: ln.State == lines.Running, mounted: ln.Mounted, since: longAgo}
	for t, b := range a.p.Buckets {
		k := lineBucket{ln.Code, t}
		u := a.uses[k]
		a.hours[k] = a.lineHours(ln, b.Span)
		a.checkHours(ln, u, a.hours[k])
		a.checkState(ln, u, b.Span.From)
		a.checkStart(ln, u, &state)
		a.checkDie(u, state.mounted)
		for _, r := range a.runs[k] {
			a.checkRun(ln, r)
		}
		a.checkScrap(ln, u, state.mounted)
		state.mounted = u.Mounted
	}
}

// longAgo is a day before any plan.
const longAgo = calendar.Day(-1 << 30)

// lineState is what a line carries from bucket to bucket.
type lineState struct {
	on      bool
	mounted string
	since   calendar.Day // on or off since
	started bool         // came on within the plan
}

// checkState checks that a line is off before it is set up. Down lines have no hours, so that checkHours finds them.
func (a *auditor) checkState(ln lines.Line, u planner.LineUse, from calendar.Day) {
	a.tally[LineState].Checked++
	if !u.On || ln.State != lines.Uncommissioned {
		return
	}
	ready := a.end()
	for _, b := range a.p.Buckets {
		if b.Span.From >= ln.Commissioning.Earliest {
			ready = b.Span.From + calendar.Day(ln.Commissioning.Days)
			break
		}
	}
	if from < ready {
		a.find(LineState, a.at(u.Bucket, "line "+ln.Code), Finding{Note: "the line is on before it can be set up on " + ready.String()})
	}
}

// checkStart checks starts, and the least days of running and standing.
func (a *auditor) checkStart(ln lines.Line, u planner.LineUse, s *lineState) {
	w, k := a.at(u.Bucket, "line "+ln.Code), lineBucket{ln.Code, u.Bucket}
	if a.hours[k].sign() == 0 {
		a.holds(Start, w, !u.Started && u.Startup == 0, "a start in a bucket without hours")
		return
	}
	from := a.p.Buckets[u.Bucket].Span.From
	comes := u.On && !s.on
	a.holds(Start, w, u.Started == comes, startNote(comes))
	want := num{}
	if comes {
		want = entered(ln.Startup.Hours)
	}
	a.equal(Start, w, computed(u.Startup), want, hoursTolerance, "h", "start-up hours")
	if u.On == s.on {
		return
	}
	days := int(from - s.since)
	if u.On {
		a.holds(Stay, w, s.since == longAgo || days >= ln.MinStopDays, fmt.Sprintf("the line stood for %d days, at least %d are wanted", days, ln.MinStopDays))
	} else {
		a.holds(Stay, w, !s.started || days >= ln.MinRunDays, fmt.Sprintf("the line ran for %d days, at least %d are wanted", days, ln.MinRunDays))
	}
	s.on, s.since, s.started = u.On, from, true
}

func startNote(comes bool) string {
	if comes {
		return "the line comes on and is not started"
	}
	return "the line is started and was on, or is off"
}

// checkRun checks a run's metres and that its pellets are good metres and scrap.
func (a *auditor) checkRun(ln lines.Line, r planner.Run) {
	f, w := a.fits[[2]string{r.Line, r.Profile}], a.at(r.Bucket, runName(r))
	metres := computed(r.Hours).mul(f.rate)
	a.equal(Rate, w, computed(r.Length), metres, lengthTolerance, "m", "good metres")
	good := computed(r.Length).mul(entered(a.profile[r.Profile].PerMetre))
	a.equal(RunPellets, w, computed(r.Pellets), good.add(computed(r.Scrap)), massTolerance, "kg", "pellets of good metres and scrap")
	a.bill(costEnergy, a.energy(ln, computed(r.Hours), metres.mul(f.pellets)))
	if r.Changeover {
		a.bill(costChangeover, computed(a.dearest(r.Line, r.Profile).Cost))
	} else {
		a.atMost(Setup, w, computed(r.Setup), num{}, hoursTolerance, "h", "set-up hours without a changeover")
	}
}

// checkScrap checks the scrap of each run of a line in a bucket. A start's scrap lies in one of the runs, or split over them.
func (a *auditor) checkScrap(ln lines.Line, u planner.LineUse, mounted string) {
	w := a.at(u.Bucket, "line "+ln.Code)
	var low, high, have num
	for _, r := range a.runs[lineBucket{ln.Code, u.Bucket}] {
		own := computed(r.Length).mul(a.fits[[2]string{r.Line, r.Profile}].scrap)
		from, to := own, own
		if r.Changeover {
			from = from.add(a.cheapest(ln.Code, r.Profile, mounted))
			to = to.add(most(entered(a.dearest(ln.Code, r.Profile).Scrap), a.leastScrapFrom(mounted, r.Profile)))
		}
		a.atLeast(RunPellets, a.at(r.Bucket, runName(r)), computed(r.Scrap), from, massTolerance, "kg", "scrap of the run, at least")
		low, high, have = low.add(from), high.add(to), have.add(computed(r.Scrap))
	}
	if u.Started {
		start := entered(ln.Startup.Scrap)
		low, high = low.add(start), high.add(start)
		a.bill(costStart, entered(ln.Startup.Cost))
	}
	a.atLeast(RunPellets, w, have, low, massTolerance, "kg", "scrap of runs, changeovers and start, at least")
	a.atMost(RunPellets, w, have, high, massTolerance, "kg", "scrap of runs, changeovers and start, at most")
}

// cheapest is the least scrap of a change to profile on a line, from any other of its profiles or from what is mounted.
func (a *auditor) cheapest(line, profile, mounted string) num {
	low := a.leastScrapFrom(mounted, profile)
	for _, from := range a.onLine[line] {
		if from != profile {
			low = least(low, a.leastScrapFrom(from, profile))
		}
	}
	return low
}

func (a *auditor) leastScrapFrom(from, to string) num {
	return entered(a.change(a.family(from), a.family(to)).Scrap)
}

// checkCrew checks the people and counts the lines that are on.
func (a *auditor) checkCrew(t int) {
	on, people := 0, num{}
	for _, ln := range a.in.Lines {
		k := lineBucket{ln.Code, t}
		if !a.uses[k].On {
			continue
		}
		on++
		people = people.add(entered(ln.Crew))
		a.bill(costCrew, entered(ln.Crew).mul(entered(a.in.Plant.CrewCost)).mul(a.hours[k]))
	}
	a.equal(LinesToRun, a.at(t, "plan"), whole(a.p.LinesToRun[t]), whole(on), 0, "lines", "lines to run")
	if a.in.Plant.Crew > 0 {
		a.atMost(Crew, a.at(t, "plant"), people, entered(a.in.Plant.Crew), peopleTolerance, "people", "crew")
	}
}
