package cli

import (
	"fmt"
	"math"
	"sync"
	"time"

	"feedline/planner/solve"
)

// redraw is the shortest time between two progress lines, and the delay before the first.
const redraw = 100 * time.Millisecond

// progress returns a callback that shows elapsed time, objective, bound and gap on one line of stderr, and a function that clears it.
// Both do nothing unless stderr is a terminal.
func (a *app) progress() (func(solve.Progress), func()) {
	if a.quiet || !a.terminal(a.Err) {
		return nil, func() {}
	}
	var mu sync.Mutex
	last, drawn := time.Now(), false
	show := func(p solve.Progress) {
		mu.Lock()
		defer mu.Unlock()
		if time.Since(last) < redraw {
			return
		}
		last, drawn = time.Now(), true
		fmt.Fprintf(a.Err, "\r\x1b[K%s", progressLine(p))
	}
	clear := func() {
		mu.Lock()
		defer mu.Unlock()
		if drawn {
			fmt.Fprint(a.Err, "\r\x1b[K")
		}
	}
	return show, clear
}

func progressLine(p solve.Progress) string {
	s := fmt.Sprintf("%5.1f s  %-12s", p.Elapsed.Seconds(), p.Phase)
	if p.Has {
		s += fmt.Sprintf("  cost %.0f", p.Objective)
	}
	if !math.IsInf(p.Bound, 0) {
		s += fmt.Sprintf("  bound %.0f", p.Bound)
	}
	if gap := solve.Gap(p.Has, p.Objective, p.Bound); !math.IsInf(gap, 1) {
		s += fmt.Sprintf("  gap %.1f %%", 100*gap)
	}
	return s + "  (Ctrl-C stops and keeps the best)"
}
