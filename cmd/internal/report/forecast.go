package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/forecast"
)

// The rows of a forecast's text that name many: grades are all named.
const (
	driverRows = 8
	orderRows  = 6
)

// Forecast writes a forecast in rows of the given width: by week the metres, the margin, the cover and the late orders as the plan has them and
// as nine, five and one of ten samples reach them, each grade's chance of running short, what matters most, and the orders at risk.
func Forecast(w io.Writer, r *forecast.Result, opt Options) error {
	p := &page{opt: opt}
	p.add(heading, "%s", forecastHeading(r))
	if r.Runs < r.Asked {
		p.add(warning, "%d of %d samples solved: %s", r.Runs, r.Asked, r.Stop)
	}
	p.totals(r)
	p.byWeek(r)
	length := p.opt.unit(quantity.KindLength)
	p.fan("Good "+length.Symbol+" made a week, thousands", r, r.Metres, length.FromStored(1)/1000)
	p.chances(r)
	p.orderByDates(r)
	p.loadWorth(r)
	p.orderNow(r)
	p.drivers(r)
	p.ordersAtRisk(r)
	p.wrap(normal, fmt.Sprintf("Near weeks keep the plan's set-ups, no load is ordered beyond the plan's; a sample knows its whole world. Seed %d.", r.Seed))
	p.wrap(normal, Caution)
	return p.writeTo(w)
}

func forecastHeading(r *forecast.Result) string {
	name := ""
	if r.Plant != "" {
		name = r.Plant + ", "
	}
	return fmt.Sprintf("%s%s from %s, %s samples", name, planner.Weeks(r.Weeks), r.Start, quantity.Grouped(float64(r.Runs), 0))
}

// totals tells metres and margin over the horizon.
func (p *page) totals(r *forecast.Result) {
	g := grid{columns: []column{{head: "Over all weeks", left: true}, {head: "plan", rank: 2}, {head: "P10"}, {head: "P50"}, {head: "P90"}, {head: "mean", rank: 1}, {head: "± s.e.", rank: 3}}}
	row := func(name string, b forecast.Band, scale float64, decimals int) {
		n := func(x float64) string { return quantity.Grouped(x*scale, decimals) }
		g.add(name, n(b.Plan), n(b.P10), n(b.P50), n(b.P90), n(b.Mean), n(b.MeanSE))
	}
	unit := p.opt.unit(quantity.KindLength)
	row("Good "+unit.Symbol+", thousands", r.TotalMetres, unit.FromStored(1)/1000, 1)
	row("Margin, "+r.Currency+" thousands", r.TotalMargin, 1e-3, 1)
	p.table(g)
}

// byWeek is a row a week.
func (p *page) byWeek(r *forecast.Result) {
	g := grid{columns: []column{{head: "Week", left: true}, {head: "margin P10", rank: 3}, {head: "P50"}, {head: "P90", rank: 3}, {head: "cover d P10"}, {head: "P50", rank: 4},
		{head: "lines P50", rank: 5}, {head: "P90", rank: 6}, {head: "late P50"}, {head: "P90"}}}
	n := func(x float64, decimals int) string { return quantity.Grouped(x, decimals) }
	for t, w := range r.Weeks {
		g.add(w.Span.From.Monday().WeekLabel(), n(r.Margin[t].P10/1e3, 0), n(r.Margin[t].P50/1e3, 0), n(r.Margin[t].P90/1e3, 0), n(r.Cover[t].P10, 0), n(r.Cover[t].P50, 0),
			n(r.Lines[t].P50, 0), n(r.Lines[t].P90, 0), n(r.Late[t].P50, 0), n(r.Late[t].P90, 0))
	}
	p.add(heading, "By week: margin in %s thousands, days all feed lasts, lines to run, orders late", r.Currency)
	p.table(g)
}

// fan draws a series as rows of text.
func (p *page) fan(title string, r *forecast.Result, s forecast.Series, scale float64) {
	p.add(heading, "%s (· 10–90 %%, = around the middle, | plan)", title)
	for _, line := range FanRows(r, s, scale, p.opt.width()) {
		p.add(normal, "%s", line)
	}
}

// FanRows draws a series as a row of text a week, at most width characters: dots from P10 to P90, a sign at P50 and a bar at the plan's own,
// on a scale from zero to the most. scale is what amounts are multiplied by for the figures behind.
func FanRows(r *forecast.Result, s forecast.Series, scale float64, width int) []string {
	most := 0.0
	for _, b := range s {
		most = max(most, b.P90, b.Plan)
	}
	const label, figures = 10, 18
	cells := width - label - figures
	if cells < 8 || most <= 0 {
		cells = max(cells, 0)
	}
	var rows []string
	for t, b := range s {
		bar := []rune(strings.Repeat(" ", cells))
		at := func(x float64) int {
			return min(max(int(math.Round(x/most*float64(cells-1))), 0), cells-1)
		}
		if cells > 0 && most > 0 {
			for i := at(b.P10); i <= at(b.P90); i++ {
				bar[i] = '·'
			}
			bar[at(b.P50)] = '='
			bar[at(b.Plan)] = '|'
		}
		rows = append(rows, fmt.Sprintf("%-*s%s %5s %5s %5s", label, r.Weeks[t].Span.From.Monday().WeekLabel(), string(bar), quantity.Grouped(b.P10*scale, 0),
			quantity.Grouped(b.P50*scale, 0), quantity.Grouped(b.P90*scale, 0)))
	}
	return rows
}

// chances is each grade's chance of having run short by some weeks.
func (p *page) chances(r *forecast.Result) {
	if len(r.Grades) == 0 {
		return
	}
	weeks := everyFourth(len(r.Weeks))
	g := grid{columns: []column{{head: "Grade", left: true}, {head: "loads", left: true}}}
	for _, t := range weeks {
		g.columns = append(g.columns, column{head: r.Weeks[t].Span.From.Monday().WeekLabel()[max(0, len(r.Weeks[t].Span.From.Monday().WeekLabel())-3):]})
	}
	g.columns = append(g.columns, column{head: "worst " + p.opt.tonsUnit() + " P90", rank: 1})
	for _, x := range r.Grades {
		planned, committed := []string{x.Grade, "as planned"}, []string{"", "none more"}
		for _, t := range weeks {
			planned, committed = append(planned, chanceWord(x.ByWeek[t])), append(committed, chanceWord(x.Committed[t]))
		}
		g.add(append(planned, p.opt.tons(quantity.Mass(x.Worst.P90*1000), 1))...)
		g.add(append(committed, "")...)
	}
	p.add(heading, "%s", "Chance of having run short by the end of a week, % ± standard error")
	p.table(g)
}

// orderByDates lists the last days to order by the samples beside those of the plan.
func (p *page) orderByDates(r *forecast.Result) {
	if len(r.OrderBy) == 0 {
		return
	}
	g := grid{columns: []column{{head: "Grade", left: true}, {head: "lane", left: true}, {head: "order by"}, {head: "± d"}, {head: "plan says"}, {head: "loads"}, {head: "short %", rank: 1}}}
	for _, o := range r.OrderBy {
		by, se, plan := "-", "", "-"
		if !o.Never {
			by, se = shortDate(o.By), quantity.Grouped(o.SE, 1)
			if o.TooLate {
				by = "! too late"
			}
		}
		if o.Formula != 0 {
			plan = shortDate(o.Formula)
		}
		g.add(o.Grade, o.Lane, by, se, plan, fmt.Sprint(o.Loads), chanceWord(o.Short))
	}
	p.add(heading, "Last day to order, by the samples at service level %.4g %%, and by the plan", 100*r.Service)
	p.table(g)
}

// loadWorth lists the loads that are worth most to have sooner.
func (p *page) loadWorth(r *forecast.Result) {
	if len(r.LoadWorth) == 0 {
		return
	}
	g := grid{columns: []column{{head: "Load", left: true}, {head: "material", left: true, rank: 4}, {head: p.opt.tonsUnit(), rank: 3}, {head: "a week earlier"}, {head: "± s.e.", rank: 5},
		{head: "if it never comes"}, {head: "± s.e.", rank: 2}, {head: "another like it"}, {head: "± s.e.", rank: 1}}}
	n := func(x float64) string { return quantity.Grouped(x, 0) }
	for _, l := range r.LoadWorth[:min(driverRows, len(r.LoadWorth))] {
		g.add(l.Code, l.Material, p.opt.tons(quantity.Mass(l.Kg), 1), n(l.Week), n(l.WeekSE), n(-l.Value), n(l.ValueSE), n(l.More), n(l.MoreSE))
	}
	p.add(heading, "Loads worth having sooner, mean gain in %s by re-planning %d samples; what they cost is not taken off", r.Currency, r.LoadWorth[0].Samples)
	p.table(g)
}

// orderNow tells what to order now if all that comes later can be adapted.
func (p *page) orderNow(r *forecast.Result) {
	o := r.OrderNow
	if o == nil {
		return
	}
	p.add(heading, "Loads to order in the first %d weeks, to adapt later: %d scenarios", o.Weeks, o.Scenarios)
	if len(o.Orders) == 0 {
		p.add(normal, "%s", "None.")
	} else {
		g := grid{columns: []column{{head: "Lane", left: true}, {head: "order on"}, {head: "loads"}, {head: "in the plan"}, {head: "for the mean", rank: 1}}}
		for _, x := range o.Orders {
			g.add(x.Lane, shortDate(x.Day), fmt.Sprint(x.Loads), fmt.Sprint(x.Plan), fmt.Sprint(x.Mean))
		}
		p.table(g)
	}
	n := func(x float64) string { return quantity.Grouped(x, 0) }
	p.wrap(normal, fmt.Sprintf("Expected cost %s %s (proven: no less than %s); with the plan's orders %s. Value of the stochastic solution %s: so much less than if ordered for the mean. Value of perfect information %s.",
		r.Currency, n(o.Cost), n(o.Bound), n(o.PlanCost), n(o.VSS), n(o.EVPI)))
}

func everyFourth(n int) []int {
	var list []int
	for t := 3; t < n; t += 4 {
		list = append(list, t)
	}
	if len(list) == 0 || list[len(list)-1] != n-1 {
		list = append(list, n-1)
	}
	return list
}

func chanceWord(c forecast.Chance) string {
	return fmt.Sprintf("%.0f±%.0f", 100*c.P, math.Ceil(100*c.SE))
}

// drivers lists what the margin depends on most.
func (p *page) drivers(r *forecast.Result) {
	if len(r.Drivers) == 0 {
		return
	}
	g := grid{columns: []column{{head: "What matters most", left: true}, {head: "", left: true}, {head: "margin"}, {head: "metres"}, {head: "share", rank: 1}}}
	for _, d := range r.Drivers[:min(driverRows, len(r.Drivers))] {
		g.add(d.Kind, d.Name, fmt.Sprintf("%+.2f", d.Margin), fmt.Sprintf("%+.2f", d.Metres), fmt.Sprintf("%.0f %%", 100*d.Share))
	}
	p.add(heading, "Rank correlation with the outcome")
	p.table(g)
}

// ordersAtRisk lists the orders that are likeliest late.
func (p *page) ordersAtRisk(r *forecast.Result) {
	if len(r.Orders) == 0 {
		p.add(normal, "%s", "No order is late in any sample.")
		return
	}
	g := grid{columns: []column{{head: "Order", left: true}, {head: "profile", left: true}, {head: "due"}, {head: "late %"}, {head: "in the plan", left: true}}}
	for _, o := range r.Orders[:min(orderRows, len(r.Orders))] {
		word := "in time"
		if o.PlanLate {
			word = "late"
		}
		g.add(o.Order, o.Profile, shortDate(o.Due), chanceWord(o.Late), word)
	}
	noun := "orders"
	if len(r.Orders) == 1 {
		noun = "order"
	}
	p.add(heading, "%d %s late in some sample, the likeliest", len(r.Orders), noun)
	p.table(g)
}
