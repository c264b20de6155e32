//go:build unix

package compare

import (
	"context"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/mip"
	"feedline/planner/solve/solvetest"
)

// TestCancel measures the processor time between a cancellation at a random moment and the return, on large models: the
// relaxation of a plan of 10,000 rows, and searches in all their phases. Wanted: about 50 ms.
func TestCancel(t *testing.T) {
	wanted(t)
	plan := solvetest.LotSizing(1, 12, 60, 52)
	latency(t, "plan of 10,000 rows, relaxation", plan, 400*time.Millisecond, func(ctx context.Context, m *model.Model) {
		lp.Solve(ctx, m, solve.Options{})
	})
	search := func(ctx context.Context, m *model.Model) {
		r := mip.Solve(ctx, m, mip.Options{Options: solve.Options{Gap: provenGap, Workers: 1}})
		if r.Has && mip.Violation(m, r.X) > 1e-6 {
			t.Error("an invalid solution")
		}
	}
	latency(t, "plan of 10,000 rows, search", plan, 15*time.Second, search)
	for _, name := range []string{"lotsizing/tgt_g1", "lotsizing/set3-10"} {
		latency(t, name, readMPS(t, filepath.Join(reference(t), name+".mps")), 10*time.Second, search)
	}
}

// latency cancels twelve solves at random moments of their first longest seconds of processor time.
func latency(t *testing.T, name string, m *model.Model, longest time.Duration, run func(context.Context, *model.Model)) {
	r := rand.New(rand.NewPCG(7, 7))
	var late []float64
	for range 12 {
		ctx, cancel := context.WithCancel(context.Background())
		end := spent() + longest.Seconds()*r.Float64()*r.Float64()
		at := make(chan float64, 1)
		go func() {
			for spent() < end && ctx.Err() == nil {
				time.Sleep(2 * time.Millisecond)
			}
			at <- spent()
			cancel()
		}()
		run(ctx, m)
		done := spent()
		cancel()
		if from := <-at; from < done {
			late = append(late, done-from)
		}
	}
	if len(late) == 0 {
		t.Logf("%-34s always done before", name)
		return
	}
	slices.Sort(late)
	t.Logf("%-34s %2d cancellations: median %.0f ms, longest %.0f ms of processor time", name, len(late), late[len(late)/2]*1e3, late[len(late)-1]*1e3)
}
