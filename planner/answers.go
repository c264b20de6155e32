package planner

import (
	"math"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// The answers beside the run list take linear programs only.
//
// What something is worth is measured with the plan's whole numbers held: the program is solved again, from the basis at hand, with
// a little more of it, and the gain is divided by that little. A dual value says the same where it is unique; where it is
// not it says more than what can be had, so that it serves only to pass over what is worth nothing.
//
// That passes over what more of it would let the plan do otherwise: feed for a line that stands because there is none. So what it
// is worth in the relaxation, with lines and set-ups in fractions, is measured as well: an estimate. Crew, fitters and dies meet none but
// whole numbers in their rows, and have only that. The relaxation is the whole model's where that is small, else the one without
// the state of the set-ups, which the search has solved for its bound: a tenth of the work, but fitters are worth nothing in it.
//
// Where time or work runs out (explain.go) what is not measured yet is told by its dual value, and marked.

// Resource is what a plan could have more of.
type Resource string

// The resources.
const (
	OfPellets     Resource = "pellets"   // of a grade, a kilogram in the silo
	OfMaterial    Resource = "material"  // a kilogram in the yard: the most it is worth paying
	OfLineHour    Resource = "line hour" // of a line that is on
	OfCrew        Resource = "crew"      // a person on shift over the bucket
	OfFitter      Resource = "fitters"   // a fitter hour
	OfStep        Resource = "step"      // a machine hour of a step
	OfDie         Resource = "die"       // a die set of a profile over the bucket
	OfSpace       Resource = "space"     // a cubic metre of yard or rack, a kilogram of silo
	OfDemand      Resource = "demand"    // nothing is short: more could be made
	OfSetups      Resource = "set-ups"   // whole campaigns: see WhyLate
	OfTime        Resource = "time"      // due before it can be made
	OfSeveral     Resource = "several"   // no limit alone
	unknownWhy    Resource = "not known" // stopped before it was worked out
	noCode                 = ""          // of resources that there is one of
	worthStepKg            = 100.0       // kilograms by which the worth of feed is measured
	worthStepH             = 0.5         // hours by which the worth of a line hour is measured
	worthStepCrew          = 0.25        // people by which the worth of a larger crew is measured
	worthLeast             = 1e-6        // money a unit: less is nothing
)

// Worth is what one unit more of a resource would save in a bucket, in money: by a kilogram, an hour, a person over the bucket.
type Worth struct {
	Of      Resource
	Code    string // grade, material or line; "" for crew and fitters
	Bucket  int
	Value   quantity.Money // measured, with the plan's lines, set-ups and loads as they are; 0 for crew and fitters
	Relaxed quantity.Money // measured in the relaxation, with all of them free to change in fractions: an estimate; 0 for line hours
	Dual    bool           // one of both was not measured, for want of time or work, but is a dual value: it may say more than can be had
}

// BoundBy says what bounds the output of a bucket: the limits with the rent that they earn in it, which is their worth times what
// there is of them, the highest first. Demand is named, alone, where nothing earns any.
type BoundBy struct {
	Bucket int
	By     Resource
	Rents  []Rent
}

// Rent is what a limit earns in a bucket, in money.
type Rent struct {
	Of     Resource
	Amount quantity.Money
}

// held is the linear program of a formulation with the whole numbers of x held, at its optimum.
type heldProgram struct {
	f      *formulation
	m      *model.Model
	s      *lp.Solver
	stands *standing // basis of the amounts of x (settle.go); nil if it is not known
	rows   map[string]model.Row
	base   float64   // objective
	y, d   []float64 // duals of rows, reduced costs of columns
	x      []float64
}

// hold solves that program within b; nil if it can't.
func (f *formulation) hold(b *purse, x []float64) *heldProgram {
	m := f.m.Clone()
	for j, whole := range m.Integer {
		if whole {
			m.Lower[j] = math.Round(x[j])
			m.Upper[j] = m.Lower[j]
		}
	}
	return f.program(b, m)
}

// program solves a linear program of f's columns and rows within b; nil if it can't.
func (f *formulation) program(b *purse, m *model.Model) *heldProgram {
	if !b.open() {
		return nil
	}
	s, r := lp.SolveWarm(b.ctx, m, solve.Options{Seed: f.opt.Seed, Work: b.work})
	b.work -= r.Work
	if r.Stop != solve.Optimal {
		return nil
	}
	return f.programAt(m, s)
}

// programAt is a program that s has solved.
func (f *formulation) programAt(m *model.Model, s *lp.Solver) *heldProgram {
	h := &heldProgram{f: f, m: m, s: s, rows: map[string]model.Row{}, base: s.Objective()}
	for i, name := range m.RowName {
		h.rows[name] = model.Row(i)
	}
	h.y, h.d, h.x = slices.Clone(s.Y()), slices.Clone(s.D()), slices.Clone(s.X())
	return h
}

// dual is the dual of a row, 0 if there is no such row or no program.
func (h *heldProgram) dual(name string, index ...any) float64 {
	if h == nil {
		return 0
	}
	if r, ok := h.rows[label(name, index...)]; ok {
		return h.y[r]
	}
	return 0
}

// gain is what the objective falls by while change is in force; ok is false if it was not solved within b. undo takes the change back.
func (h *heldProgram) gain(b *purse, change, undo func()) (gain float64, ok bool) {
	if !b.open() {
		return 0, false
	}
	change()
	defer undo()
	if !b.solve(h.s) {
		return 0, false
	}
	return max(0, h.base-h.s.Objective()), true
}

// moreOf measures the worth of more in a balance row, by the worth's step; measured is false if it is the dual value. 0 for no program.
func (h *heldProgram) moreOf(b *purse, step float64, name string, index ...any) (worth float64, measured bool) {
	y := h.dual(name, index...)
	if y <= worthLeast { // the dual says that there is nothing to gain
		return 0, true
	}
	r := h.rows[label(name, index...)]
	lo, hi := h.m.RowLower[r], h.m.RowUpper[r]
	gain, ok := h.gain(b, func() { h.s.SetRowBounds(r, lo-step, hi-step) }, func() { h.s.SetRowBounds(r, lo, hi) })
	if !ok {
		return y, false
	}
	return gain / step, true
}

// moreUpTo measures the worth of a higher upper bound of a row, likewise; 0 if there is no such row or no program.
func (h *heldProgram) moreUpTo(b *purse, step float64, name string, index ...any) (worth float64, measured bool) {
	y := h.dual(name, index...)
	if y >= -worthLeast {
		return 0, true
	}
	r := h.rows[label(name, index...)]
	lo, hi := h.m.RowLower[r], h.m.RowUpper[r]
	gain, ok := h.gain(b, func() { h.s.SetRowBounds(r, lo, hi+step) }, func() { h.s.SetRowBounds(r, lo, hi) })
	if !ok {
		return -y, false
	}
	return gain / step, true
}

// moreHours measures the worth of an hour more on a line that is on, likewise.
func (h *heldProgram) moreHours(b *purse, l, t int) (worth float64, measured bool) {
	f := h.f
	if f.avail[l][t] <= 0 || f.on[l][t].at(h.x) < 0.5 {
		return 0, true
	}
	code := f.in.Lines[l].Code
	hours := h.rows[label("hours", code, t)]
	sum, runs, columns := -h.y[hours], []model.Row(nil), []model.Var(nil)
	for _, j := range f.fitsOf[l] {
		if f.mostRun(j, t) < f.avail[l][t] {
			continue // bounded by what is wanted of it
		}
		runs = append(runs, h.rows[label("runs", code, f.profileCode(j), t)])
		columns = append(columns, f.run[j][t].v)
		if f.mountedBefore(j, t).at(h.x)+f.changed[j][t].at(h.x) > 0.5 {
			sum += max(0, -h.y[runs[len(runs)-1]]) + max(0, -h.d[columns[len(columns)-1]])
		}
	}
	if sum <= worthLeast {
		return 0, true
	}
	set := func(step float64) {
		h.s.SetRowBounds(hours, h.m.RowLower[hours], h.m.RowUpper[hours]+step)
		for i, r := range runs {
			if j := columns[i]; step == 0 || h.comesOn(l, t, j) {
				h.s.SetRowBounds(r, h.m.RowLower[r], h.m.RowUpper[r]+step)
				h.s.SetBounds(j, h.m.Lower[j], h.m.Upper[j]+step)
			}
		}
	}
	gain, ok := h.gain(b, func() { set(worthStepH) }, func() { set(0) })
	if !ok {
		return sum, false
	}
	return gain / worthStepH, true
}

// comesOn reports whether the fit with the run column v has its die on line l in bucket t.
func (h *heldProgram) comesOn(l, t int, v model.Var) bool {
	for _, j := range h.f.fitsOf[l] {
		if h.f.run[j][t].v == v {
			return h.f.mountedBefore(j, t).at(h.x)+h.f.changed[j][t].at(h.x) > 0.5
		}
	}
	return false
}

// worths lists what is worth something, by resource, code and bucket, and how many of them were measured. relaxed may be nil.
func (h *heldProgram) worths(b *purse, relaxed *heldProgram) (list []Worth, measured int) {
	f := h.f
	add := func(of Resource, code string, t int, value, estimate float64, told bool) {
		if value > worthLeast || estimate > worthLeast {
			list = append(list, Worth{of, code, t, quantity.Money(max(0, value)), quantity.Money(max(0, estimate)), !told})
			measured += int(isOne(told))
		}
	}
	feed := func(of Resource, code, row string) {
		for t := range f.buckets {
			v, a := h.moreOf(b, worthStepKg, row, code, t)
			r, c := relaxed.moreOf(b, worthStepKg, row, code, t)
			add(of, code, t, v, r, a && c)
		}
	}
	for _, g := range f.in.Grades {
		feed(OfPellets, g.Code, "pellets")
	}
	for _, m := range f.in.Materials {
		feed(OfMaterial, m.Code, "yard")
	}
	for l, ln := range f.in.Lines {
		for t := range f.buckets {
			v, ok := h.moreHours(b, l, t)
			add(OfLineHour, ln.Code, t, v, 0, ok)
		}
	}
	for t := range f.buckets {
		v, ok := relaxed.moreUpTo(b, worthStepCrew, "crew", t)
		add(OfCrew, noCode, t, 0, v, ok)
	}
	for t := range f.buckets {
		v, ok := relaxed.moreUpTo(b, worthStepH, "fitters", t)
		add(OfFitter, noCode, t, 0, v, ok)
	}
	return list, measured
}

// bounds says for each bucket what bounds its output. relaxed may be nil.
func (h *heldProgram) bounds(relaxed *heldProgram, worth []Worth) []BoundBy {
	f := h.f
	rents := make([]map[Resource]float64, len(f.buckets))
	for t := range rents {
		rents[t] = map[Resource]float64{}
	}
	for _, w := range worth {
		switch w.Of {
		case OfPellets: // what it is worth above what it costs to have
			k := f.gradeAt[w.Code]
			rents[w.Bucket][OfPellets] += max(0, float64(max(w.Value, w.Relaxed))-scarceFrom*f.pelletValue(k)) * max(f.pelletUse(k, w.Bucket, h.x), f.pelletsOwed(k, w.Bucket, h.x))
		case OfLineHour:
			rents[w.Bucket][OfLineHour] += float64(w.Value) * f.avail[f.lineAt[w.Code]][w.Bucket]
		case OfCrew:
			rents[w.Bucket][OfCrew] += float64(w.Relaxed) * f.in.Plant.Crew
		case OfFitter:
			rents[w.Bucket][OfFitter] += float64(w.Relaxed) * float64(f.in.Plant.FitterHours) * f.openDays[w.Bucket]
		}
	}
	for t := range f.buckets {
		for _, st := range f.steps {
			if st.hours != nil {
				rents[t][OfStep] -= h.dual("step", st.code, t) * st.hours[t]
			}
		}
		rents[t][OfSpace] -= h.dual("yardspace", t)*float64(f.in.Plant.Yard) + h.dual("rackspace", t)*float64(f.in.Plant.Rack)
		for k, g := range f.in.Grades {
			if g.Silo > 0 {
				rents[t][OfSpace] -= min(0, h.d[f.pellets[k][t].v]) * float64(g.Silo)
			}
		}
		if relaxed != nil {
			for _, pr := range f.in.Profiles {
				rents[t][OfDie] -= relaxed.dual("dies", pr.Code, t) * float64(pr.Dies)
			}
		}
	}
	list := make([]BoundBy, len(f.buckets))
	for t, r := range rents {
		list[t] = BoundBy{Bucket: t, By: OfDemand}
		for {
			best := Resource("")
			for _, of := range []Resource{OfPellets, OfLineHour, OfCrew, OfFitter, OfStep, OfDie, OfSpace} {
				if r[of] > rentLeast*f.days(t) && (best == "" || r[of] > r[best]) {
					best = of
				}
			}
			if best == "" {
				break
			}
			list[t].Rents = append(list[t].Rents, Rent{best, quantity.Money(r[best])})
			delete(r, best)
		}
		if len(list[t].Rents) > 0 {
			list[t].By = list[t].Rents[0].Of
		}
	}
	return list
}

// pelletsOwed is the pellets that the metres late at the end of bucket t would take, kilograms of grade k.
func (f *formulation) pelletsOwed(k, t int, x []float64) float64 {
	kg := 0.0
	for p, pr := range f.in.Profiles {
		if f.gradeOf[p] == k {
			for c := range f.classes[p] {
				kg += f.late[p][c][t].at(x) * float64(pr.PerMetre)
			}
		}
	}
	return kg
}

const (
	// rentLeast, in money a day, is the least that a limit must earn in a bucket to count as one.
	rentLeast = 10.0
	// scarceFrom is the worth of pellets, against what they cost to have, from which they count as scarce.
	scarceFrom = 1.05
)

// join lists words, the last after "and".
func join(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}
