package rows

import (
	"fmt"
	"slices"

	"feedline/planner"
)

// Orders answers which orders are late and why.
func Orders(f *Facts, at Place) Page {
	table := f.orderTable()
	code := at.row(table)
	return Page{
		Screen: "orders",
		Lead:   f.ordersLead(),
		Panes: []Pane{
			{Table: table, Least: 3, Rank: 0},
			{Draw: func(width, height int) []Line { return f.orderWords(code, width, height) }, Least: 2, Want: 3, Rank: 1, Drawn: true},
		},
	}
}

func (f *Facts) ordersLead() []Line {
	n, worst := f.late()
	var l Line
	switch {
	case len(f.Plan.Orders) == 0:
		l = say(Plain, "The plan has no orders.")
	case n == 0:
		l = say(Strong, fmt.Sprintf("All %s in time.", plural(len(f.Plan.Orders), "order")))
	case worst.Unmet > 0:
		l = say(Alert, fmt.Sprintf("! %d of %s late; %s is never complete.", n, plural(len(f.Plan.Orders), "order"), worst.Order))
	default:
		l = say(Alert, fmt.Sprintf("! %d of %s late, the worst, %s, by %s.", n, plural(len(f.Plan.Orders), "order"), worst.Order, plural(worst.DaysLate, "day")))
	}
	risk := map[string]bool{}
	for _, s := range f.Plan.Shortages {
		for _, o := range s.OrdersAtRisk {
			risk[o] = true
		}
	}
	if len(risk) > 0 {
		l = append(l, Span{fmt.Sprintf(" %d at risk if nothing more is ordered.", len(risk)), Plain})
	}
	out := []Line{l}
	if f.Known.Promise != "" {
		out = append(out, say(Accent, f.Known.Promise))
	}
	return out
}

// orderTable is a row an order, in the greatest trouble first.
func (f *Facts) orderTable() *Table {
	t := &Table{Name: "orders", Title: "Orders", None: "no orders in the plan", Columns: []Column{
		{Key: "order", Head: "Order", Left: true},
		{Key: "customer", Head: "customer", Left: true, Rank: 4, Flex: true},
		{Key: "profile", Head: "profile", Left: true, Rank: 2},
		{Key: "length_" + f.m.metre(), Head: f.m.metre(), Rank: 3},
		{Key: "due", Head: "due"},
		{Key: "complete", Head: "complete"},
		{Key: "late_d", Head: "late d"},
		{Key: "unmet_" + f.m.metre(), Head: "unmet " + f.m.metre(), Rank: 6},
		{Key: "why", Head: "why", Left: true, Rank: 1, Flex: true},
		{Key: "priority", Head: "priority", Rank: 7},
		{Key: "value_" + f.In.Plant.Currency, Head: f.In.Plant.Currency, Rank: 5},
	}}
	list := slices.Clone(f.Plan.Orders)
	slices.SortStableFunc(list, func(a, b planner.OrderResult) int {
		switch {
		case worse(a, b):
			return -1
		case worse(b, a):
			return 1
		}
		return int(a.Due) - int(b.Due)
	})
	for _, o := range list {
		entered := f.orders[o.Order]
		late, done := Cell{Text: "", Value: o.DaysLate}, f.m.day(o.Promise)
		tone := Plain
		if o.DaysLate > 0 {
			late = Cell{fmt.Sprintf("! %d", o.DaysLate), Alert, o.DaysLate}
			done.Tone = Alert
		}
		unmet := f.m.length(o.Unmet)
		if o.Unmet <= 0 {
			unmet.Text = ""
		} else {
			late, done = Cell{"! never", Alert, nil}, Cell{"never", Alert, nil}
			unmet.Tone = Alert
		}
		if o.Due < f.today {
			tone = Strong
		}
		price := entered.Price
		if price == 0 {
			price = f.profiles[o.Profile].Price
		}
		t.add(o.Order, word(o.Order).in(tone), word(entered.Customer), word(o.Profile), f.m.length(o.Length), f.m.day(o.Due), done, late, unmet,
			word(f.why(o)), count(entered.Priority), figure(float64(price)*float64(o.Length), 0))
	}
	return t
}

// why is what makes an order late: as the planner worked it out, else, in a plan made in brief, as far as the plan shows it.
func (f *Facts) why(o planner.OrderResult) string {
	if o.DaysLate == 0 && o.Unmet <= 0 {
		return ""
	}
	if w, ok := f.whyLate[o.Order]; ok && w.Words != "" {
		return w.Words
	}
	if o.Due < f.Plan.Start {
		return "due before the plan"
	}
	for _, s := range f.Plan.Shortages {
		if slices.Contains(s.OrdersAtRisk, o.Order) {
			return "feed: " + s.Grade
		}
	}
	return "lines or dies?" // not worked out: what is left when feed is there
}

// orderWords is an order in full.
func (f *Facts) orderWords(code string, width, height int) []Line {
	i := slices.IndexFunc(f.Plan.Orders, func(o planner.OrderResult) bool { return o.Order == code })
	if i < 0 {
		return nil
	}
	o := f.Plan.Orders[i]
	e := f.orders[code]
	l := Line{{code, Strong}, {fmt.Sprintf(" for %s: %s %s of %s, due %s", orElse(e.Customer, "no customer"), f.m.length(o.Length).Text, f.m.metre(), f.profileWords(o.Profile), f.m.weekday(o.Due)), Plain}}
	switch {
	case o.Unmet > 0:
		l = append(l, Span{fmt.Sprintf("; %s %s are not made within the plan: %s", f.m.length(o.Unmet).Text, f.m.metre(), f.why(o)), Alert})
	case o.DaysLate > 0:
		l = append(l, Span{fmt.Sprintf("; complete %s, %s late: %s", f.m.weekday(o.Promise), plural(o.DaysLate, "day"), f.why(o)), Alert})
	default:
		l = append(l, Span{"; complete by " + f.m.weekday(o.Promise), Plain})
	}
	out := Wrap(l, width)
	return out[:min(len(out), height)]
}

// profileWords is a profile with its name and grade, as far as the book has it.
func (f *Facts) profileWords(code string) string {
	p, ok := f.profiles[code]
	if !ok {
		return code + ", which is not in the book"
	}
	return fmt.Sprintf("%s (%s), grade %s", code, orElse(p.Name, "no name"), p.Grade)
}
