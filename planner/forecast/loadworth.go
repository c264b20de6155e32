package forecast

import (
	"cmp"
	"context"
	"slices"

	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// LoadWorth is what a load is worth: the difference that it makes to the planning model's cost when a sample is re-planned once more, in
// money, mean of the same samples for all loads (common random numbers) with its standard error. What a load costs is not taken off.
type LoadWorth struct {
	Code, Material string
	Kg             float64
	Samples        int     // in which the load came within the horizon
	Week           float64 // gained if it came a week earlier
	WeekSE         float64
	Value          float64 // lost if it did not come at all
	ValueSE        float64
	More           float64 // gained if another like it came with it
	MoreSE         float64
}

// usualResolved is the number of samples in which loads' worths are found.
const usualResolved = 40

// loadChange is what changes of a load make in one sample, money gained; is says that the load came.
type loadChange struct {
	is                  bool
	sooner, never, more float64
}

// loadChanges re-plans a sample, on whose optimum c stands, with each of its loads a week earlier, away and doubled.
func (j *job) loadChanges(ctx context.Context, c *lp.Solver, drawn *world) []loadChange {
	list := make([]loadChange, len(j.plant.loads))
	was := c.Objective()
	arrivals := drawn.Arrivals
	defer func() { drawn.Arrivals = arrivals }()
	for i := range list {
		l := &j.plant.loads[i]
		t, ok := j.plant.week(drawn.day[i])
		if !ok || drawn.drawn[i] == neverDays {
			continue
		}
		gain := func(change func(kg []float64)) float64 {
			drawn.Arrivals = slices.Clone(arrivals)
			drawn.Arrivals[l.material] = slices.Clone(arrivals[l.material])
			change(drawn.Arrivals[l.material])
			j.replan.ApplySupply(&drawn.World, c, l.material)
			if c.Solve(ctx, lp.Limits{}) != solve.Optimal {
				ok = false
				return 0
			}
			return was - c.Objective()
		}
		x := loadChange{
			sooner: gain(func(kg []float64) { kg[t] -= l.kg; kg[max(0, t-1)] += l.kg }),
			never:  gain(func(kg []float64) { kg[t] -= l.kg }),
			more:   gain(func(kg []float64) { kg[t] += l.kg }),
		}
		drawn.Arrivals = arrivals
		j.replan.ApplySupply(&drawn.World, c, l.material)
		if x.is = ok; ok {
			list[i] = x
		}
	}
	return list
}

// loadWorths sums what the samples say of each load.
func (j *job) loadWorths(r *Result, got []*sample) {
	for i, l := range j.plant.loads {
		var week, never, more []float64
		for _, s := range got {
			if s.loads != nil && s.loads[i].is {
				x := s.loads[i]
				week, never, more = append(week, x.sooner), append(never, -x.never), append(more, x.more)
			}
		}
		if len(week) == 0 {
			continue
		}
		w, v, m := bandOf(week, 0), bandOf(never, 0), bandOf(more, 0)
		r.LoadWorth = append(r.LoadWorth, LoadWorth{Code: l.code, Material: j.in.Materials[l.material].Code, Kg: l.kg, Samples: len(week),
			Week: w.Mean, WeekSE: w.MeanSE, Value: v.Mean, ValueSE: v.MeanSE, More: m.Mean, MoreSE: m.MeanSE})
	}
	slices.SortStableFunc(r.LoadWorth, func(a, b LoadWorth) int { return cmp.Compare(b.Week, a.Week) })
}
