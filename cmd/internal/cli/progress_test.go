package cli

import (
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"feedline/planner/solve"
)

// TestProgressLineFits: a line as wide as the terminal would wrap, and could not be cleared.
func TestProgressLineFits(t *testing.T) {
	p := solve.Progress{Elapsed: 25 * time.Second, Phase: "better plan", Has: true, Objective: 123456789, Bound: 98765432}
	for _, width := range []int{40, 60, 80, 120} {
		if line := progressLine(p, width); utf8.RuneCountInString(line) >= width || !strings.Contains(line, "25.0 s") {
			t.Errorf("width %d: %q", width, line)
		}
	}
	if line := progressLine(p, 120); !strings.Contains(line, "cost 123 456 789") || !strings.Contains(line, "gap 20.0 %") || !strings.Contains(line, "Ctrl-C") {
		t.Errorf("%q lacks cost, gap or the way out", line)
	}
	p.Has, p.Bound = false, math.Inf(-1)
	if line := progressLine(p, 80); strings.Contains(line, "cost") || strings.Contains(line, "bound") || strings.Contains(line, "Inf") {
		t.Errorf("nothing is held yet: %q", line)
	}
}
