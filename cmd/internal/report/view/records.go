package view

import (
	"fmt"
	"slices"
	"strings"

	"feedline/planner"
	"feedline/planner/estimates"
)

// estimates is what the plan was made with in the place of what was entered, with how sure it is.
func (m *maker) estimates() Table {
	t := Table{Name: "estimates", Title: "Estimates from the records", Empty: "The plan is made with the figures entered: no estimates.",
		Note: "What the records say beside what was entered, with the 95 % interval and the number of records; the plan is made with what is used.",
		Columns: []Column{words("figure"), words("unit"), {Head: "entered", Kind: Number, Decimals: 3}, {Head: "estimate", Kind: Number, Decimals: 3}, {Head: "from", Kind: Number, Decimals: 3},
			{Head: "to", Kind: Number, Decimals: 3}, count("records", ""), words("used"), prose("note")}}
	for _, e := range m.p.Estimates {
		e = estimates.InUnits(e, m.opt.Units)
		t.Rows = append(t.Rows, []Cell{text(e.Name), text(e.Unit), number(e.Entered), number(e.Value), number(e.Low), number(e.High), whole(e.Records), yes(e.Used), text(e.Note)})
	}
	return t
}

// watched is the control charts of yields and rates, those that signal first.
func (m *maker) watched() Table {
	t := Table{Name: "control-charts", Title: "Control charts", Empty: "There are too few records for a control chart.",
		Note:    "Actual ÷ entered, record by record, and its smoothed mean (EWMA, weight 0.2), each with limits of three standard deviations set by the records before the last eight.",
		Columns: []Column{words("chart"), words("state"), date("last record"), count("records", ""), ratio("last value"), ratio("centre"), ratio("low"), ratio("high"), ratio("EWMA"), ratio("EWMA low"), ratio("EWMA high"), prose("what it says")}}
	if m.opt.Records == nil {
		return t
	}
	for _, c := range ChartsBySignal(*m.opt.Records) {
		n := len(c.Values)
		if n == 0 || len(c.EWMA) != n {
			continue
		}
		state, says, last := "steady", "", Cell{None: true}
		if len(c.Days) == n {
			last = day(c.Days[n-1])
		}
		if k := len(c.Alarms); k > 0 {
			state, says = "out", c.Alarms[k-1].Words
			if c.Alarms[k-1].Smooth {
				state = "drifts"
			}
			if k > 1 {
				says += fmt.Sprintf("; %d signals", k)
			}
		}
		t.Rows = append(t.Rows, []Cell{text(c.Name), warned(text(state), len(c.Alarms) > 0), last, whole(n), number(c.Values[n-1]), number(c.Single.Centre), number(c.Single.Low), number(c.Single.High),
			number(c.EWMA[n-1]), number(c.Smooth.Low), number(c.Smooth.High), text(says)})
	}
	return t
}

// RecordsInBrief is the estimates and control charts that a page has room for: of line figures those whose entered figure lies outside of the
// interval, of charts those that signal and those of yields, without the columns that only a calculation needs.
func RecordsInBrief(in *planner.Input, p *planner.Plan, opt Options) []Table {
	m := newMaker(in, p, opt)
	e, w := m.estimates(), m.watched()
	var some [][]Cell
	for i, r := range e.Rows {
		x := p.Estimates[i]
		if k := estimates.Kind(x.Kind); !x.Used || k != estimates.Rate && k != estimates.Availability && k != estimates.Quality || x.Entered < x.Low || x.Entered > x.High {
			some = append(some, r)
		}
	}
	if n := len(e.Rows) - len(some); n > 0 {
		e.Note += fmt.Sprintf(" %d figures of lines whose entered value lies within the interval are in the workbook.", n)
	}
	e.Rows = some
	return []Table{e, w.brief()}
}

// brief is the control charts that signal, and those of yields.
func (t Table) brief() Table {
	var rows [][]Cell
	for _, r := range t.Rows {
		if r[1].Warn || strings.HasPrefix(r[0].Text, "yield ") {
			rows = append(rows, r)
		}
	}
	if n := len(t.Rows) - len(rows); n > 0 {
		t.Note += fmt.Sprintf(" %d steady charts of line rates are in the workbook.", n)
	}
	t.Rows = rows
	return t.without("last record", "centre", "records")
}

// without leaves columns out.
func (t Table) without(heads ...string) Table {
	out := t
	out.Columns, out.Rows = nil, make([][]Cell, len(t.Rows))
	for i, c := range t.Columns {
		if slices.Contains(heads, c.Head) {
			continue
		}
		out.Columns = append(out.Columns, c)
		for j, r := range t.Rows {
			out.Rows[j] = append(out.Rows[j], r[i])
		}
	}
	return out
}

// ratio is a column of ratios.
func ratio(head string) Column { return Column{Head: head, Kind: Number, Decimals: 3} }

// ChartsBySignal is the control charts, those that signal first.
func ChartsBySignal(r estimates.Report) []estimates.Chart {
	list := r.Alarms()
	for _, c := range r.Charts {
		if len(c.Alarms) == 0 {
			list = append(list, c)
		}
	}
	return list
}
