package report

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// DiffSchema names the JSON of a comparison of plans. Fields are only ever added under the same number.
const DiffSchema = "feedline.diff/1"

// PlanName says which plan a comparison speaks of.
type PlanName struct {
	ID       int64 // 0 = it is not in the book
	Heading  string
	Released bool
}

func (n PlanName) String() string {
	s := n.Heading
	if n.ID > 0 {
		s = fmt.Sprintf("plan %d, %s", n.ID, n.Heading)
	}
	if n.Released {
		s += ", released"
	}
	return s
}

// mostMoves is how many moved runs the text lists before it counts the rest.
const mostMoves = 20

// Diff writes what plan b does otherwise than plan a.
func Diff(w io.Writer, d *planner.PlanDiff, a, b PlanName, opt Options) error {
	pg := &page{opt: opt}
	pg.add(heading, "From %s", a)
	pg.add(heading, "to   %s", b)
	if d.Empty() {
		pg.add(normal, "Nothing is planned otherwise.")
		return pg.writeTo(w)
	}
	if d.Span.Days() == 0 {
		pg.wrap(warning, "! The plans have no stretch of days in common: only money, orders and short dates are compared.")
	} else {
		pg.wrap(normal, fmt.Sprintf("Runs and lines are compared from %s to %s.", d.Span.From, d.Span.To-1))
	}
	if !d.SameHorizon {
		pg.wrap(warning, "! The plans do not cover the same days, so their money is not quite comparable.")
	}
	diffOrders(pg, d)
	diffShort(pg, d)
	diffMetres(pg, d)
	diffMoney(pg, d)
	diffLoads(pg, d)
	return pg.writeTo(w)
}

func diffOrders(pg *page, d *planner.PlanDiff) {
	if len(d.Orders) == 0 {
		pg.add(normal, "No order fares otherwise.")
		return
	}
	count := map[planner.OrderFate]int{}
	g := grid{columns: []column{{head: "order", left: true}, {head: "now", left: true}, {head: "profile", left: true, rank: 2}, {head: "due", left: true, rank: 1}, {head: "was promised", left: true}, {head: "is promised", left: true}}}
	for _, o := range d.Orders {
		count[o.Fate]++
		if o.Fate == planner.Moved {
			continue // in time: counted only
		}
		x := o.Is
		if x.Order == "" {
			x = o.Was
		}
		word := string(o.Fate)
		if o.Fate == planner.NewlyLate || o.Fate == planner.Later {
			word = "! " + word
		}
		g.add(o.Order, word, x.Profile, weekday(x.Due), fateDay(o.Was), fateDay(o.Is))
	}
	if len(g.rows) > 0 {
		pg.table(g)
	}
	if n := count[planner.Moved]; n > 0 {
		pg.add(normal, "%d more, in time in both plans, are promised for another day.", n)
	}
}

// fateDay is when an order is promised in one of the plans.
func fateDay(o planner.OrderResult) string {
	switch {
	case o.Order == "":
		return "-"
	case o.Promise == 0:
		return "none"
	}
	return weekday(o.Promise)
}

func diffShort(pg *page, d *planner.PlanDiff) {
	day := func(d calendar.Day) string {
		if d == 0 {
			return "not short"
		}
		return weekday(d)
	}
	g := grid{columns: []column{{head: "grade short", left: true}, {head: "was from", left: true}, {head: "is from", left: true}, {head: "was " + pg.opt.tonsUnit()}, {head: "is " + pg.opt.tonsUnit()}}}
	for _, s := range d.Short {
		g.add(s.Grade, day(s.Was), day(s.Is), pg.opt.tons(s.WasMass, 1), pg.opt.tons(s.IsMass, 1))
	}
	if len(g.rows) > 0 {
		pg.table(g)
	}
}

func diffMetres(pg *page, d *planner.PlanDiff) {
	unit := pg.opt.unit(quantity.KindLength).Symbol
	g := grid{columns: []column{{head: "profile", left: true}, {head: "was " + unit}, {head: "is " + unit}, {head: "change"}}}
	for _, c := range d.Profiles {
		g.add(c.Profile, pg.opt.length(c.Was), pg.opt.length(c.Is), signed(pg.opt.length(c.Is-c.Was), float64(c.Is-c.Was)))
	}
	if len(g.rows) > 0 {
		pg.table(g)
	}
	g = grid{columns: []column{{head: "week of", left: true}, {head: "lines, was"}, {head: "is"}}}
	for _, c := range d.Weeks {
		g.add(weekday(c.Monday), fmt.Sprint(c.Was), fmt.Sprint(c.Is))
	}
	if len(g.rows) > 0 {
		pg.table(g)
	}
	list := slices.Clone(d.Runs)
	slices.SortStableFunc(list, func(x, y planner.RunChange) int { return int(firstOf(x) - firstOf(y)) })
	g = grid{columns: []column{{head: "run", left: true}, {head: unit}, {head: "from", left: true}, {head: "to", left: true}}}
	for i, r := range list {
		if i == mostMoves {
			break
		}
		g.add(r.Profile, pg.opt.length(r.Length), runPlace(r.FromLine, r.From, "(more)"), runPlace(r.ToLine, r.To, "(less)"))
	}
	if len(g.rows) > 0 {
		pg.table(g)
	}
	if n := len(list) - mostMoves; n > 0 {
		pg.add(normal, "and %d runs more, see --json", n)
	}
}

// firstOf is the earlier of the days that a change is about.
func firstOf(r planner.RunChange) calendar.Day {
	if r.From == 0 || r.To != 0 && r.To < r.From {
		return r.To
	}
	return r.From
}

func runPlace(line string, d calendar.Day, none string) string {
	if d == 0 {
		return none
	}
	return line + " " + weekday(d)
}

func diffMoney(pg *page, d *planner.PlanDiff) {
	g := grid{columns: []column{{head: d.Currency, left: true}, {head: "was"}, {head: "is"}, {head: "change"}}}
	add := func(c planner.MoneyChange) {
		g.add(c.Name, quantity.Grouped(float64(c.Was), 0), quantity.Grouped(float64(c.Is), 0), signed(quantity.Grouped(float64(c.Is-c.Was), 0), float64(c.Is-c.Was)))
	}
	for _, c := range d.Costs {
		add(c)
	}
	add(d.Objective)
	for _, c := range d.Margin {
		c.Name = "margin: " + c.Name
		add(c)
	}
	pg.table(g)
}

func diffLoads(pg *page, d *planner.PlanDiff) {
	g := grid{columns: []column{{head: "loads on", left: true}, {head: "ordered", left: true}, {head: "was"}, {head: "is"}}}
	for _, c := range d.Loads {
		g.add(c.Lane, weekday(c.Day), fmt.Sprint(c.Was), fmt.Sprint(c.Is))
	}
	if len(g.rows) > 0 {
		pg.table(g)
	}
}

// signed puts a + before a number that is not negative.
func signed(text string, x float64) string {
	if x >= 0 {
		return "+" + text
	}
	return text
}

type diffDocument struct {
	Schema      string          `json:"schema"`
	From        diffPlan        `json:"from"`
	To          diffPlan        `json:"to"`
	Currency    string          `json:"currency"`
	First       *string         `json:"compared_from"`
	After       *string         `json:"compared_to"`
	SameHorizon bool            `json:"same_horizon"`
	Same        bool            `json:"same"`
	Objective   moneyChange     `json:"objective"`
	Costs       []moneyChange   `json:"costs"`
	Margin      []moneyChange   `json:"margin"`
	Profiles    []profileChange `json:"profiles"`
	Weeks       []weekChange    `json:"weeks"`
	Runs        []runChange     `json:"runs"`
	Orders      []orderChange   `json:"orders"`
	Loads       []loadChange    `json:"loads"`
	Short       []shortChange   `json:"short"`
}

type diffPlan struct {
	ID       int64  `json:"plan"`
	Released bool   `json:"released"`
	Heading  string `json:"heading"`
}

type moneyChange struct {
	Name string   `json:"name"`
	Was  *float64 `json:"was_money"`
	Is   *float64 `json:"is_money"`
}

type profileChange struct {
	Profile string   `json:"profile"`
	Was     *float64 `json:"was_m"`
	Is      *float64 `json:"is_m"`
}

type weekChange struct {
	Monday string `json:"monday"`
	Was    int    `json:"was_lines"`
	Is     int    `json:"is_lines"`
}

type runChange struct {
	Profile  string   `json:"profile"`
	FromLine string   `json:"from_line"`
	From     *string  `json:"from"`
	ToLine   string   `json:"to_line"`
	To       *string  `json:"to"`
	Length   *float64 `json:"good_m"`
}

type orderChange struct {
	Order      string   `json:"order"`
	Fate       string   `json:"fate"`
	Due        *string  `json:"due"`
	WasPromise *string  `json:"was_promise"`
	IsPromise  *string  `json:"is_promise"`
	WasLate    int      `json:"was_late_d"`
	IsLate     int      `json:"is_late_d"`
	WasUnmet   *float64 `json:"was_unmet_m"`
	IsUnmet    *float64 `json:"is_unmet_m"`
}

type loadChange struct {
	Lane string  `json:"lane"`
	Day  *string `json:"order_on"`
	Was  int     `json:"was_loads"`
	Is   int     `json:"is_loads"`
}

type shortChange struct {
	Grade   string   `json:"grade"`
	Was     *string  `json:"was_first"`
	Is      *string  `json:"is_first"`
	WasMass *float64 `json:"was_owed_in_4_weeks_kg"`
	IsMass  *float64 `json:"is_owed_in_4_weeks_kg"`
}

// DiffJSON writes a comparison as one document of the schema described in SCHEMA.md.
func DiffJSON(w io.Writer, d *planner.PlanDiff, a, b PlanName) error {
	money := func(c planner.MoneyChange) moneyChange { return moneyChange{c.Name, number(c.Was), number(c.Is)} }
	doc := diffDocument{Schema: DiffSchema, From: a.document(), To: b.document(), Currency: d.Currency, First: day(d.Span.From), After: day(d.Span.To),
		SameHorizon: d.SameHorizon, Same: d.Empty(), Objective: money(d.Objective), Costs: list(d.Costs, money), Margin: list(d.Margin, money)}
	doc.Profiles = list(d.Profiles, func(c planner.ProfileChange) profileChange {
		return profileChange{c.Profile, number(c.Was), number(c.Is)}
	})
	doc.Weeks = list(d.Weeks, func(c planner.WeekChange) weekChange { return weekChange{c.Monday.String(), c.Was, c.Is} })
	doc.Runs = list(d.Runs, func(c planner.RunChange) runChange {
		return runChange{c.Profile, c.FromLine, day(c.From), c.ToLine, day(c.To), number(c.Length)}
	})
	doc.Orders = list(d.Orders, func(c planner.OrderChange) orderChange {
		due := c.Is.Due
		if due == 0 {
			due = c.Was.Due
		}
		return orderChange{c.Order, string(c.Fate), day(due), day(c.Was.Promise), day(c.Is.Promise), c.Was.DaysLate, c.Is.DaysLate, number(c.Was.Unmet), number(c.Is.Unmet)}
	})
	doc.Loads = list(d.Loads, func(c planner.LoadChange) loadChange { return loadChange{c.Lane, day(c.Day), c.Was, c.Is} })
	doc.Short = list(d.Short, func(c planner.ShortChange) shortChange {
		return shortChange{c.Grade, day(c.Was), day(c.Is), number(c.WasMass), number(c.IsMass)}
	})
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(doc)
}

func (n PlanName) document() diffPlan { return diffPlan{n.ID, n.Released, n.Heading} }
