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

// The signs in a cell of the lines' table, before the profile.
const (
	signStart  = "▲"
	signStop   = "▼"
	signChange = "»"
	signOut    = "×" // out of work: down or maintenance
	signPin    = "=" // pinned by the scheduler
	signIdle   = "·"
)

// Signs explains them.
const Signs = signStart + " start  " + signStop + " stop  " + signChange + " changeover  " + signOut + " out of work  " + signPin + " pinned  " + signIdle + " stands  +n more"

// Lines answers what runs where and when.
func Lines(f *Facts, at Place) Page {
	board := f.floor()
	line, key := at.row(board), at.column(board)
	t := f.bucketNamed(key)
	return Page{
		Screen: "lines",
		Lead:   []Line{f.linesLead(), say(Quiet, Signs)},
		Panes: []Pane{
			{Table: board, Least: 3, Rank: 0, Drawn: true},
			{Draw: func(width, height int) []Line { return f.cellWords(line, t, width, height) }, Least: 2, Want: 3, Rank: 3, Drawn: true},
			{Table: f.runTable(line, t), Least: 3, Rank: 2, Drawn: true},
		},
		More: func() []*Table { return []*Table{f.allRuns()} },
	}
}

// bucketNamed is the bucket that begins on the day that a column's key names.
func (f *Facts) bucketNamed(key string) int {
	d, err := calendar.ParseDay(key)
	if err != nil {
		return f.Bucket(f.today)
	}
	return f.Bucket(d)
}

func (f *Facts) linesLead() Line {
	if len(f.weeks) == 0 {
		return say(Plain, "The plan has no day.")
	}
	if f.over() {
		return f.overWords()
	}
	now := f.Bucket(f.today)
	i := max(0, slices.IndexFunc(f.weeks, func(w week) bool { return w.from <= now && now < w.to }))
	for i+1 < len(f.weeks) && f.closed(f.weeks[i]) { // on a Sunday what counts is the week to come
		i++
	}
	w := f.weeks[i]
	var on, off, out []string
	for _, l := range f.In.Lines {
		runs := false
		for t := w.from; t < w.to; t++ {
			runs = runs || f.uses[place{l.Code, t}].On
		}
		switch {
		case runs:
			on = append(on, l.Code)
		case l.State == lines.Running:
			off = append(off, l.Code+" (stops)")
		case l.State == lines.Ready:
			off = append(off, l.Code+" (ready)")
		case l.State == lines.Down && l.DownUntil <= max(f.today, w.monday):
			off = append(off, l.Code+" (back by now)")
		default:
			out = append(out, l.Code+" ("+f.stateWord(l)+")")
		}
	}
	line := Line{{fmt.Sprintf("%s: %d of %s run.", w.label(), len(on), plural(len(f.In.Lines)-len(out), "line")), Strong}}
	if off != nil {
		line = append(line, Span{" Stand: " + strings.Join(off, ", ") + ".", Plain})
	}
	if out != nil {
		line = append(line, Span{" Out: " + strings.Join(out, ", ") + ".", Plain})
	}
	return line
}

// closed reports whether the plan's days of a week are all without shifts.
func (f *Facts) closed(w week) bool {
	for t := w.from; t < w.to; t++ {
		for d := f.span(t).From; d < f.span(t).To; d++ {
			if f.In.Calendar.OpenHours(d) > 0 {
				return false
			}
		}
	}
	return true
}

// stateWord is what a line is doing, in words.
func (f *Facts) stateWord(l lines.Line) string {
	switch l.State {
	case lines.Ready:
		return "ready"
	case lines.Down:
		return "down till " + f.m.date(l.DownUntil)
	case lines.Uncommissioned:
		return "not set up"
	}
	return "running"
}

// floor is a row a line and a column a bucket.
func (f *Facts) floor() *Table {
	t := &Table{Name: "floor", Title: "Lines", None: "no lines in the book", Fixed: 1, Columns: []Column{{Key: "line", Head: "Line", Left: true}}}
	if t0 := f.Bucket(f.today); t0 >= 0 {
		t.Begin = f.span(t0).From.String()
	}
	for _, b := range f.Plan.Buckets {
		head := b.Label()
		if !b.Weekly() {
			head = b.Span.From.UTC().Format("Mon 2")
		}
		t.Columns = append(t.Columns, Column{Key: b.Span.From.String(), Head: head, Left: true})
	}
	for _, l := range f.In.Lines {
		cells := []Cell{word(l.Code)}
		for b := range f.Plan.Buckets {
			cells = append(cells, f.floorCell(l, b))
		}
		t.add(l.Code, cells...)
	}
	return t
}

// floorCell is what a line does in a bucket, in a word with a sign.
func (f *Facts) floorCell(l lines.Line, t int) Cell {
	use, span := f.uses[place{l.Code, t}], f.span(t)
	runs := f.longest(l.Code, t)
	pinned := slices.ContainsFunc(f.pins(l.Code, span), func(p planner.Pin) bool { return p.Kind != planner.PinForbid })
	var b strings.Builder
	tone := Plain
	switch {
	case use.Started:
		b.WriteString(signStart)
		tone = Strong
	case slices.ContainsFunc(runs, func(r planner.Run) bool { return r.Changeover }):
		b.WriteString(signChange)
	}
	if pinned {
		b.WriteString(signPin)
	}
	switch {
	case len(runs) == 0 && f.In.Calendar.SpanHours("", span) <= 0:
		b.WriteString("closed")
		tone = Quiet
	case len(runs) > 0:
		b.WriteString(runs[0].Profile)
		if n := len(runs) - 1; n > 0 {
			fmt.Fprintf(&b, "+%d", n)
		}
	case f.stopsIn(l, t):
		b.WriteString(signStop)
	case f.outOfWork(l, t):
		b.WriteString(signOut)
		tone = Quiet
	case use.On:
		b.WriteString("on")
	default:
		b.WriteString(signIdle)
		tone = Quiet
	}
	if len(runs) > 0 && len(f.outages(l.Code, span)) > 0 {
		b.WriteString(signOut)
	}
	if f.changed(l.Code, t) {
		tone = Accent
	}
	return Cell{b.String(), tone, b.String()}
}

// longest is a line's runs of a bucket, the longest first; those that only put the die on for later are left out.
func (f *Facts) longest(line string, t int) []planner.Run {
	var list []planner.Run
	for _, r := range f.runs[place{line, t}] {
		if r.Length >= leastLength || r.Changeover {
			list = append(list, r)
		}
	}
	slices.SortStableFunc(list, func(a, b planner.Run) int { return int(math.Copysign(1, float64(b.Hours-a.Hours))) })
	return list
}

// leastLength, in metres, is the least good length that is worth a word.
const leastLength = 0.5

// stopsIn reports whether a line is off in a bucket after being on in the one before.
func (f *Facts) stopsIn(l lines.Line, t int) bool {
	if f.uses[place{l.Code, t}].On {
		return false
	}
	for t--; t >= 0; t-- { // a day on which the plant is closed stops nothing
		if f.In.Calendar.SpanHours("", f.span(t)) > 0 {
			return f.uses[place{l.Code, t}].On
		}
	}
	return l.State == lines.Running
}

// outOfWork reports whether a line can't run at all in a bucket.
func (f *Facts) outOfWork(l lines.Line, t int) bool {
	s := f.span(t)
	return l.State == lines.Down && s.To <= l.DownUntil || f.uses[place{l.Code, t}].Available <= 0 && f.In.Calendar.SpanHours("", s) > 0
}

// changed reports whether a line's profiles in a bucket differ from those of the plan before.
func (f *Facts) changed(line string, t int) bool {
	_, ok := f.differ[place{line, t}]
	return ok
}

// cellWords is a cell in full: what the line does, how its hours are spent, what holds it.
func (f *Facts) cellWords(line string, t, width, height int) []Line {
	l, ok := f.lines[line]
	if !ok || t < 0 {
		return nil
	}
	u, s := f.uses[place{line, t}], f.span(t)
	head := fmt.Sprintf("%s %s, %s: ", l.Code, l.Name, f.Plan.Buckets[t].Label())
	text := Line{{head, Strong}}
	switch {
	case u.On:
		text = append(text, Span{fmt.Sprintf("%s h run + %s set-up + %s start-up of %s h crewed", hours(u.Run), hours(u.Setup), hours(u.Startup), hours(u.Available)), Plain})
	default:
		text = append(text, Span{"stands, " + f.whyStands(l, t), Plain})
	}
	for _, o := range f.outages(line, s) {
		text = append(text, Span{"; " + signOut + " " + orElse(o.Note, "outage") + " till " + o.To.In(f.zone()).Format("2 Jan 15:04"), Alert})
	}
	for _, p := range f.pins(line, s) {
		text = append(text, Span{"; " + signPin + " " + strings.TrimSpace(string(p.Kind)+" "+p.Profile) + ", " + p.Code, Accent})
	}
	out := Wrap(text, width)
	if u.Started {
		out = append(out, Wrap(say(Alert, Caution), width)...)
	}
	return out[:min(len(out), height)]
}

func hours(h quantity.Hours) string { return quantity.Grouped(float64(h), 1) }

func (f *Facts) whyStands(l lines.Line, t int) string {
	switch {
	case f.In.Calendar.SpanHours("", f.span(t)) <= 0:
		return "the plant is closed"
	case f.outOfWork(l, t):
		return f.stateWord(l)
	case l.State == lines.Uncommissioned:
		return "not set up"
	}
	return "ready"
}

func (f *Facts) runColumns() []Column {
	return []Column{
		{Key: "profile", Head: "profile", Left: true},
		{Key: "run_h", Head: "h", Rank: 2},
		{Key: "good_" + f.m.metre(), Head: "good " + f.m.metre()},
		{Key: "good_" + f.m.metre() + "_a_day", Head: f.m.metre() + "/day"},
		{Key: "rate_" + f.m.metre() + "_a_day", Head: "rate " + f.m.metre() + "/day"},
		{Key: "of_rate_percent", Head: "% of rate", Rank: 3},
		{Key: "binds", Head: "binds", Left: true},
		{Key: "setup_h", Head: "set-up h", Rank: 1},
		{Key: "scrap_" + f.m.kg(), Head: "scrap " + f.m.kg(), Rank: 4},
		{Key: "entered_rate_" + f.m.metre() + "_a_day", Head: "entered " + f.m.metre() + "/day", Rank: 6},
	}
}

// runCells is a run with its rate. A day's rate is what the line makes in the crewed hours of the bucket's working days.
func (f *Facts) runCells(r planner.Run) []Cell {
	rate, _ := f.rate(r.Line, r.Profile)
	days := f.workingDays(r.Bucket)
	perDay := func(x lines.RateResult) float64 {
		return f.m.inMetres(x.MetresPerDay(f.uses[place{r.Line, r.Bucket}].Available)) / days
	}
	made, could := f.m.inMetres(r.Length)/days, perDay(rate)
	shown, entered := estimateCells(could, perDay(f.enteredRate(r.Line, r.Profile)), 0)
	setup := Cell{Text: "", Value: float64(r.Setup)}
	if r.Changeover {
		setup = figure(float64(r.Setup), 1)
	}
	return []Cell{word(r.Profile), figure(float64(r.Hours), 1), f.m.length(r.Length), figure(made, 0), shown, figure(100*made/could, 0),
		word(f.binds(r, rate)), setup, f.m.kgs(r.Scrap), entered}
}

// workingDays is the days of a bucket that have a shift, at least one.
func (f *Facts) workingDays(t int) float64 {
	n := 0
	for d := f.span(t).From; d < f.span(t).To; d++ {
		if f.In.Calendar.OpenHours(d) > 0 {
			n++
		}
	}
	return float64(max(n, 1))
}

// binds says what holds the metres of a run: hours left over mean that the plan wants no more, else the line's own limit does.
func (f *Facts) binds(r planner.Run, rate lines.RateResult) string {
	u := f.uses[place{r.Line, r.Bucket}]
	left := u.Available - u.Run - u.Setup - u.Startup
	if left > u.Available/20 {
		return fmt.Sprintf("plan: %s h left", hours(left))
	}
	return string(rate.Binds)
}

func (f *Facts) runTable(line string, t int) *Table {
	tab := &Table{Name: "runs of the cell", Title: f.titled("Runs"), None: "no run", Columns: f.runColumns()}
	if t >= 0 {
		for i, r := range f.runs[place{line, t}] {
			tab.add(fmt.Sprint(i, r.Profile), f.runCells(r)...)
		}
	}
	return tab
}

// allRuns is every run of the plan, for the command.
func (f *Facts) allRuns() *Table {
	tab := &Table{Name: "runs", Title: f.titled("Runs"), None: "no runs", Columns: append([]Column{
		{Key: "line", Head: "line", Left: true}, {Key: "from", Head: "from"}, {Key: "to", Head: "to", Rank: 5}, {Key: "changeover", Head: "", Left: true}, {Key: "start", Head: "", Left: true}},
		f.runColumns()...)}
	for i, r := range f.Plan.Runs {
		start := Cell{Value: f.uses[place{r.Line, r.Bucket}].Started}
		if start.Value == true {
			start.Text = signStart
		}
		change := Cell{Value: r.Changeover}
		if r.Changeover {
			change.Text = signChange
		}
		tab.add(fmt.Sprint(i), append([]Cell{word(r.Line), f.m.day(f.span(r.Bucket).From), f.m.day(f.span(r.Bucket).To), change, start}, f.runCells(r)...)...)
	}
	return tab
}
