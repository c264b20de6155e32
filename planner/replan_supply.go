package planner

import (
	"context"
	"fmt"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Supply is the linear program that sets supply against need, week by week: pellets owed if the lines ran as demand calls for. It is the
// second program of need against have (need.go) with weeks for buckets; the need is the plan's. Like Replan, worlds
// move right-hand sides only, and it may be shared.
type Supply struct {
	Program *model.Model
	Base    lp.Basis // optimal in the plan's own world, without its loads

	r             *Replan
	g             *formulation
	need, scrap   [][]float64 // kg by grade and week
	base, planned [][]float64 // owed by grade and week: the program's answer in the plan's world, and the plan's
}

// NewSupply builds the program; nil if the plan has no need against have.
func (r *Replan) NewSupply(ctx context.Context) (*Supply, error) {
	p := r.daily.plan
	if len(p.NeedHave) == 0 {
		return nil, nil
	}
	s := &Supply{r: r, g: &formulation{facts: r.f.facts, m: &model.Model{Name: "supply"}, committedOnly: true, looseClasses: true}}
	s.readNeed(p)
	s.build()
	s.Apply(&World{Arrivals: r.Committed()}, modelBounds{s.Program})
	solver, res := lp.Stand(ctx, s.Program, solve.Options{})
	if stop := res.Stop; stop != solve.Optimal {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("the program of supply against need ends with %s", stop)
	}
	s.Base = solver.Basis()
	s.base = s.owed(solver.X())
	return s, nil
}

// Committed is the arrivals of the plan's world without its loads, by material and week.
func (r *Replan) Committed() [][]float64 {
	g := make([][]float64, len(r.f.in.Materials))
	for m := range g {
		g[m] = make([]float64, len(r.Weeks))
		for t, kg := range r.daily.f.arrivals[m] {
			g[m][r.weekOf[t]] += kg
		}
	}
	return g
}

// readNeed sums the plan's need up to weeks, and the scrap that goes with it in the proportion of the plan's use.
func (s *Supply) readNeed(p *Plan) {
	r := s.r
	n := len(r.f.in.Grades)
	list := func() [][]float64 {
		g := make([][]float64, n)
		for k := range g {
			g[k] = make([]float64, len(r.Weeks))
		}
		return g
	}
	s.need, s.scrap, s.planned = list(), list(), list()
	for _, x := range p.NeedHave {
		if k, ok := r.f.gradeAt[x.Grade]; ok {
			s.need[k][r.weekOf[x.Bucket]] += float64(x.Need)
			s.planned[k][r.weekOf[x.Bucket]] = float64(x.Cumulative)
		}
	}
	used, recovered := make([]float64, n), make([]float64, n)
	for _, x := range p.Pellets {
		if k, ok := r.f.gradeAt[x.Grade]; ok {
			used[k] += float64(x.Used)
			recovered[k] += float64(x.RegrindIn)
		}
	}
	for k := range s.need {
		for t, kg := range s.need[k] {
			if used[k] > 0 {
				s.scrap[k][t] = kg * recovered[k] / used[k]
			}
		}
	}
}

// build is the feed part of the model with pellets owed in place of pellets missing, as in committed.
func (s *Supply) build() {
	g := s.g
	g.run, g.changed = g.grid(len(g.fits)), g.grid(len(g.fits))
	for range g.in.Lines {
		g.startScrap = append(g.startScrap, g.grid(len(g.in.Grades)))
	}
	g.buildFeed()
	for j := range g.m.Cost {
		g.m.Cost[j] = 0
		if !math.IsInf(g.m.Lower[j], -1) {
			g.m.Cost[j] = supplyTie * (1 + tieSpread*apart(j))
		}
	}
	for k := range g.in.Grades {
		for t := range g.buckets {
			g.m.Cost[g.pellets[k][t].v] *= supplyStock
			g.m.Cost[g.own[k][t].v] *= supplyStock
		}
	}
	g.owed = g.grid(len(g.in.Grades))
	for k, grade := range g.in.Grades {
		for t := range g.buckets {
			g.m.Lower[g.short[k][t].v] = -model.Infinity
			g.owed[k][t] = column(g.m.AddVar(label("owed", grade.Code, t), 0, model.Infinity, g.days(t)))
			g.emit(new(row).add(before(g.owed[k], t, 0), 1).add(g.short[k][t], 1).add(g.owed[k][t], -1), 0, 0, "owed", grade.Code, t)
		}
	}
	s.Program = g.m
}

// Apply moves the right-hand sides of to, a solver of s.Program, to those of w. Demand moves the need of a grade with that of its profiles.
func (s *Supply) Apply(w *World, to Bounds) {
	g := s.g
	v := *w
	if v.Arrivals == nil {
		v.Arrivals = s.r.Committed()
	}
	(&Replan{f: g}).applySupply(&v, to)
	for k := range g.in.Grades {
		for t := range g.buckets {
			share := s.r.demandShare(k, t, w)
			need, scrap := s.need[k][t]*share, s.scrap[k][t]*share
			if t == 0 {
				need -= g.pellet0[k]
				scrap += g.own0[k]
			}
			to.SetRowBounds(g.pelletsRow[k][t], need, need)
			to.SetRowBounds(g.regrindRow[k][t], -scrap, -scrap)
		}
	}
}

// demandShare is the pellets that the demand of grade k till week t asks for in w, to those planned.
func (r *Replan) demandShare(k, t int, w *World) float64 {
	if w.Demand == nil {
		return 1
	}
	is, was := 0.0, 0.0
	for p, pr := range r.f.in.Profiles {
		if r.f.gradeOf[p] != k {
			continue
		}
		for c, cl := range r.f.classes[p] {
			was += cl.metres[t] * float64(pr.PerMetre)
			is += w.demand(r.f.facts, p, c, t) * float64(pr.PerMetre)
		}
	}
	if was <= 0 {
		return 1
	}
	return is / was
}

// Read is the pellets owed at the end of each week in a world, kilograms by grade and week, off an optimal solution: without the plan's
// loads what the plan says and what the program's answer differs from that in the plan's world.
func (s *Supply) Read(x []float64, withLoads bool) [][]float64 {
	owed := s.owed(x)
	if withLoads {
		return owed
	}
	for k := range owed {
		correct(owed[k], s.planned[k], s.base[k], 0)
	}
	return owed
}

func (s *Supply) owed(x []float64) [][]float64 {
	owed := make([][]float64, len(s.g.owed))
	for k, list := range s.g.owed {
		for _, v := range list {
			owed[k] = append(owed[k], max(0, v.at(x)))
		}
	}
	return owed
}

// supplyTie is what a kilogram drawn, fed or kept costs beside the days that a kilogram is owed, so that there are no ties; supplyStock by how
// much more pellets and regrind in stock cost, so that they are made when they are needed: worlds' optima are then a third as many
// steps apart.
const (
	supplyTie   = 1e-4
	supplyStock = 10
)

// ShortFrom is the kilograms of pellets owed from which a grade counts as short.
const ShortFrom = shortFrom
