package view

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

func (m *maker) shortages() Table {
	t := Table{Name: "shortages", Title: "Shortages on committed supply",
		Note:  "What runs short if nothing more is ordered: opening stock and deliveries on their way against what demand calls for.",
		Empty: "No grade runs short on committed supply within the horizon.",
		Columns: []Column{words("grade"), date("first short"), {Head: "ahead", Unit: "weeks", Kind: Number, Decimals: 1}, date("lasts till"), m.tonColumn("short in 4 weeks"),
			m.tonColumn("most owed"), count("orders at risk", ""), prose("which")}}
	if len(m.p.NeedHave) == 0 && len(m.p.Shortages) == 0 {
		t.Empty = NotWorkedOut
	}
	for _, s := range m.p.Shortages {
		t.Rows = append(t.Rows, []Cell{text(s.Grade), warned(day(s.First), true), number(s.WeeksAhead), day(s.LastsTill), m.tons(s.MassIn4Weeks), m.tons(s.Mass),
			whole(len(s.OrdersAtRisk)), text(strings.Join(s.OrdersAtRisk, ", "))})
	}
	return t
}

// NotWorkedOut is said where need against have is not known.
const NotWorkedOut = "Need against have was not worked out: the planner was stopped before."

func (m *maker) orderBy() Table {
	price := m.unit(quantity.KindMassPrice)
	t := Table{Name: "order-by", Title: "Order by",
		Note:  "For each short grade the last day to order on each lane so that the loads arrive at the service level, of the first ones where the lane does not give all at once; the lanes of a grade are alternatives, but that one whose material may be only part of the feed needs another beside it.",
		Empty: "Nothing needs to be ordered for a shortage.",
		Columns: []Column{words("grade"), date("order by"), words("in time"), words("lane"), words("supplier"), words("material"), count("loads", ""), m.tonColumn("mass"), date("needed"),
			{Head: "landed cost of pellets", Unit: m.p.Currency + price.Symbol, Kind: Number, Decimals: 2}, words("in plan"), words("at once"), {Head: "most of the feed", Unit: "%", Kind: Number, Decimals: 0}}}
	if len(m.p.NeedHave) == 0 && len(m.p.OrderBy) == 0 {
		t.Empty = NotWorkedOut
	}
	for _, o := range m.p.OrderBy {
		lane := m.lanes[o.Lane]
		in := text("yes")
		if o.TooLate {
			in = warned(text("too late"), true)
		}
		t.Rows = append(t.Rows, []Cell{text(o.Grade), day(o.By), in, text(o.Lane), text(lane.Supplier), text(lane.Material), whole(o.Loads), m.tons(o.Mass), day(o.Needed),
			number(price.FromStored(float64(o.Landed))), yes(o.InPlan), text(atOnce(o)), mostOf(o)})
	}
	return t
}

// atOnce is how many loads the lane gives at once.
func atOnce(o planner.OrderBy) string {
	switch o.Weeks {
	case 0:
		return "all"
	case 1:
		return fmt.Sprintf("%d a week", o.AtOnce)
	}
	return fmt.Sprintf("%d in %d weeks", o.AtOnce, o.Weeks)
}

// mostOf is the most of the feed that the material may be; empty in plans made before that was looked at.
func mostOf(o planner.OrderBy) Cell {
	if o.Most == 0 {
		return text("")
	}
	return number(100 * float64(o.Most))
}

func (m *maker) needHave() Table {
	t := Table{Name: "need-have", Title: "Need and have", Group: "grade",
		Note:  "Pellets that demand calls for, were feed no limit, against what committed supply serves. Short is negative where arrears are made good; owed is short summed up.",
		Empty: NotWorkedOut,
		Columns: slices.Concat([]Column{words("grade")}, periodColumns(), []Column{m.tonColumn("need").summed(), m.tonColumn("have").summed(),
			m.tonColumn("short").summed().by("{need}-{have}"), m.tonColumn("owed").by("{owed^}+{short}")})}
	for _, x := range m.p.NeedHave {
		t.Rows = append(t.Rows, slices.Concat([]Cell{text(x.Grade)}, m.period(x.Bucket),
			[]Cell{m.tons(x.Need), m.tons(x.Have), m.tons(x.Short), warned(m.tons(x.Cumulative), x.Cumulative > leastShort)}))
	}
	return t
}

// leastShort, in kilograms, is the least shortage that is worth a mark.
const leastShort = 50

func (m *maker) pellets() Table {
	t := Table{Name: "pellets", Title: "Pellets", Group: "grade",
		Note: "Each grade's silo over each period, new loads counted. Cover is how long the closing stock lasts at the plan's own use after the period; empty where it outlasts the horizon.",
		Columns: slices.Concat([]Column{words("grade")}, periodColumns(), []Column{
			m.tonColumn("opening").by("{closing^}"), m.tonColumn("made").summed(), m.tonColumn("missing").summed(), m.tonColumn("used").summed(),
			m.tonColumn("closing").by("{opening}+{made}+{missing}-{used}"), {Head: "cover", Unit: "d", Kind: Number, Decimals: 1},
			{Head: "lasts at this use", Unit: "d", Kind: Number, Decimals: 1, Formula: `IF({used}>0,{closing}/{used}*{days},"")`}, m.tonColumn("own regrind at end")})}
	for _, x := range m.p.Pellets {
		lasts := math.NaN()
		if x.Used > 0 && x.Bucket < len(m.p.Buckets) {
			lasts = float64(x.Closing) / float64(x.Used) * float64(m.p.Buckets[x.Bucket].Span.Days())
		}
		t.Rows = append(t.Rows, slices.Concat([]Cell{text(x.Grade)}, m.period(x.Bucket),
			[]Cell{m.tons(x.Opening), m.tons(x.Made), warned(m.tons(x.Shortfall), x.Shortfall > leastShort), m.tons(x.Used), m.tons(x.Closing), number(x.CoverDays), number(lasts), m.tons(x.RegrindClosing)}))
	}
	return t
}

func (m *maker) yard() Table {
	t := Table{Name: "yard", Title: "Yard", Group: "material",
		Note: "Each material over each period. Lots on hold are not counted. Storage follows the local fire code.",
		Columns: slices.Concat([]Column{words("material")}, periodColumns(), []Column{m.tonColumn("opening").by("{closing^}"), m.tonColumn("arrived").summed(), m.tonColumn("drawn").summed(),
			m.tonColumn("closing").by("{opening}+{arrived}-{drawn}")})}
	for _, x := range m.p.Yard {
		t.Rows = append(t.Rows, slices.Concat([]Cell{text(x.Material)}, m.period(x.Bucket), []Cell{m.tons(x.Opening), m.tons(x.Arrived), m.tons(x.Drawn), m.tons(x.Closing)}))
	}
	return t
}

func (m *maker) draws() Table {
	t := Table{Name: "pelletizing", Title: "Pelletizing", Note: "What is taken from the yard, or of the plant's own regrind, and the pellets made of it.", Empty: "Nothing is pelletized.",
		Columns: slices.Concat(periodColumns(), []Column{words("grade"), words("material"), m.tonColumn("taken").summed(), m.tonColumn("pellets").summed(),
			{Head: "yield", Unit: "%", Kind: Number, Decimals: 1, Formula: `IF({taken}>0,{pellets}/{taken}*100,"")`}})}
	for _, x := range m.p.Draws {
		from, yield := x.Material, math.NaN()
		if from == "" {
			from = "own regrind"
		}
		if x.In > 0 {
			yield = 100 * float64(x.Out) / float64(x.In)
		}
		t.Rows = append(t.Rows, slices.Concat(m.period(x.Bucket), []Cell{text(x.Grade), text(from), m.tons(x.In), m.tons(x.Out), number(yield)}))
	}
	return t
}

// Arrival is a load or delivery that the plan counts on.
type Arrival struct {
	Code     string // of a delivery; "" for loads that are to be ordered
	Lane     string
	Material string
	Ordered  calendar.Day // 0 = not known
	ETA      calendar.Day // 0 for loads to be ordered
	Planned  calendar.Day // the day the plan counts on
	Loads    int          // 0 for a delivery
	Mass     float64      // kg
	Cost     float64      // plant's currency; NaN for a delivery
	Status   string
	Overdue  bool // a delivery that was expected before the plan's first day, on which the plan counts on it
}

// New reports whether the loads are still to be ordered.
func (a Arrival) New() bool { return a.Code == "" }

// Arrivals are the deliveries on their way and the loads that the plan orders, by the day the plan counts on.
func Arrivals(in *planner.Input, p *planner.Plan) []Arrival {
	var list []Arrival
	q := in.Plant.ArrivesBy()
	for _, d := range in.Deliveries {
		if d.Coming() {
			list = append(list, Arrival{d.Code, d.Lane, d.Material, d.Ordered, d.ETA, max(p.Start, inventory.PlannedArrival(d, q)), 0, float64(d.Mass), math.NaN(), string(d.Status), d.Overdue(p.Start)})
		}
	}
	material := map[string]string{}
	for _, l := range in.Lanes {
		material[l.Code] = l.Material
	}
	for _, x := range p.Purchases {
		list = append(list, Arrival{"", x.Lane, material[x.Lane], x.OrderBy, 0, x.Arrives, x.Loads, float64(x.Mass), float64(x.Cost), "to order", false})
	}
	slices.SortStableFunc(list, func(a, b Arrival) int {
		return cmp.Or(cmp.Compare(a.Planned, b.Planned), cmp.Compare(a.Lane, b.Lane), cmp.Compare(a.Code, b.Code))
	})
	return list
}

// remark is what is to be known of an arrival beside its figures.
func (a Arrival) remark() string {
	if a.Overdue {
		return "overdue"
	}
	return ""
}

func (m *maker) deliveries() Table {
	t := Table{Name: "deliveries", Title: "Deliveries and loads to order",
		Note:  "Deliveries on their way and the loads that the plan orders. The plan counts on the day in the column planned, a cautious one; on what is overdue at once.",
		Empty: "Nothing is on its way and the plan orders nothing.",
		Columns: []Column{date("planned"), words("delivery"), words("status"), words("lane"), words("material"), date("ordered on"), date("ETA"), count("loads", ""), m.tonColumn("mass").summed(),
			m.moneyColumn("cost").summed(), words("remark")}}
	for _, a := range Arrivals(m.in, m.p) {
		loads := whole(a.Loads)
		loads.None = a.Loads == 0
		t.Rows = append(t.Rows, []Cell{day(a.Planned), text(a.Code), text(a.Status), text(a.Lane), text(a.Material), day(a.Ordered), warned(day(a.ETA), a.Overdue), loads,
			number(m.tonUnit().FromStored(a.Mass)), number(a.Cost), text(a.remark())})
	}
	return t
}

// loadsWord is "1 load", "3 loads".
func loadsWord(n int) string {
	if n == 1 {
		return "1 load"
	}
	return fmt.Sprintf("%d loads", n)
}
