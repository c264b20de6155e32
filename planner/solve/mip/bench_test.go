package mip

import (
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"feedline/planner/solve"
)

func TestOne(t *testing.T) {
	names := os.Getenv("ONE")
	if names == "" {
		t.Skip("set ONE to a list of reference models")
	}
	limit := 10 * time.Second
	if d, err := time.ParseDuration(os.Getenv("LIMIT")); err == nil {
		limit = d
	}
	for _, name := range strings.Split(names, ",") {
		m := load(t, name+".mps")
		want, _ := published(t, name+".mps")
		opts := Options{Options: solve.Options{Time: limit, Gap: 1e-4}}
		if os.Getenv("VERBOSE") != "" {
			opts.Progress = func(p solve.Progress) {
				t.Logf("   %-12s %6.2fs obj %.8g bound %.8g nodes %d it %d", p.Phase, p.Elapsed.Seconds(), p.Objective, p.Bound, p.Nodes, p.Iterations)
			}
		}
		r := Solve(context.Background(), m, opts)
		t.Logf("%-26s %-12v obj %-14.9g bound %-14.9g want %-12.9g gap %.2e nodes %d it %d work %dM %.2fs", name, r.Stop, r.Objective, r.Bound, want, r.Gap(), r.Nodes, r.Iterations, r.Work/1e6, r.Elapsed.Seconds())
		if r.Has {
			if v := Violation(m, r.X); v > 1e-6 {
				t.Errorf("violation %g", v)
			}
		}
	}
}
