// Package chart draws a plan's charts as SVG for pages: no colour of its own, but CSS variables and currentColor, so that a page is
// right in light, in dark and on paper; a title and a description for those who don't see it; no series told by colour alone.
package chart

import (
	"bytes"
	"fmt"
	"html"
	"html/template"
	"image/color"
	"math"
	"regexp"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Figure is a chart.
type Figure struct {
	ID     string // unique in a page
	Title  string
	Desc   string // the chart in words
	Legend []Key
	SVG    template.HTML
}

// Key is an entry of a legend.
type Key struct {
	Name   string
	Sample template.HTML // a small SVG
}

// Options say how. The zero value is metric.
type Options struct {
	Units    quantity.System
	Controls []Control
}

// All is the charts of a plan: need and have by grade, lines to run, output, cover, arrivals, and the control charts asked for.
func All(in *planner.Input, p *planner.Plan, opt Options) []Figure {
	if len(p.Buckets) == 0 {
		return nil
	}
	d := &drawing{in: in, p: p, opt: opt}
	list := d.needHave()
	list = append(list, d.linesToRun(), d.output(), d.cover(), d.arrivals())
	for i, c := range opt.Controls {
		list = append(list, c.figure(fmt.Sprintf("control-%d", i+1)))
	}
	return list
}

// drawing is what the charts of a plan share.
type drawing struct {
	in  *planner.Input
	p   *planner.Plan
	opt Options
}

func (d *drawing) start() calendar.Day { return d.p.Buckets[0].Span.From }
func (d *drawing) end() calendar.Day   { return d.p.Buckets[len(d.p.Buckets)-1].Span.To }

// The size of a chart in points, and of its words.
const (
	wide   = 720 * vg.Length(1)
	high   = 190 * vg.Length(1)
	letter = 11 * vg.Length(1)
)

// ink is a colour that stands for a CSS variable, or for the text's colour. plot draws with it; inline puts the variable in its place.
type ink uint8

const (
	inkText ink = iota + 1
	inkMuted
	inkGrid
	inkA
	inkB
	inkC
	inkD
	inkE
	inkF
	inks
)

// css is what the inks stand for.
var css = [inks]string{inkText: "currentColor", inkMuted: "var(--muted)", inkGrid: "var(--grid)", inkA: "var(--c1)", inkB: "var(--c2)", inkC: "var(--c3)", inkD: "var(--c4)",
	inkE: "var(--c5)", inkF: "var(--c6)"}

// RGBA makes ink a color.Color, one that plot writes as #0101xx.
func (k ink) RGBA() (r, g, b, a uint32) { return color.RGBA{1, 1, byte(k), 255}.RGBA() }

var written = regexp.MustCompile(`#0101([0-9A-Fa-f]{2})`)

// series are the inks, dashes and marks of grades and the like, in their order.
var series = []struct {
	ink    ink
	dashes []vg.Length
	mark   draw.GlyphDrawer
}{
	{inkA, nil, draw.CircleGlyph{}}, {inkB, []vg.Length{6, 3}, draw.BoxGlyph{}}, {inkC, []vg.Length{2, 2}, draw.PyramidGlyph{}},
	{inkD, []vg.Length{8, 3, 2, 3}, draw.SquareGlyph{}}, {inkE, []vg.Length{12, 4}, draw.RingGlyph{}}, {inkF, []vg.Length{1, 3}, draw.TriangleGlyph{}},
}

var fonts = font.NewCache(liberation.Collection())

func style(k ink, size vg.Length) text.Style {
	return text.Style{Color: k, Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}, Handler: text.Plain{Fonts: fonts}}
}

// newPlot is an empty plot over the plan's days with our thin rules.
func newPlot(unit string) *plot.Plot {
	pl := plot.New()
	pl.BackgroundColor = nil
	pl.TextHandler = text.Plain{Fonts: fonts}
	for _, a := range []*plot.Axis{&pl.X, &pl.Y} {
		a.LineStyle.Color, a.LineStyle.Width = inkMuted, 0.7
		a.Tick.LineStyle.Color, a.Tick.LineStyle.Width, a.Tick.Length = inkMuted, 0.7, 4
		a.Padding = 0
	}
	x, y := &pl.X.Tick.Label, &pl.Y.Tick.Label
	*x, *y = style(inkText, letter), style(inkText, letter)
	x.XAlign, x.YAlign = draw.XCenter, draw.YTop
	y.XAlign, y.YAlign = draw.XRight, draw.YCenter
	pl.X.Label.TextStyle, pl.Y.Label.TextStyle = style(inkText, letter), style(inkText, letter)
	pl.Y.Label.TextStyle.XAlign, pl.Y.Label.TextStyle.YAlign = draw.XCenter, draw.YBottom
	pl.Y.Label.Text = unit
	pl.Y.Label.Padding = 4
	pl.Y.Min, pl.Y.Tick.Marker = 0, plot.TickerFunc(niceTicks)
	return pl
}

// overDays sets the horizontal axis to days [from, to) with a label for as many weeks as fit.
func overDays(pl *plot.Plot, from, to calendar.Day) {
	pl.X.Min, pl.X.Max = float64(from), float64(max(to, from+1))
	const labels = 13
	weeks := int(to-from.Monday()+6) / 7
	step := calendar.Day(7 * max(1, (weeks+labels-1)/labels))
	var ticks plot.ConstantTicks
	next := from
	for d := from.Monday(); d < to; d += 7 {
		if d < from {
			continue
		}
		t := plot.Tick{Value: float64(d)}
		if d >= next && float64(to-d) > 0.03*float64(to-from) {
			t.Label, next = d.WeekLabel()+"\n"+d.UTC().Format("2 Jan"), d+step
		}
		ticks = append(ticks, t)
	}
	pl.X.Tick.Marker = ticks
}

// niceTicks are at most six round values.
func niceTicks(low, high float64) []plot.Tick {
	span := high - low
	if !(span > 0) || math.IsInf(span, 0) {
		return []plot.Tick{{Value: low, Label: quantity.Grouped(low, 0)}}
	}
	step := math.Pow(10, math.Floor(math.Log10(span/5)))
	for _, f := range []float64{1, 2, 5, 10} {
		if span/(f*step) <= 5 {
			step *= f
			break
		}
	}
	decimals := max(0, int(-math.Floor(math.Log10(step)+1e-9)))
	var ticks []plot.Tick
	for i := math.Ceil(low/step - 1e-9); i*step <= high*(1+1e-9)+1e-12; i++ {
		ticks = append(ticks, plot.Tick{Value: i * step, Label: tickLabel(i*step, decimals)})
	}
	return ticks
}

// tickLabel is a round value, short however large it is.
func tickLabel(x float64, decimals int) string {
	const large = 1e7
	if math.Abs(x) >= large {
		return strconv.FormatFloat(x, 'g', 3, 64)
	}
	return quantity.Grouped(x, decimals)
}

// inline draws the plot and makes it fit a page: a role, a title and a description, no size but the view box, inks for colours.
func inline(pl *plot.Plot, f Figure, height vg.Length) Figure {
	canvas := vgsvg.NewWith(vgsvg.UseWH(wide, height))
	pl.Draw(draw.New(canvas))
	var b bytes.Buffer
	if _, err := canvas.WriteTo(&b); err != nil {
		panic("chart: " + err.Error()) // a bytes.Buffer takes everything
	}
	_, body, _ := strings.Cut(b.String(), "<svg")
	_, body, _ = strings.Cut(body, ">")
	body = written.ReplaceAllStringFunc(body, func(s string) string {
		var k uint8
		_, _ = fmt.Sscanf(s[5:], "%X", &k)
		if ink(k) >= inks || css[k] == "" {
			return "currentColor"
		}
		return css[k]
	})
	body = strings.ReplaceAll(body, "font-family:Liberation Sans;font-variant:normal;font-weight:normal;font-style:normal;", "")
	id := html.EscapeString(f.ID)
	f.SVG = template.HTML(fmt.Sprintf(`<svg viewBox="0 0 %g %g" role="img" aria-labelledby="%s-t %s-d" xmlns="http://www.w3.org/2000/svg"><title id="%s-t">%s</title><desc id="%s-d">%s</desc>%s`,
		wide.Points(), height.Points(), id, id, id, html.EscapeString(f.Title), id, html.EscapeString(f.Desc), body))
	return f
}
