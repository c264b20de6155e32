package forecast

import (
	"context"
	"errors"
	"runtime"
	"sync"
	"time"

	"feedline/planner"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// job is a forecast in work.
type job struct {
	in      *planner.Input
	plan    *planner.Plan
	opt     Options
	replan  *planner.Replan
	supply  *planner.Supply
	plant   *plant
	program *lp.Solver // stands on the base; cloned, never solved with
	feed    *lp.Solver
	samples []sample
}

// sample is what came of a world.
type sample struct {
	solved     bool
	drawn      []float64
	outcome    *planner.Outcome
	with       [][]float64 // pellets owed, kg by grade and week, the plan's loads coming as they come
	without    [][]float64 // if nothing more is ordered
	iterations int64
	work       int64
	cpu        time.Duration
	failed     bool
}

// ErrNoSample is returned when a forecast was stopped before the first sample was solved.
var ErrNoSample = errors.New("stopped before the first sample was solved")

func prepare(ctx context.Context, in *planner.Input, p *planner.Plan, opt Options) (*job, error) {
	j := &job{in: in, plan: p, opt: opt}
	if j.opt.Runs <= 0 {
		j.opt.Runs = defaultRuns
	}
	if j.opt.Workers <= 0 {
		j.opt.Workers = runtime.GOMAXPROCS(0)
	}
	var err error
	if j.replan, err = planner.NewReplan(ctx, in, p, planner.ReplanOptions{KeepDays: opt.KeepDays}); err != nil {
		return nil, err
	}
	if j.supply, err = j.replan.NewSupply(ctx); err != nil {
		return nil, err
	}
	j.opt.Spread = opt.Spread.withDefaults()
	j.plant = newPlant(in, p, j.replan.Weeks, j.opt.Spread)
	j.program = standing(ctx, lp.NewSolver(j.replan.Program, solve.Options{}), j.replan.Base)
	if j.supply != nil {
		j.feed = standing(ctx, lp.NewSolver(j.supply.Program, solve.Options{}), j.supply.Base)
	}
	return j, ctx.Err()
}

// standing is s solved from b.
func standing(ctx context.Context, s *lp.Solver, b lp.Basis) *lp.Solver {
	s.SetBasis(b)
	s.Solve(ctx, lp.Limits{})
	return s
}

// run solves the samples on the workers, each taking the next that is free.
func (j *job) run(ctx context.Context, began time.Time) error {
	j.samples = make([]sample, j.opt.Runs)
	var wg sync.WaitGroup
	var mu sync.Mutex
	next, done := 0, 0
	take := func() (int, bool) {
		mu.Lock()
		defer mu.Unlock()
		next++
		return next - 1, next <= j.opt.Runs && ctx.Err() == nil
	}
	tell := func() {
		mu.Lock()
		defer mu.Unlock()
		done++
		if j.opt.Progress != nil && (done%progressEvery == 0 || done == j.opt.Runs) {
			j.opt.Progress(Progress{Done: done, Runs: j.opt.Runs, Elapsed: time.Since(began)})
		}
	}
	for range min(j.opt.Workers, j.opt.Runs) {
		wg.Go(func() {
			for {
				i, ok := take()
				if !ok {
					return
				}
				j.samples[i] = j.solve(ctx, i)
				tell()
			}
		})
	}
	wg.Wait()
	for i := range j.samples {
		if j.samples[i].solved {
			return nil
		}
	}
	if err := ctx.Err(); err != nil {
		return ErrNoSample
	}
	return errors.New("no sample could be solved")
}

const progressEvery = 10

// solve draws sample i and solves its programs, each from the base.
func (j *job) solve(ctx context.Context, i int) sample {
	began := time.Now()
	w := j.plant.draw(j.opt.Seed, i)
	s := sample{drawn: w.drawn}
	x, objective, ok := j.optimum(ctx, &s, j.program, func(to solver) { j.replan.Apply(&w.World, to) }, j.replan.Program)
	if !ok {
		return s
	}
	s.outcome = j.replan.Read(x, objective, &w.World)
	if j.supply != nil && !j.owed(ctx, &s, w) {
		return s
	}
	s.solved = true
	s.cpu = time.Since(began)
	return s
}

// owed solves what is owed with the plan's loads and without.
func (j *job) owed(ctx context.Context, s *sample, w *world) bool {
	x, _, ok := j.optimum(ctx, s, j.feed, func(to solver) { j.supply.Apply(&w.World, to) }, j.supply.Program)
	if !ok {
		return false
	}
	s.with = j.supply.Read(x, true)
	committed := w.World
	committed.Arrivals = w.committed
	x, _, ok = j.optimum(ctx, s, j.feed, func(to solver) { j.supply.Apply(&committed, to) }, j.supply.Program)
	if !ok {
		return false
	}
	s.without = j.supply.Read(x, false)
	return true
}
