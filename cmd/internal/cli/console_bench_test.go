//go:build unix

package cli

import (
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/planner/benchplant"
)

// cpu is the processor time that the process has taken, which a busy machine does not stretch.
func cpu() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkLoad is what the console reads before its first frame, of the large plant: records and the plan saved last.
func BenchmarkLoad(b *testing.B) {
	in := benchplant.Input(benchplant.L, 1)
	k, err := book.Create(filepath.Join(b.TempDir(), "plant.book"))
	if err != nil {
		b.Fatal(err)
	}
	defer k.Close()
	v, err := k.Save(b.Context(), in, book.SaveOptions{Who: "test", Note: "large"})
	if err != nil {
		b.Fatal(err)
	}
	if _, err := k.SavePlan(b.Context(), rowstest.Plan(in, benchplant.Start, time.Now()), book.PlanMeta{Input: v}); err != nil {
		b.Fatal(err)
	}
	path := k.Path()
	begun := cpu()
	defer func() { b.ReportMetric((cpu()-begun).Seconds()*1000/float64(b.N), "cpu-ms/op") }()
	for b.Loop() {
		again, err := book.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := (&consoleBook{b: again}).Load(b.Context()); err != nil {
			b.Fatal(err)
		}
		again.Close()
	}
}
