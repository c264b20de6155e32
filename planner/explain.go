package planner

import (
	"context"
	"fmt"
	"slices"
	"time"

	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// The answers beside the run list are worked out once the search has ended, each within a limit of work, so that a plan under a limit of
// work is the same on every machine. Where the plan's time is limited they have answersShare of it more, at least answersTime,
// and are worked out in the order of how much they are needed: reasons, worths, what the lines would bring. What is cut short is told
// by the duals at hand where they tell it, and named in Plan.Missing with the reason: no answer is empty without a word.

// Answer names an answer beside the run list.
type Answer string

// The answers that may be missing.
const (
	AnswerNeed  Answer = "need against have" // and with it shortages and order-by dates
	AnswerWorth Answer = "worth"
	AnswerBound Answer = "what bounds output"
	AnswerLate  Answer = "why orders are late"
	AnswerLines Answer = "what lines would bring"
)

// Missing says that an answer is not worked out, or only in part.
type Missing struct {
	Answer Answer
	Words  string // which part, and why: such as "410 of 550 measured, the others by dual values: out of time"
}

const (
	// answersShare of the limit of time, at least answersTime, is what the answers may take beyond it.
	answersShare = 0.25
	answersTime  = 4 * time.Second

	// Work units that each may take. A kilogram's worth takes some 200 thousand on the demonstration plant.
	needWork   = 4_000_000_000
	holdWork   = 2_000_000_000
	relaxWork  = 2_000_000_000
	reasonWork = 500_000_000
	worthWork  = 300_000_000
)

// purse is what may be spent on an answer: work units until work is 0, and time until ctx is done.
type purse struct {
	ctx  context.Context
	work int64
	stop context.CancelFunc
}

// open reports whether there is anything left.
func (b *purse) open() bool { return b.work > 0 && b.ctx.Err() == nil }

// solve solves from the basis at hand and takes the work off; it reports whether the optimum was found.
func (b *purse) solve(s *lp.Solver) bool {
	if !b.open() {
		return false
	}
	before := s.Work()
	stop := s.Solve(b.ctx, lp.Limits{Work: b.work})
	b.work -= s.Work() - before
	return stop == solve.Optimal
}

// why is the reason for which something was not worked out.
func (b *purse) why() string {
	switch {
	case b.ctx.Err() == context.Canceled:
		return "stopped"
	case b.ctx.Err() != nil:
		return "out of time"
	case b.work <= 0:
		return "out of work"
	}
	return "numerical trouble"
}

// answering is the clock of the answers.
type answering struct {
	ctx   context.Context
	began time.Time
	time  time.Duration // 0 = no limit
	most  int64         // work that one answer may take, if less than its own limit; 0 = no less
}

// answering starts the clock. A search that was stopped by its user has answers in answersTime; stopped later they end at once.
func (f *formulation) answering(ctx context.Context) *answering {
	a := &answering{ctx: ctx, began: time.Now()}
	if limit := f.timeLimit(); limit > 0 {
		a.time = max(answersTime, time.Duration(answersShare*float64(limit)))
	}
	if ctx.Err() != nil {
		a.ctx, a.time = context.WithoutCancel(ctx), answersTime
	}
	return a
}

// left is the time that is left; 0 = no limit.
func (a *answering) left() time.Duration {
	if a.time == 0 {
		return 0
	}
	return max(1, a.time-time.Since(a.began))
}

// timeLimit is the time that the search may take; 0 = work alone limits it.
func (f *formulation) timeLimit() time.Duration {
	if f.opt.Time == 0 && f.opt.Work == 0 {
		return defaultTime
	}
	return f.opt.Time
}

// purse is work to be spent until the given share of the time is over.
func (a *answering) purse(until float64, work int64) *purse {
	b := &purse{ctx: a.ctx, work: work, stop: func() {}}
	if a.most > 0 {
		b.work = min(work, a.most)
	}
	if a.time > 0 {
		b.ctx, b.stop = context.WithDeadline(a.ctx, a.began.Add(time.Duration(until*float64(a.time))))
	}
	return b
}

// miss notes that an answer is missing, or a part of it.
func (p *Plan) miss(a Answer, format string, args ...any) {
	p.Missing = append(p.Missing, Missing{a, fmt.Sprintf(format, args...)})
}

// Lacks returns the words on what is missing of an answer; ok is false if nothing is.
func (p *Plan) Lacks(a Answer) (words string, ok bool) {
	if i := slices.IndexFunc(p.Missing, func(m Missing) bool { return m.Answer == a }); i >= 0 {
		return p.Missing[i].Words, true
	}
	return "", false
}

// explain adds the reasons of late orders, what is worth how much, what bounds each bucket and what the lines would bring. x is the plan's solution,
// stands the basis of its amounts; nil if it is not known.
func (f *formulation) explain(ctx context.Context, p *Plan, x []float64, stands *standing) {
	if f.opt.Brief {
		for _, a := range []Answer{AnswerLate, AnswerWorth, AnswerBound, AnswerLines} {
			p.miss(a, "left out: the plan was asked for in brief")
		}
		return
	}
	f.answer(f.answering(ctx), p, x, stands)
}

// answer works the answers out.
func (f *formulation) answer(a *answering, p *Plan, x []float64, stands *standing) {
	b := a.purse(1, holdWork)
	defer b.stop()
	h := f.hold(b, x)
	if h == nil {
		for _, o := range []Answer{AnswerLate, AnswerWorth, AnswerBound, AnswerLines} {
			p.miss(o, "not worked out: %s", b.why())
		}
		return
	}
	h.stands = stands
	relaxed := f.relaxation(a)
	f.sayReasons(a, p, h, relaxed)
	f.sayWorths(a, p, h, relaxed)
	p.BoundBy = h.bounds(relaxed, p.Worth)
	f.sayLines(a, p, h)
}

// relaxation is the program without whole numbers, solved; nil if it can't be in time.
func (f *formulation) relaxation(a *answering) *heldProgram {
	b := a.purse(0.5, relaxWork)
	defer b.stop()
	switch {
	case f.m.NumVars() <= wholeTo:
		return f.program(b, f.m.Clone())
	case f.leanSolved != nil:
		return f.leanSolved
	}
	g := relaxed(f.facts)
	s := lp.NewSolver(g.m, solve.Options{Seed: f.opt.Seed})
	if !b.solve(s) {
		return nil
	}
	return g.programAt(g.m, s)
}

// sayReasons adds why orders are late.
func (f *formulation) sayReasons(a *answering, p *Plan, h, relaxed *heldProgram) {
	b := a.purse(0.6, reasonWork)
	defer b.stop()
	told, asked := 0, 0
	p.WhyLate, told, asked = h.whyLate(b, p, relaxed)
	if told < asked {
		p.miss(AnswerLate, "%d of %d by solving without each limit, the others by what hours and pellets are worth: %s", told, asked, b.why())
	}
}

// sayWorths adds what is worth how much.
func (f *formulation) sayWorths(a *answering, p *Plan, h, relaxed *heldProgram) {
	b := a.purse(0.8, worthWork)
	defer b.stop()
	measured := 0
	p.Worth, measured = h.worths(b, relaxed)
	if n := len(p.Worth); measured < n {
		p.miss(AnswerWorth, "%d of %d measured, the others by dual values: %s", measured, n, b.why())
	}
	if relaxed == nil {
		p.miss(AnswerWorth, "with lines and set-ups as planned only, not were they free to change: out of time")
		p.miss(AnswerBound, "crew, fitters and dies not looked at: out of time")
	}
}
