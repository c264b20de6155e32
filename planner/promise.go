package planner

import (
	"context"
	"fmt"
	"math"

	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/mip"
)

// Offer is the answer to an enquiry.
type Offer struct {
	Profile string
	Length  quantity.Length
	Day     calendar.Day // last day of the first bucket in which it can be complete; 0 = not within the horizon
	Limit   Resource     // what keeps it from being sooner; OfTime where nothing does
	Words   string
}

// promiseWork limits the search for an offer, in work units: a few seconds.
const promiseWork = 600_000_000

// Promise is the earliest day by which so many metres of a profile can be complete without making any order of p later or less complete;
// on a large plant the earliest that a search of bounded work finds. The lines that can make the profile are free to be crewed and changed otherwise than in p;
// the other lines and all loads are as in p. So a plan that keeps the promise exists; one with other loads may be sooner.
// p must be a plan of in under opt. Errors as for Make, and an *EditError for a profile or a length that can't be asked for.
func Promise(ctx context.Context, in *Input, opt Options, p *Plan, profile string, length quantity.Length) (Offer, error) {
	none := Offer{Profile: profile, Length: length}
	fa, err := prepareFacts(in, opt)
	if err != nil {
		return none, err
	}
	i, ok := fa.profileAt[profile]
	if !ok {
		return none, known(profile, in.Profiles, "profile", func(p lines.Profile) string { return p.Code })
	}
	if !(length > 0) || length > 1e9 {
		return none, &EditError{figure(float64(length)) + " m", "is no length to ask for", "give more than 0 m"}
	}
	e, err := enquire(ctx, fa, p, i, float64(length))
	if err != nil {
		return none, err
	}
	r := mip.Solve(ctx, e.h.m, mip.Options{Incumbents: [][]float64{e.start}, Options: solve.Options{Work: promiseWork, Workers: 1, Seed: opt.Seed}})
	if !r.Has {
		return none, fmt.Errorf("%w (%s)", ErrStopped, r.Stop)
	}
	t := e.sooner(ctx, r)
	if t < len(e.f.buckets) {
		none.Day = e.f.buckets[t].Span.To - 1
	}
	none.Limit = e.binds(ctx, t-1)
	none.Words = e.words(profile, none.Limit)
	return none, nil
}

// done is the first bucket at whose end nothing is owed, len(buckets) if there is none.
func (e *enquiry) done(x []float64) int {
	t := 0
	for t < len(e.owed) && e.owed[t].at(x) > quantumMetres {
		t++
	}
	return t
}

// sooner asks, from a plan that owes the least over time, for one that owes nothing at the end of a bucket before: by halves, between
// the first bucket that the relaxation allows and the one in hand.
func (e *enquiry) sooner(ctx context.Context, r solve.Result) int {
	best, least, spent := e.done(r.X), 0, r.Work
	s := e.h.s.Clone()
	for least < best && !e.by(ctx, s, least) {
		least++
	}
	for least < best && spent < promiseWork {
		t := (least + best) / 2
		m := e.h.m.Clone()
		m.Upper[e.owed[t].v] = 0
		q := mip.Solve(ctx, m, mip.Options{Options: solve.Options{Work: promiseWork - spent, Workers: 1, Seed: e.f.opt.Seed, Gap: 1}})
		spent += q.Work
		if q.Has {
			best = min(t, e.done(q.X))
		} else {
			least = t + 1 // or out of work: then it is left at what is in hand
		}
	}
	return best
}

// words says what keeps an enquiry from being sooner.
func (e *enquiry) words(profile string, limit Resource) string {
	switch limit {
	case OfTime:
		return "nothing: it can be made at once"
	case OfSetups:
		return fmt.Sprintf("set-ups: no campaign of %s fits in sooner without making an order late", profile)
	}
	return e.f.whyWords(OrderResult{Profile: profile, Due: e.f.start}, limit)
}

// enquiry is the program of a plan with an enquiry in it, all that is late bounded by the plan's own lateness.
type enquiry struct {
	f     *formulation
	h     *heldProgram
	owed  []ref     // of the enquiry, by bucket
	start []float64 // the plan's whole numbers
}

func enquire(ctx context.Context, fa *facts, p *Plan, profile int, metres float64) (*enquiry, error) {
	plain := formulate(fa)
	was := plain.holding(ctx, plain.wholeOf(p))
	if !was.Has {
		return nil, fmt.Errorf("%w: the plan does not fit the book any longer, plan again", ErrStopped)
	}
	asked := *fa
	asked.classes = append([][]class(nil), fa.classes...)
	own := class{priority: enquiryPriority, metres: make([]float64, len(fa.buckets)), total: metres}
	own.metres[0] = metres
	asked.classes[profile] = append(append([]class(nil), fa.classes[profile]...), own)
	f := formulate(&asked)
	m := f.m.Clone()
	whole := f.wholeOf(p)
	free := map[model.Var]bool{}
	release := func(r ref) {
		if r.is && m.Integer[r.v] {
			free[r.v] = true
		}
	}
	for _, x := range f.fitsBy[profile] {
		l := f.fits[x].line
		for t := range f.buckets {
			release(f.on[l][t])
			release(f.started[l][t])
			release(f.commissioned[l][t])
			for _, j := range f.fitsOf[l] {
				release(f.mounted[j][t])
				release(f.changed[j][t])
			}
		}
	}
	for j := range m.Cost {
		m.Cost[j] = 0
		if m.Integer[j] && !free[model.Var(j)] {
			m.Lower[j], m.Upper[j] = whole[j], whole[j]
		}
	}
	for t, r := range f.late[profile][len(fa.classes[profile])] {
		m.Cost[r.v] = f.days(t)
	}
	hold := func(r, before ref) { // no worse than it was
		if r.is {
			m.Upper[r.v] = min(m.Upper[r.v], max(0, before.at(was.X))+quantumMetres)
		}
	}
	for i := range fa.classes {
		for c := range fa.classes[i] {
			for t := range f.buckets {
				hold(f.late[i][c][t], plain.late[i][c][t])
			}
		}
	}
	for k := range f.short {
		for t := range f.buckets {
			hold(f.short[k][t], plain.short[k][t])
		}
	}
	h := f.program(&purse{ctx: ctx, work: holdWork}, m)
	if h == nil {
		return nil, fmt.Errorf("%w: the enquiry could not be worked out", ErrStopped)
	}
	return &enquiry{f: f, h: h, owed: f.late[profile][len(fa.classes[profile])], start: whole}, nil
}

// enquiryPriority is the rank of an enquiry's class, behind the forecast.
const enquiryPriority = forecastPriority + 1

// by reports whether the enquiry can be complete at the end of bucket t.
func (e *enquiry) by(ctx context.Context, s *lp.Solver, t int) bool {
	v := e.owed[t].v
	s.SetBounds(v, 0, 0)
	ok := s.Solve(ctx, lp.Limits{}) == solve.Optimal
	s.SetBounds(v, 0, e.h.m.Upper[v])
	return ok
}

// binds is the limit without which the enquiry could be complete in bucket t, the one before the answer.
func (e *enquiry) binds(ctx context.Context, t int) Resource {
	switch {
	case t < 0:
		return OfTime
	case e.by(ctx, e.h.s.Clone(), t):
		return OfSetups
	}
	for _, of := range limits {
		s := e.h.s.Clone()
		e.h.takeOut(s, of)
		if of == OfPellets {
			for k := range e.f.short {
				for o := range e.f.buckets {
					s.SetBounds(e.f.short[k][o].v, 0, math.Inf(1))
				}
			}
		}
		if e.by(ctx, s, t) {
			return of
		}
	}
	return OfSeveral
}
