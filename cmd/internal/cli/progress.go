package cli

import (
	"fmt"
	"math"
	"os"
	"sync"
	"time"
	"unicode/utf8"

	"golang.org/x/term"

	"feedline/inventory/quantity"
	"feedline/planner/solve"
)

// redraw is the time between two progress lines, and the delay before the first.
const redraw = 200 * time.Millisecond

// meter is the line of progress on stderr. The clock on it runs on when the solver has nothing new to say.
type meter struct {
	a       *app
	mu      sync.Mutex
	last    solve.Progress
	begun   time.Time
	drawn   bool
	stopped chan struct{}
}

// progress returns a callback that shows elapsed time, objective, bound and gap on one line of stderr, and a function that clears it.
// Both do nothing unless stderr is a terminal that can clear a line.
func (a *app) progress() (func(solve.Progress), func()) {
	if a.quiet || !a.terminal(a.Err) || a.Getenv("TERM") == "dumb" {
		return nil, func() {}
	}
	m := &meter{a: a, begun: time.Now(), stopped: make(chan struct{})}
	m.last = solve.Progress{Phase: "model", Bound: math.Inf(-1)}
	go m.run()
	return m.note, m.clear
}

func (m *meter) note(p solve.Progress) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.last = p
}

func (m *meter) run() {
	tick := time.NewTicker(redraw)
	defer tick.Stop()
	for {
		select {
		case <-m.stopped:
			return
		case <-tick.C:
			m.draw()
		}
	}
}

func (m *meter) draw() {
	m.mu.Lock()
	defer m.mu.Unlock()
	select {
	case <-m.stopped:
		return
	default:
	}
	m.last.Elapsed = time.Since(m.begun)
	m.drawn = true
	fmt.Fprintf(m.a.Err, "\r\x1b[K%s", progressLine(m.last, m.a.errWidth()))
}

func (m *meter) clear() {
	m.mu.Lock()
	defer m.mu.Unlock()
	close(m.stopped)
	if m.drawn {
		fmt.Fprint(m.a.Err, "\r\x1b[K")
	}
}

// errWidth is the columns of the terminal that stderr is, or 80.
func (a *app) errWidth() int {
	if f, ok := a.Err.(*os.File); ok {
		if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 0 {
			return w
		}
	}
	return 80
}

// progressLine is what fits a row of the given width: a line that wraps could not be cleared.
func progressLine(p solve.Progress, width int) string {
	parts := []string{fmt.Sprintf("%5.1f s  %-11s", p.Elapsed.Seconds(), p.Phase)}
	if p.Has {
		parts = append(parts, "cost "+quantity.Grouped(p.Objective, 0))
	}
	if !math.IsInf(p.Bound, 0) {
		parts = append(parts, "bound "+quantity.Grouped(p.Bound, 0))
	}
	if gap := solve.Gap(p.Has, p.Objective, p.Bound); !math.IsInf(gap, 1) {
		parts = append(parts, fmt.Sprintf("gap %.1f %%", 100*gap))
	}
	line := ""
	for i, part := range append(parts, "(Ctrl-C: keep the best)") {
		if i > 0 {
			part = "  " + part
		}
		if utf8.RuneCountInString(line+part) >= width {
			break
		}
		line += part
	}
	return line
}
