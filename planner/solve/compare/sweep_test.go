//go:build unix

package compare

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"feedline/planner/solve"
	"feedline/planner/solve/mip"
	"feedline/planner/solve/peer"
)

// provenGap is the relative gap at which a sweep counts a model as proven.
const provenGap = 1e-4

// outcome is what a solver said of a model within its processor time.
type outcome struct {
	Word             string
	Objective, Bound float64
	Seconds          float64 // processor time
	Nodes            int64
	Proven           bool
}

func (o outcome) String() string {
	proof := "-"
	if o.Proven {
		proof = fmt.Sprintf("%.1f s", o.Seconds)
	}
	return fmt.Sprintf("%8s %13.9g %13.9g %8.2g", proof, o.Objective, o.Bound, solve.Gap(!math.IsNaN(o.Objective), o.Objective, o.Bound))
}

// TestSweep: the mixed-integer models of the reference data, this solver on one worker and the peers on one thread, each for
// the same processor time. Wanted: the published optimum reached and proven within 1e-4 on at least as many models as cbc
// proves, and no wrong answer.
func TestSweep(t *testing.T) {
	wanted(t)
	dir := reference(t)
	known := published(t, dir)
	limit := limitFromEnv()
	peers := peersFromEnv(t)
	t.Logf("processor time for each: %v; a gap of %g counts as proven", limit, provenGap)
	t.Logf("%-26s %13s | %-45s", "model", "published", "ours: proof, objective, bound, gap | each peer likewise")
	counts := make([]int, len(peers)+1)
	names := modelsFromEnv(t, dir)
	for _, name := range names {
		want := known[name+".mps"]
		theirs := make(chan []outcome, 1)
		go func() {
			var list []outcome
			for _, p := range peers {
				list = append(list, p(filepath.Join(dir, name+".mps"), limit))
			}
			theirs <- list
		}()
		all := append([]outcome{ours(t, dir, name, limit)}, <-theirs...)
		wrong(t, name, want, all[0])
		line := fmt.Sprintf("%-26s %13.9g", name, want)
		for k, o := range all {
			if o.Proven && !(math.Abs(o.Objective-want) > 2e-4*math.Max(1, math.Abs(want))) {
				counts[k]++
			}
			line += " | " + o.String()
		}
		t.Logf("%s | %d nodes, %s", line, all[0].Nodes, all[0].Word)
	}
	t.Logf("proven within %v: %d here; peers %v; of %d", limit, counts[0], counts[1:], len(names))
	if len(counts) > 1 && counts[0] < counts[1] {
		t.Error("fewer than the first peer")
	}
}

// wrong reports an answer that the published optimum contradicts.
func wrong(t *testing.T, name string, want float64, o outcome) {
	if math.IsNaN(want) {
		return
	}
	tol := 2e-6 * math.Max(1, math.Abs(want))
	if o.Bound > want+tol || o.Objective < want-tol || o.Proven && !near(o.Objective, want, 1.01*provenGap) {
		t.Errorf("%s: wrong answer: objective %.10g, bound %.10g, published %.10g", name, o.Objective, o.Bound, want)
	}
}

func ours(t *testing.T, dir, name string, limit time.Duration) outcome {
	m := readMPS(t, filepath.Join(dir, name+".mps"))
	opts := mip.Options{Options: solve.Options{Gap: provenGap, Workers: 1}}
	if os.Getenv("VERBOSE") != "" {
		opts.Progress = func(p solve.Progress) {
			t.Logf("   %-10s %6.2fs objective %.8g bound %.8g nodes %d", p.Phase, p.Elapsed.Seconds(), p.Objective, p.Bound, p.Nodes)
		}
	}
	before := spent()
	ctx, cancel := cpuLimit(limit)
	defer cancel()
	r := mip.Solve(ctx, m, opts)
	o := outcome{Word: r.Stop.String(), Objective: math.NaN(), Bound: r.Bound, Seconds: spent() - before, Nodes: r.Nodes}
	if r.Has {
		o.Objective = r.Objective
		if v := mip.Violation(m, r.X); v > 1e-6 {
			t.Errorf("%s: violation %g", name, v)
		}
		if z := m.Objective(r.X); !near(z, r.Objective, 1e-9) {
			t.Errorf("%s: objective %v, of the point %v", name, r.Objective, z)
		}
	}
	o.Proven = r.Stop == solve.Optimal || r.Stop == solve.GapReached
	return o
}

// peerFunc solves a model file within the processor time given.
type peerFunc func(file string, limit time.Duration) outcome

func peersFromEnv(t *testing.T) []peerFunc {
	var list []peerFunc
	for _, name := range strings.Split(os.Getenv("PEERS"), ",") {
		switch name {
		case "", "cbc":
			if _, err := exec.LookPath("cbc"); err != nil {
				t.Log("cbc is not installed and not run")
				continue
			}
			list = append(list, cbc)
		case "highs":
			list = append(list, highs(t))
		case "none":
		default:
			t.Fatalf("PEERS=%s, allowed: cbc, highs, none", name)
		}
	}
	return list
}

// after is the first number after word in text, NaN without one.
func after(text, word string) float64 {
	_, rest, ok := strings.Cut(text, word)
	if f := strings.Fields(rest); ok && len(f) > 0 {
		if v, err := strconv.ParseFloat(f[0], 64); err == nil {
			return v
		}
	}
	return math.NaN()
}

// cbc counts its limit in processor seconds by itself.
func cbc(file string, limit time.Duration) outcome {
	text, seconds := used(context.Background(), "cbc", file, "-sec", fmt.Sprint(limit.Seconds()), "-ratioGap", fmt.Sprint(provenGap), "-threads", "1", "solve")
	o := outcome{Objective: after(text, "Objective value:"), Bound: after(text, "Lower bound:"), Seconds: seconds}
	o.Proven = strings.Contains(text, "Result - Optimal solution found")
	if o.Proven && math.IsNaN(o.Bound) {
		o.Bound = o.Objective
	}
	return o
}

// highs is SciPy's, whose limit is by the clock; the time shown is the clock's too.
func highs(t *testing.T) peerFunc {
	s, err := peer.Find("highs")
	if err != nil {
		t.Skip(err)
	}
	return func(file string, limit time.Duration) outcome {
		o := outcome{Objective: math.NaN(), Bound: math.Inf(-1), Seconds: limit.Seconds()}
		if a, err := s.Solve(context.Background(), readMPS(t, file), peer.Options{Time: limit, Gap: provenGap}); err == nil {
			o = outcome{Objective: a.Objective, Bound: a.Bound, Seconds: a.Elapsed.Seconds(), Proven: a.Optimal}
		}
		return o
	}
}

// modelsFromEnv are the models that MODELS names.
func modelsFromEnv(t *testing.T, dir string) []string {
	var all []string
	for _, sub := range []string{"miplib", "lotsizing"} {
		files, err := filepath.Glob(filepath.Join(dir, sub, "*.mps"))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			all = append(all, sub+"/"+strings.TrimSuffix(filepath.Base(f), ".mps"))
		}
	}
	list := os.Getenv("MODELS")
	if list == "" || list == "all" {
		return all
	}
	var names []string
	for _, want := range strings.Split(list, ",") {
		n := len(names)
		for _, name := range all {
			prefix, open := strings.CutSuffix(want, "*")
			if name == want || open && strings.HasPrefix(name, prefix) {
				names = append(names, name)
			}
		}
		if len(names) == n {
			t.Fatalf("MODELS: no model %q; allowed: %s", want, strings.Join(all, ", "))
		}
	}
	return names
}

// limitFromEnv is LIMIT, a minute by default.
func limitFromEnv() time.Duration {
	if d, err := time.ParseDuration(os.Getenv("LIMIT")); err == nil {
		return d
	}
	return time.Minute
}
