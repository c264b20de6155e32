package view

import (
	"fmt"

	"feedline/planner/estimates"
)

// estimates is what the plan was made with in the place of what was entered, with how sure it is.
func (m *maker) estimates() Table {
	t := Table{Name: "estimates", Title: "Estimates from the records", Empty: "The plan is made with the figures entered: no estimates.",
		Note: "What the records say beside what was entered, with the 95 % interval and the number of records; the plan is made with what is used.",
		Columns: []Column{words("figure"), words("unit"), {Head: "entered", Kind: Number, Decimals: 3}, {Head: "estimate", Kind: Number, Decimals: 3}, {Head: "from", Kind: Number, Decimals: 3},
			{Head: "to", Kind: Number, Decimals: 3}, count("records", ""), words("used"), prose("note")}}
	for _, e := range m.p.Estimates {
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
		state, says, last := "in control", "", Cell{None: true}
		if len(c.Days) == n {
			last = day(c.Days[n-1])
		}
		if k := len(c.Alarms); k > 0 {
			state, says = "out of control", c.Alarms[k-1].Words
			if k > 1 {
				says += fmt.Sprintf("; %d signals", k)
			}
		}
		t.Rows = append(t.Rows, []Cell{text(c.Name), warned(text(state), len(c.Alarms) > 0), last, whole(n), number(c.Values[n-1]), number(c.Single.Centre), number(c.Single.Low), number(c.Single.High),
			number(c.EWMA[n-1]), number(c.Smooth.Low), number(c.Smooth.High), text(says)})
	}
	return t
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
