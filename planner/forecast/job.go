package forecast

import (
	"context"
	"errors"
	"runtime"
	"slices"
	"sync"
	"time"

	"feedline/lines/calendar"
	"feedline/planner"
)

// job is a forecast in work.
type job struct {
	in      *planner.Input
	plan    *planner.Plan
	opt     Options
	replan  *planner.Replan
	supply  *planner.Supply
	plant   *plant
	program *starts
	with    *starts // of supply against need, the plan's loads coming as they come
	without *starts // if nothing more is ordered
	samples []sample
	workers []worker
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
	elapsed    time.Duration
	day        []calendar.Day // on which each load comes
	loads      []loadChange   // what each load is worth, of a sample in which that is found
	failed     bool
	cold       int      // programs solved without a start
	stands     [3]start // its optima, of a sample that others start from
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
	if j.opt.Resolved == 0 {
		j.opt.Resolved = usualResolved
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
	all := j.replan.Planned()
	j.program = startFrom(ctx, j.replan.Program, j.replan.Base, j.replan, all)
	if j.supply != nil {
		j.without = startFrom(ctx, j.supply.Program, j.supply.Base, j.supply, all)
		j.with = j.without.again()
	}
	j.workers = make([]worker, j.opt.Workers)
	return j, ctx.Err()
}

// run solves the samples in rounds, each starting from the optima of those before it.
func (j *job) run(ctx context.Context, began time.Time) error {
	j.samples = make([]sample, j.opt.Runs)
	from, done := 0, 0
	for _, to := range append(slices.Clone(rounds), j.opt.Runs) {
		to = min(to, j.opt.Runs)
		j.solveRange(ctx, began, from, to, &done)
		for i := from; i < to && to < j.opt.Runs; i++ {
			j.keepStarts(&j.samples[i])
		}
		for _, p := range []*starts{j.program, j.with, j.without} {
			if p != nil && to < j.opt.Runs {
				p.ready()
			}
		}
		from = to
	}
	for i := range j.samples {
		if j.samples[i].solved {
			return nil
		}
	}
	if ctx.Err() != nil {
		return ErrNoSample
	}
	return errors.New("no sample could be solved")
}

// keepStarts lets later samples start from s's optima.
func (j *job) keepStarts(s *sample) {
	for k, p := range []*starts{j.program, j.with, j.without} {
		if p != nil && s.solved {
			p.keep(s.stands[k])
		}
	}
	s.stands = [3]start{}
}

// solveRange solves the samples [from, to) on the workers, each taking the next that is free.
func (j *job) solveRange(ctx context.Context, began time.Time, from, to int, done *int) {
	var wg sync.WaitGroup
	var mu sync.Mutex
	next := from
	take := func() (int, bool) {
		mu.Lock()
		defer mu.Unlock()
		next++
		return next - 1, next <= to && ctx.Err() == nil
	}
	tell := func() {
		mu.Lock()
		defer mu.Unlock()
		*done++
		if j.opt.Progress != nil && (*done%progressEvery == 0 || *done == j.opt.Runs) {
			j.opt.Progress(Progress{Done: *done, Runs: j.opt.Runs, Elapsed: time.Since(began)})
		}
	}
	for k := range min(j.opt.Workers, to-from) {
		w := &j.workers[k]
		wg.Go(func() {
			for {
				i, ok := take()
				if !ok {
					return
				}
				j.samples[i] = j.solve(ctx, i, w)
				tell()
			}
		})
	}
	wg.Wait()
}

const progressEvery = 10

// solve draws sample i and solves its programs. w is the goroutine's own.
func (j *job) solve(ctx context.Context, i int, w *worker) sample {
	began := time.Now()
	drawn := j.plant.draw(j.opt.Seed, i)
	s := sample{drawn: drawn.drawn}
	keep := i < rounds[len(rounds)-1]
	w.sides.reset(j.replan.Program)
	j.replan.Apply(&drawn.World, &w.sides)
	c := w.optimum(ctx, &s, j.program)
	if c == nil {
		return s
	}
	s.day = drawn.day
	s.outcome = j.replan.Read(c.X(), c.Objective(), &drawn.World)
	if keep {
		s.stands[0] = j.program.startAt(c)
	}
	if i < j.opt.Resolved {
		s.loads = j.loadChanges(ctx, c, drawn)
	}
	if j.supply != nil && !j.owed(ctx, &s, drawn, w, keep) {
		return s
	}
	s.solved = true
	s.elapsed = time.Since(began)
	return s
}

// owed solves what is owed with the plan's loads and without.
func (j *job) owed(ctx context.Context, s *sample, drawn *world, w *worker, keep bool) bool {
	committed := drawn.World
	committed.Arrivals = drawn.committed
	for k, p := range []*starts{j.with, j.without} {
		world := &drawn.World
		if p == j.without {
			world = &committed
		}
		w.sides.reset(j.supply.Program)
		j.supply.Apply(world, &w.sides)
		c := w.optimum(ctx, s, p)
		if c == nil {
			return false
		}
		if keep {
			s.stands[k+1] = p.startAt(c)
		}
		if p == j.with {
			s.with = j.supply.Read(c.X(), true)
		} else {
			s.without = j.supply.Read(c.X(), false)
		}
	}
	return true
}
