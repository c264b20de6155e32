package planner

import (
	"feedline/lines"
	"feedline/planner/model"
)

// buildLines adds limits 1 to 4: hours, set-up state, dies, fitters, crew, on and off.
//
// A bucket in which a line has no hours (a closed day, a line that is down) has no columns of its own:
// the state before it stands for the state after it.
func (f *formulation) buildLines() {
	n := len(f.fits)
	f.run, f.changed, f.carried, f.mounted = f.grid(n), f.grid(n), f.grid(n), f.grid(n)
	f.on, f.started, f.commissioned = f.grid(len(f.in.Lines)), f.grid(len(f.in.Lines)), f.grid(len(f.in.Lines))
	f.startScrap = make([][][]ref, len(f.in.Lines))
	for l := range f.in.Lines {
		f.buildLine(l)
	}
	for t := range f.buckets {
		f.dies(t)
		f.fitters(t)
		f.crew(t)
	}
}

func (f *formulation) buildLine(l int) {
	f.startScrap[l] = f.grid(len(f.in.Grades))
	f.commissioning(l)
	for t := range f.buckets {
		if f.avail[l][t] <= 0 {
			f.standStill(l, t)
			continue
		}
		f.switching(l, t)
		f.setups(l, t)
		f.lineHours(l, t)
		f.startUpScrap(l, t)
	}
	f.leastStay(l)
}

// standStill carries line l's state over a bucket without hours.
func (f *formulation) standStill(l, t int) {
	f.on[l][t] = before(f.on[l], t, f.onAtStart(l))
	for _, j := range f.fitsOf[l] {
		f.mounted[j][t] = f.mountedBefore(j, t)
	}
}

func (f *facts) onAtStart(l int) float64 { return isOne(f.in.Lines[l].State == lines.Running) }

func (f *facts) mountedAtStart(j int) float64 {
	return isOne(f.in.Lines[f.fits[j].line].Mounted == f.in.Profiles[f.fits[j].profile].Code)
}

// commissioning adds the buckets in which setting up a new line may begin.
func (f *formulation) commissioning(l int) {
	ln := f.in.Lines[l]
	if ln.State != lines.Uncommissioned {
		return
	}
	once := new(row)
	for t, b := range f.buckets {
		if b.Span.From < ln.Commissioning.Earliest {
			continue
		}
		v := column(f.m.AddInt(label("commission", ln.Code, t), 0, 1, 0))
		f.cost(v, costCommission, float64(ln.Commissioning.Cost))
		f.commissioned[l][t] = v
		once.add(v, 1)
	}
	if len(once.terms) > 0 {
		f.emit(once, -model.Infinity, 1, "commissiononce", ln.Code)
	}
}

// switching adds the on and start columns of line l in bucket t: limit 4.
func (f *formulation) switching(l, t int) {
	ln := f.in.Lines[l]
	f.on[l][t] = column(f.m.AddInt(label("on", ln.Code, t), 0, 1, 0))
	f.cost(f.on[l][t], costCrew, ln.Crew*float64(f.in.Plant.CrewCost)*f.avail[l][t])
	f.started[l][t] = column(f.m.AddInt(label("start", ln.Code, t), 0, 1, 0))
	f.cost(f.started[l][t], costStart, float64(ln.Startup.Cost))
	f.emit(new(row).add(f.on[l][t], 1).add(before(f.on[l], t, f.onAtStart(l)), -1).add(f.started[l][t], -1),
		-model.Infinity, 0, "switch", ln.Code, t)
	f.emit(new(row).add(f.started[l][t], 1).add(f.on[l][t], -1), -model.Infinity, 0, "starton", ln.Code, t)
	f.emit(new(row).add(f.started[l][t], 1).add(before(f.on[l], t, f.onAtStart(l)), 1), -model.Infinity, 1, "startoff", ln.Code, t)
	if ln.State == lines.Uncommissioned {
		r := new(row).add(f.on[l][t], 1)
		for o, b := range f.buckets {
			if int(b.Span.From)+ln.Commissioning.Days <= int(f.buckets[t].Span.From) {
				r.add(f.commissioned[l][o], -1)
			}
		}
		f.emit(r, -model.Infinity, 0, "setupbefore", ln.Code, t)
	}
}

// leastStay is the minimum run and minimum stop of line l in the start-variable form of Rajan and Takriti
// (Minimum up/down polytopes of the unit commitment problem, 2005, title seen only).
func (f *formulation) leastStay(l int) {
	ln := f.in.Lines[l]
	for t := range f.buckets {
		if !f.started[l][t].is {
			continue
		}
		if r := f.startsWithin(l, t, ln.MinRunDays); len(r.terms) > 1 {
			f.emit(r.add(f.on[l][t], -1), -model.Infinity, 0, "minrun", ln.Code, t)
		}
		first := f.firstWithin(t, ln.MinStopDays)
		if r := f.startsWithin(l, t, ln.MinStopDays); ln.MinStopDays > 1 && first >= 0 {
			// A start within the window means that the line stood when the window opened.
			f.emit(r.add(before(f.on[l], first, f.onAtStart(l)), 1), -model.Infinity, 1, "minstop", ln.Code, t)
		}
	}
}

// firstWithin is the first bucket that starts less than the given days before the start of t.
func (f *facts) firstWithin(t, days int) int {
	first := t
	for first > 0 && int(f.buckets[t].Span.From-f.buckets[first-1].Span.From) < days {
		first--
	}
	return first
}

// startsWithin is the starts of line l in bucket t and in those that began less than the given days before it.
func (f *formulation) startsWithin(l, t, days int) *row {
	r := new(row)
	for o := f.firstWithin(t, days); o <= t; o++ {
		r.add(f.started[l][o], 1)
	}
	return r
}

// setups is limit 2 for line l in bucket t, the set-up carried over between buckets. In all buckets
//
//	Σ_p mounted[p,t] ≤ 1
//	run[p,t] ≤ H·mounted[p,t−1] + (H − setup)·changed[p,t]
//
// In a day at most one die is changed, and it stays on till the end:
//
//	changed[p,t] ≤ mounted[p,t] ≤ mounted[p,t−1] + changed[p,t]
//
// In a week several may follow one another, so a die that was on and is on again at the end either stayed on all
// through, which leaves no room for another, or was changed to:
//
//	mounted[p,t] ≤ changed[p,t] + carried[p,t],  carried[p,t] ≤ mounted[p,t−1],  Σ_q carried[q,t] + changed[p,t] ≤ 1
//
// (Suerie and Stadtler, The capacitated lot-sizing problem with linked lot sizes, 2003, title seen only.)
func (f *formulation) setups(l, t int) {
	if f.lean {
		for _, j := range f.fitsOf[l] {
			f.setupColumns(j, t)
		}
		return
	}
	one := new(row)
	for _, j := range f.fitsOf[l] {
		f.setupColumns(j, t)
		one.add(f.mounted[j][t], 1)
	}
	if len(one.terms) > 0 {
		f.emit(one, -model.Infinity, 1, "onedie", f.in.Lines[l].Code, t)
	}
	if f.buckets[t].Weekly() {
		f.weekOfDies(l, t)
	} else {
		f.dayOfDies(l, t)
	}
	for _, j := range f.fitsOf[l] {
		was, most := f.mountedBefore(j, t), f.mostRun(j, t)
		r := new(row).add(f.run[j][t], 1).add(was, -most).add(f.changed[j][t], -min(most, f.avail[l][t]-f.fits[j].setup))
		f.emit(r, -model.Infinity, 0, "runs", f.in.Lines[l].Code, f.profileCode(j), t)
	}
}

func (f *formulation) mountedBefore(j, t int) ref {
	if f.lean {
		return constant(0)
	}
	return before(f.mounted[j], t, f.mountedAtStart(j))
}

func (f *facts) profileCode(j int) string { return f.in.Profiles[f.fits[j].profile].Code }

// dayOfDies links the set-up states of a day.
func (f *formulation) dayOfDies(l, t int) {
	code := f.in.Lines[l].Code
	for _, j := range f.fitsOf[l] {
		f.emit(new(row).add(f.changed[j][t], 1).add(f.mounted[j][t], -1), -model.Infinity, 0, "changed", code, f.profileCode(j), t)
		f.emit(new(row).add(f.mounted[j][t], 1).add(f.changed[j][t], -1).add(f.mountedBefore(j, t), -1), -model.Infinity, 0, "mounted", code, f.profileCode(j), t)
	}
}

// weekOfDies links the set-up states of a week.
func (f *formulation) weekOfDies(l, t int) {
	code, stays := f.in.Lines[l].Code, new(row)
	for _, j := range f.fitsOf[l] {
		f.carried[j][t] = column(f.m.AddVar(label("carried", code, f.profileCode(j), t), 0, 1, 0))
		stays.add(f.carried[j][t], 1)
	}
	for _, j := range f.fitsOf[l] {
		p := f.profileCode(j)
		f.emit(new(row).add(f.mounted[j][t], 1).add(f.changed[j][t], -1).add(f.carried[j][t], -1), -model.Infinity, 0, "mounted", code, p, t)
		f.emit(new(row).add(f.carried[j][t], 1).add(f.mountedBefore(j, t), -1), -model.Infinity, 0, "carried", code, p, t)
		full := &row{terms: append([]model.Term(nil), stays.terms...), constant: stays.constant}
		f.emit(full.add(f.changed[j][t], 1), -model.Infinity, 1, "stays", code, p, t)
	}
}

// setupColumns adds the columns of fit j in bucket t. A changeover that takes longer than the bucket can't begin in it.
func (f *formulation) setupColumns(j, t int) {
	ft := f.fits[j]
	l, p, pt := f.in.Lines[ft.line].Code, f.profileCode(j), f.in.Plant
	f.run[j][t] = column(f.m.AddVar(label("run", l, p, t), 0, f.mostRun(j, t), 0))
	perHour := ft.rate * ft.pelletsPerM
	f.cost(f.run[j][t], costEnergy, (f.in.Lines[ft.line].BaseKW+perHour*f.in.Lines[ft.line].KWhPerKg)*float64(pt.EnergyPrice))
	if !f.lean {
		f.mounted[j][t] = column(f.m.AddInt(label("mounted", l, p, t), 0, 1, 0))
	}
	most := 1.0
	if ft.setup > f.avail[ft.line][t] {
		most = 0
	}
	f.changed[j][t] = column(f.m.AddInt(label("change", l, p, t), 0, most, 0))
	f.cost(f.changed[j][t], costChangeover, ft.setupCost)
}

// mostRun bounds the hours of fit j in bucket t by the line's hours and by all that is ever wanted of the profile.
func (f *facts) mostRun(j, t int) float64 {
	ft := f.fits[j]
	wanted := float64(f.in.Profiles[ft.profile].StockTarget)
	for _, c := range f.classes[ft.profile] {
		wanted += c.total
	}
	for _, p := range f.pins {
		if p.line == ft.line && (p.profile == ft.profile || p.profile < 0) && p.pin.Kind == PinRun {
			return f.avail[ft.line][t] // a pin may ask for more than is wanted
		}
	}
	return min(f.avail[ft.line][t], wanted/ft.rate)
}

// lineHours is limit 1.
func (f *formulation) lineHours(l, t int) {
	r := new(row)
	for _, j := range f.fitsOf[l] {
		r.add(f.run[j][t], 1).add(f.changed[j][t], f.fits[j].setup)
	}
	r.add(f.started[l][t], float64(f.in.Lines[l].Startup.Hours)).add(f.on[l][t], -f.avail[l][t])
	f.emit(r, -model.Infinity, 0, "hours", f.in.Lines[l].Code, t)
}

// startUpScrap splits a start's scrap over the grades that the line can run in the bucket: those of the die that was on and of
// dies that come on. Without one of them a line can't be started.
func (f *formulation) startUpScrap(l, t int) {
	ln := f.in.Lines[l]
	if ln.Startup.Scrap <= 0 {
		return
	}
	grades := f.gradesOf(l)
	if len(grades) == 1 {
		f.startScrap[l][grades[0]][t] = f.started[l][t]
		f.startNeedsDie(l, grades[0], t)
		return
	}
	all := new(row).add(f.started[l][t], -1)
	for _, k := range grades {
		v := column(f.m.AddVar(label("startscrap", ln.Code, f.in.Grades[k].Code, t), 0, 1, 0))
		f.startScrap[l][k][t] = v
		all.add(v, 1)
		f.startNeedsDie(l, k, t)
	}
	f.emit(all, 0, 0, "startscrapall", ln.Code, t)
}

// startNeedsDie lets scrap of grade k be made by a start only with a die of that grade on the line.
func (f *formulation) startNeedsDie(l, k, t int) {
	if f.lean {
		return
	}
	r := new(row).add(f.startScrap[l][k][t], 1)
	for _, j := range f.fitsOf[l] {
		if f.gradeOf[f.fits[j].profile] == k {
			r.add(f.mountedBefore(j, t), -1).add(f.changed[j][t], -1)
		}
	}
	f.emit(r, -model.Infinity, 0, "startscrap", f.in.Lines[l].Code, f.in.Grades[k].Code, t)
}

// gradesOf lists the grades of the profiles that line l can run, ascending.
func (f *facts) gradesOf(l int) []int {
	has := make([]bool, len(f.in.Grades))
	for _, j := range f.fitsOf[l] {
		has[f.gradeOf[f.fits[j].profile]] = true
	}
	var list []int
	for k, b := range has {
		if b {
			list = append(list, k)
		}
	}
	return list
}

// dies is limit 3 for the dies: no more lines hold or take a profile's die than there are dies.
func (f *formulation) dies(t int) {
	for p, pr := range f.in.Profiles {
		if pr.Dies <= 0 || len(f.fitsBy[p]) <= pr.Dies {
			continue
		}
		r, atStart := new(row), 0.0
		for _, j := range f.fitsBy[p] {
			atStart += f.mountedAtStart(j)
			if f.lean {
				if h := f.avail[f.fits[j].line][t]; h > 0 {
					r.add(f.run[j][t], 1/h)
				}
				continue
			}
			r.add(f.mountedBefore(j, t), 1).add(f.changed[j][t], 1)
		}
		if len(r.terms) > 0 {
			f.emit(r, -model.Infinity, max(float64(pr.Dies), atStart), "dies", pr.Code, t)
		}
	}
}

// fitters is limit 3 for the fitters' hours.
func (f *formulation) fitters(t int) {
	if f.in.Plant.FitterHours <= 0 {
		return
	}
	r := new(row)
	for j, ft := range f.fits {
		r.add(f.changed[j][t], ft.fitters)
	}
	if len(r.terms) > 0 {
		f.emit(r, -model.Infinity, float64(f.in.Plant.FitterHours)*f.openDays[t], "fitters", t)
	}
}

// crew is limit 3 for the people on shift.
func (f *formulation) crew(t int) {
	if f.in.Plant.Crew <= 0 {
		return
	}
	r := new(row)
	for l, ln := range f.in.Lines {
		if f.avail[l][t] > 0 {
			r.add(f.on[l][t], ln.Crew)
		}
	}
	if len(r.terms) > 0 {
		f.emit(r, -model.Infinity, f.in.Plant.Crew, "crew", t)
	}
}
