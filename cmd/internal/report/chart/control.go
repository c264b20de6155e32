package chart

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/yield"
)

// Control is a control chart of records: values day by day and the limits that signal a change.
type Control struct {
	Title    string // such as "Yield of the pelletizer"
	Unit     string
	Decimals int
	Days     []calendar.Day // in order, as many as Values
	Values   []float64
	Limits   yield.Limits
	EWMA     []float64    // the smoothed mean, as many as Values; nil = not drawn
	Smooth   yield.Limits // of the smoothed mean
	Base     int          // so many of the first values set the limits; 0 = all
	Says     string       // what the chart signals, a sentence; "" = nothing
}

// figure draws the values as marks joined by a line, those outside of the limits as large squares, and the limits as dashed lines.
func (k Control) figure(id string) Figure {
	pl := newPlot(k.Unit)
	n := min(len(k.Days), len(k.Values))
	out := k.Limits.Signals(k.Values[:n])
	out = slices.DeleteFunc(out, func(i int) bool { return i < k.Base })
	line := draw.LineStyle{Color: inkA, Width: 1}
	dashed := draw.LineStyle{Color: inkB, Width: 1, Dashes: []vg.Length{5, 3}}
	var pts plotter.XYs
	low, top := math.Inf(1), math.Inf(-1)
	for i := range n {
		pts = append(pts, plotter.XY{X: float64(k.Days[i]), Y: k.Values[i]})
	}
	for _, v := range slices.Concat([]float64{k.Limits.Low, k.Limits.High}, k.Values[:n]) {
		if v-v == 0 {
			low, top = min(low, v), max(top, v)
		}
	}
	from, to := calendar.Day(0), calendar.Day(1)
	if n > 0 {
		from, to = slices.Min(k.Days[:n]), slices.Max(k.Days[:n])+1
	}
	if !(top > low) {
		low, top = low-1, low+1
	}
	if math.IsInf(low, 0) {
		low, top = 0, 1
	}
	pl.Y.Min, pl.Y.Max = low-0.08*(top-low), top+0.08*(top-low)
	pl.Add(rules{}, curve{line, draw.GlyphStyle{Color: inkA, Radius: 2, Shape: draw.CircleGlyph{}}, pts})
	for _, v := range []float64{k.Limits.Low, k.Limits.High} {
		pl.Add(across{dashed, v})
	}
	pl.Add(across{draw.LineStyle{Color: inkMuted, Width: 0.8}, k.Limits.Centre})
	legend := []Key{{"record", lineSample(line)}, {"limits, three standard deviations", lineSample(dashed)},
		{"outside of the limits", sample(`<rect x="9" y="1" width="10" height="10" style="fill:none;stroke:var(--c2);stroke-width:1.6"/>`)}}
	legend = append(legend, k.smoothed(pl, n)...)
	for _, i := range out {
		pl.Add(spot{plotter.XY{X: float64(k.Days[i]), Y: k.Values[i]}})
	}
	overDays(pl, from, to)
	desc := fmt.Sprintf("%d values between %s and %s %s around %s, ", n, quantity.Grouped(k.Limits.Low, k.Decimals), quantity.Grouped(k.Limits.High, k.Decimals), k.Unit, quantity.Grouped(k.Limits.Centre, k.Decimals))
	switch {
	case k.Says != "":
		desc += k.Says
	case len(out) == 0:
		desc += "none outside of the limits."
	default:
		desc += fmt.Sprintf("%d outside of the limits, the last on %s.", len(out), longDate(k.Days[out[len(out)-1]]))
	}
	return inline(pl, Figure{ID: id, Title: k.Title, Desc: desc, Legend: legend}, high)
}

// smoothed draws the smoothed mean with its limits, and returns what explains them.
func (k Control) smoothed(pl *plot.Plot, n int) []Key {
	if len(k.EWMA) < n || n == 0 {
		return nil
	}
	mean := draw.LineStyle{Color: inkC, Width: 2.2}
	limit := draw.LineStyle{Color: inkC, Width: 0.9, Dashes: []vg.Length{2, 3}}
	var pts plotter.XYs
	for i := range n {
		pts = append(pts, plotter.XY{X: float64(k.Days[i]), Y: k.EWMA[i]})
	}
	pl.Add(curve{mean, draw.GlyphStyle{}, pts}, across{limit, k.Smooth.Low}, across{limit, k.Smooth.High})
	return []Key{{"smoothed mean (EWMA)", lineSample(mean)}, {"its limits", lineSample(limit)}}
}

// across is a level line.
type across struct {
	draw.LineStyle
	y float64
}

func (a across) Plot(c draw.Canvas, pl *plot.Plot) {
	_, y := pl.Transforms(&c)
	if a.y-a.y == 0 {
		c.StrokeLine2(a.LineStyle, c.Min.X, y(a.y), c.Max.X, y(a.y))
	}
}

// spot marks a value outside of the limits.
type spot struct{ at plotter.XY }

func (s spot) Plot(c draw.Canvas, pl *plot.Plot) {
	x, y := pl.Transforms(&c)
	const half = 5
	p := vg.Point{X: x(s.at.X), Y: y(s.at.Y)}
	c.StrokeLines(draw.LineStyle{Color: inkB, Width: 1.6}, []vg.Point{{X: p.X - half, Y: p.Y - half}, {X: p.X + half, Y: p.Y - half}, {X: p.X + half, Y: p.Y + half}, {X: p.X - half, Y: p.Y + half}, {X: p.X - half, Y: p.Y - half}})
}
