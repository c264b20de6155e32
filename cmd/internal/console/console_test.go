package console

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"

	"feedline/cmd/internal/console/rows"
	"feedline/planner"
)

var sizes = [][2]int{{80, 24}, {120, 40}, {40, 10}}

// TestFrames holds every screen at every size against its stored frame.
func TestFrames(t *testing.T) {
	for _, size := range sizes {
		s := perform(t, setting{w: size[0], h: size[1]})
		for i, x := range screens {
			s.press(itoa(i + 1))
			golden(t, fmt.Sprintf("%s-%dx%d.txt", x.Name, size[0], size[1]), s.text())
		}
	}
}

// TestASCIIFrames: the same in a locale that is not UTF-8 holds nothing but ASCII.
func TestASCIIFrames(t *testing.T) {
	for _, size := range sizes {
		s := perform(t, setting{w: size[0], h: size[1], look: Look{ASCII: true}})
		for i, x := range screens {
			s.press(itoa(i + 1))
			for _, r := range s.text() {
				if r > 0x7f {
					t.Errorf("%s at %v: %q is not ASCII", x.Name, size, r)
				}
			}
			if size == sizes[0] && x.Name == "today" {
				golden(t, "today-ascii.txt", s.text())
			}
		}
	}
}

// TestNothingByColourAlone: with and without colour the frames say the same, and without it no cell has a colour.
func TestNothingByColourAlone(t *testing.T) {
	with, without := perform(t, setting{look: Look{Colour: true}}), perform(t, setting{})
	for i := range screens {
		with.press(itoa(i + 1))
		without.press(itoa(i + 1))
		if with.text() != without.text() {
			t.Errorf("screen %d says more in colour:\n%s\nthan without:\n%s", i+1, with.text(), without.text())
		}
		coloured := 0
		without.run(func() {
			cells, _, _ := without.screen.GetContents()
			for _, c := range cells {
				if fg, bg, _ := c.Style.Decompose(); fg != tcell.ColorDefault || bg != tcell.ColorDefault {
					coloured++
				}
			}
		})
		if coloured > 0 {
			t.Errorf("screen %d: %d cells have a colour where none is wanted", i+1, coloured)
		}
	}
	for _, l := range []Look{{Colour: true}, {}} {
		for tone := rows.Plain; tone <= rows.Accent; tone++ {
			if fg, _, _ := l.style(tone).Decompose(); fg == tcell.ColorRed || fg == tcell.ColorGreen || fg == tcell.ColorMaroon {
				t.Errorf("tone %d is red or green", tone)
			}
		}
	}
}

// TestWhatIf: an edit is planned, its difference shown, undone and done again; the book is not touched.
func TestWhatIf(t *testing.T) {
	book := newShelf(plant())
	s := perform(t, setting{book: book})
	before := s.text()
	s.press("2", "p")
	s.has("Pin run L1")
	s.press("Enter")
	s.idle()
	s.has("DRAFT")
	s.has("Against stored: cost +250")
	if len(s.c.in().Pins) != len(book.in.Pins)+1 {
		t.Errorf("the draft has %d pins, want one more than the book's %d", len(s.c.in().Pins), len(book.in.Pins))
	}
	s.press("u")
	s.idle()
	s.lacks("DRAFT")
	s.press("1", "Tab", "Shift-Tab")
	if s.text() != before {
		t.Errorf("after undo:\n%s\nbefore the edit:\n%s", s.text(), before)
	}
	s.press("U")
	s.idle()
	s.has("Against stored: cost +250")
	if book.version != 1 || len(book.plans) != 1 {
		t.Errorf("version %d, %d plans: something was saved", book.version, len(book.plans))
	}
}

// TestStopKeepsTheBest: Ctrl-C stops a plan being made, and what it has is kept; edits meanwhile are not.
func TestStopKeepsTheBest(t *testing.T) {
	s := perform(t, setting{sums: &sums{gate: make(chan struct{})}})
	s.press("2", "i", "Enter")
	for told := false; !told; {
		s.run(func() { told = s.c.solve.last.Load() != nil })
	}
	s.run(func() {})
	s.has("Planning")
	s.has("bound")
	s.press("j", "k") // keys go on
	s.press("7", "a")
	s.has("not now")
	s.press("Ctrl-C")
	s.idle()
	s.has("the best plan so far is kept")
	s.has("Against stored")
	if s.c.solve != nil || s.c.draft.steps[0].plan == nil {
		t.Error("the plan that was stopped is not kept")
	}
}

// TestNewEditGivesUpThePlan: an edit made while one is planned plans again, with both.
func TestNewEditGivesUpThePlan(t *testing.T) {
	gate := make(chan struct{}, 1)
	s := perform(t, setting{sums: &sums{gate: gate}})
	s.press("2", "i", "Enter", "j", "i", "Enter")
	gate <- struct{}{}
	s.idle()
	if n := len(s.c.draft.steps); n != 2 || s.c.draft.steps[1].plan == nil || s.c.draft.steps[0].plan != nil {
		t.Errorf("%d steps, or the wrong one is planned", n)
	}
	s.has("DRAFT 2")
}

// TestAccept: released, the draft is the book's and the promise; u takes it back.
func TestAccept(t *testing.T) {
	book := newShelf(plant())
	s := perform(t, setting{book: book})
	pins := len(book.in.Pins)
	s.press("2", "p", "Enter")
	s.idle()
	s.press("7", "a")
	s.has("y/N")
	s.press("n")
	s.has("No: nothing was done")
	if book.version != 1 {
		t.Fatal("no was taken for yes")
	}
	s.press("a", "y")
	s.idle()
	s.has("Released")
	if book.version != 2 || len(book.in.Pins) != pins+1 || book.release.ID != 2 {
		t.Errorf("version %d, %d pins, plan %d released; want 2, %d, 2", book.version, len(book.in.Pins), book.release.ID, pins+1)
	}
	s.press("u")
	s.has("Take the release back?")
	s.press("y")
	s.idle()
	if book.version != 3 || len(book.in.Pins) != pins {
		t.Errorf("version %d, %d pins after taking back; want 3, %d", book.version, len(book.in.Pins), pins)
	}
	s.has("the plan before is the promise")
	s.has("As released")
	if p := book.plans[book.release.ID-1]; p != book.plans[0] {
		t.Error("the promise is not the plan from before")
	}
}

// TestStale: a second console's edit is refused with what changed, overwrites nothing, and can be put on the book as it is.
func TestStale(t *testing.T) {
	book := newShelf(plant())
	a, b := perform(t, setting{book: book}), perform(t, setting{book: book})
	a.press("2", "p", "Enter")
	b.press("3", "Tab", "Tab", "b")
	a.idle()
	b.idle()
	a.press("7", "a", "y")
	b.press("7", "a", "y")
	b.has("nothing was saved")
	b.has("run L1")
	held := 0
	for _, l := range book.in.Lots {
		if l.Hold {
			held++
		}
	}
	if book.version != 2 || held != 1 {
		t.Fatalf("version %d with %d lots on hold: the stale edit was saved", book.version, held)
	}
	b.press("r")
	b.idle()
	b.has("DRAFT 1")
	if len(b.c.in().Pins) != len(book.in.Pins) {
		t.Error("the draft lacks what the other console saved")
	}
	b.press("7", "a", "y")
	b.idle()
	held = 0
	for _, l := range book.in.Lots {
		if l.Hold {
			held++
		}
	}
	if book.version != 3 || held != 2 {
		t.Errorf("version %d with %d lots on hold, want 3 and 2", book.version, held)
	}
}

// TestFilterSortCopyExport: from a table.
func TestFilterSortCopyExport(t *testing.T) {
	s := perform(t, setting{first: "orders"})
	all := len(s.c.view().grid().shown.Rows)
	s.press("/")
	s.write("sk80")
	s.press("Enter")
	if n := len(s.c.view().grid().shown.Rows); n == 0 || n >= all {
		t.Errorf("%d of %d rows hold sk80", n, all)
	}
	for _, r := range s.c.view().grid().shown.Rows {
		if !strings.Contains(strings.ToLower(fmt.Sprint(r.Cells)), "sk80") {
			t.Errorf("row %s does not hold sk80", r.Key)
		}
	}
	s.press("y")
	copied := string(s.screen.GetClipboardData())
	if !strings.Contains(copied, "SK80\t") {
		t.Errorf("copied %q, want the row with tabs", copied)
	}
	s.press("e")
	csv := s.files["orders-orders.csv"]
	if !strings.HasPrefix(csv, "order,customer,profile,length_m,due,complete,late_d,") || strings.Count(csv, "\n") != 1+len(s.c.view().grid().shown.Rows) {
		t.Errorf("exported:\n%s", csv)
	}
	s.press("Esc", "o", "o", "o", "o", "O")
	g := s.c.view().grid()
	if g.sortBy != "length_m" || !g.down {
		t.Fatalf("sorted by %q, down %v", g.sortBy, g.down)
	}
	last := -1.0
	for i, r := range g.shown.Rows {
		x := r.Cells[3].Value.(float64)
		if i > 0 && x > last {
			t.Errorf("row %d: %g m after %g m", i, x, last)
		}
		last = x
	}
}

// TestEnquiry: the promise of an enquiry is worked out and shown.
func TestEnquiry(t *testing.T) {
	s := perform(t, setting{first: "orders"})
	s.press("p", "Enter")
	s.idle()
	s.has("can be promised for 9 Feb; feed bounds it")
}

// TestCaution: wherever a line is started the caution stands.
func TestCaution(t *testing.T) {
	s := perform(t, setting{first: "lines"})
	s.press("j", "j", "j", "j", "j", "s") // L6 is ready
	s.has("lockout release, heat soak")
	s.press("Enter")
	s.idle()
	s.has("lockout release, heat soak") // the cell of the start
	s.press("5", "Tab", "Tab", "Tab", "s")
	s.has("lockout release")
}

// TestRecords: yesterday's metres by keyboard alone, and taken back.
func TestRecords(t *testing.T) {
	s := perform(t, setting{first: "records"})
	s.has("0 of 5 runs recorded")
	s.press("Enter")
	s.write("7 000")
	s.press("Enter")
	s.write("80")
	s.press("Enter")
	s.write("22.5")
	s.press("Ctrl-S")
	s.idle()
	s.has("Recorded")
	s.has("1 of 5 runs recorded")
	s.has("7 000")
	s.press("x", "y")
	s.idle()
	s.has("0 of 5 runs recorded")
}

// TestWrongWords: what can't be read stays in the prompt, with what would be right.
func TestWrongWords(t *testing.T) {
	s := perform(t, setting{})
	s.press("w")
	s.write("burn L1")
	s.press("Enter")
	s.has("begin with one of: down")
	s.has("burn L1")
	s.press("Esc")
	if len(s.c.draft.steps) != 0 {
		t.Error("nonsense became an edit")
	}
}

// emptyBooks are books without plan, without lines, without anything.
func emptyBooks() map[string]*shelf {
	in := plant()
	in.Lines, in.Fits = nil, nil
	return map[string]*shelf{
		"no plan":  {in: plant(), version: 1},
		"no rows":  {in: &planner.Input{}, version: 1},
		"no lines": newShelf(in),
	}
}

// TestEmptyBooks: a book without plan, without lines, without anything can be looked at.
func TestEmptyBooks(t *testing.T) {
	for name, b := range emptyBooks() {
		s := perform(t, setting{book: b})
		for i := range screens {
			s.press(itoa(i + 1))
			for range s.c.views[i].tables() {
				s.press("j", "j", "k", "G", "g", "PgDn", "PgUp", "l", "h", "j", "Enter", "Esc", "Tab")
			}
			s.press("e", "?", "j", "Esc")
		}
		if name == "no plan" {
			s.press("1")
			s.has("r plans")
			s.press("r")
			s.idle()
			s.has("Run 5 of 6 lines")
		}
	}
}

// TestKeysInEmptyBooks: no key of any screen and table does harm where there is nothing, and the selection can be moved after it.
func TestKeysInEmptyBooks(t *testing.T) {
	for _, b := range emptyBooks() {
		s := perform(t, setting{book: b})
		for i := range screens {
			for range max(1, len(s.c.views[i].tables())) {
				for _, b := range slices.Concat(screens[i].bindings, everywhere) {
					if k := b.keys[0]; k != "q" && k != "Ctrl-C" && k != "Tab" { // the first two leave
						s.press(itoa(i+1), k, "Enter", "Esc", "j", "l")
						s.idle()
					}
				}
				s.press("Tab")
			}
		}
		s.has("[")
	}
}

// TestOddNames: names with what tview takes for a tag, with letters that run from right to left, wide ones and control characters
// are shown as they are, and nothing of them acts on the terminal.
func TestOddNames(t *testing.T) {
	in := plant()
	in.Plant.Name = "Works [red]m[m] \x1b[31m"
	in.Orders[0].Customer = "[::b]מפעל קלקר[m]"
	in.Orders[1].Customer = "\u202eevil\u202c 東京発泡 [\"x\"]"
	in.Lots[0].Reason = "a\nb\tc\x07"
	in.Deliveries[0].Note = strings.Repeat("東", 200)
	b := &shelf{in: in, version: 1}
	b.plans, b.of = newShelf(in).plans, []int64{1}
	for _, size := range sizes {
		s := perform(t, setting{book: b, w: size[0], h: size[1]})
		for i := range screens {
			s.press(itoa(i + 1))
			for _, r := range s.text() {
				if r == '\x1b' || r == '\u202e' || r == '\x07' {
					t.Errorf("screen %d shows %q", i+1, r)
				}
			}
			for n, line := range strings.Split(strings.TrimRight(s.text(), "\n"), "\n") {
				if w := rows.Width(line); w > size[0] {
					t.Errorf("screen %d at %v, row %d is %d wide: %q", i+1, size, n, w, line)
				}
			}
		}
		s.press("4", "/")
		s.write("[m]")
		s.press("Enter", "Enter")
		s.has("[::b]מפעל קלקר[m]")
		s.press("Esc", "Esc", "/")
		s.write("東京")
		s.press("Enter", "Enter")
		s.has("evil 東京発泡 [\"x\"]")
	}
}
