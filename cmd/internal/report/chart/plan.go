package chart

import (
	"fmt"
	"math"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// longDate is a day in a description.
func longDate(d calendar.Day) string { return d.UTC().Format("2 January 2006") }

// room adds space above the highest value.
func room(pl *plot.Plot) {
	if !(pl.Y.Max > pl.Y.Min) || math.IsInf(pl.Y.Max, 0) {
		pl.Y.Min, pl.Y.Max = 0, 1
	}
	pl.Y.Max += 0.06 * (pl.Y.Max - pl.Y.Min)
}

// needHave is a chart for each grade: by week what is served of committed supply, what is short of it, and the need.
func (d *drawing) needHave() []Figure {
	unit := quantity.TonUnit(d.opt.Units)
	var list []Figure
	for i, g := range gradesOf(d.p) {
		var have, short, need []block
		for _, w := range view.Weeks(d.p) {
			n, h := 0.0, 0.0
			for _, x := range d.p.NeedHave {
				if x.Grade == g && w.Has(x.Bucket) {
					n, h = n+unit.FromStored(float64(x.Need)), h+unit.FromStored(float64(x.Have))
				}
			}
			from, to := float64(d.p.Buckets[w.From].Span.From), float64(d.p.Buckets[w.To-1].Span.To)
			have, short, need = append(have, block{from, to, 0, h}), append(short, block{from, to, h, max(h, n)}), append(need, block{from, to, 0, n})
		}
		line := draw.LineStyle{Color: inkText, Width: 1.6}
		pl := newPlot(unit.Symbol + " a week")
		pl.Add(rules{}, bars{ink: inkA, list: have}, bars{ink: inkB, list: short, hatched: true}, steps{line, need})
		overDays(pl, d.start(), d.end())
		room(pl)
		f := Figure{ID: fmt.Sprintf("need-%d", i+1), Title: "Need and have, " + g, Desc: d.needWords(g),
			Legend: []Key{{"need", lineSample(line)}, {"have: committed supply serves it", barSample(inkA)}, {"short", hatchSample(inkB)}}}
		list = append(list, inline(pl, f, high))
	}
	return list
}

// gradesOf lists the grades of need and have in the plan's order.
func gradesOf(p *planner.Plan) []string {
	var list []string
	seen := map[string]bool{}
	for _, x := range p.NeedHave {
		if !seen[x.Grade] {
			seen[x.Grade] = true
			list = append(list, x.Grade)
		}
	}
	return list
}

func (d *drawing) needWords(grade string) string {
	for _, s := range d.p.Shortages {
		if s.Grade == grade {
			unit := quantity.TonUnit(d.opt.Units)
			return fmt.Sprintf("Bars by week of the pellets of grade %s that committed supply serves, and a line of those that demand calls for. Short from %s, by %s %s within four weeks.",
				grade, longDate(s.First), view.Figure(unit.FromStored(float64(s.MassIn4Weeks)), 1), unit.Symbol)
		}
	}
	return fmt.Sprintf("Bars by week of the pellets of grade %s that committed supply serves, and a line of those that demand calls for. The grade does not run short.", grade)
}

// linesToRun is the lines on, by bucket, under the number of lines there are.
func (d *drawing) linesToRun() Figure {
	var on []block
	low, most := math.MaxInt, 0
	for i, b := range d.p.Buckets {
		if i < len(d.p.LinesToRun) {
			n := d.p.LinesToRun[i]
			low, most = min(low, n), max(most, n)
			from, to := float64(b.Span.From), float64(b.Span.To)
			if k := len(on) - 1; k >= 0 && !b.Weekly() && on[k].high == float64(n) && b.Span.From.Weekday() != time.Monday {
				on[k].to = to // days of a week with the same number are one bar
				continue
			}
			on = append(on, block{from, to, 0, float64(n)})
		}
	}
	all := float64(len(d.in.Lines))
	line := draw.LineStyle{Color: inkMuted, Width: 1, Dashes: []vg.Length{5, 3}}
	pl := newPlot("lines")
	pl.Add(rules{}, bars{ink: inkA, list: on}, steps{line, []block{{float64(d.start()), float64(d.end()), 0, all}}})
	overDays(pl, d.start(), d.end())
	room(pl)
	pl.Y.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return wholeTicks(niceTicks(low, high)) })
	desc := "Nothing is planned."
	if len(on) > 0 {
		desc = fmt.Sprintf("Bars of the lines on, by day and then by week: between %d and %d of %d.", low, most, len(d.in.Lines))
	}
	return inline(pl, Figure{ID: "lines", Title: "Lines to run", Desc: desc, Legend: []Key{{"lines on", barSample(inkA)}, {"lines there are", lineSample(line)}}}, high)
}

// wholeTicks drops ticks between whole numbers.
func wholeTicks(list []plot.Tick) []plot.Tick {
	var whole []plot.Tick
	for _, t := range list {
		if math.Abs(t.Value-math.Round(t.Value)) < 1e-9 {
			t.Label = quantity.Grouped(t.Value, 0)
			whole = append(whole, t)
		}
	}
	return whole
}

// output is the good length by week.
func (d *drawing) output() Figure {
	unit := quantity.DefaultUnit(quantity.KindLength, d.opt.Units)
	scale, symbol := 1000.0, "1000 "+unit.Symbol
	sums := view.Outputs(d.p)
	var made []block
	total, most, mostIn := quantity.Length(0), -1.0, ""
	for _, w := range view.Weeks(d.p) {
		length := 0.0
		for t := w.From; t < w.To; t++ {
			total += sums[t].Length
			length += unit.FromStored(float64(sums[t].Length)) / scale
		}
		if length > most {
			most, mostIn = length, w.Label()
		}
		made = append(made, block{float64(d.p.Buckets[w.From].Span.From), float64(d.p.Buckets[w.To-1].Span.To), 0, length})
	}
	pl := newPlot(symbol + " a week")
	pl.Add(rules{}, bars{ink: inkC, list: made})
	overDays(pl, d.start(), d.end())
	room(pl)
	desc := fmt.Sprintf("Bars of the good profile made each week, %s in all, the most in %s.", view.Figure(unit.FromStored(float64(total)), 0)+" "+unit.Symbol, mostIn)
	return inline(pl, Figure{ID: "output", Title: "Output", Desc: desc, Legend: []Key{{"good profile", barSample(inkC)}}}, high)
}

// mostCover, in days, is what the chart of the cover shows at most.
const mostCover = 42

// cover is how long each grade's pellets last, by bucket.
func (d *drawing) cover() Figure {
	pl := newPlot("days")
	pl.Add(rules{})
	f := Figure{ID: "cover", Title: "Cover of pellets, new loads counted", Desc: "The plan has no pellets."}
	var lows []string
	for i, g := range d.in.Grades {
		s := series[i%len(series)]
		line := draw.LineStyle{Color: s.ink, Width: 1.6, Dashes: s.dashes}
		var pts plotter.XYs
		least := math.Inf(1)
		for _, x := range d.p.Pellets {
			if x.Grade == g.Code && x.Bucket < len(d.p.Buckets) {
				least = min(least, x.CoverDays)
				if math.IsInf(x.CoverDays, 1) {
					continue // it outlasts the horizon
				}
				pts = append(pts, plotter.XY{X: float64(d.p.Buckets[x.Bucket].Span.To), Y: min(mostCover, max(0, orMost(x.CoverDays)))})
			}
		}
		pl.Add(curve{line, draw.GlyphStyle{Color: s.ink, Radius: 3, Shape: s.mark}, pts})
		f.Legend = append(f.Legend, Key{g.Code, lineSample(line)})
		lows = append(lows, fmt.Sprintf("%s %s", g.Code, leastWord(least)))
	}
	if len(lows) > 0 {
		f.Desc = fmt.Sprintf("For each grade the days that its closing stock of pellets lasts at the plan's own use, new loads counted, cut at %d; a line ends where the stock outlasts the horizon. Least: %s.", mostCover, strings.Join(lows, ", "))
	}
	overDays(pl, d.start(), d.end())
	pl.Y.Max = mostCover
	room(pl)
	pl.Y.Tick.Marker = plot.TickerFunc(func(_, _ float64) []plot.Tick { return weekTicks() })
	return inline(pl, f, high)
}

func orMost(days float64) float64 {
	if math.IsNaN(days) {
		return mostCover
	}
	return days
}

func leastWord(days float64) string {
	if math.IsInf(days, 0) {
		return "outlasts the horizon"
	}
	return view.Figure(days, 0) + " days"
}

func weekTicks() []plot.Tick {
	var ticks []plot.Tick
	for d := 0; d <= mostCover; d += 7 {
		label := fmt.Sprint(d)
		if d == mostCover {
			label = fmt.Sprintf("%d+", d)
		}
		ticks = append(ticks, plot.Tick{Value: float64(d), Label: label})
	}
	return ticks
}

// curve is a line with marks on every few of its points.
type curve struct {
	draw.LineStyle
	mark draw.GlyphStyle
	pts  plotter.XYs
}

func (k curve) Plot(c draw.Canvas, pl *plot.Plot) {
	x, y := pl.Transforms(&c)
	path := make([]vg.Point, len(k.pts))
	for i, p := range k.pts {
		path[i] = vg.Point{X: x(p.X), Y: y(p.Y)}
	}
	c.StrokeLines(k.LineStyle, c.ClipLinesXY(path)...)
	last := vg.Length(math.Inf(-1))
	for _, p := range path {
		if p.X-last > 40 {
			c.DrawGlyph(k.mark, p)
			last = p.X
		}
	}
}
