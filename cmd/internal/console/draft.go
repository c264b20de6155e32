package console

import (
	"errors"
	"fmt"

	"feedline/cmd/internal/console/rows"
	"feedline/planner"
)

// draft is the edits made since the book was loaded, and those taken back.
type draft struct {
	steps  []step
	undone []step        // to be done again, the last first
	again  *planner.Plan // a new plan of the records as they stand, not saved yet
	count  int           // steps ever made, for their keys
}

// step is one thing done: its edits, the records with them and all before, and their plan once there is one.
type step struct {
	key   string // unique in the session
	words string
	kind  string
	edits []planner.Edit
	base  *planner.Input // that the edits were made on
	in    *planner.Input
	plan  *planner.Plan // nil while there is none
}

func (d *draft) lines(stored *planner.Plan) []rows.EditLine {
	var list []rows.EditLine
	before := stored
	if d.again != nil {
		before = d.again
	}
	for _, s := range d.steps {
		list = append(list, rows.EditLine{Key: s.key, Text: s.words, Kind: s.kind, Cost: rows.EditCost(before, s.plan)})
		before = s.plan
	}
	return list
}

// errNoPlant says that there is nothing to plan.
var errNoPlant = errors.New("the book has no lines or no profiles: there is nothing to plan")

// do makes what the words say a step of the draft and plans it.
func (s *session) do(kind, words string) error {
	today := s.start()
	if today == 0 {
		today = s.facts.Today()
	}
	edits, err := s.need.Planner.Words(s.in(), today, words)
	if err != nil {
		return err
	}
	return s.edit(kind, words, edits)
}

// edit makes edits a step of the draft and plans it.
func (s *session) edit(kind, words string, edits []planner.Edit) error {
	in, err := s.need.Planner.Apply(s.in(), edits)
	if err != nil {
		return err
	}
	if err := plannable(in, s.need); err != nil {
		return err
	}
	s.draft.count++
	s.draft.steps = append(s.draft.steps, step{key: fmt.Sprint(s.draft.count), words: words, kind: kind, edits: edits, base: s.in(), in: in})
	s.draft.undone = nil
	s.say("Draft: %s. Nothing is saved; u undoes.", words)
	s.replan()
	return nil
}

// plannable is an error if no plan can be made of records.
func plannable(in *planner.Input, need Needs) error {
	if len(in.Lines) == 0 || len(in.Profiles) == 0 {
		return errNoPlant
	}
	for _, p := range in.Check(planner.StartDay(in, planner.Options{Now: need.Now()})) {
		if !p.Warning {
			return fmt.Errorf("%s", p)
		}
	}
	return nil
}

// undo takes the last step back, or the release made here if there is none.
func (s *session) undo() {
	n := len(s.draft.steps)
	if n == 0 {
		s.say("Nothing to undo.")
		return
	}
	last := s.draft.steps[n-1]
	s.draft.steps = s.draft.steps[:n-1]
	s.draft.undone = append(s.draft.undone, last)
	s.say("Undone: %s. U does it again.", last.words)
	s.settle()
}

// redo does the step undone last again.
func (s *session) redo() {
	n := len(s.draft.undone)
	if n == 0 {
		s.say("Nothing to do again.")
		return
	}
	next := s.draft.undone[n-1]
	if next.base != s.in() { // what it was made on has changed since
		list, lost, _ := s.rebase(s.in(), []step{next})
		if lost > 0 {
			s.note = note{fmt.Sprintf("! %s can't be done on the draft as it is now.", next.words), rows.Alert}
			return
		}
		next = list[0]
	}
	s.draft.undone = s.draft.undone[:n-1]
	s.draft.steps = append(s.draft.steps, next)
	s.say("Again: %s.", next.words)
	s.settle()
}

// take takes one step out of the midst of the draft; the steps after it are made anew without it.
func (s *session) take(key string) error {
	var left []step
	var gone step
	for _, x := range s.draft.steps {
		if x.key == key {
			gone = x
			continue
		}
		left = append(left, x)
	}
	if gone.key == "" {
		return errors.New("no edit is selected")
	}
	steps, lost, _ := s.rebase(s.stored.In, left)
	if lost > 0 {
		return fmt.Errorf("an edit after it builds on %q: take that out first", gone.words)
	}
	s.draft.steps, s.draft.undone = steps, append(s.draft.undone, gone)
	s.say("Taken out: %s.", gone.words)
	s.settle()
	return nil
}

// rebase makes steps anew on other records, without their plans; those that can't be made any more are lost, and err says
// why the first of them is.
func (s *session) rebase(in *planner.Input, steps []step) (out []step, lost int, err error) {
	for _, x := range steps {
		next, fault := s.need.Planner.Apply(in, x.edits)
		if fault == nil {
			fault = plannable(next, s.need)
		}
		if fault != nil {
			lost++
			if err == nil {
				err = fault
			}
			continue
		}
		x.base, x.in, x.plan = in, next, nil
		in, out = next, append(out, x)
	}
	return out, lost, err
}

// drop forgets the draft.
func (s *session) drop() {
	n := len(s.draft.steps)
	s.draft.undone = nil
	for i := n - 1; i >= 0; i-- { // U brings them back one by one
		s.draft.undone = append(s.draft.undone, s.draft.steps[i])
	}
	s.draft.steps, s.draft.again = nil, nil
	s.say("The draft is dropped, the book is as it was. U brings its edits back.")
	s.settle()
}

// settle shows what the draft has and plans if its last step has no plan yet.
func (s *session) settle() {
	if n := len(s.draft.steps); n > 0 && s.draft.steps[n-1].plan == nil {
		s.replan()
		return
	}
	s.stop()
	s.gather()
	s.loadKnown()
}

// accept saves the draft and makes its plan the promise.
func (s *session) accept() {
	if s.solve != nil {
		s.warn(errors.New("a plan is being made: wait for it, or stop it with Ctrl-C and keep the best"))
		return
	}
	before := acceptance{in: s.stored.In, plan: s.was, was: s.stored.Release}
	b, err := s.need.Book.Accept(s.ctx, Accepted{In: s.in(), Plan: s.plan(), Version: s.stored.Version, Release: s.stored.Release.ID, Note: s.draft.words()})
	if err != nil {
		s.refused(err)
		return
	}
	s.accepted = &before
	s.adopt(b)
	s.say("Released: the plan is the promise now. u takes it back.")
	s.gather()
}

// keep saves the draft and its plan without releasing it.
func (s *session) keep() {
	b, err := s.need.Book.Keep(s.ctx, Accepted{In: s.in(), Plan: s.plan(), Version: s.stored.Version, Release: s.stored.Release.ID, Note: s.draft.words()})
	if err != nil {
		s.refused(err)
		return
	}
	was, promised := s.was, s.promised
	s.adopt(b)
	if promised { // the promise stays what the draft is held against
		s.was, s.promised = was, true
	}
	s.say("Saved, not released.")
	s.gather()
}

// refused says why something was not saved.
func (s *session) refused(err error) {
	var stale *Stale
	if errors.As(err, &stale) {
		s.newer = [2]int64{-1, -1} // r takes the book in
		s.note = note{"! " + stale.Error() + "; r puts the draft on the book as it is now", rows.Alert}
		return
	}
	s.warn(err)
}

// words joins what was done, for the book's log.
func (d *draft) words() string {
	text := ""
	for i, x := range d.steps {
		if i > 0 {
			text += "; "
		}
		text += x.words
	}
	if text == "" {
		return "plan released"
	}
	return text
}

// canTakeBack reports whether undo would take a release back.
func (s *session) canTakeBack() bool { return len(s.draft.steps) == 0 && s.accepted != nil }

// takeBack makes the records and the promise what they were before the last release made here.
func (s *session) takeBack() {
	a := s.accepted
	if a == nil {
		s.say("Nothing to undo.")
		return
	}
	back := Accepted{In: a.in, Plan: a.plan, Version: s.stored.Version, Release: s.stored.Release.ID, Note: "release taken back"}
	save, said := s.need.Book.Accept, "Taken back: records and promise are what they were."
	switch {
	case a.plan == nil:
		save, said = s.need.Book.Keep, "Taken back: records are what they were; there was no plan before."
	case a.was.ID == 0: // a release can't be withdrawn, only followed by another
		said = "Taken back: records are what they were, and the plan before is the promise."
	}
	b, err := save(s.ctx, back)
	if err != nil {
		s.refused(err)
		return
	}
	s.accepted = nil
	s.adopt(b)
	s.say("%s", said)
	s.gather()
	s.loadPromise()
}

// reload takes in what the book holds by now and puts the draft on it.
func (s *session) reload() {
	steps := s.draft.steps
	b, err := s.need.Book.Load(s.ctx)
	if err != nil {
		s.warn(err)
		return
	}
	s.stop()
	s.adopt(b)
	s.accepted = nil
	lost := 0
	if len(steps) > 0 {
		s.draft.steps, lost, _ = s.rebase(b.In, steps)
	}
	s.say("The book is taken in as it is now.")
	if lost > 0 {
		s.note = note{fmt.Sprintf("! The book is taken in; %d of %d edits can't be made on it any more and are gone.", lost, len(steps)), rows.Alert}
	}
	s.gather()
	s.loadPromise()
	s.settle()
}
