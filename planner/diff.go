package planner

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// PlanDiff explains one plan by another, from the older to the newer. Lists hold changes only, sorted by code, then day.
// Lists by day are about the days that both plans cover, cut where both have a bucket's end; money, orders and short dates are about
// each plan's whole horizon.
type PlanDiff struct {
	Span        calendar.Span // the days compared; empty if the plans have none in common
	SameHorizon bool          // both begin and end on the same days: only then is the money quite comparable
	Currency    string

	Objective MoneyChange
	Costs     []MoneyChange // by item of the objective
	Margin    []MoneyChange // sales, feed, processes, net

	Profiles []ProfileChange
	Weeks    []WeekChange
	Runs     []RunChange
	Orders   []OrderChange
	Loads    []LoadChange
	Short    []ShortChange
}

// MoneyChange is an amount of money in two plans.
type MoneyChange struct {
	Name    string
	Was, Is quantity.Money
}

// ProfileChange is the good metres made of a profile.
type ProfileChange struct {
	Profile string
	Was, Is quantity.Length
}

// WeekChange is the most lines on at once in an ISO week.
type WeekChange struct {
	Monday  calendar.Day
	Was, Is int
}

// RunChange is good metres of a profile that are made elsewhere or at another time, no longer (To is 0) or in addition (From is 0).
type RunChange struct {
	Profile          string
	FromLine, ToLine string
	From, To         calendar.Day // first day of the bucket, or of the buckets' common stretch
	Length           quantity.Length
}

// OrderFate is how an order's outcome has changed.
type OrderFate string

// The fates.
const (
	NewlyLate OrderFate = "newly late" // was in time
	Rescued   OrderFate = "rescued"    // is in time, or complete at last
	Later     OrderFate = "later"      // was late before
	Sooner    OrderFate = "sooner"
	Moved     OrderFate = "moved"   // in time in both, promised for another day
	OrderNew  OrderFate = "new"     // only in the newer plan
	OrderGone OrderFate = "gone"    // only in the older
	Resized   OrderFate = "resized" // another length
)

// OrderChange is what becomes of an order in two plans; Was or Is is zero where the plan does not have it.
type OrderChange struct {
	Order   string
	Fate    OrderFate
	Was, Is OrderResult
}

// LoadChange is loads ordered on a lane on a day.
type LoadChange struct {
	Lane    string
	Day     calendar.Day // on which they are ordered
	Was, Is int
}

// ShortChange is a grade's first short day on committed supply, 0 for none, and what is owed within four weeks of it.
type ShortChange struct {
	Grade           string
	Was, Is         calendar.Day
	WasMass, IsMass quantity.Mass
}

// What counts as a change in a plan: less is the solver's rounding.
const (
	diffMetres    = 1.0  // metres of a profile, or of a run
	diffKilograms = 1.0  // kilograms owed
	diffMoney     = 0.01 // currency
)

// Diff explains plan b by plan a: what is another way in b. Of a plan and itself nothing is.
func Diff(a, b *Plan) *PlanDiff {
	d := &PlanDiff{Currency: b.Currency, SameHorizon: spanOfPlan(a) == spanOfPlan(b)}
	d.Span = spanOfPlan(a).Overlap(spanOfPlan(b))
	cuts := commonCuts(a, b)
	if len(cuts) > 1 {
		d.Span = calendar.Span{From: cuts[0], To: cuts[len(cuts)-1]}
	}
	d.money(a, b)
	d.runs(a, b, cuts)
	d.weeks(a, b)
	d.orders(a, b)
	d.loads(a, b)
	d.short(a, b)
	return d
}

// Empty reports whether the plans say the same.
func (d *PlanDiff) Empty() bool {
	n := len(d.Costs) + len(d.Margin) + len(d.Profiles) + len(d.Weeks) + len(d.Runs) + len(d.Orders) + len(d.Loads) + len(d.Short)
	return n == 0 && d.Objective.Was == d.Objective.Is
}

func spanOfPlan(p *Plan) calendar.Span {
	if len(p.Buckets) == 0 {
		return calendar.Span{From: p.Start, To: p.Start}
	}
	return calendar.Span{From: p.Start, To: p.Buckets[len(p.Buckets)-1].Span.To}
}

// commonCuts is the days on which buckets of both plans begin or end, ascending.
func commonCuts(a, b *Plan) []calendar.Day {
	count := map[calendar.Day]int{}
	for _, p := range []*Plan{a, b} {
		for i, t := range p.Buckets {
			if i == 0 {
				count[t.Span.From]++
			}
			count[t.Span.To]++
		}
	}
	var cuts []calendar.Day
	for d, n := range count {
		if n == 2 {
			cuts = append(cuts, d)
		}
	}
	slices.Sort(cuts)
	return cuts
}

func (d *PlanDiff) money(a, b *Plan) {
	d.Objective = MoneyChange{"objective", a.Objective, b.Objective}
	sums := func(p *Plan) map[string]quantity.Money {
		m := map[string]quantity.Money{}
		for _, c := range p.Costs {
			m[c.Name] += c.Amount
		}
		return m
	}
	was, is := sums(a), sums(b)
	for _, kind := range costOrder {
		d.Costs = appendMoney(d.Costs, kind, was[kind], is[kind])
	}
	d.Margin = appendMoney(d.Margin, "sales", a.Margin.Sales, b.Margin.Sales)
	d.Margin = appendMoney(d.Margin, "feed", a.Margin.Feed, b.Margin.Feed)
	d.Margin = appendMoney(d.Margin, "processes", a.Margin.Processes, b.Margin.Processes)
	d.Margin = appendMoney(d.Margin, "net", a.Margin.Net, b.Margin.Net)
}

func appendMoney(list []MoneyChange, name string, was, is quantity.Money) []MoneyChange {
	if math.Abs(float64(is-was)) < diffMoney {
		return list
	}
	return append(list, MoneyChange{name, was, is})
}

// weeks compares the most lines on at once, by ISO week of the common days.
func (d *PlanDiff) weeks(a, b *Plan) {
	most := func(p *Plan, week calendar.Span) int {
		n := 0
		for i, t := range p.Buckets {
			if t.Span.Overlap(week).Days() > 0 && i < len(p.LinesToRun) {
				n = max(n, p.LinesToRun[i])
			}
		}
		return n
	}
	for m := d.Span.From.Monday(); m < d.Span.To; m += 7 {
		week := calendar.Span{From: m, To: m + 7}.Overlap(d.Span)
		if was, is := most(a, week), most(b, week); was != is {
			d.Weeks = append(d.Weeks, WeekChange{m, was, is})
		}
	}
}

func (d *PlanDiff) orders(a, b *Plan) {
	was, is := map[string]OrderResult{}, map[string]OrderResult{}
	for _, o := range a.Orders {
		was[o.Order] = o
	}
	for _, o := range b.Orders {
		is[o.Order] = o
	}
	codes := slices.Sorted(maps.Keys(was))
	for code := range is {
		if _, ok := was[code]; !ok {
			codes = append(codes, code)
		}
	}
	slices.Sort(codes)
	for _, code := range codes {
		x, inA := was[code]
		y, inB := is[code]
		if fate := fateOf(x, y, inA, inB); fate != "" {
			d.Orders = append(d.Orders, OrderChange{code, fate, x, y})
		}
	}
}

// fateOf says how an order fares in the newer plan; "" if no otherwise.
func fateOf(was, is OrderResult, inA, inB bool) OrderFate {
	late := func(o OrderResult) bool { return o.Promise == 0 || o.DaysLate > 0 }
	switch {
	case !inA:
		return OrderNew
	case !inB:
		return OrderGone
	case !late(was) && late(is), was.Promise != 0 && is.Promise == 0:
		return NewlyLate
	case late(was) && !late(is), was.Promise == 0 && is.Promise != 0:
		return Rescued
	case is.DaysLate > was.DaysLate || is.Unmet > was.Unmet+diffMetres:
		return Later
	case is.DaysLate < was.DaysLate || is.Unmet < was.Unmet-diffMetres:
		return Sooner
	case math.Abs(float64(is.Length-was.Length)) > diffMetres:
		return Resized
	case is.Promise != was.Promise:
		return Moved
	}
	return ""
}

func (d *PlanDiff) loads(a, b *Plan) {
	type key struct {
		lane string
		day  calendar.Day
	}
	count := map[key]*LoadChange{}
	at := func(x Purchase) *LoadChange {
		k := key{x.Lane, x.OrderBy}
		if count[k] == nil {
			count[k] = &LoadChange{Lane: x.Lane, Day: x.OrderBy}
		}
		return count[k]
	}
	for _, x := range a.Purchases {
		at(x).Was += x.Loads
	}
	for _, x := range b.Purchases {
		at(x).Is += x.Loads
	}
	for _, c := range count {
		if c.Was != c.Is {
			d.Loads = append(d.Loads, *c)
		}
	}
	slices.SortFunc(d.Loads, func(x, y LoadChange) int { return cmp.Or(cmp.Compare(x.Lane, y.Lane), cmp.Compare(x.Day, y.Day)) })
}

func (d *PlanDiff) short(a, b *Plan) {
	all := map[string]*ShortChange{}
	at := func(grade string) *ShortChange {
		if all[grade] == nil {
			all[grade] = &ShortChange{Grade: grade}
		}
		return all[grade]
	}
	for _, s := range a.Shortages {
		at(s.Grade).Was, at(s.Grade).WasMass = s.First, s.MassIn4Weeks
	}
	for _, s := range b.Shortages {
		at(s.Grade).Is, at(s.Grade).IsMass = s.First, s.MassIn4Weeks
	}
	for _, grade := range slices.Sorted(maps.Keys(all)) {
		if c := all[grade]; c.Was != c.Is || math.Abs(float64(c.IsMass-c.WasMass)) > diffKilograms {
			d.Short = append(d.Short, *c)
		}
	}
}
