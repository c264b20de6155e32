//go:build unix

package mip

import (
	"context"
	"os"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// byPeriod groups the whole-number columns by the last number of their names.
func byPeriod(m *model.Model) map[int][]model.Var {
	groups := map[int][]model.Var{}
	for j, whole := range m.Integer {
		if whole {
			parts := strings.Split(m.VarName[j], "_")
			t, _ := strconv.Atoi(parts[len(parts)-1])
			groups[t] = append(groups[t], model.Var(j))
		}
	}
	return groups
}

// byItem groups them by the first number of their names.
func byItem(m *model.Model) map[int][]model.Var {
	groups := map[int][]model.Var{}
	for j, whole := range m.Integer {
		if whole {
			digits := strings.TrimLeft(strings.Split(m.VarName[j], "_")[0], "abcdefghijklmnopqrstuvwxyz")
			i, _ := strconv.Atoi(digits)
			groups[i] = append(groups[i], model.Var(j))
		}
	}
	return groups
}

// periods joins consecutive groups into windows.
func periods(groups map[int][]model.Var, size, step int) [][]model.Var {
	last := 0
	for t := range groups {
		last = max(last, t)
	}
	var list [][]model.Var
	for a := 0; a <= last; a += step {
		var w []model.Var
		for t := a; t < a+size; t++ {
			w = append(w, groups[t]...)
		}
		if len(w) > 0 {
			list = append(list, w)
		}
	}
	return list
}

// TestStagesLong measures relax-and-fix and fix-and-optimize on the synthetic plant of the reference data: set STAGES to a
// model's name and LIMIT to the processor time.
func TestStagesLong(t *testing.T) {
	name := os.Getenv("STAGES")
	if name == "" {
		t.Skip("set STAGES to a reference model whose names end in _period")
	}
	m := load(t, name+".mps")
	limit := limitFromEnv()
	opts := Options{}
	if os.Getenv("VERBOSE") != "" {
		opts.Progress = func(p solve.Progress) {
			t.Logf("   %-12s %6.2fs cpu %v obj %.8g bound %.8g nodes %d it %d", p.Phase, p.Elapsed.Seconds(), cpuTime(), p.Objective, p.Bound, p.Nodes, p.Iterations)
		}
	}
	before := cpuTime()
	ctx, cancel := cpuLimit(limit)
	defer cancel()
	r := RelaxAndFix(ctx, m, periods(byPeriod(m), 6, 3), opts)
	t.Logf("%s: relax and fix %v %.8g bound %.8g nodes %d work %dM cpu %v", name, r.Stop, r.Objective, r.Bound, r.Nodes, r.Work/1e6, cpuTime()-before)
	if !r.Has {
		return
	}
	n := append(periods(byPeriod(m), 7, 3), periods(byItem(m), 6, 3)...)
	r = FixAndOptimize(ctx, m, r.X, n, opts)
	t.Logf("%s: fix and optimize %v %.8g nodes %d work %dM cpu %v", name, r.Stop, r.Objective, r.Nodes, r.Work/1e6, cpuTime()-before)
	checkResult(t, m, r)
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
