package forecast

import (
	"context"
	"os"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"feedline/planner"
	"feedline/planner/benchplant"
	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// cpu is the processor time that the process has spent, which a loaded machine stretches less than the clock.
func cpu() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// planWork limits the search of the plan that is forecast, in the solver's units: enough for a plan of L on any machine.
const planWork = 5_000_000_000

// BenchmarkForecast draws FEEDLINE_RUNS samples (default 1000) of the plants of size M and L (or FEEDLINE_SIZE) and prints, in processor time and by
// the clock, what they take and, for some of the same samples in the same run, what the same linear programs take cold.
//
//	go test ./planner/forecast -run '^$' -bench Forecast -benchtime 1x
func BenchmarkForecast(b *testing.B) {
	runs, _ := strconv.Atoi(os.Getenv("FEEDLINE_RUNS"))
	for _, size := range []benchplant.Size{benchplant.M, benchplant.L} {
		if only := os.Getenv("FEEDLINE_SIZE"); only != "" && only != size.Name {
			continue
		}
		b.Run(size.Name, func(b *testing.B) {
			in := benchplant.Input(size, 1)
			opt := benchplant.Options()
			opt.Work = planWork
			p, err := planner.Make(context.Background(), in, opt)
			if err != nil {
				b.Fatal(err)
			}
			runtime.GC()
			b.ResetTimer()
			for range b.N {
				measure(b, in, p, runs)
			}
		})
	}
}

func measure(b *testing.B, in *planner.Input, p *planner.Plan, runs int) {
	ctx, clock := context.Background(), time.Now()
	begun := cpu()
	most, halt := watchMemory()
	j, err := prepare(ctx, in, p, Options{Runs: runs, Seed: 1, Resolved: -1})
	if err != nil {
		b.Fatal(err)
	}
	ready := cpu()
	if err := j.run(ctx, time.Now()); err != nil {
		b.Fatal(err)
	}
	r := j.summary()
	done, wall := cpu(), time.Since(clock)
	halt()
	sample := (done - ready) / time.Duration(r.Runs)
	b.Logf("%d rows, %d columns; %d samples: %.1f s of processor time, %.1f s by the clock on %d processors, %d MB at most", j.replan.Program.NumRows(), j.replan.Program.NumVars(),
		r.Runs, (done - begun).Seconds(), wall.Seconds(), j.opt.Workers, *most>>20)
	b.Logf("a sample %.1f ms of processor time, %.0f iterations, %.2f million units of work; start %.1f s; %d programs cold, %d samples failed",
		ms(sample), float64(r.Iterations)/float64(r.Runs), float64(r.Work)/float64(r.Runs)/1e6, (ready - begun).Seconds(), r.Cold, r.Failed)
	b.Logf("%d starts, %d programs of supply against need", len(j.program.list), 2*count(j.supply != nil))
	same, work := cold(b, j.opt.Workers, coldSamples, func(i int) []*model.Model { return j.programs(i * r.Runs / coldSamples) })
	b.Logf("the same programs cold: %.1f ms a sample, %.1f times as long; %.1f times the work", ms(same), float64(same)/float64(sample), float64(work)*float64(r.Runs)/float64(r.Work))
	b.ReportMetric(ms(sample), "cpu-ms/sample")
	b.ReportMetric(float64(same)/float64(sample), "times-cold")
	b.ReportMetric(float64(work)*float64(r.Runs)/float64(r.Work), "times-cold-work")
}

// coldSamples is how many samples are solved cold as well.
const coldSamples = 20

// watchMemory looks twenty times a second at what the process has of the system's memory and not given back.
func watchMemory() (most *uint64, halt func()) {
	most = new(uint64)
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		tick := time.NewTicker(50 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-stop:
				return
			case <-tick.C:
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				*most = max(*most, m.Sys-m.HeapReleased)
			}
		}
	}()
	return most, func() { close(stop); <-stopped }
}

func ms(d time.Duration) float64 { return float64(d) / 1e6 }

// cold is the processor time and the work of solving the programs of n samples from nothing, with presolve, for one of them. So many workers share
// them as share the forecast's: processors that share what they run on take longer each when all are busy.
func cold(b *testing.B, workers, n int, programs func(int) []*model.Model) (time.Duration, int64) {
	lists := make([][]*model.Model, n)
	for i := range lists {
		lists[i] = programs(i)
	}
	var wg sync.WaitGroup
	var next, work atomic.Int64
	begun := cpu()
	for range workers {
		wg.Go(func() {
			for i := next.Add(1) - 1; i < int64(n); i = next.Add(1) - 1 {
				for _, m := range lists[i] {
					r := lp.Solve(context.Background(), m, solve.Options{})
					if r.Stop != solve.Optimal {
						b.Logf("a cold solve ends with %s", r.Stop)
					}
					work.Add(r.Work)
				}
			}
		})
	}
	wg.Wait()
	return (cpu() - begun) / time.Duration(n), work.Load() / int64(n)
}

// programs are the programs of sample i: three if the plan has need against have.
func (j *job) programs(i int) []*model.Model {
	drawn := j.plant.draw(j.opt.Seed, i)
	var w sides
	w.reset(j.replan.Program)
	j.replan.Apply(&drawn.World, &w)
	list := []*model.Model{w.cold(j.replan.Program)}
	if j.supply == nil {
		return list
	}
	for _, arrivals := range [][][]float64{drawn.Arrivals, drawn.committed} {
		world := drawn.World
		world.Arrivals = arrivals
		w.reset(j.supply.Program)
		j.supply.Apply(&world, &w)
		list = append(list, w.cold(j.supply.Program))
	}
	return list
}
