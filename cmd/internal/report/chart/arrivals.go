package chart

import (
	"fmt"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"feedline/cmd/internal/report/view"
	"feedline/lines/calendar"
	"feedline/planner"
)

// track is one arrival: from the day it is expected, or ordered, to the day the plan counts on.
type track struct {
	from, to float64
	row      int
	open     bool // still to be ordered
}

type tracks []track

func (t tracks) Plot(c draw.Canvas, pl *plot.Plot) {
	x, y := pl.Transforms(&c)
	for _, a := range t {
		k, line := inkC, draw.LineStyle{Color: inkC, Width: 1.2}
		var shape draw.GlyphDrawer = draw.CircleGlyph{}
		if a.open {
			k, shape = inkA, draw.RingGlyph{}
			line = draw.LineStyle{Color: k, Width: 0.8, Dashes: []vg.Length{1, 2}}
		}
		h := y(float64(a.row))
		c.StrokeLines(line, c.ClipLinesXY([]vg.Point{{X: x(a.from), Y: h}, {X: x(a.to), Y: h}})...)
		c.DrawGlyph(draw.GlyphStyle{Color: k, Radius: 3.5, Shape: shape}, vg.Point{X: x(a.to), Y: h})
	}
}

// arrivals is a timeline of deliveries and loads to order, a row for each lane, with the first short day of each grade.
func (d *drawing) arrivals() Figure {
	list := view.Arrivals(d.in, d.p)
	rows, names := map[string]int{}, []string{}
	var marks tracks
	coming, fresh := 0, 0
	for _, a := range list {
		name := a.Lane
		if name == "" {
			name = a.Material
		}
		if _, ok := rows[name]; !ok {
			rows[name] = len(names)
			names = append(names, name)
		}
		from := a.ETA
		if a.New() {
			from = a.Ordered
			fresh++
		} else {
			coming++
		}
		if from == 0 {
			from = a.Planned
		}
		marks = append(marks, track{float64(max(from, d.start())), float64(a.Planned), rows[name], a.New()})
	}
	pl := newPlot("")
	var ticks plot.ConstantTicks
	for i, n := range names {
		ticks = append(ticks, plot.Tick{Value: float64(len(names) - 1 - i), Label: short(n)})
	}
	for i := range marks {
		marks[i].row = len(names) - 1 - marks[i].row
	}
	pl.Y.Tick.Marker, pl.Y.Min, pl.Y.Max = ticks, -0.6, max(0.6, float64(len(names))-0.4)
	pl.Add(levels(len(names)), marks)
	for i, s := range d.p.Shortages {
		pl.Add(upright{float64(s.First), short(s.Grade) + " short", i, d.crowded(s.First)})
		pl.Y.Max += 0.7
	}
	overDays(pl, d.start(), d.end())
	desc := fmt.Sprintf("A timeline with a row for each lane: %d deliveries on their way, from their ETA to the day the plan counts on, and %d orders of loads, from the order to the arrival.", coming, fresh)
	for _, s := range d.p.Shortages {
		desc += fmt.Sprintf(" Grade %s runs short on committed supply on %s.", s.Grade, longDate(s.First))
	}
	f := Figure{ID: "arrivals", Title: "Deliveries and loads to order", Desc: desc, Legend: []Key{{"on its way: ETA to the day counted on", dotSample(inkC, true)}, {"to order: order to arrival", dotSample(inkA, false)},
		{"first short on committed supply", lineSample(draw.LineStyle{Color: inkB, Width: 1, Dashes: []vg.Length{4, 2}})}}}
	return inline(pl, f, 60+vg.Length(18*len(names)+14*len(d.p.Shortages)))
}

// crowded reports whether another grade's first short day follows so soon that a word on the right would run into its line.
func (d *drawing) crowded(day calendar.Day) bool {
	near := (d.end() - d.start()) / 8
	return slices.ContainsFunc(d.p.Shortages, func(s planner.Shortage) bool { return s.First > day && s.First < day+near })
}

// levels are thin rules along the rows.
type levels int

func (n levels) Plot(c draw.Canvas, pl *plot.Plot) {
	_, y := pl.Transforms(&c)
	for i := range int(n) {
		c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.5}, c.Min.X, y(float64(i)), c.Max.X, y(float64(i)))
	}
}

// short cuts a name to what fits beside an axis.
func short(name string) string {
	const most = 18
	if r := []rune(name); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return name
}
