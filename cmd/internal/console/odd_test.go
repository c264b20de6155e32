package console

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/lines/calendar"
)

// TestEndsBeforeItsFirstFrame: a console that is told to end before its terminal is there ends once it is.
func TestEndsBeforeItsFirstFrame(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	early := func(c *console) {
		cancel()
		told := make(chan struct{})
		go func() { c.pump(ctx); close(told) }()
		select {
		case <-told:
		case <-time.After(100 * time.Millisecond): // it waits for the terminal
		}
	}
	go func() {
		ended <- Run(ctx, Options{Needs: needs(newShelf(plant()), &sums{}, map[string]string{}), Screen: tcell.NewSimulationScreen("UTF-8"), ready: early})
	}()
	select {
	case err := <-ended:
		if err != nil {
			t.Fatal(err)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("the console does not end")
	}
}

// TestEndsInEveryState: so does one with a form, a question, a page to read, a filter, an offer or a plan in hand.
func TestEndsInEveryState(t *testing.T) {
	for _, keys := range []string{"w", "2 p", "6 Enter", "6 n Tab", "?", "3 Enter", "/", "7 r a", "2 i Enter", "2 i Enter q", "Ctrl-C", "r"} {
		gate := make(chan struct{})
		s := perform(t, setting{sums: &sums{gate: gate}})
		s.press(strings.Fields(keys)...)
		s.close() // fails the test if it does not end
		close(gate)
	}
	n := needs(newShelf(plant()), &sums{}, map[string]string{})
	n.Drafts = &drawer{left: []KeptDraft{{Name: "left", At: morning, Version: 1, Steps: []KeptStep{{Words: "crew 8"}}}}}
	s := perform(t, setting{needs: &n})
	s.has("Take it up?")
	s.close()
}

// TestPlanAgainIsInView: that the plan is not of the book as it is, and what to do, is not cut off behind its figures.
func TestPlanAgainIsInView(t *testing.T) {
	for _, w := range []int{80, 50} {
		s := perform(t, setting{book: stale(), w: w, h: 24})
		s.has("! The book has changed since: r plans again")
	}
}

// stale is a book that has changed since its plan.
func stale() *shelf {
	b := newShelf(plant())
	b.version, b.log = 2, []string{"a change"}
	return b
}

// TestLostDraftSaysWhy: where nothing of a draft that was left can be made any more, the reason is told.
func TestLostDraftSaysWhy(t *testing.T) {
	n := needs(newShelf(plant()), &sums{}, map[string]string{})
	edits, err := (&sums{}).Words(plant(), monday, "cancel O-4101")
	if err != nil {
		t.Fatal(err)
	}
	in := plant()
	in.Orders = in.Orders[1:]
	n.Book = newShelf(in)
	n.Drafts = &drawer{left: []KeptDraft{{Name: "left", At: morning, Version: 1, Steps: []KeptStep{{Words: "cancel O-4101", Edits: edits}}}}}
	s := perform(t, setting{needs: &n, w: 120, h: 30})
	s.press("y")
	s.has("None of the draft's edits can be made")
	s.has("O-4101")
	s.lacks("nil")
}

// TestSelectedDayAfterUndo: the column that is marked, the words below the table and the words of an edit are of the same days, also
// when a plan comes back that has a week where the other had days.
func TestSelectedDayAfterUndo(t *testing.T) {
	b := newShelf(plant())
	b.plans[0] = rowstest.Plan(plant(), monday-21, morning.AddDate(0, 0, -20))
	s := perform(t, setting{book: b, first: "lines"})
	s.press("r")
	s.idle()
	s.press("2", "l", "l", "l")
	g := s.c.views[1].grids["floor"]
	was := g.column
	s.press("7", "D", "y", "2")
	s.idle()
	s.run(func() {})
	day, err := calendar.ParseDay(g.column)
	x, ok := s.c.cell(s.c.views[1])
	if err != nil || !ok || g.shown.Columns[g.columnAt()].Key != g.column || x.span.From != day {
		t.Errorf("column %s of %s, the cell begins %s; it was %s:\n%s", g.column, g.shown.Columns[g.columnAt()].Key, x.span.From, was, s.text())
	}
	if w, _ := calendar.ParseDay(was); !(x.span.From <= w && w < x.span.To) || x.span.To-x.span.From < 7 {
		t.Errorf("%s was selected, %s..%s is, want the week that it is in", was, x.span.From, x.span.To)
	}
}

// TestOverNight: a console that is left open keeps the day and the age of the plan.
func TestOverNight(t *testing.T) {
	n := needs(newShelf(plant()), &sums{}, map[string]string{})
	now := morning
	n.Now = func() time.Time { return now }
	s := perform(t, setting{needs: &n})
	s.has("Planned 5 Jan 06:30, 1 hour ago")
	today := s.c.facts.Today()
	s.run(func() { now = now.Add(24 * time.Hour); s.c.keepTime() })
	s.idle()
	s.has("Planned 5 Jan 06:30, 25 hours ago")
	if got := s.c.facts.Today(); got != today+1 {
		t.Errorf("today is %s, want %s", got, today+1)
	}
	same := s.c.facts
	s.run(func() { now = now.Add(time.Second); s.c.keepTime() })
	if s.c.facts != same {
		t.Error("the facts are made anew each second")
	}
}

// TestPastDays: nothing is pinned, stopped or started on days that are past; today is not.
func TestPastDays(t *testing.T) {
	b := newShelf(plant())
	b.plans[0] = rowstest.Plan(plant(), monday-400, morning.AddDate(0, 0, -400))
	for _, s := range []*stage{perform(t, setting{book: b, first: "lines"}), perform(t, setting{first: "lines"})} {
		if s.c.plan().Start == monday {
			s.press("h") // from today to Monday
		}
		for _, k := range []string{"p", "f", "i", "s", "d", "b"} {
			s.press(k)
			s.has(k + ": not now: the days till")
			s.has("are past")
		}
	}
	s := perform(t, setting{first: "lines"})
	s.press("d")
	s.has("Down down L1 2027-01-05..2027-01-05")
}

// TestWhatIfOnAPlanThatBeginsLater: it begins with that plan, so that their costs compare; r plans from today.
func TestWhatIfOnAPlanThatBeginsLater(t *testing.T) {
	b := newShelf(plant())
	b.plans[0] = rowstest.Plan(plant(), monday+70, morning)
	s := perform(t, setting{book: b})
	s.what("crew 8")
	if got := s.c.plan().Start; got != monday+70 || s.c.plan() == b.plans[0] {
		t.Errorf("the what-if begins %s, the plan %s", got, monday+70)
	}
	s.lacks("the days differ")
	s.press("u", "r")
	s.idle()
	if got := s.c.plan().Start; got != monday+1 {
		t.Errorf("planned anew from %s, want today", got)
	}
}
