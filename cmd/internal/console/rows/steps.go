package rows

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"feedline/lines"
	"feedline/planner"
)

// stepTable is a row for each thing that could be done with a line: started, set up or left idle, with what the planner found it to bring.
func (f *Facts) stepTable() *Table {
	c := f.In.Plant.Currency
	t := &Table{Name: "steps", Title: "What each line would bring over the plan", None: f.noSteps(), Columns: []Column{
		{Key: "line", Head: "Line", Left: true},
		{Key: "do", Head: "were it", Left: true},
		{Key: "gain_" + c, Head: c},
		{Key: "good_" + f.m.metre(), Head: "good " + f.m.metre(), Rank: 2},
		{Key: "late_orders", Head: "late orders", Rank: 4},
		{Key: "pellets_" + f.m.ton(), Head: "pellets " + f.m.ton(), Rank: 3},
		{Key: "fed_gain_" + c, Head: "fed " + c},
		{Key: "fed_pellets_" + f.m.ton(), Head: "feed " + f.m.ton(), Rank: 1},
		{Key: "state", Head: "now", Left: true, Rank: 5},
	}}
	none := figure(math.NaN(), 0)
	list := slices.Clone(f.Plan.LineValues)
	slices.SortStableFunc(list, func(a, b planner.LineValue) int { return cmp.Compare(isIdle(a), isIdle(b)) }) // what stands first: it can be tried
	for _, v := range list {
		state := word(f.stateWord(f.lines[v.Line]))
		if !v.Can {
			t.add(stepKey(v), word(v.Line), word("can't be "+f.doneWord(v)), none, none, none, none, none, none, state)
			continue
		}
		fed, feed := none, none
		if v.Do != planner.IdleLine {
			fed, feed = signedCell(float64(v.FedGain), 0), signedCell(f.m.inTons(v.FedPellets), 1)
		}
		gain := signedCell(float64(v.Gain), 0)
		if v.Gain > 0 {
			gain.Tone = Accent
		}
		t.add(stepKey(v), word(v.Line), word(f.doneWord(v)), gain, signedCell(f.m.inMetres(v.Length), 0), signedCell(float64(v.LateOrders), 0), signedCell(f.m.inTons(v.Pellets), 1), fed, feed, state)
	}
	return t
}

func isIdle(v planner.LineValue) int {
	if v.Do == planner.IdleLine {
		return 1
	}
	return 0
}

// stepKey is the row of a step: the line's code where the line stands, so that it can be tried.
func stepKey(v planner.LineValue) string {
	if v.Do == planner.IdleLine {
		return v.Line + " idle"
	}
	return v.Line
}

// doneWord is a step as it would have been done.
func (f *Facts) doneWord(v planner.LineValue) string {
	switch {
	case v.Do == planner.IdleLine:
		return "idle throughout"
	case v.Do == planner.CommissionLine:
		return "set up"
	case f.lines[v.Line].State == lines.Down:
		return "started, once up"
	}
	return "started at once"
}

// noSteps says why there are none.
func (f *Facts) noSteps() string {
	if words, ok := f.Plan.Lacks(planner.AnswerLines); ok {
		return words
	}
	return "not worked out for this plan: r plans again"
}

// signedCell is a number with its sign.
func signedCell(x float64, decimals int) Cell {
	c := figure(x, decimals)
	if c.Value != nil {
		c.Text = signed(x, decimals)
	}
	return c
}

// lacking says what of the answers is missing, one a line.
func (f *Facts) lacking(answers ...planner.Answer) (list []Line) {
	for _, a := range answers {
		if words, ok := f.Plan.Lacks(a); ok {
			list = append(list, say(Quiet, fmt.Sprintf("Not known in full: %s; %s.", a, words)))
		}
	}
	return list
}
