package planner

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// WhyLate is the limit that makes an order late, or keeps it from being complete.
type WhyLate struct {
	Order string
	Limit Resource
	Words string
}

// Why an order is late is found by asking what would have to be otherwise. The relaxation, in which set-ups come in fractions, is
// solved once as it is and once without each limit. An order that is in time in the first is held up by whole campaigns: the plan
// changes dies later because sooner would cost more. Else the limit without which it is in time is the one that binds it;
// of several the one that helps most, and without any the pair of feed and lines, or time itself.
//
// A limit is taken out of the program by giving its rows no bound, feed by pellets that cost nothing.

// limits are what is left out in turn; of two that help alike the first is named, so the narrower ones stand first: free pellets
// make up for a pelletizer as well.
var limits = []Resource{OfStep, OfSpace, OfCrew, OfDie, OfFitter, OfLineHour, OfPellets}

// outcomes is how late each order is in a solution, in days: 0 in time, and far beyond the horizon for what is never complete.
func (h *heldProgram) outcomes(x []float64) map[string]float64 {
	f, p := h.f, new(Plan)
	for i := range f.in.Profiles {
		for c := range f.classes[i] {
			f.extractOrders(p, i, c, x)
		}
	}
	late := map[string]float64{}
	for _, o := range p.Orders {
		late[o.Order] = float64(o.DaysLate)
		if o.Promise == 0 {
			late[o.Order] = neverDays * (1 + float64(o.Unmet/max(o.Length, 1)))
		}
	}
	return late
}

// neverDays ranks an order that is never complete behind every late one.
const neverDays = 1e6

// whyLate explains the late orders of p; h is the relaxation.
func (h *heldProgram) whyLate(ctx context.Context, p *Plan) []WhyLate {
	var late []OrderResult
	for _, o := range p.Orders {
		if o.DaysLate > 0 || o.Promise == 0 {
			late = append(late, o)
		}
	}
	if len(late) == 0 {
		return nil
	}
	asIs := h.outcomes(h.x)
	without, both := map[Resource]map[string]float64{}, map[string]float64(nil)
	if slices.ContainsFunc(late, func(o OrderResult) bool { return asIs[o.Order] > 0 && o.Due >= h.f.start }) {
		for _, of := range limits {
			without[of] = h.without(ctx, of)
		}
		both = h.without(ctx, OfPellets, OfLineHour)
	}
	var list []WhyLate
	for _, o := range late {
		w := WhyLate{Order: o.Order, Limit: h.binds(o, asIs, without, both)}
		w.Words = h.f.whyWords(o, w.Limit)
		list = append(list, w)
	}
	return list
}

// binds picks the limit that makes o late.
func (h *heldProgram) binds(o OrderResult, asIs map[string]float64, without map[Resource]map[string]float64, both map[string]float64) Resource {
	switch {
	case o.Due < h.f.start:
		return OfTime
	case asIs[o.Order] == 0:
		return OfSetups
	}
	best, least := Resource(""), asIs[o.Order]
	for _, of := range limits {
		if r := without[of]; r != nil && r[o.Order] < least {
			best, least = of, r[o.Order]
		}
	}
	switch {
	case best != "":
		return best
	case both != nil && both[o.Order] < asIs[o.Order]:
		return OfSeveral
	case both == nil:
		return unknownWhy
	}
	return OfTime
}

// without solves the relaxation without the given limits; nil if it can't be solved in time.
func (h *heldProgram) without(ctx context.Context, of ...Resource) map[string]float64 {
	s := h.s.Clone()
	for _, r := range of {
		h.takeOut(s, r)
	}
	if s.Solve(ctx, lp.Limits{}) != solve.Optimal {
		return nil
	}
	return h.outcomes(s.X())
}

// takeOut gives a limit's rows and columns no bound.
func (h *heldProgram) takeOut(s *lp.Solver, of Resource) {
	f := h.f
	free := func(r model.Row) { s.SetRowBounds(r, h.m.RowLower[r], model.Infinity) }
	prefix := map[Resource][]string{OfLineHour: {"hours[", "runs["}, OfStep: {"step["}, OfCrew: {"crew["}, OfDie: {"dies["}, OfFitter: {"fitters["}, OfSpace: {"yardspace[", "rackspace["}}[of]
	for i, name := range h.m.RowName {
		for _, p := range prefix {
			if strings.HasPrefix(name, p) {
				free(model.Row(i))
			}
		}
	}
	for t := range f.buckets {
		for k := range f.in.Grades {
			switch of {
			case OfPellets:
				s.SetCost(f.short[k][t].v, 0)
			case OfSpace:
				s.SetBounds(f.pellets[k][t].v, 0, model.Infinity)
			}
		}
		for j := range f.fits {
			if r := f.run[j][t]; of == OfLineHour && r.is {
				s.SetBounds(r.v, 0, model.Infinity)
			}
		}
	}
}

// whyWords says a limit in words that fit the order.
func (f *formulation) whyWords(o OrderResult, limit Resource) string {
	p := f.profileAt[o.Profile]
	pr := f.in.Profiles[p]
	var able []string
	for _, j := range f.fitsBy[p] {
		able = append(able, f.in.Lines[f.fits[j].line].Code)
	}
	switch limit {
	case OfPellets:
		return fmt.Sprintf("feed: pellets of grade %s do not reach", pr.Grade)
	case OfLineHour:
		if len(able) == 0 {
			return "no line can make " + pr.Code
		}
		return fmt.Sprintf("line hours: %s, the only lines for %s, are full", join(able), pr.Code)
	case OfStep:
		return "crushing and pelletizing: no machine hours are left"
	case OfCrew:
		return "crew: not enough people for another line"
	case OfDie:
		return fmt.Sprintf("dies: %d set for %s", pr.Dies, pr.Code)
	case OfFitter:
		return "fitters: no hours are left to change dies"
	case OfSpace:
		return "space: yard, silo or rack is full"
	case OfSetups:
		return fmt.Sprintf("set-ups: a campaign of %s sooner costs more than the lateness", pr.Code)
	case OfSeveral:
		return fmt.Sprintf("feed and line hours together: grade %s, %s", pr.Grade, join(able))
	case OfTime:
		if o.Due < f.start {
			return "time: it was due before the plan starts"
		}
		return "time: it can't be made by the due day even with more feed or hours"
	}
	return "not worked out in time"
}
