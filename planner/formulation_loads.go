package planner

import (
	"math"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner/model"
)

// buildLoads adds whole loads ordered on the first day of each bucket on which the lane takes orders, that still arrive within the horizon,
// the most a week and the least an order.
func (f *formulation) buildLoads() {
	f.loads, f.placed = f.grid(len(f.in.Lanes)), f.grid(len(f.in.Lanes))
	for s, lane := range f.in.Lanes {
		if lane.Load <= 0 || f.committedOnly {
			continue
		}
		for t := range f.buckets {
			if f.canOrder(s, t) {
				f.loads[s][t] = column(f.m.AddInt(label("loads", lane.Code, t), 0, f.mostLoads(s, t), 0))
				f.cost(f.loads[s][t], costBuying, float64(lane.LoadCost()))
				f.leastOrder(s, t)
			}
		}
		f.loadsAWeek(s)
	}
}

// orderDay is the day of bucket t on which loads are ordered on lane s: the first on which it takes orders, else the first.
func (f *facts) orderDay(s, t int) calendar.Day {
	if d, ok := f.in.Lanes[s].FirstOrder(f.buckets[t].Span); ok {
		return d
	}
	return f.buckets[t].Span.From
}

// arrival is the day a load ordered on lane s in bucket t is planned to be usable.
func (f *facts) arrival(s, t int) calendar.Day {
	return inventory.LoadArrival(f.in.Lanes[s], f.orderDay(s, t), f.in.Plant.ArrivesBy())
}

func (f *facts) arrivalBucket(s, t int) int { return f.bucketOf(f.arrival(s, t)) }

func (f *facts) canOrder(s, t int) bool {
	return f.in.Lanes[s].TakesOrders(f.orderDay(s, t)) && f.arrivalBucket(s, t) < len(f.buckets)
}

// mostLoads bounds the loads ordered at once: the week's, and never less than the least order.
func (f *facts) mostLoads(s, t int) float64 {
	lane := f.in.Lanes[s]
	if lane.LoadsAWeek <= 0 {
		return math.Ceil(float64(quantity.Mass(1e7) / lane.Load)) // ten thousand tonnes: no real limit
	}
	return max(math.Floor(lane.LoadsAWeek+1e-9), float64(lane.MinLoads), 1)
}

// leastOrder makes an order no smaller than the lane's least.
func (f *formulation) leastOrder(s, t int) {
	lane := f.in.Lanes[s]
	if lane.MinLoads <= 1 {
		return
	}
	f.placed[s][t] = column(f.m.AddInt(label("order", lane.Code, t), 0, 1, 0))
	f.emit(new(row).add(f.loads[s][t], 1).add(f.placed[s][t], -float64(lane.MinLoads)), 0, model.Infinity, "leastloads", lane.Code, t)
	f.emit(new(row).add(f.loads[s][t], 1).add(f.placed[s][t], -f.mostLoads(s, t)), -model.Infinity, 0, "mostloads", lane.Code, t)
}

// loadsAWeek bounds the loads ordered in each run of weeks that allows at least one order.
func (f *formulation) loadsAWeek(s int) {
	lane := f.in.Lanes[s]
	if lane.LoadsAWeek <= 0 {
		return
	}
	limit, weeks := f.loadLimit(s)
	for week := f.start.Monday(); week < f.end(); week += 7 {
		r := new(row)
		for t, b := range f.buckets {
			if b.Span.From >= week && b.Span.From < week+weeks*7 {
				r.add(f.loads[s][t], 1)
			}
		}
		if len(r.terms) > 1 {
			f.emit(r, -model.Infinity, limit, "loadsaweek", lane.Code, week)
		}
	}
}

// loadLimit is the most loads of lane s in any run of so many whole weeks.
func (f *facts) loadLimit(s int) (loads float64, weeks calendar.Day) {
	loads = f.mostLoads(s, 0)
	return loads, calendar.Day(math.Ceil(loads/f.in.Lanes[s].LoadsAWeek - 1e-9))
}
