//go:build unix

package mip

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/planner/solve"
)

// TestLong measures models of the reference data against cbc, if that is installed. It runs when ONE holds a list of models
// (without .mps) or "all"; LIMIT is the processor time for each, 10s by default; VERBOSE shows progress. Both solvers get the
// same processor time (this one on Options.Workers = all cores, cbc on one thread) and a relative gap of 1e-4 counts as proven.
//
//	ONE=all LIMIT=60s go test -run TestLong -v -timeout 0 ./planner/solve/mip
func TestLong(t *testing.T) {
	names := strings.Split(os.Getenv("ONE"), ",")
	switch names[0] {
	case "":
		t.Skip("set ONE to a list of reference models, or to all")
	case "all":
		names = allModels(t)
	}
	limit := limitFromEnv()
	ours, theirs := 0, 0
	for _, name := range names {
		line, proven := measure(t, name, limit)
		seconds, other := peer(t, name, limit)
		t.Logf("%s  cbc %s ratio %.2f", line, other, seconds/proven)
		if proven < inf {
			ours++
		}
		if seconds < inf {
			theirs++
		}
	}
	t.Logf("proven: %d here, %d by cbc, of %d", ours, theirs, len(names))
}

// measure solves a model and returns a line about it and the processor time to the proof, +Inf without one.
func measure(t *testing.T, name string, limit time.Duration) (string, float64) {
	m := load(t, name+".mps")
	want, known := published(t, name+".mps")
	opts := Options{Options: solve.Options{Gap: 1e-4}}
	if os.Getenv("VERBOSE") != "" {
		opts.Progress = func(p solve.Progress) {
			t.Logf("   %-12s %6.2fs obj %.8g bound %.8g nodes %d it %d", p.Phase, p.Elapsed.Seconds(), p.Objective, p.Bound, p.Nodes, p.Iterations)
		}
	}
	before := cpuTime()
	ctx, cancel := cpuLimit(limit)
	defer cancel()
	r := Solve(ctx, m, opts)
	spent := (cpuTime() - before).Seconds()
	checkResult(t, m, r)
	if known && (r.Bound > want+2e-6*math.Max(1, math.Abs(want)) || r.Has && r.Objective < want-2e-6*math.Max(1, math.Abs(want))) {
		t.Errorf("%s: objective %.10g, bound %.10g, published %.10g", name, r.Objective, r.Bound, want)
	}
	line := fmt.Sprintf("%-26s %-12v objective %-14.9g bound %-14.9g published %-12.9g gap %.2e nodes %d cpu %.2fs",
		name, r.Stop, r.Objective, r.Bound, want, r.Gap(), r.Nodes, spent)
	if r.Stop == solve.Optimal || r.Stop == solve.GapReached {
		return line, spent
	}
	return line, inf
}

// peer runs cbc on the same model; +Inf without a proof.
func peer(t *testing.T, name string, limit time.Duration) (float64, string) {
	path, err := exec.LookPath("cbc")
	if err != nil || os.Getenv("PEER") == "0" {
		return inf, "not run"
	}
	out, err := exec.Command(path, referenceFile(t, name+".mps"), "-sec", fmt.Sprint(int(limit.Seconds())), "-ratioGap", "1e-4", "-threads", "1", "solve").Output()
	if err != nil {
		return inf, err.Error()
	}
	text := string(out)
	seconds := inf
	if _, rest, ok := strings.Cut(text, "Time (CPU seconds):"); ok && strings.Contains(text, "Optimal solution found") {
		if v, err := strconv.ParseFloat(strings.Fields(rest)[0], 64); err == nil {
			seconds = v
		}
	}
	return seconds, fmt.Sprintf("%.2fs", seconds)
}

// allModels names the mixed-integer models of the reference data.
func allModels(t *testing.T) []string {
	var names []string
	for _, dir := range []string{"miplib", "lotsizing"} {
		files, err := filepath.Glob(filepath.Join(filepath.Dir(referenceFile(t, "index.tsv")), dir, "*.mps"))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			names = append(names, dir+"/"+strings.TrimSuffix(filepath.Base(f), ".mps"))
		}
	}
	return names
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
