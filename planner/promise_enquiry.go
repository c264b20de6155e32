package planner

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/lines/calendar"
	"feedline/planner/model"
)

// enquiry is the program of a plan with an enquiry in it, all that is late bounded by the plan's own lateness.
type enquiry struct {
	f       *formulation
	profile int
	owed    []ref         // of the enquiry, by bucket
	free    []bool        // whole numbers that may be otherwise than planned
	planned []float64     // the plan's whole numbers
	x       []float64     // those of the soonest answer yet
	best    []float64     // with those set-ups, the least owed over time
	looks   int64         // work left for campaigns more
	later   map[int][]ref // by profile made on the same lines, and bucket: metres of its forecast owed beyond the plan's
	cost    []float64     // of what is done beside the plan

	amountsOnly bool // no campaigns are put beside those that there are
	asBefore    bool // nothing is free that was not
}

// enquiryPriority is the rank of an enquiry's class, behind the forecast.
const enquiryPriority = forecastPriority + 1

func enquire(ctx context.Context, fa *facts, p *Plan, profile int, metres float64) (*enquiry, error) {
	plain := formulate(fa)
	was := plain.holding(ctx, plain.wholeOf(p))
	switch {
	case was.Has:
	case ctx.Err() != nil:
		return nil, fmt.Errorf("%w: the enquiry could not be worked out", ErrStopped)
	default:
		return nil, ErrOutdated
	}
	asked := *fa
	asked.classes = append([][]class(nil), fa.classes...)
	own := class{priority: enquiryPriority, metres: make([]float64, len(fa.buckets)), total: metres}
	own.metres[0] = metres
	asked.classes[profile] = append(append([]class(nil), fa.classes[profile]...), own)
	f := formulate(&asked)
	e := &enquiry{f: f, profile: profile, owed: f.late[profile][len(fa.classes[profile])], planned: f.wholeOf(p), looks: promiseAll, later: map[int][]ref{}}
	clear(f.m.Cost)
	e.freeLines()
	e.x = slices.Clone(e.planned)
	for j := range f.m.Cost {
		if f.m.Integer[j] && !e.free[j] {
			f.m.Lower[j], f.m.Upper[j] = e.planned[j], e.planned[j]
		}
	}
	e.holdBack(plain, was.X)
	e.cost = make([]float64, f.m.NumVars())
	for t, r := range e.owed {
		f.m.Cost[r.v] = f.days(t)
	}
	return e, nil
}

// freeLines lets the lines that can make the profile be crewed and changed otherwise.
func (e *enquiry) freeLines() {
	f := e.f
	e.free = make([]bool, f.m.NumVars())
	release := func(r ref) {
		if r.is && f.m.Integer[r.v] {
			e.free[r.v] = true
		}
	}
	for _, x := range f.fitsBy[e.profile] {
		l := f.fits[x].line
		for t := range f.buckets {
			release(f.on[l][t])
			release(f.started[l][t])
			release(f.commissioned[l][t])
			for _, j := range f.fitsOf[l] {
				release(f.mounted[j][t])
				release(f.changed[j][t])
			}
		}
	}
}

// holdBack bounds what is late, missing or overfull by what it is at x, a solution of plain. Forecasts of the profiles made on the same lines have a
// column for what they are later than that, bounded by 0.
func (e *enquiry) holdBack(plain *formulation, x []float64) {
	f := e.f
	hold := func(r, before ref) {
		if r.is {
			f.m.Upper[r.v] = min(f.m.Upper[r.v], max(0, before.at(x))+quantumMetres)
		}
	}
	for i := range plain.classes {
		for c, cl := range plain.classes[i] {
			forecast := cl.priority == forecastPriority && e.shares(i)
			for t := range f.buckets {
				if forecast && f.late[i][c][t].is {
					e.putOff(i, t, f.late[i][c][t], max(0, plain.late[i][c][t].at(x)))
				} else {
					hold(f.late[i][c][t], plain.late[i][c][t])
				}
			}
		}
	}
	for k := range f.short {
		for t := range f.buckets {
			hold(f.short[k][t], plain.short[k][t])
		}
	}
	overfull := map[string]float64{}
	for v, name := range plain.m.VarName {
		if isOverfull(name) {
			overfull[name] = x[v]
		}
	}
	for v, name := range f.m.VarName {
		if isOverfull(name) {
			f.m.Upper[v] = max(0, overfull[name]) + overfullLeast
		}
	}
}

// overfullLeast is the room, in cubic metres, by which a yard or rack may be fuller than in the plan.
const overfullLeast = 1e-6

func isOverfull(name string) bool {
	return strings.HasPrefix(name, "yardover[") || strings.HasPrefix(name, "rackover[")
}

// shares reports whether profile i can be made on a line that can make the enquiry's.
func (e *enquiry) shares(i int) bool {
	return slices.ContainsFunc(e.f.fitsBy[i], func(j int) bool {
		return slices.ContainsFunc(e.f.fitsBy[e.profile], func(k int) bool { return e.f.fits[j].line == e.f.fits[k].line })
	})
}

// putOff adds the column of what profile i's forecast is later in bucket t than was.
func (e *enquiry) putOff(i, t int, late ref, was float64) {
	if e.later[i] == nil {
		e.later[i] = make([]ref, len(e.f.buckets))
	}
	code := e.f.in.Profiles[i].Code
	e.later[i][t] = column(e.f.m.AddVar(label("later", code, t), 0, 0, 0))
	e.f.emit(new(row).add(late, 1).add(e.later[i][t], -1), -model.Infinity, was+quantumMetres, "later", code, t)
	e.free = append(e.free, false)
	e.planned = append(e.planned, math.NaN())
	e.x = append(e.x, math.NaN())
}

// laterOrder is the share of a load's cost by which ordering it on the first day costs more than on the last: of loads alike the later are told.
const laterOrder = 1e-3

// freeLoads allows loads beside the plan's on the lanes of the grade's materials, ordered from a day on.
func (e *enquiry) freeLoads(from calendar.Day) {
	f, k := e.f, e.f.gradeOf[e.profile]
	for s, lane := range f.in.Lanes {
		m := f.materialAt[lane.Material]
		if f.paths[m].yield <= 0 || !slices.ContainsFunc(f.feedsOf[k], func(i int) bool { return f.feeds[i].material == m }) {
			continue
		}
		for t := range f.buckets {
			if r := f.loads[s][t]; r.is && f.orderDay(s, t) >= from {
				e.free[r.v] = true
				f.m.Upper[r.v] = max(f.m.Lower[r.v], f.mostLoads(s, t))
				e.cost[r.v] = float64(lane.LoadCost()) * (1 + laterOrder*(1-float64(t)/float64(len(f.buckets))))
				if p := f.placed[s][t]; p.is {
					e.free[p.v] = true
					f.m.Upper[p.v] = 1
				}
			}
		}
	}
}

// freeForecasts lets forecasts come later for what that costs in a plan, where campaigns are put beside the plan's with those that there are.
func (e *enquiry) freeForecasts() {
	e.amountsOnly = true
	for i, later := range e.later {
		for _, cl := range e.f.classes[i] {
			if cl.priority != forecastPriority {
				continue
			}
			for t, r := range later {
				if r.is {
					e.f.m.Upper[r.v] = model.Infinity
					e.cost[r.v] = cl.late * e.f.days(t)
					if t == len(later)-1 {
						e.cost[r.v] += cl.unmet
					}
				}
			}
		}
	}
}

// freeCampaigns lets forecasts make way for campaigns more, too: sooner, and for more than extending those that there are takes.
func (e *enquiry) freeCampaigns() {
	e.amountsOnly, e.asBefore = false, e.wholeFree() <= promiseWhole
}
