package forecast

import (
	"context"
	"os"
	"strconv"
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

// BenchmarkForecast draws FEEDLINE_RUNS samples (default 1000) of a plant of size M or L (FEEDLINE_SIZE) and prints, in processor time, what a sample
// takes and, on some of the same samples in the same run, what the same linear programs take cold.
//
//	FEEDLINE_SIZE=L go test ./planner/forecast -run '^$' -bench Forecast -benchtime 1x
func BenchmarkForecast(b *testing.B) {
	size := benchplant.M
	for _, s := range benchplant.Sizes {
		if s.Name == os.Getenv("FEEDLINE_SIZE") {
			size = s
		}
	}
	runs, _ := strconv.Atoi(os.Getenv("FEEDLINE_RUNS"))
	in := benchplant.Input(size, 1)
	opt := benchplant.Options()
	opt.Time = 20 * time.Second
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for range b.N {
		measure(b, in, p, runs)
	}
}

func measure(b *testing.B, in *planner.Input, p *planner.Plan, runs int) {
	ctx := context.Background()
	begun := cpu()
	j, err := prepare(ctx, in, p, Options{Runs: runs, Seed: 1})
	if err != nil {
		b.Fatal(err)
	}
	ready := cpu()
	if err := j.run(ctx, time.Now()); err != nil {
		b.Fatal(err)
	}
	r := j.summary()
	done := cpu()
	const some = 5
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) == nil {
		b.Logf("most memory of the process, the plan's search with it: %d MB", u.Maxrss/1024)
	}
	sample := (done - ready) / time.Duration(r.Runs)
	b.Logf("%d rows, %d columns; %d samples in %.1f s of processor time, %.1f ms each, %.0f iterations; start %.1f s; %d programs cold, %d samples failed",
		j.replan.Program.NumRows(), j.replan.Program.NumVars(), r.Runs, (done - begun).Seconds(), ms(sample), float64(r.Iterations)/float64(r.Runs), (ready - begun).Seconds(), r.Cold, r.Failed)
	same := cold(b, some, func(i int) []*model.Model { return j.programs(i) })
	b.Logf("the same programs cold: %.1f ms a sample, %.1f times as long", ms(same), float64(same)/float64(sample))
	b.ReportMetric(ms(sample), "cpu-ms/sample")
	b.ReportMetric(float64(same)/float64(sample), "times-same-cold")
}

func ms(d time.Duration) float64 { return float64(d) / 1e6 }

// cold is the processor time of solving the programs of n samples from nothing, for one of them.
func cold(b *testing.B, n int, programs func(int) []*model.Model) time.Duration {
	begun := cpu()
	for i := range n {
		for _, m := range programs(i) {
			if r := lp.Solve(context.Background(), m, solve.Options{}); r.Stop != solve.Optimal {
				b.Logf("a cold solve ends with %s", r.Stop)
			}
		}
	}
	return (cpu() - begun) / time.Duration(n)
}

// programs are the three programs of sample i.
func (j *job) programs(i int) []*model.Model {
	drawn := j.plant.draw(j.opt.Seed, i)
	var w sides
	w.reset(j.replan.Program)
	j.replan.Apply(&drawn.World, &w)
	list := []*model.Model{w.cold(j.replan.Program)}
	for _, arrivals := range [][][]float64{drawn.Arrivals, drawn.committed} {
		world := drawn.World
		world.Arrivals = arrivals
		w.reset(j.supply.Program)
		j.supply.Apply(&world, &w)
		list = append(list, w.cold(j.supply.Program))
	}
	return list
}
