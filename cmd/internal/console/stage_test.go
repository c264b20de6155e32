package console

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/sheets"
	"feedline/planner"
)

var update = flag.Bool("update", false, "write the golden frames anew")

// applier is sums with edits applied as the program applies them.
type applier struct{ *sums }

func (applier) Apply(in *planner.Input, edits []planner.Edit) (*planner.Input, error) {
	return sheets.Apply(in, edits...)
}

// stage is a console on a simulated terminal.
type stage struct {
	t      testing.TB
	c      *console
	screen tcell.SimulationScreen
	ended  chan error
	leave  context.CancelFunc
	mu     sync.Mutex
	frame  string
	files  map[string]string
}

// setting is how a stage is set.
type setting struct {
	book  *shelf
	sums  *sums
	look  Look
	w, h  int
	first string
	needs *Needs // in place of book and sums
}

// perform opens a console and waits for its first frame and what it loads after it.
func perform(t testing.TB, set setting) *stage {
	t.Helper()
	if set.w == 0 {
		set.w, set.h = 80, 24
	}
	if set.book == nil {
		set.book = newShelf(plant())
	}
	if set.sums == nil {
		set.sums = &sums{}
	}
	s := &stage{t: t, screen: tcell.NewSimulationScreen("UTF-8"), ended: make(chan error, 1), files: map[string]string{}}
	n := needs(set.book, set.sums, s.files)
	if set.needs != nil {
		n = *set.needs
	}
	ctx, leave := context.WithCancel(context.Background())
	s.leave = leave
	begun := make(chan struct{})
	var once sync.Once
	opt := Options{Needs: n, Look: set.look, Screen: s.screen, First: set.first,
		ready: func(c *console) { s.c = c; s.screen.SetSize(set.w, set.h) },
		drawn: func(x tcell.Screen) { s.keep(x); once.Do(func() { close(begun) }) }}
	go func() { s.ended <- Run(ctx, opt) }()
	select {
	case <-begun:
	case err := <-s.ended:
		t.Fatalf("the console ended before its first frame: %v", err)
	}
	t.Cleanup(s.close)
	s.idle()
	return s
}

// keep copies the frame.
func (s *stage) keep(x tcell.Screen) {
	w, h := x.Size()
	var b strings.Builder
	for y := range h {
		line := ""
		for at := 0; at < w; {
			text, _, width := x.Get(at, y)
			if text == "" {
				text = " "
			}
			line += text
			at += max(1, width)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	s.mu.Lock()
	s.frame = b.String()
	s.mu.Unlock()
}

func (s *stage) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.frame
}

// run runs f on the console's goroutine and draws; false if the console has ended.
func (s *stage) run(f func()) bool { return s.queue(f, true) }

func (s *stage) queue(f func(), draw bool) bool {
	done := make(chan struct{})
	go func() {
		if draw {
			s.c.ui.QueueUpdateDraw(f)
		} else {
			s.c.ui.QueueUpdate(f)
		}
		close(done)
	}()
	select {
	case <-done:
		return true
	case err := <-s.ended:
		s.ended <- err
		return false
	}
}

// press presses keys by their names, each drawn before the next.
func (s *stage) press(keys ...string) {
	s.t.Helper()
	for _, k := range keys {
		if !s.run(func() { s.c.key(event(k)) }) {
			return
		}
	}
}

// type_ types a text.
func (s *stage) write(text string) {
	for _, r := range text {
		s.run(func() { s.c.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone)) })
	}
}

// idle waits until nothing runs in the background.
func (s *stage) idle() {
	for busy := 1; busy > 0; {
		if !s.queue(func() { busy = s.c.busy }, false) {
			return
		}
	}
	s.run(func() {})
}

// resize changes the terminal's size.
func (s *stage) resize(w, h int) {
	s.run(func() { s.screen.SetSize(w, h) })
	_ = s.screen.PostEvent(tcell.NewEventResize(w, h))
}

// close leaves the console.
func (s *stage) close() {
	s.leave()
	select {
	case err := <-s.ended:
		if err != nil {
			s.t.Error(err)
		}
		s.ended <- nil
	case <-time.After(time.Minute):
		s.t.Error("the console does not end")
	}
}

// has fails the test unless the frame holds a text.
func (s *stage) has(want string) {
	s.t.Helper()
	if !strings.Contains(strings.Join(strings.Fields(s.text()), " "), strings.Join(strings.Fields(want), " ")) {
		s.t.Errorf("the frame lacks %q:\n%s", want, s.text())
	}
}

func (s *stage) lacks(text string) {
	s.t.Helper()
	if strings.Contains(s.text(), text) {
		s.t.Errorf("the frame has %q:\n%s", text, s.text())
	}
}

// golden compares a text with a stored one.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", "frames", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-stored +now; -update stores it):\n%s", name, d)
	}
}

// backspace takes the last letter of a field away; no binding has it.
var backspace = tcell.NewEventKey(tcell.KeyBackspace2, 0, tcell.ModNone)
