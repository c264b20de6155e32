package forecast

import (
	"context"
	"fmt"
	"math"
	"slices"

	"feedline/lines"
	"feedline/planner"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// Curve is what the plant makes and earns of a supply, steady over the horizon: metres and margin a month against tonnes supplied a month,
// with all lines that are set up. The margin is concave and made of straight pieces; Points are its ends and breaks.
type Curve struct {
	Currency string
	Months   float64
	Now      float64 // tonnes a month of the plan's deliveries and loads
	Points   []CurvePoint
	Lines    []LineWorth
}

// CurvePoint is a break of the curve.
type CurvePoint struct {
	Tonnes  float64  // supplied a month
	Metres  float64  // good metres made a month
	Margin  float64  // money a month
	Slope   float64  // margin of a further tonne, up to the next break; 0 after the last
	Binding []string // what binds up to the next break, such as "line L3", "demand SK80", beside the supply
}

// LineWorth is what an idle line or one not set up adds to the lines that run.
type LineWorth struct {
	Line      string
	State     lines.State
	BreakEven float64 // tonnes a month from which it adds margin; +Inf if it never does
	GainNow   float64 // money a month that it adds at the supply of today
	GainMost  float64 // and at the supply where it adds most
	AtMost    float64 // tonnes a month there
	Cost      float64 // of a start with its crew, and of setting it up
	Payback   float64 // months at the gain of today; +Inf without one
	Best      float64 // months at the greatest gain
}

// value is a point of a concave function with a supergradient.
type value struct {
	at, v, slope float64
	metres       float64
}

// capacity is a program with its supply as a parameter, in tonnes a month and money a month.
type capacity struct {
	c     *planner.Capacity
	s     *lp.Solver
	cache map[float64]value
}

func newCapacity(ctx context.Context, in *planner.Input, p *planner.Plan, on func(lines.Line) bool) (*capacity, error) {
	weeks := int(p.Buckets[len(p.Buckets)-1].Span.To-p.Start) / 7
	c, err := planner.NewCapacity(in, p.Start, weeks, on)
	if err != nil {
		return nil, err
	}
	s, r := lp.Stand(ctx, c.Program, solve.Options{})
	if r.Stop != solve.Optimal {
		return nil, fmt.Errorf("the program of the plant's capacity ends with %s", r.Stop)
	}
	return &capacity{c: c, s: s, cache: map[float64]value{}}, nil
}

// solve is the margin at so many tonnes a month.
func (c *capacity) solve(ctx context.Context, tonnes float64) (value, error) {
	if v, ok := c.cache[tonnes]; ok {
		return v, nil
	}
	c.s.SetRowBounds(c.c.Supply, math.Inf(-1), tonnes*kgPerTonne*c.c.Months)
	if stop := c.s.Solve(ctx, lp.Limits{}); stop != solve.Optimal {
		return value{}, fmt.Errorf("the program of the plant's capacity ends with %s", stop)
	}
	// Y is of the minimised model: a further kilogram lowers the negated margin by its worth.
	v := value{at: tonnes, v: c.s.Objective() / c.c.Months, slope: math.Abs(c.s.Y()[c.c.Supply]) * kgPerTonne, metres: c.c.Metres(c.s.X()) / c.c.Months}
	c.cache[tonnes] = v
	return v, nil
}

// mostTonnes a month is more than any plant of these lines takes.
const mostTonnes = 1e5

// breaks finds the breaks of the margin between 0 and mostTonnes: where the tangents of two points meet and the function does as well, there
// is one; where it lies below, each side is searched again (Eisner and Severance, Mathematical techniques for efficient record segmentation,
// 1976, title seen only).
func (c *capacity) breaks(ctx context.Context) ([]value, error) {
	a, err := c.solve(ctx, 0)
	if err != nil {
		return nil, err
	}
	b, err := c.solve(ctx, mostTonnes)
	if err != nil {
		return nil, err
	}
	first, err := c.solve(ctx, leastTonnes) // at 0 itself the dual may be any that is high enough
	if err != nil {
		return nil, err
	}
	a.slope = first.slope
	list := []value{a}
	if err := c.between(ctx, a, b, &list, 0); err != nil {
		return nil, err
	}
	return list, nil
}

const (
	leastTonnes = 1e-3
	sameSlope   = 1e-4 // money a tonne
	deepest     = 40
)

// between appends the breaks strictly between a and b, ascending.
func (c *capacity) between(ctx context.Context, a, b value, list *[]value, depth int) error {
	if depth > deepest || a.slope-b.slope < sameSlope {
		return nil
	}
	at := (b.v - a.v + a.slope*a.at - b.slope*b.at) / (a.slope - b.slope)
	if !(at > a.at+leastTonnes && at < b.at) {
		return nil
	}
	tangent := a.v + a.slope*(at-a.at)
	m, err := c.solve(ctx, at)
	if err != nil {
		return err
	}
	if tangent-m.v <= 1e-7*max(1, math.Abs(tangent)) {
		*list = append(*list, m)
		return nil
	}
	if err := c.between(ctx, a, m, list, depth+1); err != nil {
		return err
	}
	return c.between(ctx, m, b, list, depth+1)
}

// CurveOf works out the curve of in and the worth of its idle lines; p gives the horizon and today's supply. Errors as for planner.NewReplan.
func CurveOf(ctx context.Context, in *planner.Input, p *planner.Plan) (*Curve, error) {
	if len(p.Buckets) == 0 {
		return nil, fmt.Errorf("%w: it has no day", planner.ErrOtherBook)
	}
	all, err := newCapacity(ctx, in, p, func(l lines.Line) bool { return l.State != lines.Uncommissioned })
	if err != nil {
		return nil, err
	}
	r := &Curve{Currency: p.Currency, Months: all.c.Months}
	for _, y := range p.Yard {
		r.Now += float64(y.Arrived) / kgPerTonne / r.Months
	}
	list, err := all.breaks(ctx)
	if err != nil {
		return nil, err
	}
	for i, v := range list {
		next := 2*v.at + 1
		if i+1 < len(list) {
			next = list[i+1].at
		}
		mid, err := all.solve(ctx, (v.at+next)/2)
		if err != nil {
			return nil, err
		}
		delete(all.cache, mid.at)
		if mid, err = all.solve(ctx, mid.at); err != nil { // the solver stands there
			return nil, err
		}
		r.Points = append(r.Points, CurvePoint{Tonnes: v.at, Metres: v.metres, Margin: v.v, Slope: mid.slope, Binding: words(all.c.Binding(all.s.Y(), all.s.D()))})
	}
	return r, r.idle(ctx, in, p)
}

func words(list []planner.Limit) []string {
	var w []string
	for _, l := range list {
		if l.Name == "" {
			w = append(w, l.Kind)
		} else {
			w = append(w, l.Kind+" "+l.Name)
		}
	}
	slices.Sort(w)
	return w
}

// idle works out what each line that stands adds to those that run.
func (r *Curve) idle(ctx context.Context, in *planner.Input, p *planner.Plan) error {
	runs := func(l lines.Line) bool { return l.State == lines.Running || l.State == lines.Down }
	base, err := newCapacity(ctx, in, p, runs)
	if err != nil {
		return err
	}
	was, err := base.breaks(ctx)
	if err != nil {
		return err
	}
	for _, ln := range in.Lines {
		if runs(ln) {
			continue
		}
		with, err := newCapacity(ctx, in, p, func(l lines.Line) bool { return runs(l) || l.Code == ln.Code })
		if err != nil {
			return err
		}
		now, err := with.breaks(ctx)
		if err != nil {
			return err
		}
		w, err := worth(ctx, onceCost(in, ln), ln, base, with, append(slices.Clone(was), now...), r.Now)
		if err != nil {
			return err
		}
		r.Lines = append(r.Lines, w)
	}
	return nil
}

// onceCost is what a line costs before it makes anything: its start with the crew of it, and setting it up.
func onceCost(in *planner.Input, ln lines.Line) float64 {
	cost := float64(ln.Startup.Cost) + float64(in.Plant.CrewCost)*ln.Crew*float64(ln.Startup.Hours)
	if ln.State == lines.Uncommissioned {
		cost += float64(ln.Commissioning.Cost)
	}
	return cost
}

// worth compares both functions at all their breaks; between two of them the gain is straight.
func worth(ctx context.Context, once float64, ln lines.Line, base, with *capacity, at []value, today float64) (LineWorth, error) {
	w := LineWorth{Line: ln.Code, State: ln.State, BreakEven: math.Inf(1), Payback: math.Inf(1), Best: math.Inf(1), Cost: once}
	gain := func(t float64) (float64, error) {
		a, err := base.solve(ctx, t)
		if err != nil {
			return 0, err
		}
		b, err := with.solve(ctx, t)
		return b.v - a.v, err
	}
	slices.SortFunc(at, func(a, b value) int {
		if a.at < b.at {
			return -1
		}
		return 1
	})
	last, lastGain := 0.0, 0.0
	for _, v := range at {
		g, err := gain(v.at)
		if err != nil {
			return w, err
		}
		if g > gainsFrom && math.IsInf(w.BreakEven, 1) {
			w.BreakEven = v.at
			if g > lastGain && v.at > last {
				w.BreakEven = last // the gain rises from the last break without one
			}
		}
		if g > w.GainMost {
			w.GainMost, w.AtMost = g, v.at
		}
		last, lastGain = v.at, g
	}
	var err error
	if w.GainNow, err = gain(today); err != nil {
		return w, err
	}
	if w.GainNow = max(0, w.GainNow); w.GainNow > gainsFrom {
		w.Payback = w.Cost / w.GainNow
	}
	if w.GainMost > gainsFrom {
		w.Best = w.Cost / w.GainMost
	}
	return w, nil
}

// gainsFrom is the money a month from which a line adds something.
const gainsFrom = 0.5
