//go:build unix

package console

import (
	"context"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/benchplant"
	"feedline/planner/solve"
)

// large is a book of the large plant, with a plan of sums.
func large() *shelf {
	in := benchplant.Input(benchplant.L, 1)
	return &shelf{in: in, version: 1, plans: []*planner.Plan{rowstest.Plan(in, monday, morning)}, of: []int64{1}}
}

// solver plans in earnest, so that keys have something to compete with.
type solver struct{ applier }

func (solver) Plan(ctx context.Context, in *planner.Input, start calendar.Day, _ *planner.Plan, progress func(solve.Progress)) (*planner.Plan, error) {
	return planner.Make(ctx, in, planner.Options{Start: monday, Now: morning, Time: time.Hour, Workers: 1, Progress: progress})
}

// cpu is the processor time that the process has taken, which a busy machine does not stretch.
func cpu() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkFirstFrame is the time from the start of the console to its first frame, book at hand: the budget is 150 ms with the
// reading of the book, which BenchmarkLoad of the command line measures.
func BenchmarkFirstFrame(b *testing.B) {
	book := large()
	begun := cpu()
	defer func() { b.ReportMetric((cpu()-begun).Seconds()*1000/float64(b.N), "cpu-ms/op") }()
	for b.Loop() {
		screen := tcell.NewSimulationScreen("UTF-8")
		drawn := make(chan struct{}, 100)
		ctx, leave := context.WithCancel(context.Background())
		ended := make(chan error, 1)
		go func() {
			ended <- Run(ctx, Options{Needs: needs(book, &sums{}, map[string]string{}), Screen: screen, drawn: func(tcell.Screen) {
				select {
				case drawn <- struct{}{}:
				default:
				}
			}})
		}()
		<-drawn
		b.StopTimer()
		leave()
		<-ended
		b.StartTimer()
	}
}

// BenchmarkKeys is the processor time from a key to its frame on the large plant, with nothing beside it.
func BenchmarkKeys(b *testing.B) {
	for _, screen := range screens {
		b.Run(screen.Name, func(b *testing.B) {
			n := needs(large(), &sums{}, map[string]string{})
			s := perform(b, setting{needs: &n, first: screen.Name})
			keys := []string{"Down", "Down", "Right", "PgDn", "Tab", "Up", "g"}
			begun := cpu()
			for i := 0; b.Loop(); i++ {
				s.press(keys[i%len(keys)])
			}
			b.ReportMetric((cpu()-begun).Seconds()*1000/float64(b.N), "cpu-ms/op")
		})
	}
}

// BenchmarkKeysWhilePlanning is the time from a key to its frame on the large plant while a plan is being made: the budget is 50 ms.
func BenchmarkKeysWhilePlanning(b *testing.B) {
	for _, screen := range screens {
		b.Run(screen.Name, func(b *testing.B) {
			n := needs(large(), &sums{}, map[string]string{})
			n.Planner = solver{applier{&sums{}}}
			s := perform(b, setting{needs: &n, first: screen.Name})
			s.run(func() { s.c.replan() })
			keys := []string{"Down", "Down", "Right", "PgDn", "Tab", "Up", "g"}
			var took []time.Duration
			for i := 0; b.Loop(); i++ {
				begun := time.Now()
				s.press(keys[i%len(keys)])
				took = append(took, time.Since(begun))
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
			b.ReportMetric(float64(took[len(took)-1].Microseconds())/1000, "max-ms")
			s.run(func() { s.c.stop() })
		})
	}
}

// BenchmarkPages is the work of making a screen's page anew, without drawing it.
func BenchmarkPages(b *testing.B) {
	book := large()
	n := needs(book, &sums{}, map[string]string{})
	s := perform(b, setting{needs: &n})
	for _, x := range screens {
		b.Run(x.Name, func(b *testing.B) {
			for b.Loop() {
				x.Page(s.c.facts, s.c.view().place())
			}
		})
	}
}
