package view

import (
	"cmp"
	"fmt"
	"slices"

	"feedline/planner"
)

func (m *maker) orderColumns() []Column {
	return []Column{words("order"), words("customer"), words("profile"), m.lengthColumn("length").summed(), date("due"), date("promise"),
		{Head: "days late", Unit: "d", Kind: Number, Formula: `IF({promise}="",0,MAX(0,{promise}-{due}))`}, m.lengthColumn("unmet").summed(), count("priority", "")}
}

func (m *maker) orderRow(r planner.OrderResult) []Cell {
	o := m.orderOf[r.Order]
	priority := whole(o.Priority)
	priority.None = o.Priority == 0
	return []Cell{text(r.Order), text(o.Customer), text(r.Profile), m.length(r.Length), day(r.Due), day(r.Promise), warned(whole(r.DaysLate), r.DaysLate > 0),
		warned(m.length(r.Unmet), r.Unmet >= LeastLength), priority}
}

func (m *maker) orders() Table {
	t := Table{Name: "orders", Title: "Orders", Note: "What becomes of each order. An order without a promise is not complete within the horizon.", Empty: "There are no orders.", Columns: m.orderColumns()}
	list := slices.Clone(m.p.Orders)
	slices.SortStableFunc(list, func(a, b planner.OrderResult) int {
		return cmp.Or(cmp.Compare(a.Due, b.Due), cmp.Compare(a.Order, b.Order))
	})
	for _, r := range list {
		t.Rows = append(t.Rows, m.orderRow(r))
	}
	return t
}

// isLate reports whether an order is late or never complete.
func isLate(r planner.OrderResult) bool {
	return r.DaysLate > 0 || r.Promise == 0 || r.Unmet >= LeastLength
}

// Late are the orders that are late or never complete: those never complete first, then the latest.
func Late(p *planner.Plan) []planner.OrderResult {
	var list []planner.OrderResult
	for _, r := range p.Orders {
		if isLate(r) {
			list = append(list, r)
		}
	}
	slices.SortStableFunc(list, func(a, b planner.OrderResult) int {
		return cmp.Or(never(b)-never(a), cmp.Compare(b.DaysLate, a.DaysLate), cmp.Compare(a.Due, b.Due))
	})
	return list
}

func never(r planner.OrderResult) int {
	if r.Promise == 0 {
		return 1
	}
	return 0
}

func (m *maker) lateOrders() Table {
	t := Table{Name: "late-orders", Title: "Late orders", Note: "Orders that the plan, its new loads included, can't ship by the due day, and what is known of why.",
		Empty: "No order is late.", Columns: append(m.orderColumns(), prose("why"))}
	for _, r := range Late(m.p) {
		t.Rows = append(t.Rows, append(m.orderRow(r), text(m.why(r))))
	}
	return t
}

// why says why an order is late: as the planner worked it out, else as far as the plan shows it.
func (m *maker) why(r planner.OrderResult) string {
	for _, w := range m.p.WhyLate {
		if w.Order == r.Order {
			return w.Words
		}
	}
	grade := m.profiles[r.Profile].Grade
	for _, s := range m.p.Shortages {
		if s.Grade == grade && slices.Contains(s.OrdersAtRisk, r.Order) {
			return fmt.Sprintf("%s pellets run short on committed supply from %s", grade, s.First.UTC().Format("2 Jan"))
		}
	}
	return "committed feed is not short: look at line, die and crew hours"
}

// output is what is made by profile and bucket, in order of time.
func (m *maker) output() Table {
	t := Table{Name: "output", Title: "Output", Note: "Good metres of each period, all profiles together, and the pellets used for them.", Empty: "Nothing is planned.",
		Columns: slices.Concat(periodColumns(), []Column{m.lengthColumn("good").summed(), m.tonColumn("pellets used").summed(), m.tonColumn("scrap").summed(),
			{Head: "scrap share", Unit: "%", Kind: Number, Decimals: 1, Formula: `IF({pellets used}>0,{scrap}/{pellets used}*100,"")`}})}
	for i, o := range Outputs(m.p) {
		share := number(100 * float64(o.Scrap) / float64(o.Pellets))
		share.None = share.None || o.Pellets <= 0
		t.Rows = append(t.Rows, slices.Concat(m.period(i), []Cell{m.length(o.Length), m.tons(o.Pellets), m.tons(o.Scrap), share}))
	}
	return t
}

// Outputs sums the runs of each bucket; Line and Profile are empty.
func Outputs(p *planner.Plan) []planner.Run {
	sum := make([]planner.Run, len(p.Buckets))
	for _, r := range p.Runs {
		if r.Bucket >= 0 && r.Bucket < len(sum) {
			s := &sum[r.Bucket]
			s.Length, s.Pellets, s.Scrap = s.Length+r.Length, s.Pellets+r.Pellets, s.Scrap+r.Scrap
		}
	}
	return sum
}

func (m *maker) rack() Table {
	t := Table{Name: "rack", Title: "Rack", Group: "profile", Note: "Each profile over each period. Late is what is owed at its end.",
		Columns: slices.Concat([]Column{words("profile")}, periodColumns(), []Column{m.lengthColumn("opening").by("{closing^}"), m.lengthColumn("made").summed(), m.lengthColumn("shipped").summed(),
			m.lengthColumn("closing").by("{opening}+{made}-{shipped}"), m.lengthColumn("demand").summed(), m.lengthColumn("late")})}
	for _, x := range m.p.Rack {
		t.Rows = append(t.Rows, slices.Concat([]Cell{text(x.Profile)}, m.period(x.Bucket), []Cell{m.length(x.Opening), m.length(x.Made), m.length(x.Shipped), m.length(x.Closing), m.length(x.Demand),
			warned(m.length(x.Late), x.Late >= LeastLength)}))
	}
	return t
}
