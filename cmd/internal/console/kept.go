package console

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gdamore/tcell/v2"

	"feedline/cmd/internal/console/rows"
	"feedline/planner"
)

// Drafts keeps a draft where it outlives the console.
type Drafts interface {
	// Keep puts the draft of this console in the place of what was kept of it; one without steps is forgotten.
	Keep(d KeptDraft) error
	// Left lists what consoles of this user that have ended have left, the newest first.
	Left() ([]KeptDraft, error)
	// Forget takes one of those away.
	Forget(name string) error
}

// KeptDraft is a draft without its plans.
type KeptDraft struct {
	Name    string    // what Forget takes
	At      time.Time // when it was kept
	Version int64     // of the records that it was begun on
	Steps   []KeptStep
}

// KeptStep is one thing done.
type KeptStep struct {
	Words, Kind string
	Edits       []planner.Edit
}

// keeping is the draft on its way to where it is kept. Only the newest is written.
type keeping struct {
	sign string // of the draft that was handed on last
	next atomic.Pointer[KeptDraft]
	mu   sync.Mutex // held while one is written
}

// keepDraft keeps the draft in the background if its steps have changed.
func (s *session) keepDraft() {
	if s.need.Drafts == nil {
		return
	}
	d, sign := KeptDraft{At: s.need.Now(), Version: s.stored.Version}, ""
	for _, x := range s.draft.steps {
		d.Steps = append(d.Steps, KeptStep{x.words, x.kind, x.edits})
		sign += x.key + " "
	}
	if sign == s.keeping.sign {
		return
	}
	s.keeping.sign = sign
	s.keeping.next.Store(&d)
	s.background(func() func() {
		err := s.flushDraft()
		return func() {
			if err != nil {
				s.warn(fmt.Errorf("the draft would be lost with the console: %w", err))
			}
		}
	})
}

// flushDraft writes the draft that is to be kept, if there is one.
func (s *session) flushDraft() error {
	s.keeping.mu.Lock()
	defer s.keeping.mu.Unlock()
	if d := s.keeping.next.Swap(nil); d != nil {
		return s.need.Drafts.Keep(*d)
	}
	return nil
}

// forgetDraft is for leaving the console on purpose.
func (s *session) forgetDraft() {
	if s.need.Drafts != nil && s.keeping.sign != "" {
		s.keeping.next.Store(&KeptDraft{})
	}
}

// takeUp makes a draft that was left the draft of this console.
func (s *session) takeUp(d KeptDraft) {
	var steps []step
	for _, x := range d.Steps {
		s.draft.count++
		steps = append(steps, step{key: fmt.Sprint(s.draft.count), words: x.Words, kind: x.Kind, edits: x.Edits})
	}
	list, lost, fault := s.rebase(s.stored.In, steps)
	if len(list) == 0 {
		s.note = note{fmt.Sprintf("! None of the draft's edits can be made on the book as it is now: %v. It is offered again at the next start.", fault), rows.Alert}
		return
	}
	s.draft.steps = list
	s.say("Taken up: %s.", plural(len(list), "edit"))
	if lost > 0 {
		s.note = note{fmt.Sprintf("! Taken up; %d of %d edits can't be made on the book as it is now and are gone.", lost, len(steps)), rows.Alert}
	}
	said := s.note
	s.settle()
	s.note = said
	if err := s.flushDraft(); err != nil { // kept as this console's before the other is taken away
		s.warn(err)
		return
	}
	if err := s.need.Drafts.Forget(d.Name); err != nil {
		s.warn(err)
	}
}

// offer asks what is to become of drafts that were left, one after the other.
type offer struct {
	list []KeptDraft
	line rows.Line
}

func newOffer(c *console, list []KeptDraft) *offer { return &offer{list, offerLine(c, list[0])} }

// offerDrafts asks if there are any.
func (c *console) offerDrafts() {
	if c.need.Drafts == nil {
		return
	}
	list, err := c.need.Drafts.Left()
	if err != nil {
		c.warn(err)
	}
	if len(list) > 0 {
		c.modal = newOffer(c, list)
	}
}

func (o *offer) key(c *console, e *tcell.EventKey) bool {
	d, rest := o.list[0], o.list[1:]
	c.modal = nil
	switch keyName(e) {
	case "y", "Y":
		c.takeUp(d)
		return true
	case "d", "D":
		if err := c.need.Drafts.Forget(d.Name); err != nil {
			c.warn(err)
			return true
		}
		c.say("The draft that was left is dropped.")
	default:
		c.say("The draft that was left is offered again at the next start.")
	}
	if len(rest) > 0 {
		c.modal = newOffer(c, rest)
	}
	return true
}

func offerLine(c *console, d KeptDraft) rows.Line {
	var words []string
	for _, x := range d.Steps {
		words = append(words, x.Words)
	}
	text := fmt.Sprintf("! The console ended on %s with a draft of %s: %s. Take it up?", d.At.In(zoneOf(c.stored.In)).Format("Mon 2 Jan 15:04"), plural(len(words), "edit"),
		strings.Join(words, "; "))
	if d.Version != c.stored.Version {
		text += " The book has changed since."
	}
	return rows.Line{{Text: text, Tone: rows.Alert}, {Text: " y/N; d drops it", Tone: rows.Strong}}
}

// zoneOf is the plant's time zone.
func zoneOf(in *planner.Input) *time.Location {
	if in.Calendar.Zone == nil {
		return time.UTC
	}
	return in.Calendar.Zone
}

func (o *offer) height(width int) int { return len(rows.Wrap(o.line, width)) }

func (o *offer) draw(c *console, s tcell.Screen, x, y, width, height int) {
	drawQuestion(c, s, o.line, x, y, width, height)
}
