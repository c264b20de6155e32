package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/planner/forecast"
)

// area fills each block, without gaps.
type area struct {
	ink  ink
	list []block
}

func (a area) DataRange() (xmin, xmax, ymin, ymax float64) { return bars{list: a.list}.DataRange() }

func (a area) Plot(c draw.Canvas, pl *plot.Plot) {
	x, y := pl.Transforms(&c)
	for _, k := range a.list {
		c.FillPolygon(a.ink, []vg.Point{{X: x(k.from), Y: y(k.low)}, {X: x(k.from), Y: y(k.high)}, {X: x(k.to), Y: y(k.high)}, {X: x(k.to), Y: y(k.low)}})
	}
}

// Fans is the charts of a forecast: metres, margin, cover, lines to run and orders late by week, from what nine in ten samples reach to what one in ten does, with the middle one
// and the plan's own.
func Fans(r *forecast.Result, units quantity.System) []Figure {
	if r == nil || len(r.Weeks) == 0 {
		return nil
	}
	unit := quantity.DefaultUnit(quantity.KindLength, units)
	return []Figure{
		fan(r, "fan-metres", "Output, how sure", "1000 "+unit.Symbol+" a week", r.Metres, unit.FromStored(1)/1000),
		fan(r, "fan-margin", "Margin, how sure", r.Currency+" 1000 a week", r.Margin, 1e-3),
		fan(r, "fan-cover", "Cover of all feed, how sure", "days", r.Cover, 1),
		fan(r, "fan-lines", "Lines to run, how sure", "lines", r.Lines, 1),
		fan(r, "fan-late", "Orders late, how sure", "orders overdue at the end of the week", r.Late, 1),
	}
}

func fan(r *forecast.Result, id, title, unit string, s forecast.Series, scale float64) Figure {
	var span, middle, plan []block
	for t, b := range s {
		from, to := float64(r.Weeks[t].Span.From), float64(r.Weeks[t].Span.To)
		span = append(span, block{from, to, b.P10 * scale, b.P90 * scale})
		middle, plan = append(middle, block{from, to, 0, b.P50 * scale}), append(plan, block{from, to, 0, b.Plan * scale})
	}
	half := draw.LineStyle{Color: inkA, Width: 1.8}
	own := draw.LineStyle{Color: inkText, Width: 1, Dashes: []vg.Length{4, 2}}
	pl := newPlot(unit)
	pl.Add(area{inkGrid, span}, rules{}, steps{half, middle}, steps{own, plan})
	overDays(pl, r.Weeks[0].Span.From, r.Weeks[len(r.Weeks)-1].Span.To)
	least := 0.0
	for _, k := range span {
		least = min(least, k.low)
	}
	pl.Y.Min = min(0, least)
	room(pl)
	return inline(pl, Figure{ID: id, Title: title, Desc: fanWords(r, unit, s, scale),
		Legend: []Key{{"eight in ten samples", barSample(inkGrid)}, {"the middle sample, P50", lineSample(half)}, {"the plan", lineSample(own)}}}, high)
}

// fanWords tells the chart: the week in which the band is widest, and that in which even nine in ten reach least.
func fanWords(r *forecast.Result, unit string, s forecast.Series, scale float64) string {
	widest, lowest := 0, 0
	for t, b := range s {
		if b.P90-b.P10 > s[widest].P90-s[widest].P10 {
			widest = t
		}
		if b.P10 < s[lowest].P10 {
			lowest = t
		}
	}
	figure := func(x float64) string {
		decimals := 0
		if math.Abs(x*scale) < 10 {
			decimals = 1
		}
		return view.Figure(x*scale, decimals)
	}
	label := func(t int) string { return r.Weeks[t].Span.From.Monday().WeekLabel() }
	return fmt.Sprintf("By week a band from what nine in ten of %d samples reach to what one in ten does, with the middle sample and the plan; %s. Widest in %s, from %s to %s; the least of the lower edge in %s, %s.",
		r.Runs, unit, label(widest), figure(s[widest].P10), figure(s[widest].P90), label(lowest), figure(s[lowest].P10))
}
