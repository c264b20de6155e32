package rows

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Caution stands where a line is started.
const Caution = "Starting a line: lockout release, heat soak, guards on and a competent person first; local rules come before this plan."

// Today answers where the plant stands.
func Today(f *Facts, at Place) Page {
	cover := f.cover()
	grade := at.row(cover)
	chart := func(width, height int) []Line { return f.needChart(grade, width, height) }
	due := f.due()
	return Page{
		Screen: "today",
		Lead:   []Line{f.answer(), f.quality()},
		Panes: []Pane{
			{Table: cover, Least: 3, Rank: 1},
			{Draw: chart, Least: 7, Want: 12, Rank: 2, Drawn: true},
			{Table: due, Least: 4, Rank: 3},
		},
		More: func() []*Table { return []*Table{f.weekTable()} },
	}
}

// answer is today's answer in words.
func (f *Facts) answer() Line {
	if len(f.Plan.Buckets) == 0 {
		return say(Plain, "The plan has no day: nothing is planned.")
	}
	if f.over() {
		return f.overWords()
	}
	l := Line{{f.runWords(), Strong}}
	l = append(l, f.shortWords()...)
	for _, u := range f.Plan.Unkept {
		l = append(l, Span{fmt.Sprintf(" ! Pin not kept: %s.", u), Alert})
	}
	n, worst := f.late()
	switch {
	case n > 0 && worst.Unmet > 0:
		l = append(l, Span{fmt.Sprintf(" ! %d of %s late, %s is never complete.", n, plural(len(f.Plan.Orders), "order"), worst.Order), Alert})
	case n > 0:
		l = append(l, Span{fmt.Sprintf(" ! %d of %s late, the worst, %s, by %s.", n, plural(len(f.Plan.Orders), "order"), worst.Order, plural(worst.DaysLate, "day")), Alert})
	case len(f.Plan.Orders) > 0:
		l = append(l, Span{fmt.Sprintf(" All %s in time.", plural(len(f.Plan.Orders), "order")), Plain})
	}
	return l
}

// over reports whether the plan's last day is past: then it says nothing of today.
func (f *Facts) over() bool { return len(f.Plan.Buckets) > 0 && f.end() <= f.today }

func (f *Facts) overWords() Line {
	return say(Alert, fmt.Sprintf("! The plan's last day was %s, it says nothing of today: plan again.", f.m.date(f.end()-1)))
}

// firstShort is the first short day, or the week that it is in: pellets may run out later in it.
func (f *Facts) firstShort(s planner.Shortage) Cell {
	c := f.m.day(s.First)
	if t, ok := calendar.BucketOf(f.Plan.Buckets, s.First); ok && f.Plan.Buckets[t].Weekly() {
		c.Text = "wk " + c.Text
	}
	return c
}

// runWords says how many lines to run: today, or where the plant is closed or the plan begins later, from the next day that has shifts.
func (f *Facts) runWords() string {
	day := max(f.today, f.Plan.Start)
	for d := day; d < day+14 && d < f.end(); d++ {
		if f.In.Calendar.OpenHours(d) > 0 {
			day = d
			break
		}
	}
	run := fmt.Sprintf("un %d of %s. ", f.running(f.Bucket(day)), plural(f.usable(day), "line"))
	switch {
	case day == f.today:
		return "R" + run
	case f.today >= f.Plan.Start:
		return fmt.Sprintf("Closed today; from %s r%s", f.m.weekday(day), run)
	}
	return fmt.Sprintf("From %s r%s", f.m.weekday(day), run)
}

// shortWords says which grade runs short first, by how much and what to order by when; then when the others do.
func (f *Facts) shortWords() Line {
	if f.over() {
		return f.overWords()
	}
	if len(f.Plan.NeedHave) == 0 {
		return say(Alert, "When the feed runs short was not worked out: plan again.")
	}
	list := slices.Clone(f.Plan.Shortages)
	if len(list) == 0 {
		return say(Plain, fmt.Sprintf("No grade runs short before %s.", f.m.date(f.end())))
	}
	slices.SortStableFunc(list, func(a, b planner.Shortage) int { return int(a.First) - int(b.First) })
	first := list[0]
	l := Line{{fmt.Sprintf("%s pellets run out about %s; %s %s short by %s; ", f.gradeName(first.Grade), f.m.date(first.LastsTill),
		quantity.Grouped(f.m.inTons(first.MassIn4Weeks), 0), f.m.ton(), f.m.date(first.First+28)), Alert}}
	if way, ok := f.wayOf(first.Grade); ok {
		l = append(l, Span{fmt.Sprintf("order %s on %s by %s%s.", plural(way.Loads, "load"), f.laneName(way.Lane), f.m.date(way.By), way.Terms()), Strong})
	} else {
		l = append(l, Span{"too late to order on any lane: speak to the suppliers.", Strong})
	}
	var more []string
	for _, s := range list[1:] {
		more = append(more, fmt.Sprintf("%s about %s", s.Grade, f.m.date(s.LastsTill)))
	}
	if more != nil {
		l = append(l, Span{" Then " + strings.Join(more, ", ") + ".", Plain})
	}
	return l
}

func (f *Facts) gradeName(code string) string {
	if n := f.grades[code].Name; n != "" {
		return n
	}
	return code
}

func (f *Facts) laneName(code string) string { return code }

// quality is the age of the plan and how good it is.
func (f *Facts) quality() Line {
	p := f.Plan
	l := Line{{fmt.Sprintf("Planned %s, %s; ", p.Made.In(f.zone()).Format("2 Jan 15:04"), ago(f.Now.Sub(p.Made))), Quiet}}
	if math.IsInf(float64(p.Bound), 0) || math.IsInf(p.Gap, 0) || math.IsNaN(p.Gap) {
		l = append(l, Span{"gap not known.", Quiet})
	} else {
		l = append(l, Span{fmt.Sprintf("gap %s.", percent(p.Gap)), Quiet})
	}
	switch late := f.today > p.Start+1 && f.today < f.end(); {
	case f.today < p.Start:
		l = append(l, Span{fmt.Sprintf(" Begins %s.", f.m.date(p.Start)), Quiet})
	case late && calendar.DayOf(p.Made.In(f.zone())) == f.today:
		l = append(l, Span{fmt.Sprintf(" Begins %s.", f.m.date(p.Start)), Quiet})
	case late:
		l = append(l, Span{fmt.Sprintf(" ! Begins %s: plan again.", f.m.date(p.Start)), Alert})
	}
	return l
}

// cover is a row a grade: how long it lasts and what is short.
func (f *Facts) cover() *Table {
	t := &Table{Name: "cover", Title: "Pellets", None: "no grades in the book", Columns: []Column{
		{Key: "grade", Head: "Grade", Left: true},
		{Key: "name", Head: "", Left: true, Rank: 5, Flex: true},
		{Key: "silo_" + f.m.ton(), Head: "silo " + f.m.ton(), Rank: 3},
		{Key: "silo_cover_d", Head: "cover d", Rank: 4},
		{Key: "lasts_till", Head: "runs out"},
		{Key: "short_from", Head: "short from", Rank: 2},
		{Key: "owed_in_4_weeks_" + f.m.ton(), Head: "short " + f.m.ton()},
		{Key: "orders_at_risk", Head: "at risk", Rank: 4},
		{Key: "order_by", Head: "order by"},
		{Key: "loads", Head: "loads", Rank: 1},
		{Key: "lane", Head: "lane", Left: true, Rank: 1},
	}}
	for _, g := range f.In.Grades {
		row := []Cell{word(g.Code), word(g.Name), f.m.tons(f.silo(g.Code)), figure(f.coverNow(g.Code), 1)}
		s, short := f.shortageOf(g.Code)
		if !short {
			end := Cell{Text: "all through", Value: nil}
			if len(f.Plan.NeedHave) == 0 {
				end.Text = "not known"
			}
			t.add(g.Code, append(row, end, figure(math.NaN(), 0), figure(math.NaN(), 0), count(0), f.m.day(0), figure(math.NaN(), 0), word(""))...)
			continue
		}
		row = append(row, f.m.day(s.LastsTill).in(Alert), f.firstShort(s), Cell{"! " + f.m.tons(s.MassIn4Weeks).Text, Alert, f.m.inTons(s.MassIn4Weeks)}, count(len(s.OrdersAtRisk)))
		if way, ok := f.wayOf(g.Code); ok {
			row = append(row, f.m.day(way.By).in(Strong), count(way.Loads), word(way.Lane))
		} else {
			row = append(row, Cell{"! too late", Alert, nil}, figure(math.NaN(), 0), word(""))
		}
		t.add(g.Code, row...)
	}
	return t
}

// needChart draws a grade's need against have, with the lines to run below where there is room.
func (f *Facts) needChart(grade string, width, height int) []Line {
	if len(f.Plan.NeedHave) == 0 || grade == "" {
		return nil
	}
	chart := columns(f.weeks, f.needOf(grade), f.m.inTons, f.m.ton(), width, height-2)
	cell := 3
	if len(chart) > 0 && len(chart[len(chart)-1]) > 1 {
		cell = Width(chart[len(chart)-1][1].Text)
	}
	shown := min(len(f.weeks), max(0, (width-10)/cell))
	by := ": need by week, "
	if shown < len(f.weeks) {
		by = fmt.Sprintf(": need, %d of %d ISO weeks, ", shown, len(f.weeks))
	}
	title := Line{{f.gradeName(grade) + by, Strong}, {markHave + " served", Strong}, {" " + markShort + " short", Alert}, {" if nothing more is ordered", Quiet}}
	run := Line{{Pad("lines on", 10, false), Plain}}
	for _, w := range f.weeks[:shown] {
		run = append(run, Span{Pad(fmt.Sprint(f.most(w)), cell-1, false) + " ", Strong})
	}
	return append(append([]Line{title}, chart...), run)
}

// weekTable is the numbers of the chart, of all grades.
func (f *Facts) weekTable() *Table {
	t := &Table{Name: "weeks", Title: "Need against have", Columns: []Column{
		{Key: "week", Head: "week", Left: true}, {Key: "from", Head: "from"}, {Key: "lines_to_run", Head: "lines"}, {Key: "grade", Head: "grade", Left: true},
		{Key: "need_" + f.m.ton(), Head: "need " + f.m.ton()}, {Key: "have_" + f.m.ton(), Head: "have " + f.m.ton()},
		{Key: "short_" + f.m.ton(), Head: "short " + f.m.ton()}, {Key: "owed_" + f.m.ton(), Head: "owed " + f.m.ton()},
	}}
	for _, g := range f.In.Grades {
		for i, r := range f.needOf(g.Code) {
			w := f.weeks[i]
			t.add(g.Code+w.monday.String(), word(w.label()), f.m.day(f.span(w.from).From), count(f.most(w)), word(g.Code),
				f.m.tons(r.need), f.m.tons(r.have), f.m.tons(max(0, r.need-r.have)), f.m.tons(r.owed))
		}
	}
	return t
}

// action is something to be done by a day.
type action struct {
	by   calendar.Day
	what string
	why  string
	tone Tone
	key  string
	at   Spot
}

// Spot is where a thing is seen and dealt with.
type Spot struct {
	Screen, Table string
	Row           string // key of its row
	Column        string // key of the column in a table that moves sideways; "" where it stands
}

// Leads is where the thing is that a row of Today names: the lane on which an order is placed, the line that is started on the day,
// the delivery, the lot; for a grade the lane to order on, or if nothing is to be ordered its pellets. False if there is no such row.
func (f *Facts) Leads(table, key string) (Spot, bool) {
	if table == "due" {
		for _, a := range f.actions() {
			if a.key == key {
				return a.at, true
			}
		}
		return Spot{}, false
	}
	if _, ok := f.grades[key]; !ok {
		return Spot{}, false
	}
	if way, ok := f.wayOf(key); ok {
		return f.atLane(way.Lane, key), true
	}
	for _, o := range f.Plan.OrderBy {
		if o.Grade == key {
			return f.atLane(o.Lane, key), true
		}
	}
	return Spot{Screen: "feed", Table: "pellets", Row: key}, true
}

// atLane is a lane's row for a grade, its first if it has none for it.
func (f *Facts) atLane(lane, grade string) Spot {
	s := Spot{Screen: "feed", Table: "lanes", Row: lane}
	for i, o := range f.waysOn(lane) {
		if i == 0 || o.Grade == grade {
			s.Row = wayKey(o)
		}
	}
	return s
}

// soon is how many days ahead starts and arrivals are listed among the actions.
const soon = 10

// actions are what is to be done, by date.
func (f *Facts) actions() (list []action) {
	for _, p := range f.Plan.Purchases {
		if p.OrderBy <= f.today+28 && p.Arrives >= f.today { // one that should be here by now is for the next plan
			list = append(list, action{by: p.OrderBy, key: "buy " + p.Lane + p.OrderBy.String(), at: f.atLane(p.Lane, ""), what: fmt.Sprintf("order %s on %s", plural(p.Loads, "load"), p.Lane),
				why: fmt.Sprintf("in plan: %s %s, %s %s, here by %s", f.m.tons(p.Mass).Text, f.m.ton(), thousands(p.Cost), f.In.Plant.Currency, f.m.date(p.Arrives))})
		}
	}
	for _, s := range f.Plan.Shortages {
		if way, ok := f.wayOf(s.Grade); ok {
			list = append(list, action{by: way.By, key: "cover " + s.Grade, at: f.atLane(way.Lane, s.Grade), tone: Strong, what: fmt.Sprintf("last day for %s on %s", plural(way.Loads, "load"), way.Lane),
				why: fmt.Sprintf("%s runs out about %s, %s at risk%s", s.Grade, f.m.date(s.LastsTill), plural(len(s.OrdersAtRisk), "order"), strings.Replace(way.Terms(), ",", ";", 1))})
		}
	}
	list = append(list, f.floorActions()...)
	list = append(list, f.yardActions()...)
	slices.SortStableFunc(list, func(a, b action) int { return int(a.by) - int(b.by) })
	return list
}

// due is a row an action.
func (f *Facts) due() *Table {
	t := &Table{Name: "due", Title: "To do", None: "nothing is due", Columns: []Column{
		{Key: "by", Head: "by"}, {Key: "what", Head: "what", Left: true}, {Key: "why", Head: "why", Left: true, Rank: 1, Flex: true},
	}}
	for _, a := range f.actions() {
		by := Cell{Text: f.m.weekday(a.by), Value: a.by, Tone: a.tone}
		if a.by <= f.today {
			by = Cell{Text: "! today", Value: a.by, Tone: Alert}
			if a.by < f.today {
				by.Text = "! " + f.m.date(a.by)
			}
		}
		t.add(a.key, by, toned(a.what, a.tone), toned(a.why, Quiet))
	}
	return t
}

// floorActions are lines to be started.
func (f *Facts) floorActions() (list []action) {
	for _, u := range f.Plan.Lines {
		from := f.span(u.Bucket).From
		if !u.Started || from > f.today+soon || f.span(u.Bucket).To <= f.today {
			continue
		}
		ln := f.lines[u.Line]
		what := "start " + u.Line
		if ln.State == lines.Uncommissioned {
			what = "set up " + u.Line
		}
		list = append(list, action{by: from, key: "start " + u.Line + from.String(), at: Spot{"lines", "floor", u.Line, from.String()}, what: what, tone: Strong,
			why: fmt.Sprintf("%s h heat soak and trimming in; lockout, guards, competent person", quantity.Grouped(float64(ln.Startup.Hours), 1))})
	}
	return list
}

// yardActions are deliveries that are due or overdue, and lots on hold.
func (f *Facts) yardActions() (list []action) {
	for _, d := range f.In.Deliveries {
		if !d.Coming() || d.ETA > f.today+2 {
			continue
		}
		a := action{by: d.ETA, key: "delivery " + d.Code, at: Spot{Screen: "feed", Table: "deliveries", Row: d.Code}, what: "receive " + d.Code, why: fmt.Sprintf("%s %s of %s, %s; else change its ETA", f.m.tons(d.Mass).Text, f.m.ton(), d.Material, d.Status)}
		if d.Overdue(f.today) {
			a.tone, a.why = Alert, fmt.Sprintf("%s %s of %s, overdue: counted on at once; else change its ETA", f.m.tons(d.Mass).Text, f.m.ton(), d.Material)
		}
		list = append(list, a)
	}
	for _, l := range f.In.Lots {
		if l.Hold && l.Mass > 0 {
			list = append(list, action{by: f.today, key: "lot " + l.Code, at: Spot{Screen: "feed", Table: "lots", Row: l.Code}, what: "decide on lot " + l.Code, why: fmt.Sprintf("%s %s on hold: %s", f.m.tons(l.Mass).Text, f.m.ton(), orElse(l.Reason, "no reason given"))})
		}
	}
	return list
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}
