package planner

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner/model"
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
// A limit is taken out of the program by giving its rows no bound, feed by pellets that cost nothing. Where there is no time for
// that, the limit is named that takes the most of what a metre is worth on the due day.

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

// whyLate explains the late orders of p: asked is how many of them took programs of their own, told how many these explain. h holds
// the plan's whole numbers; relaxed may be nil.
func (h *heldProgram) whyLate(b *purse, p *Plan, relaxed *heldProgram) (list []WhyLate, told, asked int) {
	var late []OrderResult
	for _, o := range p.Orders {
		if o.DaysLate > 0 || o.Promise == 0 {
			late = append(late, o)
		}
	}
	if len(late) == 0 {
		return nil, 0, 0
	}
	w := reasons{h: relaxed}
	if relaxed == nil {
		w.h = h
	} else if w.asIs = relaxed.outcomes(relaxed.x); slices.ContainsFunc(late, w.held) {
		w.solve(b)
	}
	for _, o := range late {
		limit, sure := w.binds(o)
		if asks := relaxed == nil && o.Due >= h.f.start || w.held(o); asks {
			asked++
			told += int(isOne(sure))
		}
		list = append(list, WhyLate{Order: o.Order, Limit: limit, Words: h.f.whyWords(o, limit)})
	}
	return list, told, asked
}

// reasons is what is known of how late orders are with one limit less. Of what is nil it is not known.
type reasons struct {
	h       *heldProgram
	asIs    map[string]float64 // in the relaxation
	without map[Resource]map[string]float64
	both    map[string]float64 // without the limits of feed and of line hours
}

// held reports whether o is late in the relaxation too, and was due in time.
func (w *reasons) held(o OrderResult) bool { return w.asIs[o.Order] > 0 && o.Due >= w.h.f.start }

// solve solves the relaxation without each limit in turn, and without the pair, within b, each in an equal part of its work.
func (w *reasons) solve(b *purse) {
	tries := [][]Resource{{OfPellets, OfLineHour}}
	for _, of := range limits {
		if of == OfFitter && w.h.f.lean {
			continue // it asks for no changeover
		}
		tries = append(tries, []Resource{of})
	}
	found := make([]map[string]float64, len(tries))
	each := b.work / int64(len(tries))
	left := make([]int64, len(tries))
	sideBySide(w.h.f.opt.Workers, len(tries), func(i int) {
		own := &purse{ctx: b.ctx, work: each}
		found[i] = w.h.without(own, tries[i]...)
		left[i] = own.work
	})
	w.without, w.both = map[Resource]map[string]float64{}, found[0]
	b.work = 0
	for i, of := range tries {
		b.work += left[i]
		if i > 0 && found[i] != nil {
			w.without[of[0]] = found[i]
		}
	}
}

// binds picks the limit that makes o late; sure is false where it is guessed from what hours and pellets are worth.
func (w *reasons) binds(o OrderResult) (limit Resource, sure bool) {
	switch {
	case o.Due < w.h.f.start:
		return OfTime, true
	case w.asIs == nil:
		return w.h.byRent(o), false
	case w.asIs[o.Order] == 0:
		return OfSetups, true
	}
	best, least := Resource(""), w.asIs[o.Order]
	for _, of := range limits {
		if r := w.without[of]; r != nil && r[o.Order] < least {
			best, least = of, r[o.Order]
		}
	}
	switch {
	case best != "":
		return best, true
	case w.both != nil && w.both[o.Order] < w.asIs[o.Order]:
		return OfSeveral, true
	case w.both == nil || w.without[OfPellets] == nil || w.without[OfLineHour] == nil:
		return w.h.byRent(o), false
	}
	return OfTime, true
}

// without solves the relaxation without the given limits; nil if it can't be solved within b.
func (h *heldProgram) without(b *purse, of ...Resource) map[string]float64 {
	if !b.open() {
		return nil
	}
	s := h.s.Clone()
	for _, r := range of {
		h.takeOut(s, r)
	}
	if !b.solve(s) {
		return nil
	}
	return h.outcomes(s.X())
}

// byRent is the limit that takes the most of what a metre of o's profile is worth on its due day, on the line on which it is cheapest: what
// pellets are worth above what they cost to have, what its hours, its crew and its die are worth, or the set-ups that are held.
func (h *heldProgram) byRent(o OrderResult) Resource {
	f := h.f
	p, t := f.profileAt[o.Profile], max(0, min(f.bucketOf(o.Due), len(f.buckets)-1))
	k := f.gradeOf[p]
	dear := max(0, h.dual("pellets", f.in.Grades[k].Code, t)-scarceFrom*f.pelletValue(k))
	best, least := OfSetups, math.Inf(1)
	for _, j := range f.fitsBy[p] {
		ft, code := f.fits[j], f.in.Lines[f.fits[j].line].Code
		if f.avail[ft.line][t] <= 0 {
			continue
		}
		rents := []Rent{
			{OfPellets, quantity.Money(dear * ft.pelletsPerM)},
			{OfSetups, quantity.Money(-h.dual("runs", code, o.Profile, t) / ft.rate)},
			{OfDie, quantity.Money(-h.dual("dies", o.Profile, t) / f.avail[ft.line][t] / ft.rate)},
		}
		crew := -h.dual("crew", t) * f.in.Lines[ft.line].Crew / f.avail[ft.line][t] / ft.rate
		rents = append(rents, Rent{OfCrew, quantity.Money(crew)}, Rent{OfLineHour, quantity.Money(-h.dual("hours", code, t)/ft.rate - crew)})
		sum, most := 0.0, rents[0]
		for _, r := range rents {
			sum += float64(r.Amount)
			if r.Amount > most.Amount {
				most = r
			}
		}
		if sum < least && most.Amount > 0 {
			best, least = most.Of, sum
		}
	}
	return best
}

// rowsOfLimit are how the names of a limit's rows begin.
var rowsOfLimit = map[Resource][]string{OfLineHour: {"hours[", "runs["}, OfStep: {"step["}, OfCrew: {"crew["}, OfDie: {"dies["}, OfFitter: {"fitters["},
	OfSpace: {"yardspace[", "rackspace["}}

// takeOut gives a limit's rows and columns no bound.
func (h *heldProgram) takeOut(s *lp.Solver, of Resource) {
	f := h.f
	free := func(r model.Row) { s.SetRowBounds(r, h.m.RowLower[r], model.Infinity) }
	for i, name := range h.m.RowName {
		for _, p := range rowsOfLimit[of] {
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
