package console

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"

	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/planner"
)

var soak = flag.Int("soak", keysToPress(), "random keys to press; see DEVELOPERS.md")

// keysToPress is what FEEDLINE_KEYS asks for, else few.
func keysToPress() int {
	if n, err := strconv.Atoi(os.Getenv("FEEDLINE_KEYS")); err == nil && n > 0 {
		return n
	}
	return 1500
}

// TestEveryKeyInEveryScreen presses each binding once on each screen and in each of its tables: nothing panics, a key does
// something that is seen or says why not, and one that can't be used says so.
func TestEveryKeyInEveryScreen(t *testing.T) {
	if testing.Short() {
		t.Skip("some 600 keys: not in short")
	}
	s := perform(t, setting{})
	for at, x := range screens {
		for _, b := range slices.Concat(x.bindings, everywhere) {
			for _, k := range b.keys {
				if k == "q" || k == "Ctrl-C" { // these leave: see TestLeave
					continue
				}
				s.run(func() {
					s.c.stop()
					s.c.adopt(s.c.stored)
					s.c.modal, s.c.at = nil, at
					s.c.gather()
				})
				s.run(func() {})
				tables := len(s.c.view().tables())
				for table := range tables {
					s.run(func() {
						s.c.modal, s.c.at, s.c.note = nil, at, note{}
						s.c.view().focus = s.c.view().tables()[table]
					})
					s.run(func() {})
					before, off := s.text(), ""
					s.run(func() {
						if b.off != nil {
							off = b.off(s.c, s.c.view())
						}
					})
					s.press(k)
					s.idle()
					if off != "" {
						s.has("not now: " + off)
						continue
					}
					if s.text() == before && !b.move && k != itoa(at+1) && k != "Ctrl-L" && !(tables == 1 && strings.HasSuffix(k, "Tab")) {
						t.Errorf("%s, table %d: %s (%s) does nothing that is seen", x.Name, table, k, b.help)
					}
				}
			}
		}
	}
}

// TestUnknownKey: a key that stands for nothing says so.
func TestUnknownKey(t *testing.T) {
	s := perform(t, setting{})
	s.press("Z")
	s.has("Z does nothing here; ? lists the keys")
}

// TestKeysAreTold: no two bindings of a screen have the same key, and each has its help and, if it asks first, its question.
func TestKeysAreTold(t *testing.T) {
	for _, x := range screens {
		seen := map[string]bool{}
		for _, b := range x.bindings {
			for _, k := range b.keys {
				if seen[k] {
					t.Errorf("%s has %s twice", x.Name, k)
				}
				seen[k] = true
				if strings.Contains("jkhlgG/qUu", k) {
					t.Errorf("%s takes %s, which means the same everywhere", x.Name, k)
				}
				if keyName(event(k)) != k {
					t.Errorf("no key is named %s", k)
				}
			}
		}
		for _, b := range slices.Concat(x.bindings, everywhere) {
			if b.help == "" || b.danger != (b.question != nil) || b.do == nil && !b.move {
				t.Errorf("%s: binding %v lacks something", x.Name, b.keys)
			}
		}
	}
}

// TestReadmeKeys holds README.md's tables of keys against the bindings.
func TestReadmeKeys(t *testing.T) {
	text, err := os.ReadFile("../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, ok := strings.Cut(string(text), "\n## The console\n")
	if !ok {
		t.Fatal("README.md has no section on the console")
	}
	section, _, _ = strings.Cut(section, "\n## ")
	for _, k := range Keys() {
		row := fmt.Sprintf("| %s | %s | %s |", k.Screen, codes(k.Keys), strings.ReplaceAll(k.Does, "|", "\\|"))
		if !strings.Contains(section, row+"\n") {
			t.Errorf("README.md lacks the row\n%s", row)
		}
		section = strings.Replace(section, row+"\n", "", 1)
	}
	for _, line := range strings.Split(section, "\n") {
		if strings.HasPrefix(line, "| ") && !strings.HasPrefix(line, "| screen |") {
			t.Errorf("README.md has a row of no key: %s", line)
		}
	}
}

func codes(keys string) string { return "`" + strings.ReplaceAll(keys, " ", "` `") + "`" }

// TestLeave: q leaves at once without a draft, and asks with one.
func TestLeave(t *testing.T) {
	s := perform(t, setting{})
	s.press("2", "i", "Enter", "q")
	s.has("Leave? The draft's 1 edit would be lost.")
	s.press("n")
	s.has("nothing was done")
	s.press("q", "y")
	if err := <-s.ended; err != nil {
		t.Error(err)
	}
	s.ended <- nil
	s = perform(t, setting{})
	s.press("Ctrl-C")
	s.has("y/N")
	s.press("n", "q")
	<-s.ended
	s.ended <- nil
}

// TestRandomKeys presses random keys on two consoles of one book, and checks after each two hundred that the book and the drafts hold:
// the book only changes by what was released or saved, a plan can be made of it, and a draft is its edits on what was loaded.
func TestRandomKeys(t *testing.T) {
	n := *soak
	if testing.Short() {
		n = min(n, 400)
	}
	r := rand.New(rand.NewPCG(7, 11))
	book := newShelf(plant())
	stages := []*stage{perform(t, setting{book: book}), perform(t, setting{book: book, w: 40, h: 10})}
	keys := []string{"Enter", "Enter", "Esc", "Tab", "Up", "Down", "Left", "Right", "Ctrl-S", "Space"}
	for _, k := range Keys() {
		for _, one := range strings.Fields(k.Keys) {
			if one != "q" && one != "Ctrl-C" {
				keys = append(keys, one)
			}
		}
	}
	for i := range n {
		s := stages[r.IntN(len(stages))]
		switch k := r.IntN(40); {
		case k == 0:
			s.run(func() { s.c.halt() })
		case k == 1:
			s.press("y")
		case k == 2:
			s.write([]string{"7", "L4", "2027-01-12", "sk", "crew 9", "[m]", "東"}[r.IntN(7)])
		case k == 3:
			s.resize(20+r.IntN(120), 3+r.IntN(50))
		default:
			s.press(keys[r.IntN(len(keys))])
		}
		if i%200 == 199 || i == n-1 {
			holds(t, book, stages)
		}
		if t.Failed() {
			t.Fatalf("after %d keys:\n%s", i, s.text())
		}
	}
	t.Logf("%d keys, book version %d, %d plans", n, book.version, len(book.plans))
}

// holds checks what must hold of a book and of consoles on it.
func holds(t *testing.T, book *shelf, stages []*stage) {
	t.Helper()
	book.mu.Lock()
	in, version, logged := book.in, book.version, len(book.log)
	book.mu.Unlock()
	if int(version) != logged+1 {
		t.Errorf("version %d, but %d changes were saved", version, logged)
	}
	for _, p := range in.Check(planner.StartDay(in, planner.Options{Now: morning})) {
		if !p.Warning {
			t.Errorf("the book can't be planned: %v", p)
		}
	}
	for _, s := range stages {
		s.idle()
		s.run(func() {
			want := s.c.stored.In
			for i, x := range s.c.draft.steps {
				next, err := (applier{}).Apply(want, x.edits)
				if err != nil {
					t.Errorf("step %d, %s: %v", i, x.words, err)
					return
				}
				want = next
				if a, b := fmt.Sprint(*x.in), fmt.Sprint(*want); a != b {
					t.Errorf("step %d, %s: its records are not the book's with the edits up to it", i, x.words)
				}
			}
			if len(s.c.draft.steps) > 0 && s.c.solve == nil && s.c.planned() {
				p := rowstest.Plan(s.c.in(), s.c.plan().Start, morning)
				if p.Objective != s.c.plan().Objective {
					t.Errorf("the plan shown is not of the draft: cost %v, want %v", s.c.plan().Objective, p.Objective)
				}
			}
		})
	}
}

// TestResizeStorm: the terminal may take any size at any time, in any screen, with any prompt open.
func TestResizeStorm(t *testing.T) {
	s := perform(t, setting{})
	r := rand.New(rand.NewPCG(3, 5))
	n := 300
	if testing.Short() {
		n = 60
	}
	for i := range n {
		w, h := 1+r.IntN(160), 1+r.IntN(60)
		s.resize(w, h)
		s.press([]string{"1", "2", "3", "4", "5", "6", "7", "?", "Esc", "w", "Esc", "j", "l", "Tab"}[i%14])
	}
	s.resize(80, 24)
	s.press("Esc", "1")
	s.run(func() {})
	s.has("Run 5 of 6 lines")
}

// TestFrameFits: no screen writes beyond the terminal, whatever its size, and the state line is always there.
func TestFrameFits(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {40, 10}, {20, 5}, {200, 60}} {
		s := perform(t, setting{w: size[0], h: size[1]})
		for i := range screens {
			s.press(itoa(i + 1))
			if n := strings.Count(s.text(), "\n"); n != size[1] {
				t.Errorf("screen %d at %v has %d rows", i+1, size, n)
			}
			s.has("stored")
		}
	}
}

// TestKeysAsTerminalsSendThem: control characters and keys with a modifier have the names of the bindings.
func TestKeysAsTerminalsSendThem(t *testing.T) {
	for want, e := range map[string]*tcell.EventKey{
		"Ctrl-S": tcell.NewEventKey(tcell.KeyCtrlS, 0, tcell.ModCtrl),
		"Ctrl-C": tcell.NewEventKey(tcell.KeyCtrlC, 0, tcell.ModCtrl),
		"Ctrl-L": tcell.NewEventKey(tcell.KeyRune, 'l', tcell.ModCtrl),
		"Tab":    tcell.NewEventKey(tcell.KeyRune, '\t', tcell.ModNone),
		"Enter":  tcell.NewEventKey(tcell.KeyRune, '\r', tcell.ModNone),
	} {
		if got := keyName(e); got != want {
			t.Errorf("%s is named %s", want, got)
		}
	}
}
