package view

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Statement is a sentence or two of the answer under a short heading.
type Statement struct {
	Head string
	Text string
	Warn bool // asks for action
}

// Cautions stand in every report.
var Cautions = []string{
	"A plan only: it controls no machine. Starting an idle line needs lockout release, heat soak, guarding in place and a competent person first.",
	"Storage follows the local fire code. Fresh foam gives off pentane, and dust of polystyrene burns: keep ignition sources away and vent.",
}

// Answer is the plan in words, for scheduler, purchasing and owner: lines to run, shortages, what to order, late orders, money, proof.
func Answer(in *planner.Input, p *planner.Plan, opt Options) []Statement {
	m := newMaker(in, p, opt)
	if len(p.Buckets) == 0 {
		return []Statement{{"Plan", "The plan has no day: nothing is planned.", true}}
	}
	list := []Statement{m.sayLines(), m.sayWeek()}
	list = append(list, m.sayShort()...)
	list = append(list, m.sayOrders())
	list = append(list, m.sayOverdue()...)
	list = append(list, m.sayUnkept()...)
	list = append(list, m.sayLate())
	list = append(list, m.sayBest()...)
	list = append(list, m.sayMargin(), m.sayProof())
	if opt.Moved {
		list = append(list, Statement{"Note", "The book has changed since this plan was made.", true})
	}
	return list
}

// nb is a text whose blanks do not break.
func nb(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// Date is a day such as "Mon 18 Jan 2027".
func Date(d calendar.Day) string { return d.UTC().Format("Mon 2 Jan 2006") }

// Figure is a number with its thousands grouped, "?" if it is none.
func Figure(x float64, decimals int) string {
	if !finite(x) {
		return "?"
	}
	return quantity.Grouped(x, decimals)
}

// known is a figure in words, "unknown" if it is none.
func known(x float64, words string) string {
	if !finite(x) {
		return "unknown"
	}
	return nb(words)
}

func (m *maker) money(x quantity.Money) string { return known(float64(x), x.Format(m.p.Currency, 0)) }
func (m *maker) tonText(x quantity.Mass) string {
	return known(float64(x), x.FormatTons(m.opt.Units, 1))
}

// sayLines is how many lines to run, by stretches of weeks with the same number.
func (m *maker) sayLines() Statement {
	weeks := Weeks(m.p)
	var parts []string
	for i := 0; i < len(weeks); {
		j, n := i, weeks[i].Most(m.p.LinesToRun)
		for j < len(weeks) && weeks[j].Most(m.p.LinesToRun) == n {
			j++
		}
		span := weeks[i].Label()
		if j-1 > i {
			span += " to " + weeks[j-1].Label()
		}
		parts = append(parts, fmt.Sprintf("%d in %s", n, nb(span)))
		i = j
	}
	const most = 6
	more := ""
	if len(parts) > most {
		parts, more = parts[:most], ", then as the chart shows"
	}
	return Statement{"Lines to run", fmt.Sprintf("Of %d lines run %s%s.", len(m.in.Lines), strings.Join(parts, ", "), more), false}
}

func (m *maker) sayWeek() Statement {
	w := Weeks(m.p)[0]
	var starts []string
	for i, b := range m.p.Buckets {
		for _, u := range m.p.Lines {
			if u.Started && u.Bucket == i {
				in := " on "
				if b.Weekly() {
					in = " in "
				}
				starts = append(starts, nb(u.Line+in+b.Label()))
			}
		}
	}
	text := "No line is to be started."
	if len(starts) > 0 {
		const most = 5
		more := ""
		if len(starts) > most {
			starts, more = starts[:most], " and later ones"
		}
		text = "Start " + strings.Join(starts, ", ") + more + "."
	}
	if stand := Stand(m.in, m.p, w.From, w.To); len(stand) > 0 {
		text += " Without work this week: " + strings.Join(stand, ", ") + "."
	}
	return Statement{"Starts and stops", text, false}
}

// sayShort is a statement for each short grade: when, how much, whom it hits, the cheapest way to order in time.
func (m *maker) sayShort() []Statement {
	if len(m.p.NeedHave) == 0 && len(m.p.Shortages) == 0 {
		return []Statement{{"Short", NotWorkedOut, true}}
	}
	if len(m.p.Shortages) == 0 {
		return []Statement{{"Short", fmt.Sprintf("No grade runs short on committed supply in the %s.", planner.Weeks(m.p.Buckets)), false}}
	}
	var list []Statement
	for _, s := range m.p.Shortages {
		from := Date(s.First)
		if i, ok := calendar.BucketOf(m.p.Buckets, s.First); ok && m.p.Buckets[i].Weekly() {
			from = "the week of " + from
		}
		text := fmt.Sprintf("On committed supply short from %s, %s weeks ahead, by %s within four weeks; pellets run out about %s", nb(from), known(s.WeeksAhead, quantity.Grouped(s.WeeksAhead, 1)),
			m.tonText(s.MassIn4Weeks), nb(Date(s.LastsTill)))
		switch n := len(s.OrdersAtRisk); n {
		case 0:
			text += "; no order is at risk."
		case 1:
			text += "; order " + s.OrdersAtRisk[0] + " is at risk."
		default:
			text += fmt.Sprintf("; %d orders are at risk.", n)
		}
		list = append(list, Statement{s.Grade + " short", text + " " + m.sayWays(s.Grade), true})
	}
	return list
}

// sayWays is how to order for a grade.
func (m *maker) sayWays(grade string) string {
	var ways []planner.OrderBy
	for _, o := range m.p.OrderBy {
		if o.Grade == grade && !o.TooLate {
			ways = append(ways, o)
		}
	}
	slices.SortStableFunc(ways, func(a, b planner.OrderBy) int {
		if a.Alone() != b.Alone() {
			return cmp.Compare(part(a), part(b))
		}
		return cmp.Compare(a.Landed, b.Landed)
	})
	if len(ways) == 0 {
		return "No lane brings it in time at the service level: expect it."
	}
	var parts []string
	for _, o := range ways {
		parts = append(parts, fmt.Sprintf("%s on %s by %s%s at %s", loadsWord(o.Loads), o.Lane, nb(Date(o.By)), comma(o.Terms()), known(float64(o.Landed), o.Landed.Format(m.p.Currency, m.opt.Units, 2))))
	}
	return "Order " + strings.Join(parts, ", or ") + " of pellets."
}

// part is 1 for a lane whose material may be only part of the feed, else 0.
func part(o planner.OrderBy) int {
	if o.Alone() {
		return 0
	}
	return 1
}

// comma ends what is put between commas; nothing stays nothing.
func comma(terms string) string {
	if terms == "" {
		return ""
	}
	return terms + ","
}

func (m *maker) sayOrders() Statement {
	list := slices.Clone(m.p.Purchases)
	slices.SortStableFunc(list, func(a, b planner.Purchase) int { return cmp.Compare(a.OrderBy, b.OrderBy) })
	if len(list) == 0 {
		return Statement{"To order", "The plan orders nothing new.", false}
	}
	var cost quantity.Money
	var mass quantity.Mass
	loads := 0
	for _, x := range list {
		cost, mass, loads = cost+x.Cost, mass+x.Mass, loads+x.Loads
	}
	var next []string
	for i, x := range list {
		if i == 3 {
			break
		}
		next = append(next, fmt.Sprintf("%s, %s on %s", nb(Date(x.OrderBy)), loadsWord(x.Loads), x.Lane))
	}
	return Statement{"To order", fmt.Sprintf("The plan orders %s, %s for %s, over the horizon. Next: %s.", loadsWord(loads), m.tonText(mass), m.money(cost), strings.Join(next, "; ")), false}
}

// sayOverdue names the deliveries that have not come by their day, if there are any.
func (m *maker) sayOverdue() []Statement {
	var list []string
	for _, a := range Arrivals(m.in, m.p) {
		if a.Overdue {
			list = append(list, fmt.Sprintf("%s, %s of %s, was expected on %s", a.Code, m.tonText(quantity.Mass(a.Mass)), a.Material, nb(Date(a.ETA))))
		}
	}
	switch n := len(list); n {
	case 0:
		return nil
	case 1:
		return []Statement{{"Overdue", list[0] + ". The plan counts on it at once: book it as received, or enter its new day.", true}}
	default:
		const most = 5
		more := ""
		if n > most {
			list, more = list[:most], fmt.Sprintf("; and %d more", n-most)
		}
		return []Statement{{"Overdue", strings.Join(list, "; ") + more + ". The plan counts on them at once: book them as received, or enter their new days.", true}}
	}
}

// sayUnkept names the pins that the plan does not keep, if there are any.
func (m *maker) sayUnkept() []Statement {
	if len(m.p.Unkept) == 0 {
		return nil
	}
	list := make([]string, len(m.p.Unkept))
	for i, u := range m.p.Unkept {
		list[i] = u.String()
	}
	return []Statement{{"Pins", "Not kept: " + strings.Join(list, "; ") + ".", true}}
}

func (m *maker) sayLate() Statement {
	late := Late(m.p)
	if len(m.p.Orders) == 0 {
		return Statement{"Orders", "There are no orders.", false}
	}
	if len(late) == 0 {
		return Statement{"Orders", fmt.Sprintf("All %d orders are in time.", len(m.p.Orders)), false}
	}
	n, worst := 0, planner.OrderResult{}
	for _, r := range late {
		n += never(r)
		if r.DaysLate > worst.DaysLate {
			worst = r
		}
	}
	are := "are"
	if len(late) == 1 {
		are = "is"
	}
	text := fmt.Sprintf("%d of %d orders %s late", len(late), len(m.p.Orders), are)
	if worst.DaysLate > 0 {
		text += fmt.Sprintf(", the worst %s by %d days", worst.Order, worst.DaysLate)
	}
	if n > 0 {
		text += fmt.Sprintf("; %d of them not complete within the horizon", n)
	}
	return Statement{"Orders", text + ".", true}
}

func (m *maker) sayMargin() Statement {
	g := m.p.Margin
	var good quantity.Length
	for _, o := range Outputs(m.p) {
		good += o.Length
	}
	return Statement{"Money", fmt.Sprintf("Net margin %s from %s of good profile: sales %s, feed %s, processes %s.", m.money(g.Net), known(float64(good), good.Format(m.opt.Units, 0)), m.money(g.Sales), m.money(g.Feed),
		m.money(g.Processes)), false}
}

func (m *maker) sayProof() Statement {
	p := m.p
	text := fmt.Sprintf("The plan costs %s; no bound is proven", m.money(p.Objective))
	if finite(float64(p.Bound)) && finite(p.Gap) {
		text = fmt.Sprintf("The plan costs %s; no plan can cost less than %s, a gap of %s", m.money(p.Objective), m.money(p.Bound), nb(quantity.Grouped(100*p.Gap, 2)+" %"))
		if spent := p.Spent(); p.Gap > 0 && m.money(spent) != m.money(p.Objective) {
			text += fmt.Sprintf(" of the %s that it spends before what is left at the end is taken off", m.money(spent))
		}
	}
	return Statement{"How good", fmt.Sprintf("%s. The search ended after %s: %s.", text, nb(quantity.Grouped(p.Solve.Seconds(), 0)+" s"), p.Stop), false}
}
