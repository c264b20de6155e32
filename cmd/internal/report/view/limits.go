package view

import (
	"fmt"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
)

// notYet is what an empty table of an answer means: why it is missing, or words of its own.
func (m *maker) notYet(a planner.Answer, otherwise string) string {
	if words, ok := m.p.Lacks(a); ok {
		return "Not known in full: " + words + "."
	}
	return otherwise
}

// lineValues is what each line would bring, started, idle or set up.
func (m *maker) lineValues() Table {
	t := Table{Name: "line-values", Title: "What each line would bring",
		Note:  "The plan made anew with that one thing done over the whole horizon; the gain is what the cost falls by. With feed: were pellets there at what they cost to have.",
		Empty: m.notYet(planner.AnswerLines, "No line can be started, set up or left idle."),
		Columns: []Column{words("line"), words("were it"), words("can be"), m.moneyColumn("gain"), m.lengthColumn("good, more"), m.tonColumn("pellets, more"), count("late orders, more", ""),
			m.moneyColumn("gain with feed"), m.tonColumn("pellets with feed, more"), words("search")}}
	for _, v := range m.p.LineValues {
		row := []Cell{text(v.Line), text(stepWord(v.Do)), yes(v.Can)}
		if !v.Can {
			t.Rows = append(t.Rows, append(row, slices.Repeat([]Cell{{None: true}}, 7)...))
			continue
		}
		row = append(row, number(float64(v.Gain)), m.length(v.Length), m.tons(v.Pellets), whole(v.LateOrders))
		if v.Do == planner.IdleLine {
			row = append(row, Cell{None: true}, Cell{None: true})
		} else {
			row = append(row, number(float64(v.FedGain)), m.tons(v.FedPellets))
		}
		done := "to the end"
		if v.Cut {
			done = "cut short: at least"
		}
		t.Rows = append(t.Rows, append(row, text(done)))
	}
	return t
}

func stepWord(s planner.LineStep) string {
	switch s {
	case planner.StartLine:
		return "started"
	case planner.CommissionLine:
		return "set up"
	}
	return string(s)
}

// boundBy is what bounds output, period by period, with what each limit earns in it.
func (m *maker) boundBy() Table {
	t := Table{Name: "bound-by", Title: "What bounds output",
		Note:  "The limit that earns most in each period, which is its worth times what there is of it, and the others that earn anything.",
		Empty: m.notYet(planner.AnswerBound, "Not worked out for this plan."), Columns: slices.Concat(periodColumns(), []Column{words("bound by"), m.moneyColumn("it earns"), prose("and")})}
	for _, b := range m.p.BoundBy {
		earns, others := Cell{None: true}, []string(nil)
		for i, r := range b.Rents {
			if i == 0 {
				earns = number(float64(r.Amount))
				continue
			}
			others = append(others, fmt.Sprintf("%s %s", limitWord(r.Of), m.money(r.Amount)))
		}
		t.Rows = append(t.Rows, slices.Concat(m.period(b.Bucket), []Cell{text(limitWord(b.By)), earns, text(strings.Join(others, ", "))}))
	}
	return t
}

// limitWord names a limit as the floor does.
func limitWord(r planner.Resource) string {
	switch r {
	case planner.OfPellets, planner.OfMaterial:
		return "feed"
	case planner.OfLineHour:
		return "lines"
	case planner.OfStep:
		return "pelletizing"
	case planner.OfDie:
		return "dies"
	}
	return string(r)
}

// worths is what one more of each thing would save.
func (m *maker) worths() Table {
	price := m.unit(quantity.KindMassPrice)
	unit := Column{Head: "worth", Unit: m.p.Currency, Kind: Number, Decimals: 3}
	free := Column{Head: "were lines and set-ups free", Unit: m.p.Currency, Kind: Number, Decimals: 3}
	t := Table{Name: "worth", Title: "What the next one is worth",
		Note: "By " + strings.TrimPrefix(price.Symbol, "/") + " of pellets or material, by a line or fitter hour, by a person over the period: with lines, set-ups and loads as planned, and as an estimate were they free to change. " +
			"What is not measured is a dual value, which may say more than can be had.",
		Empty: m.notYet(planner.AnswerWorth, "Nothing is worth more than it costs."), Columns: slices.Concat([]Column{words("of"), words("code")}, periodColumns(), []Column{unit, free, words("measured")})}
	for _, x := range m.p.Worth {
		value, relaxed := float64(x.Value), float64(x.Relaxed)
		if x.Of == planner.OfPellets || x.Of == planner.OfMaterial {
			value, relaxed = price.FromStored(value), price.FromStored(relaxed)
		}
		t.Rows = append(t.Rows, slices.Concat([]Cell{text(string(x.Of)), text(x.Code)}, m.period(x.Bucket), []Cell{number(value), number(relaxed), yes(!x.Dual)}))
	}
	return t
}

// sayBest is what the best step with a line would bring, and what of the answers is missing.
func (m *maker) sayBest() (list []Statement) {
	best := planner.LineValue{}
	for _, v := range m.p.LineValues {
		if v.Can && v.Gain > best.Gain {
			best = v
		}
	}
	switch {
	case best.Line != "":
		list = append(list, Statement{"Lines", fmt.Sprintf("Were %s %s, the plan would cost %s less, with %s and %s of pellets.", best.Line, stepWord(best.Do), m.money(best.Gain),
			moreOrLess(float64(best.Length), func(x float64) string { return quantity.Length(x).Format(m.opt.Units, 0) }),
			moreOrLess(float64(best.Pellets), func(x float64) string { return m.tonText(quantity.Mass(x)) })), false})
	case len(m.p.LineValues) > 0 && m.notTried():
		list = append(list, Statement{"Lines", fmt.Sprintf("None of the steps with lines that were tried, %d of those there are, would bring anything.", len(m.p.LineValues)), false})
	case len(m.p.LineValues) > 0:
		list = append(list, Statement{"Lines", "No line would bring anything by being started, set up or left idle.", false})
	}
	var lacks []string
	for _, x := range m.p.Missing {
		lacks = append(lacks, fmt.Sprintf("%s: %s", x.Answer, x.Words))
	}
	if len(lacks) > 0 {
		list = append(list, Statement{"Not known in full", capital(strings.Join(lacks, "; ")) + ".", false})
	}
	return list
}

// notTried reports whether there are steps with lines that the planner had no time to try.
func (m *maker) notTried() bool {
	return slices.ContainsFunc(m.p.Missing, func(x planner.Missing) bool { return x.Answer == planner.AnswerLines })
}

// moreOrLess is an amount with which way it goes, such as "120 m more".
func moreOrLess(x float64, format func(float64) string) string {
	if x < 0 {
		return known(x, format(-x)) + " less"
	}
	return known(x, format(x)) + " more"
}

func capital(s string) string {
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}
