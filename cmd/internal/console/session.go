package console

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime/debug"
	"time"

	"feedline/cmd/internal/console/rows"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// session is the book as it was loaded, the draft on it and what is planned in the background. It knows no widget.
type session struct {
	need     Needs
	ctx      context.Context
	stored   Stored
	was      *planner.Plan // the released plan, else the stored one; nil if there is neither
	promised bool          // was is the released plan
	draft    draft
	solve    *solving // nil if nothing is being planned
	known    rows.Known
	facts    *rows.Facts
	note     note
	newer    [2]int64    // version and released plan that somebody else has made of the book; zero if it is as it was loaded
	busy     int         // what runs in the background
	accepted *acceptance // the last release made here, to be taken back by undo
	keeping  keeping
	post     func(func()) // runs a function on the goroutine of the terminal; never waits for it
}

// note is what the session has to say about the last thing that was done.
type note struct {
	text string
	tone rows.Tone
}

// acceptance is a release that can be taken back: what the book held before.
type acceptance struct {
	in   *planner.Input
	plan *planner.Plan
	was  Release
}

// newSession loads the book. post may be called from any goroutine.
func newSession(ctx context.Context, need Needs, post func(func())) (*session, error) {
	s := &session{need: need, ctx: ctx, post: post}
	stored, err := need.Book.Load(ctx)
	if err != nil {
		return nil, err
	}
	s.adopt(stored)
	s.gather()
	return s, nil
}

// adopt begins anew on what the book holds.
func (s *session) adopt(b Stored) {
	s.stored, s.newer, s.draft = b, [2]int64{}, draft{}
	s.was, s.promised = b.Plan, b.Release.ID != 0 && b.Release.ID == b.PlanID
	s.known = rows.Known{Promise: s.known.Promise, Actual: s.known.Actual, Promised: s.known.Promised, Entries: s.known.Entries}
}

// empty is a plan of nothing, for a book without one.
func empty(in *planner.Input) *planner.Plan {
	return &planner.Plan{Plant: in.Plant.Name, Currency: in.Plant.Currency, Bound: quantity.Money(math.Inf(-1)), Gap: math.Inf(1)}
}

// in is the records of the draft as it stands.
func (s *session) in() *planner.Input {
	if n := len(s.draft.steps); n > 0 {
		return s.draft.steps[n-1].in
	}
	return s.stored.In
}

// plan is the newest plan that there is: of the draft's last step, else of a step before it, else the stored one.
func (s *session) plan() *planner.Plan {
	for i := len(s.draft.steps) - 1; i >= 0; i-- {
		if p := s.draft.steps[i].plan; p != nil {
			return p
		}
	}
	if s.draft.again != nil {
		return s.draft.again
	}
	if s.stored.Plan == nil {
		return empty(s.stored.In)
	}
	return s.stored.Plan
}

// planned reports whether the plan shown is of the records as the draft has them.
func (s *session) planned() bool {
	if n := len(s.draft.steps); n > 0 {
		return s.draft.steps[n-1].plan != nil
	}
	return s.draft.again != nil || s.stored.Plan != nil && s.stored.Of == s.stored.Version
}

// gather makes the facts anew; to be called after every change of what is shown.
func (s *session) gather() {
	was := s.was
	f := rows.New(s.in(), s.plan(), was, s.need.Now())
	f.Ref = rows.Ref{Released: s.promised, At: s.stored.Release.At, By: s.stored.Release.By}
	f.Known = s.known
	if f.Plan == s.stored.Plan {
		f.Likely = s.stored.Likely
	}
	f.Edits = s.draft.lines(s.stored.Plan)
	s.facts = f
	s.keepDraft()
}

// say sets the note.
func (s *session) say(format string, args ...any) {
	s.note = note{fmt.Sprintf(format, args...), rows.Plain}
}

// warn sets the note to something that went wrong, with its remedy if it knows one.
func (s *session) warn(err error) {
	text := "! " + err.Error()
	var h interface{ Hint() string }
	if errors.As(err, &h) && h.Hint() != "" {
		text += "; " + h.Hint()
	}
	s.note = note{text, rows.Alert}
}

// loadPromise reads the released plan in the background, once the first frame is drawn.
func (s *session) loadPromise() {
	id := s.stored.Release.ID
	if id == 0 || id == s.stored.PlanID {
		return
	}
	s.background(func() func() {
		p, err := s.need.Book.PlanOf(s.ctx, id)
		return func() {
			if s.stored.Release.ID != id {
				return
			}
			if err != nil {
				s.warn(fmt.Errorf("the released plan can't be read: %w", err))
				return
			}
			s.was, s.promised = p, true
			s.gather()
		}
	})
}

// Lately is how many days back what was recorded is listed.
const Lately = 14

// loadKnown reads what was recorded of yesterday, and what was lately, in the background.
func (s *session) loadKnown() {
	if s.need.Recorder == nil {
		return
	}
	day, since := s.facts.Yesterday(), s.facts.Today()-Lately
	s.background(func() func() {
		actual, err := s.need.Recorder.Recorded(s.ctx, day)
		list, fault := s.need.Recorder.Entries(s.ctx, since)
		promised, lost := s.need.Recorder.Promised(s.ctx, day)
		err = errors.Join(err, fault, lost)
		return func() {
			if err != nil && s.ctx.Err() == nil {
				s.warn(err)
			}
			s.known.Actual, s.known.Promised, s.known.Entries = actual, promised, list
			s.gather()
		}
	})
}

// background runs f on a goroutine of its own and what it returns on the terminal's. A panic is carried over to the terminal's, with
// the stack where it came up, so that the terminal is put right before the program ends. Of goroutines that f starts the guard takes
// care, see guard.go.
func (s *session) background(f func() func()) {
	s.busy++
	go func() {
		defer func() {
			if p := recover(); p != nil {
				fault := fmt.Errorf("%v, in the background:\n\n%s", p, debug.Stack())
				s.post(func() { panic(fault) })
			}
		}()
		then := f()
		s.post(func() {
			s.busy--
			if then != nil {
				then()
			}
		})
	}()
}

// lookEvery is how often the book is asked whether somebody else has changed it.
const lookEvery = 2 * time.Second

// keepTime makes the facts anew when a minute is past, and reads what was recorded when a day is: a console is left open over night.
func (s *session) keepTime() {
	if s.need.Now().Sub(s.facts.Now) < time.Minute {
		return
	}
	day := s.facts.Today()
	s.gather()
	if s.facts.Today() != day {
		s.loadKnown()
	}
}

// look asks the book for its version and says if it is not the one loaded.
func (s *session) look() {
	have := [2]int64{s.stored.Version, s.stored.Release.ID}
	s.background(func() func() {
		version, released, err := s.need.Book.Now(s.ctx)
		now := [2]int64{version, released}
		if err != nil || now == have {
			return nil
		}
		changes, _ := s.need.Book.Changed(s.ctx, have[0])
		if released != have[1] {
			changes = append(changes, fmt.Sprintf("plan %d is released", released))
		}
		return func() {
			if have != [2]int64{s.stored.Version, s.stored.Release.ID} || s.newer == now {
				return
			}
			s.newer = now
			s.note = note{"! " + changedWords(changes) + "; r takes it in", rows.Alert}
		}
	})
}

func changedWords(changes []string) string {
	switch len(changes) {
	case 0:
		return "The book has changed"
	case 1:
		return "The book has changed: " + changes[0]
	}
	return fmt.Sprintf("The book has changed: %s and %d more", changes[0], len(changes)-1)
}
