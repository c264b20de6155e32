package planner

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"feedline/lines/calendar"
	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Re-planning: what a plant makes of a plan when the world turns out otherwise.
//
// The plan's set-ups, starts and loads are kept and become constants; hours, feed, stocks and lateness stay free. The days of the plan
// are taken together to weeks. That is a linear program far smaller than the planning model. After the kept weeks the lines have more
// freedom: hours of any profile that a line can run, with its set-up taken in fractions (what the relaxation of limit 2 makes of it: an
// hour takes setup ÷ (H − setup) hours of set-up, and scrap, fitters and cost likewise), and crewed hours between none and all. What is
// late is bounded class by class but may pass from one to another; it is put in order when the outcome is read.
//
// The weekly program would do better than the plan even in the plan's own world: a week has no days, set-ups come in fractions, and a plan
// has a gap. So costs are calibrated until the plan is optimal in its own world, as little as that takes: the plan's columns are boxed in
// closely, and what the boxes' duals say is taken off the costs (the inverse linear program in the sum of changes: Ahuja and Orlin, Inverse
// optimization, 2001, title seen only). A freedom is then used where it is worth more than it was for the plan. Many answers would cost the
// same; costs that differ a little from column to column decide among them, the largest for stocks of what the plant makes: nothing is made
// sooner than it has to be. So the program's answer for the plan's own world differs from the plan in when things are made, by little money but by 14 %
// of the weeks' metres and two thirds of the feed at hand on bench plant M (5 and 11 % without the costs of stocks). Outcomes are therefore read
// as the plan's own plus what the program's answer for a world differs from its answer for the plan's world.
//
// What the costs of stocks do was held against a program in which every column pays a little for leaving the plan, either way, which so answers with
// the plan itself and takes five times the steps (bench plant M, 600 samples, sums over the weeks): with them median margins are 6 % off, without 8;
// metres 3 and 4, lines 3 and 7; but cover comes out 7 % too long in the mean, without 2, and orders late 26 % too few, without 17. Quantiles of
// metres and margin over the horizon differ by half a per cent at most either way.
//
// All that can turn out otherwise moves bounds and right-hand sides only: an optimal basis stays dual feasible, and the dual simplex method
// goes on from it. For that a material's mass is counted in kilograms of the planned yield: one that yields 2 % less counts 0.98.

// World is how things turn out, by week. Factors are relative to what the plan assumes; a nil list is as planned.
type World struct {
	Arrivals [][]float64 // kg of each material usable from each week on, by material and week
	Yield    []float64   // pellets made of a kilogram, by material: factor
	Uptime   [][]float64 // hours that are left for running, by line and week: factor
	Demand   [][]float64 // demand that is forecast, orders not, by profile and week: factor
}

// ReplanOptions steer a Replan. The zero value keeps the set-ups of four weeks.
type ReplanOptions struct {
	KeepDays int  // set-ups are the plan's for so many days; 0 = 28
	KeepAll  bool // over the whole horizon
}

const defaultKeepDays = 28

// Replan is the linear program that re-plans around a plan, week by week. Its methods do not change it once NewReplan has returned it,
// so that several goroutines may use it, each with a solver of its own.
type Replan struct {
	Program *model.Model // to be minimised; in the plan's own world its optimum is the plan's objective, within what ties are broken by
	Base    lp.Basis     // optimal in the plan's own world
	Weeks   []calendar.Bucket
	Plan    *Outcome // what the plan says, by week

	f        *formulation // of the weekly program
	daily    *heldPlan
	weekOf   []int         // by bucket of the plan
	kept     int           // weeks that keep their set-ups
	crewed   [][]ref       // by line: hours for running, after set-ups and start-ups
	net      [][]float64   // by line: the most of them, as planned
	onHours  [][]float64   // by line: the plan's crewed hours
	hourCost [][]float64   // by line: crew and start-up of one of them, where it is a column
	hoursRow [][]model.Row // by line: limit 1 where they are none; -1 elsewhere
	fixed    fixedCosts    // by week
	usual    []bool        // by fit: a sample may use it beyond the plan's set-ups
	base     *Outcome      // the program's own answer for the plan's world
}

// ErrOtherBook is returned for a plan that does not fit the book it is said to be made from.
var ErrOtherBook = errors.New("the plan was made from another state of the book")

// NewReplan builds the program around p, a plan of in, and calibrates it with three cold solves. An *InputError for an input that Check
// refuses, ErrOtherBook for a plan of another book, the context's error when it is cancelled.
func NewReplan(ctx context.Context, in *Input, p *Plan, opt ReplanOptions) (*Replan, error) {
	daily, err := holdPlan(ctx, in, p)
	if err != nil {
		return nil, err
	}
	r := &Replan{daily: daily}
	r.groupWeeks()
	wf := gatherIn(in, daily.f.opt, r.Weeks)
	r.f = &formulation{facts: wf, m: &model.Model{Name: "replan"}, committedOnly: true}
	r.kept = len(r.Weeks)
	if days := firstOf(opt.KeepDays, defaultKeepDays); !opt.KeepAll {
		r.kept = min(max(0, wf.bucketOf(wf.start+calendar.Day(days))), r.kept)
	}
	r.build()
	r.Plan = r.planned()
	return r, r.calibrate(ctx)
}

// groupWeeks sets the weeks that the plan's buckets fall into.
func (r *Replan) groupWeeks() {
	for _, b := range r.daily.f.buckets {
		n := len(r.Weeks)
		if n > 0 && r.Weeks[n-1].Span.From.Monday() == b.Span.From.Monday() {
			r.Weeks[n-1].Span.To = b.Span.To
		} else {
			r.Weeks = append(r.Weeks, b)
		}
		r.weekOf = append(r.weekOf, len(r.Weeks)-1)
	}
}

// build adds the columns and rows.
func (r *Replan) build() {
	f := r.f
	for m := range f.arrivals {
		clear(f.arrivals[m])
		for t, kg := range r.daily.arrivals[m] {
			f.arrivals[m][r.weekOf[t]] += kg
		}
	}
	r.buildFloor()
	f.looseClasses = true
	f.buildDemand()
	f.buildFeed()
	r.Program = f.m
}

// Planned is the world that the plan was made for, with its lists filled.
func (r *Replan) Planned() *World {
	f := r.f
	w := &World{Yield: make([]float64, len(f.in.Materials))}
	for i := range w.Yield {
		w.Yield[i] = 1
	}
	for _, a := range f.arrivals {
		w.Arrivals = append(w.Arrivals, slices.Clone(a))
	}
	w.Uptime, w.Demand = ones(len(f.in.Lines), len(f.buckets)), ones(len(f.in.Profiles), len(f.buckets))
	return w
}

func ones(rows, columns int) [][]float64 {
	g := make([][]float64, rows)
	for i := range g {
		g[i] = make([]float64, columns)
		for t := range g[i] {
			g[i][t] = 1
		}
	}
	return g
}

// calibrate makes the plan optimal in its own world and sets Base and the program's own answer.
func (r *Replan) calibrate(ctx context.Context) error {
	cols := r.plannedColumns()
	boxed := r.Program.Clone()
	for j := range cols {
		c := &cols[j]
		c.x = min(max(c.x, boxed.Lower[j]), boxed.Upper[j])
		boxed.Lower[j] = max(boxed.Lower[j], c.x-c.box)
		boxed.Upper[j] = min(boxed.Upper[j], c.x+c.box)
	}
	res := lp.Solve(ctx, boxed, solve.Options{})
	if res.Stop != solve.Optimal {
		if err := ctx.Err(); err != nil {
			return err
		}
		return fmt.Errorf("%w: its set-ups leave no way to run (%s)", ErrOtherBook, res.Stop)
	}
	r.shiftCosts(cols, res.Y)
	s, res := lp.Stand(ctx, r.Program, solve.Options{})
	if res.Stop != solve.Optimal {
		if err := ctx.Err(); err != nil {
			return err
		}
		return fmt.Errorf("the re-planning program ends with %s", res.Stop)
	}
	r.Base = s.Basis()
	r.Program.Offset += r.Plan.Cost - s.Objective()
	r.base = r.reader().read(s.X(), r.Plan.Cost, &World{})
	return nil
}

// shiftCosts makes the plan optimal: with the duals y of binding rows, each column's reduced cost gets the sign that its place in the plan asks for.
func (r *Replan) shiftCosts(cols []plannedColumn, y []float64) {
	m := r.Program
	d := slices.Clone(m.Cost)
	for i := range m.RowLower {
		vars, coefs := m.RowTerms(model.Row(i))
		act, size := 0.0, 1.0
		for k, v := range vars {
			act += coefs[k] * cols[v].x
			size = max(size, math.Abs(coefs[k]*cols[v].x))
		}
		near := 1e-7 * size
		if y[i] > 0 && act > m.RowLower[i]+near || y[i] < 0 && act < m.RowUpper[i]-near {
			continue
		}
		for k, v := range vars {
			d[v] -= y[i] * coefs[k]
		}
	}
	for j, c := range cols {
		near, tie := 1e-7*max(1, math.Abs(c.x)), c.least*tieSpread*apart(j)
		switch {
		case c.x <= m.Lower[j]+near:
			m.Cost[j] += max(0, c.least+tie-d[j])
		case c.x >= m.Upper[j]-near:
			m.Cost[j] -= max(0, d[j]+c.least+tie)
		default:
			m.Cost[j] += tie - d[j]
		}
	}
}

// tieSpread is by how much of the least what columns must gain lies apart.
const tieSpread = 2

// apart is a number in [0, 1) by which ties of column j with others are broken: multiples of the golden ratio, which lie evenly.
// Without it a third of all steps from one world's optimum to another's go nowhere.
func apart(j int) float64 {
	const golden = 0.6180339887498949
	_, fraction := math.Modf(float64(j) * golden)
	return fraction
}

// Bounds is what a world moves: those of a solver or of a model.
type Bounds interface {
	SetBounds(j model.Var, lower, upper float64)
	SetRowBounds(r model.Row, lower, upper float64)
}

type modelBounds struct{ m *model.Model }

func (b modelBounds) SetBounds(j model.Var, lower, upper float64) {
	b.m.Lower[j], b.m.Upper[j] = lower, upper
}
func (b modelBounds) SetRowBounds(r model.Row, lower, upper float64) {
	b.m.RowLower[r], b.m.RowUpper[r] = lower, upper
}

// ProgramIn is the program in the world w, for solving it elsewhere.
func (r *Replan) ProgramIn(w *World) *model.Model {
	m := r.Program.Clone()
	r.Apply(w, modelBounds{m})
	return m
}

// Apply moves the bounds and right-hand sides of to, a solver of r.Program, to those of w.
func (r *Replan) Apply(w *World, to Bounds) {
	r.applySupply(w, to)
	r.applyUptime(w, to)
	r.applyDemand(w, to)
}

func (r *Replan) applySupply(w *World, to Bounds) {
	for m := range r.f.yardRow {
		r.ApplySupply(w, to, m)
	}
}

// ApplySupply moves the right-hand sides of the arrivals of one material alone to those of w.
func (r *Replan) ApplySupply(w *World, to Bounds, m int) {
	f := r.f
	for t, row := range f.yardRow[m] {
		kg := f.arrivals[m][t]
		if w.Arrivals != nil {
			kg = w.Arrivals[m][t]
		}
		if t == 0 {
			kg += f.yard0[m]
		}
		kg *= w.yield(m)
		to.SetRowBounds(row, -kg, -kg)
	}
}

func (w *World) yield(m int) float64 {
	if w.Yield == nil {
		return 1
	}
	return w.Yield[m]
}

func (w *World) uptime(l, t int) float64 {
	if w.Uptime == nil {
		return 1
	}
	return w.Uptime[l][t]
}

// demand is the metres of class c of profile p due in week t.
func (w *World) demand(f *facts, p, c, t int) float64 {
	cl := &f.classes[p][c]
	if w.Demand == nil || cl.priority != forecastPriority {
		return cl.metres[t]
	}
	return cl.metres[t] * w.Demand[p][t]
}

func (r *Replan) applyDemand(w *World, to Bounds) {
	f := r.f
	for p := range f.in.Profiles {
		for t := range f.buckets {
			due := 0.0
			for c := range f.classes[p] {
				due += w.demand(f.facts, p, c, t)
			}
			if t == 0 {
				due -= f.rack0[p]
			}
			to.SetRowBounds(f.metresRow[p][t], due, due)
		}
		for c, cl := range f.classes[p] {
			if cl.priority != forecastPriority {
				continue
			}
			owed := 0.0
			for t := range f.buckets {
				owed += w.demand(f.facts, p, c, t)
				if x := f.late[p][c][t]; x.is {
					to.SetBounds(x.v, 0, owed)
				}
			}
		}
	}
}
