package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner/forecast"
)

// CurveSchema names the JSON of a curve. Fields are only ever added under the same number.
const CurveSchema = "feedline.curve/1"

// Curve writes output and margin against supply, a row for each break, and what each idle line would add.
func Curve(w io.Writer, plant string, c *forecast.Curve, opt Options) error {
	p := &page{opt: opt}
	p.add(heading, "%s, a month: output and margin by feed supplied", plant)
	length := opt.unit(quantity.KindLength)
	g := grid{columns: []column{{head: opt.tonsUnit()}, {head: length.Symbol + " thousands"}, {head: c.Currency + " thousands"}, {head: c.Currency + "/" + opt.tonsUnit() + " beyond"}, {head: "bound by", left: true}}}
	for _, x := range c.Points {
		perTon := x.Slope / (float64(opt.fromTonnes(1)))
		g.add(quantity.Grouped(opt.fromTonnes(x.Tonnes), 1), quantity.Grouped(length.FromStored(x.Metres)/1000, 1), quantity.Grouped(x.Margin/1000, 1), quantity.Grouped(perTon, 0), bindsCurve(x))
	}
	p.table(g)
	p.wrap(normal, fmt.Sprintf("The plan's deliveries and loads bring %s %s a month. Set-up lines only, steady over %s months, without opening stocks.",
		quantity.Grouped(opt.fromTonnes(c.Now), 1), opt.tonsUnit(), quantity.Grouped(c.Months, 1)))
	p.idleLines(c)
	p.wrap(normal, Caution)
	return p.writeTo(w)
}

func (o Options) fromTonnes(t float64) float64 {
	return quantity.TonUnit(o.Units).FromStored(t * quantity.KgPerTonne)
}

// bindsCurve names what binds from a point on, kinds together: "feed; lines L1 L2; demand of 3 profiles".
func bindsCurve(x forecast.CurvePoint) string {
	byKind := map[string][]string{}
	for _, b := range x.Binding {
		kind, name, _ := strings.Cut(b, " ")
		byKind[kind] = append(byKind[kind], name)
	}
	var parts []string
	if x.Slope > 0.5 {
		parts = append(parts, "feed")
	}
	for _, kind := range []string{"line", "step", "dies", "crew", "fitters"} {
		if names := byKind[kind]; len(names) > 0 {
			parts = append(parts, strings.TrimSpace(kind+" "+strings.Join(names, " ")))
		}
	}
	if n := len(byKind["demand"]); n > 0 {
		parts = append(parts, fmt.Sprintf("demand of %d", n))
	}
	return strings.Join(parts, "; ")
}

// idleLines is what each line that stands would add to those that run.
func (p *page) idleLines(c *forecast.Curve) {
	if len(c.Lines) == 0 {
		return
	}
	p.add(heading, "Lines that stand, each beside those that run")
	g := grid{columns: []column{{head: "Line", left: true}, {head: "state", left: true}, {head: "pays from " + p.opt.tonsUnit()}, {head: "adds now"}, {head: "at most"}, {head: "costs"}, {head: "months", rank: 1}}}
	for _, l := range c.Lines {
		state := "ready"
		if l.State == lines.Uncommissioned {
			state = "not set up"
		}
		g.add(l.Line, state, finite(p.opt.fromTonnes(l.BreakEven), 1), quantity.Grouped(l.GainNow, 0), quantity.Grouped(l.GainMost, 0), quantity.Grouped(l.Cost, 0), finite(l.Payback, 1))
	}
	p.table(g)
	p.wrap(normal, "Adds: margin a month in "+c.Currency+" at today's supply, and at the supply where it adds most. Costs: a start with its crew, and setting the line up; months: those over what it adds now.")
}

// finite is a number, or "never".
func finite(x float64, decimals int) string {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return "never"
	}
	return quantity.Grouped(x, decimals)
}

type curveDocument struct {
	Schema   string           `json:"schema"`
	Plant    string           `json:"plant"`
	Currency string           `json:"currency"`
	Months   float64          `json:"months"`
	Now      float64          `json:"supply_now_t_month"`
	Points   []curvePointJSON `json:"points"`
	Lines    []lineWorthJSON  `json:"lines"`
}

type curvePointJSON struct {
	Tonnes  float64  `json:"supply_t_month"`
	Metres  float64  `json:"made_m_month"`
	Margin  float64  `json:"margin_money_month"`
	Slope   float64  `json:"worth_money_t"`
	Binding []string `json:"binding"`
}

type lineWorthJSON struct {
	Line      string   `json:"line"`
	SetUp     bool     `json:"set_up"`
	BreakEven *float64 `json:"break_even_t_month"`
	GainNow   float64  `json:"gain_now_money_month"`
	GainMost  float64  `json:"gain_most_money_month"`
	AtMost    float64  `json:"gain_most_at_t_month"`
	Cost      float64  `json:"cost_money"`
	Payback   *float64 `json:"payback_months"`
	Best      *float64 `json:"payback_best_months"`
}

// CurveJSON writes a curve as one document of the schema described in SCHEMA.md.
func CurveJSON(w io.Writer, plant string, c *forecast.Curve) error {
	d := curveDocument{Schema: CurveSchema, Plant: plant, Currency: c.Currency, Months: c.Months, Now: c.Now, Points: []curvePointJSON{}, Lines: []lineWorthJSON{}}
	for _, x := range c.Points {
		d.Points = append(d.Points, curvePointJSON{x.Tonnes, x.Metres, x.Margin, x.Slope, append([]string{}, x.Binding...)})
	}
	for _, l := range c.Lines {
		d.Lines = append(d.Lines, lineWorthJSON{l.Line, l.State != lines.Uncommissioned, number(l.BreakEven), l.GainNow, l.GainMost, l.AtMost, l.Cost, number(l.Payback), number(l.Best)})
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(d)
}
