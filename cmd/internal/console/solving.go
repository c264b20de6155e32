package console

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync/atomic"
	"time"

	"feedline/cmd/internal/console/rows"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/solve"
)

// solving is a plan being made.
type solving struct {
	begun  time.Time
	cancel context.CancelFunc
	last   atomic.Pointer[solve.Progress] // written by the solver
	kept   bool                           // stopped by the user: the best so far is kept
}

// replan plans the draft's last step, or the records as they stand, in the background. A plan being made is given up for it.
func (s *session) replan() {
	s.abandon()
	if err := plannable(s.in(), s.need); err != nil {
		s.warn(err)
		s.gather()
		return
	}
	ctx, cancel := context.WithCancel(s.ctx)
	now := &solving{begun: s.need.Now(), cancel: cancel}
	s.solve = now
	key, in, from := "", s.in(), s.plan()
	if n := len(s.draft.steps); n > 0 {
		key = s.draft.steps[n-1].key
	}
	if len(from.Buckets) == 0 {
		from = nil
	}
	start := s.start()
	if key == "" {
		start = 0 // the records as they stand are planned from today
	}
	s.gather()
	s.background(func() func() {
		p, err := s.need.Planner.Plan(ctx, in, start, from, func(pr solve.Progress) { now.last.Store(&pr) })
		cancel()
		return func() { s.finished(now, key, p, err) }
	})
}

// sameStart is how many days a plan's start may lie back so that what-ifs on it still begin with it, and their costs compare.
const sameStart = 7

// start is the first day to plan a what-if from: the shown plan's, also of one that begins later, unless that is old; 0 = today.
func (s *session) start() calendar.Day {
	p, today := s.plan(), s.facts.Today()
	if len(p.Buckets) == 0 || today-p.Start >= sameStart {
		return 0
	}
	return p.Start
}

// finished takes a new plan in.
func (s *session) finished(done *solving, key string, p *planner.Plan, err error) {
	if s.solve != done {
		return // given up for a newer one
	}
	s.solve = nil
	switch {
	case err != nil && done.kept && errors.Is(err, planner.ErrStopped):
		s.note = note{"! Stopped before there was a plan: what is shown is the plan before.", rows.Alert}
		s.gather()
		return
	case err != nil:
		s.warn(err)
		s.gather()
		return
	}
	if key == "" {
		s.draft.again = p
	}
	for i := range s.draft.steps {
		if s.draft.steps[i].key == key {
			s.draft.steps[i].plan = p
		}
	}
	if done.kept {
		s.say("Stopped: the best plan so far is kept.")
	}
	s.gather()
	s.loadKnown()
}

// halt stops a plan being made and keeps the best so far; false if none is being made.
func (s *session) halt() bool {
	if s.solve == nil {
		return false
	}
	s.solve.kept = true
	s.solve.cancel()
	s.say("Stopping …")
	return true
}

// stop gives a plan being made up.
func (s *session) stop() { s.abandon() }

func (s *session) abandon() {
	if s.solve != nil {
		s.solve.cancel()
		s.solve = nil
	}
}

// quality is one line on how good the plan shown is, or the one being made.
func (s *session) quality() rows.Line {
	if s.solve == nil {
		p := s.plan()
		if len(p.Buckets) == 0 {
			return rows.Line{{Text: "No plan yet: r plans", Tone: rows.Alert}}
		}
		var l rows.Line
		if !s.planned() { // first: the figures behind it may be cut off
			l = rows.Line{{Text: "! The book has changed since: r plans again  ", Tone: rows.Alert}}
		}
		return append(l, rows.Span{Text: figures("Plan", true, float64(p.Objective), float64(p.Bound), p.Gap), Tone: rows.Quiet})
	}
	elapsed := s.need.Now().Sub(s.solve.begun)
	head := fmt.Sprintf("Planning %.0f s", elapsed.Seconds())
	if p := s.solve.last.Load(); p != nil {
		head = figures(head, p.Has, p.Objective, p.Bound, solve.Gap(p.Has, p.Objective, p.Bound))
	}
	return rows.Line{{Text: head, Tone: rows.Accent}, {Text: "  Ctrl-C keeps the best", Tone: rows.Quiet}}
}

// figures is cost, bound and gap behind a head, as far as they are known.
func figures(head string, has bool, cost, bound, gap float64) string {
	if has {
		head += "  cost " + quantity.Grouped(cost, 0)
	}
	if !math.IsInf(bound, 0) && !math.IsNaN(bound) {
		head += "  bound " + quantity.Grouped(bound, 0)
	}
	if !math.IsInf(gap, 0) && !math.IsNaN(gap) {
		head += fmt.Sprintf("  gap %.1f %%", 100*gap)
	}
	return head
}
