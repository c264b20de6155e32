package chart

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// block is a bar over [from, to) days from low to high.
type block struct{ from, to, low, high float64 }

// bars are blocks of one ink; hollow ones have an outline only, hatched ones lines across.
type bars struct {
	ink     ink
	list    []block
	hatched bool
}

// share of its days that a bar fills.
const barShare = 0.8

func (b bars) DataRange() (xmin, xmax, ymin, ymax float64) {
	xmin, ymin, xmax, ymax = math.Inf(1), 0, math.Inf(-1), 0
	for _, x := range b.list {
		xmin, xmax, ymax, ymin = min(xmin, x.from), max(xmax, x.to), max(ymax, x.high), min(ymin, x.low)
	}
	return xmin, xmax, ymin, ymax
}

func (b bars) Plot(c draw.Canvas, pl *plot.Plot) {
	x, y := pl.Transforms(&c)
	for _, k := range b.list {
		if !(k.high > k.low) {
			continue
		}
		gap := vg.Length(k.to-k.from) * (x(1) - x(0)) * (1 - barShare) / 2
		r := vg.Rectangle{Min: vg.Point{X: x(k.from) + gap, Y: y(k.low)}, Max: vg.Point{X: x(k.to) - gap, Y: y(k.high)}}
		outline := []vg.Point{r.Min, {X: r.Min.X, Y: r.Max.Y}, r.Max, {X: r.Max.X, Y: r.Min.Y}, r.Min}
		if !b.hatched {
			c.FillPolygon(b.ink, outline)
			continue
		}
		line := draw.LineStyle{Color: b.ink, Width: 1}
		c.StrokeLines(line, outline)
		const apart = 4
		for h := r.Min.Y - (r.Max.X - r.Min.X); h < r.Max.Y; h += apart { // lines at 45 degrees, clipped to the bar
			hatch := c
			hatch.Rectangle = r
			c.StrokeLines(line, hatch.ClipLinesXY([]vg.Point{{X: r.Min.X, Y: h}, {X: r.Max.X, Y: h + r.Max.X - r.Min.X}})...)
		}
	}
}

// steps is a line that is level over each block, at its high.
type steps struct {
	draw.LineStyle
	list []block
}

func (s steps) DataRange() (xmin, xmax, ymin, ymax float64) { return bars{list: s.list}.DataRange() }

func (s steps) Plot(c draw.Canvas, pl *plot.Plot) {
	x, y := pl.Transforms(&c)
	var path []vg.Point
	for _, k := range s.list {
		path = append(path, vg.Point{X: x(k.from), Y: y(k.high)}, vg.Point{X: x(k.to), Y: y(k.high)})
	}
	c.StrokeLines(s.LineStyle, c.ClipLinesXY(path)...)
}

// rules are thin lines across at the ticks of the vertical axis, behind all else.
type rules struct{}

func (rules) Plot(c draw.Canvas, pl *plot.Plot) {
	_, y := pl.Transforms(&c)
	for _, t := range pl.Y.Tick.Marker.Ticks(pl.Y.Min, pl.Y.Max) {
		if t.Value > pl.Y.Min && t.Value <= pl.Y.Max {
			c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.5}, c.Min.X, y(t.Value), c.Max.X, y(t.Value))
		}
	}
}

// upright is a line from bottom to top at a day, with a word at its head.
type upright struct {
	x    float64
	text string
	row  int  // how many words stand above it
	left bool // the word stands on its left
}

func (u upright) Plot(c draw.Canvas, pl *plot.Plot) {
	x, _ := pl.Transforms(&c)
	at := x(u.x)
	if at < c.Min.X || at > c.Max.X {
		return
	}
	c.StrokeLine2(draw.LineStyle{Color: inkB, Width: 1, Dashes: []vg.Length{4, 2}}, at, c.Min.Y, at, c.Max.Y)
	sty := style(inkB, letter)
	sty.YAlign = draw.YTop
	pt := vg.Point{X: at + 3, Y: c.Max.Y - vg.Length(u.row)*(letter+2)}
	if u.left || at > c.Max.X-(c.Max.X-c.Min.X)/5 {
		sty.XAlign, pt.X = draw.XRight, at-3
	}
	c.FillText(sty, pt, u.text)
}

// The samples of a legend, drawn as the charts draw.

func sample(inner string) template.HTML {
	return template.HTML(`<svg class="key" viewBox="0 0 28 12" width="28" height="12" aria-hidden="true" focusable="false">` + inner + `</svg>`)
}

func barSample(k ink) template.HTML {
	return sample(fmt.Sprintf(`<rect x="2" y="1" width="24" height="10" style="fill:%s"/>`, css[k]))
}

func hatchSample(k ink) template.HTML {
	return sample(fmt.Sprintf(`<path d="M2,1H26V11H2ZM2,7L8,1M2,11L12,1M8,11L18,1M14,11L24,1M20,11L26,5" style="fill:none;stroke:%s;stroke-width:1"/>`, css[k]))
}

func lineSample(l draw.LineStyle) template.HTML {
	k, _ := l.Color.(ink)
	var dashes []string
	for _, d := range l.Dashes {
		dashes = append(dashes, fmt.Sprintf("%g", d.Points()))
	}
	array := ""
	if len(dashes) > 0 {
		array = ";stroke-dasharray:" + strings.Join(dashes, ",")
	}
	return sample(fmt.Sprintf(`<path d="M1,6H27" style="fill:none;stroke:%s;stroke-width:%g%s"/>`, css[k], l.Width.Points(), array))
}

func dotSample(k ink, filled bool) template.HTML {
	fill := "none"
	if filled {
		fill = css[k]
	}
	return sample(fmt.Sprintf(`<path d="M1,6H14" style="fill:none;stroke:%s;stroke-width:1"/><circle cx="18" cy="6" r="4" style="fill:%s;stroke:%s;stroke-width:1.2"/>`, css[k], fill, css[k]))
}
