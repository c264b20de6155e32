package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
)

// Caution stands under every answer.
const Caution = "Plan only. Starting an idle line needs lockout release, heat soak and a competent person."

// screenRows is how many rows an answer may take: a screen of 24 less the prompt.
const screenRows = 23

// answer is a plan on its way to one screen.
type answer struct {
	page
	in *planner.Input
	p  *planner.Plan
}

// Text writes the answer that fits one screen of 24 rows: how many lines to run, what on each this week, when which
// grade runs short and what to order by when, how many orders are late, and how good the plan is.
// More lines or ways to order than fit are counted; Runs and Feed list them all.
func Text(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	a := &answer{page: page{opt: opt}, in: in, p: p}
	a.add(heading, "%s", p.Heading())
	if len(p.Buckets) == 0 {
		a.add(normal, "%s", "The plan has no day: nothing is planned.")
		a.wrap(normal, Caution)
		return a.writeTo(w)
	}
	a.linesToRun()
	table, known := a.shortTable()
	busy, stand := a.floor()
	rows := below
	if len(p.Estimates) > 0 {
		rows++
	}
	if len(a.overdueCodes()) > 0 {
		rows++
	}
	if len(p.Unkept) > 0 {
		rows++
	}
	forTable := a.share(len(table), len(busy)+2, rows)
	a.thisWeek(busy, stand, screenRows-a.rows-rows-forTable)
	a.short(table, known, forTable)
	a.nextOrders()
	a.overdue()
	a.unkept()
	a.lateOrders()
	a.changes()
	a.learned()
	a.quality()
	a.wrap(normal, Caution)
	return a.writeTo(w)
}

// below is the rows under the lines and beside the table's: its heading, the next loads, late orders, two on the cost, two of caution.
const below = 7

// share is how many rows the lines leave the table of what it wants, at least four.
func (a *answer) share(table, lines, below int) int {
	return min(table, max(screenRows-a.rows-below-lines, 4))
}

// week is an ISO week of the horizon with its buckets [from, to).
type week struct {
	monday   calendar.Day
	from, to int
}

func weeksOf(p *planner.Plan) []week {
	var list []week
	for i, b := range p.Buckets {
		m := b.Span.From.Monday()
		if n := len(list); n > 0 && list[n-1].monday == m {
			list[n-1].to = i + 1
			continue
		}
		list = append(list, week{m, i, i + 1})
	}
	return list
}

// weeksMore is the room for the word on the weeks that do not fit.
const weeksMore = 8

// linesToRun is the most lines at once by week, as many weeks as fit, and the most in those that do not.
func (a *answer) linesToRun() {
	const label, cell = 14, 3
	var heads, counts strings.Builder
	list := weeksOf(a.p)
	mostOf := func(w week) (most int) {
		for _, n := range a.p.LinesToRun[w.from:w.to] {
			most = max(most, n)
		}
		return most
	}
	shown := len(list)
	if label+shown*cell > a.opt.width() {
		shown = max(0, (a.opt.width()-label-weeksMore)/cell)
	}
	for _, w := range list[:shown] {
		most := mostOf(w)
		_, iso := w.monday.ISOWeek()
		fmt.Fprintf(&heads, "%*s", cell, fmt.Sprintf("%02d", iso))
		fmt.Fprintf(&counts, "%*d", cell, most)
	}
	if rest := list[shown:]; len(rest) > 0 {
		most := 0
		for _, w := range rest {
			most = max(most, mostOf(w))
		}
		fmt.Fprintf(&heads, " +%d wk", len(rest))
		fmt.Fprintf(&counts, " most %d", most)
	}
	a.add(heading, "%-*s%s", label, "ISO week", heads.String())
	a.add(normal, "%-*s%s", label, "Lines to run", counts.String())
}

// floor is what each line does in the first week: code and campaigns of those that run, code and why of those that stand.
func (a *answer) floor() (busy [][2]string, stand []string) {
	first := weeksOf(a.p)[0]
	for _, ln := range a.in.Lines {
		if s := a.campaigns(ln.Code, first); s != "" {
			busy = append(busy, [2]string{ln.Code, s})
		} else {
			stand = append(stand, ln.Code+" "+a.stateWord(ln, first))
		}
	}
	return busy, stand
}

// thisWeek writes what the floor does in at most the given rows, the heading and the row of those that stand among them.
func (a *answer) thisWeek(busy [][2]string, stand []string, rows int) {
	last := a.p.Buckets[weeksOf(a.p)[0].to-1].Span.To - 1
	a.add(heading, "This week, till %s (good length, in the order to run)", weekday(last))
	a.busyLines(busy, rows-2)
	if len(stand) > 0 {
		a.add(normal, "%s", "Stand: "+strings.Join(stand, ", "))
	}
}

func (a *answer) busyLines(busy [][2]string, rows int) {
	wide := 0
	for _, b := range busy {
		wide = max(wide, len([]rune(b[0])))
	}
	for i, b := range busy {
		if i == rows-1 && len(busy) > rows {
			a.add(normal, "and %d lines more", len(busy)-i)
			return
		}
		a.add(normal, "%-*s  %s", wide, b[0], b[1])
	}
}

// leastLength, in metres, is the least good length that is worth a word.
const leastLength = 0.5

// campaigns joins a line's runs of a week: profiles in their order with the good length of each.
func (a *answer) campaigns(line string, w week) string {
	type campaign struct {
		profile string
		length  quantity.Length
	}
	var list []campaign
	started := false
	for _, u := range a.p.Lines {
		started = started || u.Line == line && u.Started && w.from <= u.Bucket && u.Bucket < w.to
	}
	for t := w.from; t < w.to; t++ {
		for _, r := range a.p.Runs {
			if r.Line != line || r.Bucket != t {
				continue
			}
			if n := len(list); n > 0 && list[n-1].profile == r.Profile {
				list[n-1].length += r.Length
				continue
			}
			list = append(list, campaign{r.Profile, r.Length})
		}
	}
	var parts []string
	if started {
		parts = append(parts, "START")
	}
	for _, c := range list {
		if c.length >= leastLength { // else its die goes on, for the week after
			parts = append(parts, c.profile+" "+a.opt.length(c.length)+" "+a.opt.unit(quantity.KindLength).Symbol)
		}
	}
	return strings.Join(parts, " → ")
}

// stateWord says why a line stands.
func (a *answer) stateWord(ln lines.Line, w week) string {
	for _, u := range a.p.Lines {
		if u.Line == ln.Code && u.On && w.from <= u.Bucket && u.Bucket < w.to {
			return "on without work"
		}
	}
	switch ln.State {
	case lines.Ready:
		return "ready"
	case lines.Down:
		return "down till " + shortDate(ln.DownUntil)
	case lines.Uncommissioned:
		return "not set up"
	}
	return "stopped"
}

// shortTable lists each short grade with the ways to order for it; ok is false if need against have is not known.
func (a *answer) shortTable() (rows [][]string, ok bool) {
	for _, s := range a.p.Shortages {
		from := shortDate(s.First)
		if t, ok := calendar.BucketOf(a.p.Buckets, s.First); ok && a.p.Buckets[t].Weekly() {
			from = together("wk " + from)
		}
		grade := []string{s.Grade, from, quantity.Grouped(s.WeeksAhead, 1), a.opt.tons(s.MassIn4Weeks, 1), fmt.Sprint(len(s.OrdersAtRisk))}
		ways := 0
		for _, o := range a.p.OrderBy {
			if o.Grade != s.Grade {
				continue
			}
			rows = append(rows, append(grade, orderWord(o), laneWord(o), loadsWord(o), a.opt.massPrice(o.Landed), yes(o.InPlan)))
			grade = []string{"", "", "", "or", ""} // lanes are alternatives: each covers the four weeks by itself, or the part of the feed that is named
			ways++
		}
		if ways == 0 {
			rows = append(rows, append(grade, "no lane", "", "", "", ""))
		}
	}
	return rows, len(a.p.NeedHave) > 0
}

func orderWord(o planner.OrderBy) string {
	if o.TooLate {
		return "! too late"
	}
	return weekday(o.By)
}

// laneWord is an order-by date's lane, and the most of the feed that its material may be.
func laneWord(o planner.OrderBy) string {
	if o.Alone() {
		return o.Lane
	}
	return o.Lane + together(fmt.Sprintf(" ≤ %.3g %%", 100*float64(o.Most)))
}

// loadsWord is an order-by date's loads, and how many of them the lane gives a week if that is fewer.
func loadsWord(o planner.OrderBy) string {
	switch o.Weeks {
	case 0:
		return fmt.Sprint(o.Loads)
	case 1:
		return fmt.Sprintf("%d, %d/wk", o.Loads, o.AtOnce)
	}
	return fmt.Sprintf("%d, %d/%d wk", o.Loads, o.AtOnce, o.Weeks)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// short writes the table of shortages in at most the given rows beside the heading.
func (a *answer) short(table [][]string, known bool, rows int) {
	switch {
	case !known:
		a.add(normal, "%s", "Need against have: not worked out, the planner was stopped before")
		return
	case len(table) == 0:
		a.add(normal, "No grade runs short on committed supply in the %s", planner.Weeks(a.p.Buckets))
		return
	}
	price := a.in.Plant.Currency + a.opt.unit(quantity.KindMassPrice).Symbol
	g := grid{columns: []column{{head: "SHORT", left: true}, {head: "from"}, {head: "wk ahead", rank: 5}, {head: a.opt.tonsUnit() + " 4 wk", rank: 2}, {head: "at risk", rank: 4},
		{head: "order by", left: true}, {head: "lane", left: true}, {head: "loads", rank: 1}, {head: price, rank: 3}, {head: "in plan", rank: 6}}}
	more := len(table) - rows
	if more > 0 {
		more++
		table = table[:rows-1]
	}
	g.rows = table
	a.table(g)
	if more > 0 {
		a.add(normal, "and %d more, see the feed", more)
	}
}

// overdueCodes are the deliveries that were expected before the plan's first day, on which it counts on them.
func (a *answer) overdueCodes() (list []string) {
	for _, d := range a.in.Deliveries {
		if d.Overdue(a.p.Start) {
			list = append(list, d.Code)
		}
	}
	return list
}

// overdue names them in a row, as many as fit.
func (a *answer) overdue() {
	if list := a.overdueCodes(); len(list) > 0 {
		a.add(warning, "%s", a.fitted("! Overdue and counted on at once: ", list))
	}
}

// unkept names the pins that the plan does not keep, as many as fit.
func (a *answer) unkept() {
	if len(a.p.Unkept) == 0 {
		return
	}
	list := make([]string, len(a.p.Unkept))
	for i, u := range a.p.Unkept {
		list[i] = u.String()
	}
	a.add(warning, "%s", a.fitted("! Pins not kept: ", list))
}

// fitted is a row of as many parts as fit behind its beginning, the first always, and the number of those that do not.
func (a *answer) fitted(row string, parts []string) string {
	for i, part := range parts {
		if i > 0 {
			part = ", " + part
		}
		more := fmt.Sprintf(" and %d more", len(parts)-i)
		if i > 0 && utf8.RuneCountInString(row+part+more) > a.opt.width() {
			return row + more
		}
		row += part
	}
	return row
}

// nextOrders names the first loads that the plan orders, as many as fit the row.
func (a *answer) nextOrders() {
	list := slices.Clone(a.p.Purchases)
	slices.SortStableFunc(list, func(x, y planner.Purchase) int { return cmp.Compare(x.OrderBy, y.OrderBy) })
	parts := make([]string, len(list))
	for i, x := range list {
		parts[i] = fmt.Sprintf("%s %d × %s", shortDate(x.OrderBy), x.Loads, x.Lane)
	}
	if len(list) == 0 {
		parts = []string{"nothing new"}
	}
	a.wrap(normal, a.fitted("The plan orders: ", parts))
}

// lateOrders counts the orders that are late or never complete.
func (a *answer) lateOrders() {
	late, never, worst := 0, 0, planner.OrderResult{}
	for _, o := range a.p.Orders {
		switch {
		case o.Promise == 0:
			never++
		case o.DaysLate > 0:
			late++
			if o.DaysLate > worst.DaysLate {
				worst = o
			}
		}
	}
	text := fmt.Sprintf("Orders: %d of %d late", late, len(a.p.Orders))
	if late > 0 {
		text += fmt.Sprintf(", worst %s by %d days", worst.Order, worst.DaysLate)
	}
	if never > 0 {
		text += fmt.Sprintf("; %d not complete in the horizon", never)
	}
	s := normal
	if late+never == 0 {
		text = fmt.Sprintf("Orders: all %d in time", len(a.p.Orders))
		if len(a.p.Orders) == 0 {
			text = "Orders: none"
		}
	} else {
		s, text = warning, "! "+text
	}
	a.wrap(s, text)
}

// changes counts the run days that are otherwise than in the released plan, and says why the first frozen one is.
func (a *answer) changes() {
	if len(a.p.Changes) == 0 {
		return
	}
	days, frozen, first := 0, 0, ""
	for _, c := range a.p.Changes {
		days += c.Days
		if !c.Frozen || c.Pinned {
			continue
		}
		if frozen == 0 && c.Why != "" {
			first = fmt.Sprintf(": %s on %s, %s", c.Line, weekday(a.p.Buckets[c.Bucket].Span.From), c.Why)
		}
		frozen += c.Days
	}
	s, text := normal, fmt.Sprintf("Against the released plan: %d run days changed", days)
	if frozen > 0 {
		s, text = warning, fmt.Sprintf("! %s, %d of them frozen%s", text, frozen, first)
	}
	a.wrap(s, text+"; feedline diff")
}

// learned is a line about the estimates that the plan is made with: how many, and the one that is most surely off what was entered.
func (a *answer) learned() {
	used, far, most := 0, planner.Estimate{}, -1.0
	for _, e := range a.p.Estimates {
		if !e.Used {
			continue
		}
		used++
		if d := math.Abs(e.Value-e.Entered) / max(e.High-e.Low, 1e-12); d > most {
			far, most = e, d
		}
	}
	if far = estimates.InUnits(far, a.opt.Units); used > 0 {
		a.add(normal, "%s", together(fmt.Sprintf("With %d estimates: %s %s, not %s", used, far.Name, far.Text, figureText(far.Entered))))
	}
}

// quality says what the plan costs and earns, how good it is and why the solver stopped.
func (a *answer) quality() {
	p := a.p
	money := func(x quantity.Money) string { return together(quantity.Grouped(float64(x), 0)) }
	bound, gap := "none", "not known"
	if !math.IsInf(float64(p.Bound), 0) && !math.IsNaN(float64(p.Bound)) {
		bound, gap = money(p.Bound), together(fmt.Sprintf("%.2f %%", 100*p.Gap))
		if spent := p.Spent(); p.Gap > 0 && money(spent) != money(p.Objective) {
			gap += " of " + money(spent) + together(" spent")
		}
	}
	a.wrap(normal, fmt.Sprintf("Cost %s %s, bound %s, gap %s; %s after %s", money(p.Objective), p.Currency, bound, gap, p.Stop, together(fmt.Sprintf("%.0f s", p.Solve.Seconds()))))
	a.wrap(normal, fmt.Sprintf("Margin %s = sales %s - feed %s - processes %s", money(p.Margin.Net), money(p.Margin.Sales), money(p.Margin.Feed), money(p.Margin.Processes)))
}
