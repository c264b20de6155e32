package console

import (
	"fmt"
	"slices"
	"testing"
)

// TestDraftIsKept: each edit, undo and release is followed by what is kept; a console that is left on purpose leaves nothing, one that
// is stopped from outside leaves its draft.
func TestDraftIsKept(t *testing.T) {
	d := &drawer{}
	n := needs(newShelf(plant()), &sums{}, map[string]string{})
	n.Drafts = d
	s := perform(t, setting{needs: &n})
	kept := func(want ...string) {
		t.Helper()
		s.idle()
		if got := d.words(); !slices.Equal(got, want) {
			t.Errorf("kept %q, want %q", got, want)
		}
	}
	kept()
	s.what("crew 8")
	kept("crew 8")
	s.what("down L4 2027-01-11..2027-01-15")
	kept("crew 8", "down L4 2027-01-11..2027-01-15")
	s.press("u")
	kept("crew 8")
	s.press("U")
	kept("crew 8", "down L4 2027-01-11..2027-01-15")
	s.press("7", "a", "y")
	kept()
	s.what("crew 9")
	s.press("q", "n")
	kept("crew 9")
	s.press("q", "y")
	if err := <-s.ended; err != nil {
		t.Fatal(err)
	}
	s.ended <- nil
	if got := d.words(); len(got) > 0 {
		t.Errorf("left on purpose, %q is kept", got)
	}
	s = perform(t, setting{needs: &n})
	s.what("crew 7")
	s.leave()
	s.close()
	if got := d.words(); !slices.Equal(got, []string{"crew 7"}) {
		t.Errorf("stopped from outside, %q is kept, want crew 7", got)
	}
}

// what does a what-if in words.
func (s *stage) what(words string) {
	s.press("w")
	s.write(words)
	s.press("Enter")
	s.idle()
}

// TestDraftIsOffered: what a console left is offered to the next, which takes it up, leaves it for later or drops it.
func TestDraftIsOffered(t *testing.T) {
	for key, want := range map[string]struct{ steps, left int }{"y": {2, 0}, "Enter": {0, 1}, "d": {0, 0}} {
		n := needs(newShelf(plant()), &sums{}, map[string]string{})
		d := &drawer{}
		n.Drafts = d
		s := perform(t, setting{needs: &n})
		s.what("crew 8")
		s.what("down L4 2027-01-11..2027-01-15")
		s.leave()
		s.close()
		k := d.kept
		k.Name = "left"
		n.Drafts = &drawer{left: []KeptDraft{k}}
		s = perform(t, setting{needs: &n})
		s.has("with a draft of 2 edits: crew 8; down L4 2027-01-11..2027-01-15. Take it up? y/N; d drops it")
		s.press(key)
		s.idle()
		got := len(n.Drafts.(*drawer).left)
		if steps := len(s.c.draft.steps); steps != want.steps || got != want.left {
			t.Errorf("%s: %d edits and %d left, want %d and %d", key, steps, got, want.steps, want.left)
		}
		if key == "y" {
			s.has("DRAFT 2")
			if words := n.Drafts.(*drawer).words(); len(words) != 2 {
				t.Errorf("taken up, %q is kept", words)
			}
		}
	}
}

// TestDraftOnAnotherBook: edits that the book has no more room for are told of; a draft of which nothing is left stays to be offered.
func TestDraftOnAnotherBook(t *testing.T) {
	n := needs(newShelf(plant()), &sums{}, map[string]string{})
	d := &drawer{}
	n.Drafts = d
	s := perform(t, setting{needs: &n})
	s.what("crew 8")
	s.what("cancel O-4101")
	s.leave()
	s.close()
	k := d.kept
	k.Name = "left"
	for lost, want := range []string{"", "Taken up; 1 of 2 edits", "None of the draft's edits"} {
		if lost == 0 {
			continue
		}
		in := plant()
		in.Orders = in.Orders[1:]
		n := needs(newShelf(in), &sums{}, map[string]string{})
		k := KeptDraft{Name: "left", At: k.At, Version: 7, Steps: k.Steps[lost-1:]}
		dr := &drawer{left: []KeptDraft{k}}
		n.Drafts = dr
		s := perform(t, setting{needs: &n})
		s.has("The book has changed since.")
		s.press("y")
		s.has(want)
		s.idle()
		if fmt.Sprint(len(dr.left)) != fmt.Sprint(lost-1) {
			t.Errorf("%d edits lost: %d drafts left", lost, len(dr.left))
		}
	}
}
