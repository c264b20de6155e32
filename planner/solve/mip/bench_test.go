package mip

import (
	"context"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/planner/solve"
)

func TestOne(t *testing.T) {
	names := os.Getenv("ONE")
	if names == "" {
		t.Skip("set ONE to a list of reference models")
	}
	limit := limitFromEnv()
	for _, name := range strings.Split(names, ",") {
		m := load(t, name+".mps")
		want, _ := published(t, name+".mps")
		opts := Options{Options: solve.Options{Gap: 1e-4}}
		if os.Getenv("CUTS") != "" {
			debugCuts = func(round int, found, picked []*cut, r *relaxation, work int64) {
				a, b := map[string]int{}, map[string]int{}
				for _, c := range found {
					a[c.source]++
				}
				for _, c := range picked {
					b[c.source]++
				}
				t.Logf("round %d bound %.8g rows %d found %v picked %v frac %d lpwork %dM sepwork %dM", round, r.bound, len(r.cuts), a, b, len(r.fractional(nil)), r.s.Work()/1e6, work/1e6)
			}
		}
		if os.Getenv("VERBOSE") != "" {
			opts.Progress = func(p solve.Progress) {
				t.Logf("   %-12s %6.2fs obj %.8g bound %.8g nodes %d it %d", p.Phase, p.Elapsed.Seconds(), p.Objective, p.Bound, p.Nodes, p.Iterations)
			}
		}
		before := cpuTime()
		ctx, cancel := cpuLimit(limit)
		r := Solve(ctx, m, opts)
		cancel()
		t.Logf("%-26s %-12v obj %-14.9g bound %-14.9g want %-12.9g gap %.2e nodes %d it %d work %dM %.2fs cpu %.2fs", name, r.Stop, r.Objective, r.Bound, want, r.Gap(), r.Nodes, r.Iterations, r.Work/1e6, r.Elapsed.Seconds(), (cpuTime() - before).Seconds())
		if r.Has {
			if v := Violation(m, r.X); v > 1e-6 {
				t.Errorf("violation %g", v)
			}
		}
	}
}

// cpuTime is the processor time that the process has used.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// cpuLimit is a context that ends when the process has used the given processor time from now on: on a machine that is
// shared a fairer measure than the clock.
func cpuLimit(limit time.Duration) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(context.Background())
	end := cpuTime() + limit
	go func() {
		for ctx.Err() == nil && cpuTime() < end {
			time.Sleep(20 * time.Millisecond)
		}
		cancel()
	}()
	return ctx, cancel
}

// limitFromEnv is LIMIT, ten seconds by default.
func limitFromEnv() time.Duration {
	if d, err := time.ParseDuration(os.Getenv("LIMIT")); err == nil {
		return d
	}
	return 10 * time.Second
}
