package planner

import (
	"math"

	"feedline/lines"
	"feedline/planner/model"
)

// buildFloor adds the hours of the lines, and what they have in common.
func (r *Replan) buildFloor() {
	f := r.f
	r.takeWeeks()
	r.crewed, r.hourCost, r.hoursRow = f.grid(len(f.in.Lines)), make([][]float64, len(f.in.Lines)), f.rowGrid(len(f.in.Lines))
	f.extra = f.grid(len(f.fits))
	r.markUsual()
	for l := range f.in.Lines {
		r.hourCost[l] = make([]float64, len(f.buckets))
		for t := range f.buckets {
			r.lineHours(l, t)
		}
	}
	for t := r.kept; t < len(f.buckets); t++ {
		r.sharedDies(t)
		r.sharedFitters(t)
		r.sharedCrew(t)
	}
}

// markUsual marks the fits that samples may use beyond the plan's set-ups: those that the plan uses at any time, and each profile's fastest.
func (r *Replan) markUsual() {
	f := r.f
	r.usual = make([]bool, len(f.fits))
	for j := range f.fits {
		for _, x := range r.daily.f.run[j] {
			r.usual[j] = r.usual[j] || x.is && x.at(r.daily.x) > quantumHours
		}
	}
	for _, list := range f.fitsBy {
		best := -1
		for _, j := range list {
			if best < 0 || f.fits[j].rate > f.fits[best].rate {
				best = j
			}
		}
		if best >= 0 {
			r.usual[best] = true
		}
	}
}

// takeWeeks sums the constants of the held plan up to weeks.
func (r *Replan) takeWeeks() {
	f, d := r.f, r.daily
	f.run, f.changed = f.grid(len(f.fits)), r.summed(d.f.changed)
	f.startScrap = make([][][]ref, len(f.in.Lines))
	r.net, r.onHours = make([][]float64, len(f.in.Lines)), make([][]float64, len(f.in.Lines))
	r.fixed = newFixedCosts(len(f.buckets))
	r.fixed.rest, r.fixed.commission = d.fixed.rest, d.fixed.commission
	for t, w := range r.weekOf {
		r.fixed.changeover[w] += d.fixed.changeover[t]
		r.fixed.start[w] += d.fixed.start[t]
	}
	for l := range f.in.Lines {
		f.startScrap[l] = r.summed(d.f.startScrap[l])
		r.net[l], r.onHours[l] = make([]float64, len(f.buckets)), make([]float64, len(f.buckets))
		for t, w := range r.weekOf {
			r.net[l][w] += d.net[l][t]
			r.onHours[l][w] += d.f.on[l][t].value * d.f.avail[l][t]
		}
	}
}

// summed adds constants by bucket of the plan up to constants by week.
func (r *Replan) summed(daily [][]ref) [][]ref {
	g := r.f.grid(len(daily))
	for i, list := range daily {
		for t, x := range list {
			g[i][r.weekOf[t]].value += x.value
		}
	}
	return g
}

// plannedOn reports whether the plan has line l on at any time of week t.
func (r *Replan) plannedOn(l, t int) bool { return r.onHours[l][t] > 0 }

// lineHours adds what line l can run in week t: within the plan's set-ups, and after the kept weeks beyond them.
func (r *Replan) lineHours(l, t int) {
	f := r.f
	free := t >= r.kept && r.mayFree(l, t)
	if free && !r.plannedOn(l, t) {
		r.net[l][t] = f.avail[l][t] - float64(f.in.Lines[l].Startup.Hours)
		free = r.net[l][t] > 0
	}
	hours := new(row)
	for _, j := range f.fitsOf[l] {
		r.runColumns(j, t, free, hours)
	}
	switch {
	case free && len(hours.terms) > 0:
		r.crewColumn(l, t)
		f.emit(hours.add(r.crewed[l][t], -1), -model.Infinity, 0, "hours", f.in.Lines[l].Code, t)
	case len(hours.terms) > 0:
		r.hoursRow[l][t] = f.emit(hours, -model.Infinity, r.net[l][t], "hours", f.in.Lines[l].Code, t)
	}
	if !r.crewed[l][t].is {
		r.fixed.crew[t] += r.crewAnHour(l) * r.onHours[l][t]
	}
}

func (r *Replan) crewAnHour(l int) float64 {
	return r.f.in.Lines[l].Crew * float64(r.f.in.Plant.CrewCost)
}

// mayFree reports whether line l may do otherwise than planned in week t: it needs no commissioning, no pin speaks of it,
// and there are hours.
func (r *Replan) mayFree(l, t int) bool {
	f := r.f
	for _, p := range f.pins {
		if p.line == l && p.bucket == t {
			return false
		}
	}
	if r.plannedOn(l, t) {
		return r.net[l][t] > 0
	}
	return f.in.Lines[l].State != lines.Uncommissioned && f.avail[l][t] > float64(f.in.Lines[l].Startup.Hours)
}

// crewColumn adds the crewed hours of line l in week t, each with its share of the crew and of a start-up if the plan has it off.
func (r *Replan) crewColumn(l, t int) {
	f := r.f
	v := column(f.m.AddVar(label("crewed", f.in.Lines[l].Code, t), 0, r.net[l][t], 0))
	hours, start := r.onHours[l][t], 0.0
	if !r.plannedOn(l, t) {
		hours, start = f.avail[l][t], float64(f.in.Lines[l].Startup.Cost)
	}
	r.hourCost[l][t] = (r.crewAnHour(l)*hours + start) / r.net[l][t]
	f.cost(v, costCrew, r.hourCost[l][t])
	r.crewed[l][t] = v
}

// runColumns adds the hours of fit j in week t to the line's row.
func (r *Replan) runColumns(j, t int, free bool, hours *row) {
	f, ft := r.f, r.f.fits[j]
	code, profile := f.in.Lines[ft.line].Code, f.profileCode(j)
	within := 0.0
	for o, w := range r.weekOf {
		if w == t {
			within += r.daily.within[j][o]
		}
	}
	if within = min(within, r.net[ft.line][t]); within > 0 {
		f.run[j][t] = column(f.m.AddVar(label("run", code, profile, t), 0, within, 0))
		f.cost(f.run[j][t], costEnergy, f.energyAnHour(j))
		hours.add(f.run[j][t], 1)
	}
	if share := f.extraSetup(j, t); free && share > 0 && r.usual[j] {
		f.extra[j][t] = column(f.m.AddVar(label("extra", code, profile, t), 0, f.avail[ft.line][t], 0))
		f.cost(f.extra[j][t], costEnergy, f.energyAnHour(j)+share*ft.setupCost)
		hours.add(f.extra[j][t], 1+share*ft.setup)
	}
}

// extraAt is the hours of fit j beyond the set-ups of the plan in bucket t.
func (f *formulation) extraAt(j, t int) ref {
	if f.extra == nil {
		return ref{}
	}
	return f.extra[j][t]
}

// extraSetup is the share of a set-up that goes with an hour beyond the plan's: 1 ÷ (H − setup), or one a campaign where f.campaign
// gives its hours; 0 if there is no room for one.
func (f *formulation) extraSetup(j, t int) float64 {
	if f.campaign != nil {
		return 1 / f.campaign[j]
	}
	ft := f.fits[j]
	left := f.avail[ft.line][t] - ft.setup
	if left < leastRun {
		return 0
	}
	return 1 / left
}

// sharedDies keeps the lines that run a profile to its dies, in shares of their hours.
func (r *Replan) sharedDies(t int) {
	f := r.f
	for p, pr := range f.in.Profiles {
		if pr.Dies <= 0 || len(f.fitsBy[p]) <= pr.Dies {
			continue
		}
		x, on, beyond := new(row), 0, false
		for _, j := range f.fitsBy[p] {
			if h := f.avail[f.fits[j].line][t]; h > 0 && (f.run[j][t].is || f.extra[j][t].is) {
				x.add(f.run[j][t], 1/h).add(f.extra[j][t], 1/h)
				on++
				beyond = beyond || f.extra[j][t].is
			}
		}
		if beyond && on > pr.Dies {
			f.emit(x, -model.Infinity, float64(pr.Dies), "dies", pr.Code, t)
		}
	}
}

// sharedFitters leaves to set-ups beyond the plan's what those leave of the fitters' hours.
func (r *Replan) sharedFitters(t int) {
	f := r.f
	if f.in.Plant.FitterHours <= 0 {
		return
	}
	x, spent := new(row), 0.0
	for j, ft := range f.fits {
		spent += f.changed[j][t].value * ft.fitters
		if f.extra[j][t].is {
			x.add(f.extra[j][t], ft.fitters*f.extraSetup(j, t))
		}
	}
	if len(x.terms) > 0 {
		f.emit(x, -model.Infinity, max(0, float64(f.in.Plant.FitterHours)*f.openDays[t]-spent), "fitters", t)
	}
}

// sharedCrew keeps the crewed hours to the people on shift.
func (r *Replan) sharedCrew(t int) {
	f := r.f
	if f.in.Plant.Crew <= 0 {
		return
	}
	x, used := new(row), 0.0
	for l, ln := range f.in.Lines {
		share := 1.0
		if r.plannedOn(l, t) && f.avail[l][t] > 0 {
			share = r.onHours[l][t] / f.avail[l][t]
		}
		switch {
		case r.crewed[l][t].is:
			x.add(r.crewed[l][t], ln.Crew*share/r.net[l][t])
		case r.plannedOn(l, t):
			used += ln.Crew * share
		}
	}
	if len(x.terms) > 0 {
		f.emit(x, -model.Infinity, max(0, f.in.Plant.Crew-used), "crew", t)
	}
}

// applyUptime scales the hours that are left for running.
func (r *Replan) applyUptime(w *World, to Bounds) {
	if w.Uptime == nil {
		return
	}
	f := r.f
	for l := range f.in.Lines {
		for t := range f.buckets {
			net := r.net[l][t] * w.uptime(l, t)
			if x := r.crewed[l][t]; x.is {
				to.SetBounds(x.v, 0, net)
			} else if row := r.hoursRow[l][t]; row >= 0 {
				to.SetRowBounds(row, math.Inf(-1), net)
			}
		}
	}
	for j, ft := range f.fits {
		for t := range f.buckets {
			if x := f.run[j][t]; x.is {
				to.SetBounds(x.v, 0, w.uptime(ft.line, t)*r.Program.Upper[x.v])
			}
		}
	}
}

// plannedColumn is a column of the weekly program as the plan has it.
type plannedColumn struct {
	x     float64 // value
	box   float64 // how far calibration lets it move: a small change
	least float64 // what a unit of it must gain over the plan's own world to move, in money
	known bool    // set from the plan
}

// Box sizes of calibration: a small change of a column of hours, and of one of kilograms or metres.
const (
	boxHours = 1.0
	boxOther = 100.0
)

// What a unit of a column must gain over the plan's own world to move, so that ties go to the plan: in parts of what a kilogram of pellets is worth.
const (
	gainHour  = 1.0 / 16 // an hour
	gainOther = gainHour / boxOther
	// gainStock is for a kilogram or metre in stock of what the plant makes, a week: what is made ahead beyond the plan has to pay, about as much in a
	// week as the same being late costs in a day. Worlds are known to their end here, and plants make less ahead than that would allow.
	gainStock = 40 * gainOther
)

// plannedColumns is the plan in the columns of the weekly program.
func (r *Replan) plannedColumns() []plannedColumn {
	cols := make([]plannedColumn, r.Program.NumVars())
	f, d, dx, worth := r.f, r.daily.f, r.daily.x, r.f.pelletWorth()
	set := func(v ref, value, box, gain float64) {
		if v.is {
			cols[v.v] = plannedColumn{value, box, gain * worth, true}
		}
	}
	flow := func(weekly, daily [][]ref, box, gain float64) {
		sum := make([]float64, len(f.buckets))
		for i := range weekly {
			clear(sum)
			for t, w := range r.weekOf {
				sum[w] += daily[i][t].at(dx)
			}
			for w := range sum {
				set(weekly[i][w], sum[w], box, gain)
			}
		}
	}
	level := func(weekly, daily [][]ref, gain float64) {
		for i := range weekly {
			for t, w := range r.weekOf {
				set(weekly[i][w], daily[i][t].at(dx), boxOther, gain) // the last one of the week stays
			}
		}
	}
	flow(f.run, d.run, boxHours, gainHour)
	flow(f.draw, d.draw, boxOther, gainOther)
	flow(f.fed, d.fed, boxOther, gainOther)
	flow(f.short, d.short, boxOther, gainOther)
	level(f.yard, d.yard, gainOther)
	level(f.pellets, d.pellets, gainStock)
	level(f.own, d.own, gainStock)
	level(f.rack, d.rack, gainStock)
	for p := range f.late {
		level(f.late[p], d.late[p], gainOther)
	}
	for j := range f.extra {
		for t := range f.buckets {
			set(f.extra[j][t], 0, boxHours, gainHour)
		}
	}
	for l := range r.crewed {
		for t := range f.buckets {
			planned := 0.0
			if r.plannedOn(l, t) {
				planned = r.net[l][t]
			}
			set(r.crewed[l][t], planned, boxHours, gainHour)
		}
	}
	r.slackColumns(cols, gainOther*worth)
	return cols
}

// pelletWorth is what a kilogram of pellets is worth, the grades' mean.
func (f *formulation) pelletWorth() float64 {
	sum := 0.0
	for k := range f.in.Grades {
		sum += f.pelletValue(k)
	}
	if sum == 0 {
		return 1
	}
	return sum / float64(len(f.in.Grades))
}

// slackColumns sets the columns that only measure what a row lacks, such as an overfull yard, to the least that the row needs.
func (r *Replan) slackColumns(cols []plannedColumn, least float64) {
	m := r.Program
	for i := range m.RowLower {
		vars, coefs := m.RowTerms(model.Row(i))
		act, slack := 0.0, -1
		for k, v := range vars {
			if !cols[v].known {
				slack = k
				continue
			}
			act += coefs[k] * cols[v].x
		}
		if slack < 0 {
			continue
		}
		v, need := vars[slack], 0.0
		switch {
		case act < m.RowLower[i]:
			need = (m.RowLower[i] - act) / coefs[slack]
		case act > m.RowUpper[i]:
			need = (m.RowUpper[i] - act) / coefs[slack]
		}
		cols[v] = plannedColumn{x: max(0, need), box: boxOther, least: least}
	}
}
