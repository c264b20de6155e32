package report

import (
	"fmt"
	"io"
	"math"

	"feedline/planner"
	"feedline/planner/estimates"
)

// Estimates writes what the records say as text: estimates beside what was entered, OEE, forecasts and alarms; charts if asked for.
func Estimates(w io.Writer, in *planner.Input, r estimates.Report, charts bool, opt Options) error {
	p := &page{opt: opt}
	if len(r.Estimates) == 0 {
		p.wrap(normal, "Nothing is recorded yet that a figure could be estimated from: see feedline record.")
		return p.writeTo(w)
	}
	p.add(heading, "%s, estimates from %d entries", in.Plant.Name, r.Records)
	p.alarms(r)
	var list []planner.Estimate
	for _, e := range r.Estimates {
		list = append(list, e.Estimate)
	}
	p.table(estimateGrid(list, opt))
	p.oee(r.OEE)
	p.bias(r.Bias)
	if charts {
		p.charts(r.Charts)
	}
	return p.writeTo(w)
}

// PlannedWith writes the estimates that a plan was made with.
func PlannedWith(w io.Writer, p *planner.Plan, moved []estimates.Change, opt Options) error {
	pg := &page{opt: opt}
	if len(p.Estimates) == 0 {
		pg.add(normal, "The plan is made with the figures entered: no estimates.")
		return pg.writeTo(w)
	}
	pg.wrap(heading, p.Heading()+": planned with estimates")
	pg.table(estimateGrid(p.Estimates, opt))
	if len(moved) > 0 {
		pg.add(normal, "")
		pg.add(heading, "Moved since the plan before")
		for _, c := range moved {
			pg.wrap(normal, ChangeText(c))
		}
	}
	return pg.writeTo(w)
}

func estimateGrid(list []planner.Estimate, opt Options) grid {
	g := grid{columns: []column{{head: "estimate", left: true}, {head: "entered"}, {head: "from the records (95 %)", left: true}, {head: "used", left: true}, {head: "note", left: true, rank: 1}}}
	for _, e := range list {
		e = estimates.InUnits(e, opt.Units)
		used := "no"
		if e.Used {
			used = "yes"
		}
		g.add(e.Name, figureText(e.Entered), e.Text, used, e.Note)
	}
	return g
}

func figureText(x float64) string {
	if math.Abs(x) >= 10 {
		return fmt.Sprintf("%.1f", x)
	}
	return fmt.Sprintf("%.3f", x)
}

func (p *page) alarms(r estimates.Report) {
	list := r.Alarms()
	if len(list) == 0 {
		p.add(normal, "No drift: %d charts are in control.", len(r.Charts))
	}
	for _, c := range list {
		a := c.Alarms[len(c.Alarms)-1]
		p.wrap(warning, fmt.Sprintf("! drift: %s (%d of the last records out)", a.Words, len(c.Alarms)))
	}
	p.add(normal, "")
}

func (p *page) oee(list []estimates.LineOEE) {
	if len(list) == 0 {
		return
	}
	p.add(normal, "")
	p.add(heading, "OEE (ISO 22400-2; set-ups count as lost, planned stops do not)")
	g := grid{columns: []column{{head: "line", left: true}, {head: "busy h"}, {head: "running h"}, {head: "availability"}, {head: "effectiveness"}, {head: "quality"}, {head: "OEE"}}}
	for _, o := range list {
		name := o.Line
		if name == "" {
			name = "all"
		}
		g.add(name, hours(o.PlannedBusy), hours(o.Production), o.OEE.Availability.Format(1), o.Effectiveness.Format(1), o.Quality.Format(1), o.Index.Format(1))
	}
	p.table(g)
}

func (p *page) bias(list []estimates.Bias) {
	if len(list) == 0 {
		return
	}
	p.add(normal, "")
	p.add(heading, "Past forecasts against shipments (error = shipped - forecast)")
	g := grid{columns: []column{{head: "profile", left: true}, {head: "forecasts"}, {head: p.opt.unit(lengthKind).Symbol + " forecast"}, {head: "shipped"}, {head: "bias"}, {head: "MAPE"}, {head: "signal"}}}
	for _, b := range list {
		g.add(b.Profile, fmt.Sprint(b.Spans), p.opt.length(metres(b.Forecast)), p.opt.length(metres(b.Shipped)), p.opt.length(metres(b.Bias)),
			fmt.Sprintf("%.0f %%", 100*b.MAPE), fmt.Sprintf("%.1f", b.Signal))
	}
	p.table(g)
}

func (p *page) charts(list []estimates.Chart) {
	p.add(normal, "")
	p.add(heading, "Charts: actual / entered; limits from the records but the last eight; EWMA with weight 0.2")
	g := grid{columns: []column{{head: "chart", left: true}, {head: "records"}, {head: "centre"}, {head: "single limits", left: true}, {head: "EWMA"}, {head: "its limits", left: true}, {head: "state", left: true}}}
	for _, c := range list {
		state := "in control"
		if len(c.Alarms) > 0 {
			state = "OUT"
		}
		g.add(c.Name, fmt.Sprint(len(c.Values)), fmt.Sprintf("%.3f", c.Single.Centre), fmt.Sprintf("%.3f to %.3f", c.Single.Low, c.Single.High),
			fmt.Sprintf("%.3f", c.EWMA[len(c.EWMA)-1]), fmt.Sprintf("%.3f to %.3f", c.Smooth.Low, c.Smooth.High), state)
	}
	p.table(g)
}

// ChangeText is a change of an estimate in a sentence.
func ChangeText(c estimates.Change) string {
	s := fmt.Sprintf("%s from %s to %s (%s)", c.Name, figureText(c.Was), figureText(c.Now), c.Text)
	if c.Effect != "" {
		s += ": " + c.Effect
	}
	return s
}
