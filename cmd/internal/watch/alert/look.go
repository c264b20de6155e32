package alert

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// View is what is looked at.
type View struct {
	In    *planner.Input
	Plan  *planner.Plan
	Today calendar.Day
	Rules Rules
	// FirstETA is the day that each delivery was expected on when it was entered, by code.
	FirstETA map[string]calendar.Day
	// Drifts is what the control charts of yields and rates show.
	Drifts []Drift
}

// Drift is a figure that a control chart shows to have changed: the plan's estimate of it may be behind.
type Drift struct {
	Name  string  // of the chart, such as "yield PELLET ING of NORTH"
	Ratio float64 // of the newest records to what was entered
	Words string  // what the chart shows
}

// PlanKinds is the kinds that Look covers.
var PlanKinds = []string{Short, OrderBy, Slip, Overdue, Cover, Late, YieldDrift, IdleLine, Space}

// Look lists what needs attention.
func Look(v View) []Finding {
	var all []Finding
	for _, f := range []func() []Finding{v.short, v.orderBy, v.slips, v.overdue, v.cover, v.late, v.drifts, v.idle, v.space} {
		all = append(all, f()...)
	}
	return all
}

// mass, length and stored are amounts in the plant's units.
func (v View) mass(m quantity.Mass) string { return m.Format(v.In.Plant.Units, 0) }

func (v View) length(l quantity.Length) string { return l.Format(v.In.Plant.Units, 0) }

// stored is what a store holds: kilograms, or cubic metres.
func (v View) stored(x float64, unit string) string {
	kind := quantity.KindMass
	if unit != "kg" {
		kind = quantity.KindVolume
	}
	return quantity.DefaultUnit(kind, v.In.Plant.Units).Format(x, 0)
}

func days(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

func (v View) short() (all []Finding) {
	for _, s := range v.Plan.Shortages {
		f := Finding{Kind: Short, Subject: s.Grade, Amount: float64(s.MassIn4Weeks), Unit: "kg", When: s.First, Urgent: s.First-v.Today < 28,
			What: fmt.Sprintf("%s runs short from %s by %s within four weeks; pellets run out about %s", s.Grade, s.First, v.mass(s.MassIn4Weeks), s.LastsTill),
			Why:  fmt.Sprintf("stock and deliveries on their way run out about %s", s.LastsTill)}
		if n := len(s.OrdersAtRisk); n > 0 {
			f.Why += fmt.Sprintf("; at risk: %s", few(s.OrdersAtRisk, 5))
		}
		f.Do = "order more feed, or bring a delivery forward"
		if o, ok := v.bestOrder(s.Grade); ok {
			f.Do, f.By = v.orderWords(o), o.By
		}
		all = append(all, f)
	}
	return all
}

// few is the first of a list, and how many more there are.
func few(list []string, most int) string {
	if len(list) <= most {
		return strings.Join(list, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(list[:most], ", "), len(list)-most)
}

// tooLate reports whether the last day to order was past when the plan was made, or is since.
func (v View) tooLate(o planner.OrderBy) bool { return o.TooLate || o.By < v.Today }

func (v View) orderWords(o planner.OrderBy) string {
	if v.tooLate(o) {
		return fmt.Sprintf("order %d loads (%s) on %s at once%s: they come too late to prevent it all", o.Loads, v.mass(o.Mass), o.Lane, o.Terms())
	}
	return fmt.Sprintf("order %d loads (%s) on %s%s", o.Loads, v.mass(o.Mass), o.Lane, o.Terms())
}

// bestOrder is how a grade's shortage is best met: on the lane that the plan buys on, else the cheapest that is in time, else the
// cheapest; on lanes whose material can be all of the feed before others.
func (v View) bestOrder(grade string) (best planner.OrderBy, ok bool) {
	rank := func(o planner.OrderBy) int {
		switch {
		case o.InPlan && !v.tooLate(o):
			return 0
		case !v.tooLate(o):
			return 1
		}
		return 2
	}
	part := func(o planner.OrderBy) int {
		if o.Alone() {
			return 0
		}
		return 1
	}
	var list []planner.OrderBy
	for _, o := range v.Plan.OrderBy {
		if o.Grade == grade {
			list = append(list, o)
		}
	}
	if len(list) == 0 {
		return best, false
	}
	return slices.MinFunc(list, func(a, b planner.OrderBy) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(part(a), part(b)), cmp.Compare(a.Landed, b.Landed), cmp.Compare(a.Lane, b.Lane))
	}), true
}

func (v View) orderBy() (all []Finding) {
	var seen []string
	for _, x := range v.Plan.OrderBy {
		if slices.Contains(seen, x.Grade) {
			continue
		}
		seen = append(seen, x.Grade)
		o, _ := v.bestOrder(x.Grade)
		left := int(o.By - v.Today)
		margin := int(math.Ceil(v.Rules.Margin * float64(v.Rules.OrderDays)))
		if left > v.Rules.OrderDays+margin {
			continue
		}
		f := Finding{Kind: OrderBy, Subject: o.Grade, Amount: float64(o.Mass), Unit: "kg", When: o.By, By: o.By, Hold: left > v.Rules.OrderDays, Urgent: left <= 1 || v.tooLate(o),
			What: fmt.Sprintf("%s: %d loads (%s) are to be ordered on %s by %s%s", o.Grade, o.Loads, v.mass(o.Mass), o.Lane, o.By, o.Terms()),
			Why:  fmt.Sprintf("the feed is needed on %s; landed %s of pellets", o.Needed, o.Landed.Format(v.In.Plant.Currency, v.In.Plant.Units, 3)), Do: v.orderWords(o)}
		if v.tooLate(o) {
			f.What = fmt.Sprintf("%s: %d loads (%s) on %s were to be ordered by %s; that day has passed", o.Grade, o.Loads, v.mass(o.Mass), o.Lane, o.By)
		}
		all = append(all, f)
	}
	return all
}

// slipWeeks is how long after a delivery's new day a shortage of what it feeds makes its slip matter.
const slipDaysAfter = 28

func (v View) slips() (all []Finding) {
	for _, d := range v.In.Deliveries {
		first, known := v.FirstETA[d.Code]
		if !known || !d.Coming() {
			continue
		}
		slip := int(d.ETA - first)
		keep := float64(v.Rules.SlipDays) / (1 + v.Rules.Margin)
		if float64(slip) < keep {
			continue
		}
		s, matters := v.shortOf(d.Material, d.ETA)
		if !matters {
			continue
		}
		all = append(all, Finding{Kind: Slip, Subject: d.Code, Amount: float64(slip), Unit: "days", When: s.First, Urgent: s.First <= d.ETA, Hold: slip < v.Rules.SlipDays,
			What: fmt.Sprintf("delivery %s, %s of %s, has slipped by %s to %s", d.Code, v.mass(d.Mass), d.Material, days(slip), d.ETA),
			Why:  fmt.Sprintf("%s, which it feeds, runs short from %s", s.Grade, s.First), Do: "press the carrier for a day, or order what bridges the gap"})
	}
	return all
}

// overdue lists deliveries that have not come by the day on which the plan counted on them: it now counts on them from its first day, and nobody knows
// whether they were forgotten, or come at all.
func (v View) overdue() (all []Finding) {
	for _, d := range v.In.Deliveries {
		if !d.Overdue(v.Today) {
			continue
		}
		planned := max(d.ETA, inventory.PlannedArrival(d, v.In.Plant.ArrivesBy()))
		s, matters := v.shortOf(d.Material, v.Today)
		f := Finding{Kind: Overdue, Subject: d.Code, Amount: float64(v.Today - d.ETA), Unit: "days", Hold: planned >= v.Today, Urgent: matters,
			What: fmt.Sprintf("delivery %s, %s of %s, was expected on %s and is not booked", d.Code, v.mass(d.Mass), d.Material, d.ETA),
			Why:  "the plan counts on it from its first day", Do: "book it as received, or enter its new day"}
		if matters {
			f.Why += fmt.Sprintf(", and %s, which it feeds, runs short from %s", s.Grade, s.First)
		}
		all = append(all, f)
	}
	return all
}

// shortOf is the first shortage, of the grades that a material feeds, that a delivery coming on a day has to do with.
func (v View) shortOf(material string, eta calendar.Day) (planner.Shortage, bool) {
	best, ok := planner.Shortage{}, false
	for _, s := range v.Plan.Shortages {
		feeds := slices.ContainsFunc(v.In.Ingredients, func(i inventory.Ingredient) bool { return i.Grade == s.Grade && i.Material == material })
		if feeds && s.First <= eta+slipDaysAfter && (!ok || s.First < best.First) {
			best, ok = s, true
		}
	}
	return best, ok
}

// cover looks at the end of the plan's first bucket that has not passed: how long the pellets there last at the plan's own use.
func (v View) cover() (all []Finding) {
	t := v.bucketOf(v.Today)
	if t < 0 || v.Rules.CoverDays == 0 {
		return nil
	}
	for _, l := range v.Plan.Pellets {
		if l.Bucket != t || math.IsInf(l.CoverDays, 1) || l.CoverDays >= v.Rules.CoverDays*(1+v.Rules.Margin) {
			continue
		}
		short := v.Rules.CoverDays - l.CoverDays
		all = append(all, Finding{Kind: Cover, Subject: l.Grade, Amount: max(short, 0), Unit: "days below the limit", When: v.Plan.Buckets[t].Span.To - 1, Hold: short <= 0, Urgent: l.CoverDays < 1,
			What: fmt.Sprintf("%s: pellets cover %.1f days at the end of %s, less than %g", l.Grade, l.CoverDays, v.Plan.Buckets[t].Span.To-1, v.Rules.CoverDays),
			Why:  fmt.Sprintf("%s in the silo then, %s used and %s made that day", v.mass(l.Closing), v.mass(l.Used), v.mass(l.Made)), Do: "pelletize more of it first, or run a profile of another grade"})
	}
	return all
}

// bucketOf is the bucket that a day lies in, the first if it lies before them, -1 if it lies behind.
func (v View) bucketOf(day calendar.Day) int {
	for t, b := range v.Plan.Buckets {
		if day < b.Span.To {
			return t
		}
	}
	return -1
}

func (v View) late() (all []Finding) {
	customer := map[string]string{}
	for _, o := range v.In.Orders {
		customer[o.Code] = o.Customer
	}
	why := map[string]string{}
	for _, w := range v.Plan.WhyLate {
		why[w.Order] = w.Words
	}
	for _, o := range v.Plan.Orders {
		if o.DaysLate <= 0 && o.Unmet <= 0 {
			continue
		}
		f := Finding{Kind: Late, Subject: o.Order, Amount: float64(o.DaysLate), Unit: "days", Urgent: o.Due-v.Today < 14,
			What: fmt.Sprintf("order %s, %s of %s, will be %s late: complete on %s, due %s", o.Order, v.length(o.Length), o.Profile, days(o.DaysLate), o.Promise, o.Due),
			Why:  "it is not worth more to the plan to have it in time; see: feedline plan --last --show orders", Do: "tell the customer, or raise its priority and plan again"}
		if o.Due >= v.Today {
			f.By = o.Due
		}
		if o.Unmet > 0 {
			f.Amount, f.Unit = float64(o.Unmet), "m"
			f.What = fmt.Sprintf("order %s, due %s: %s of %s of %s are not made within the plan", o.Order, o.Due, v.length(o.Unmet), v.length(o.Length), o.Profile)
		}
		if w := why[o.Order]; w != "" {
			f.Why = w
		}
		if c := customer[o.Order]; c != "" {
			f.Why = "customer " + c + "; " + f.Why
		}
		all = append(all, f)
	}
	return all
}

func (v View) drifts() (all []Finding) {
	if !v.Rules.YieldDrift {
		return nil
	}
	for _, d := range v.Drifts {
		all = append(all, Finding{Kind: YieldDrift, Subject: d.Name, Amount: math.Abs(d.Ratio-1) * 100, Unit: "percent",
			What: fmt.Sprintf("%s has drifted: %.1f %% of what was entered", d.Name, 100*d.Ratio), Why: d.Words,
			Do: "look at the feed and the screens; what the plan counts with: feedline estimates"})
	}
	return all
}

// idle finds lines that stand ready through the next days although an order that they could run is late and its pellets do not
// run short.
func (v View) idle() (all []Finding) {
	last := v.Today + calendar.Day(v.Rules.IdleDays)
	on := map[string]bool{}
	for _, u := range v.Plan.Lines {
		if u.On && u.Bucket < len(v.Plan.Buckets) && v.Plan.Buckets[u.Bucket].Span.From < last {
			on[u.Line] = true
		}
	}
	for _, l := range v.In.Lines {
		if l.State != lines.Ready || on[l.Code] {
			continue
		}
		if o, ok := v.runnable(l.Code); ok {
			all = append(all, Finding{Kind: IdleLine, Subject: l.Code, Amount: 0, Unit: "",
				What: fmt.Sprintf("line %s stands ready and the plan leaves it so till %s", l.Code, last),
				Why:  fmt.Sprintf("order %s is late and the pellets for it do not run short", o),
				Do:   fmt.Sprintf("see what it would bring: feedline plan --set lines.%s.state=running. Starting a line: lockout release, heat soak, guarding and a competent person first", l.Code)})
		}
	}
	return all
}

// runnable is a late order of a profile that a line runs, of a grade that does not run short.
func (v View) runnable(line string) (order string, ok bool) {
	grade := map[string]string{}
	for _, p := range v.In.Profiles {
		grade[p.Code] = p.Grade
	}
	short := func(g string) bool {
		return slices.ContainsFunc(v.Plan.Shortages, func(s planner.Shortage) bool { return s.Grade == g })
	}
	for _, o := range v.Plan.Orders {
		fits := slices.ContainsFunc(v.In.Fits, func(f lines.Fit) bool { return f.Line == line && f.Profile == o.Profile })
		if (o.DaysLate > 0 || o.Unmet > 0) && fits && !short(grade[o.Profile]) {
			return o.Order, true
		}
	}
	return "", false
}

func (v View) space() (all []Finding) {
	all = append(all, v.silos()...)
	return append(all, v.yard()...)
}

// place is a level against its limit, as a finding; ok is false while it is below the margin.
func (v View) place(subject, name string, level, limit float64, unit string, day calendar.Day, do string) (Finding, bool) {
	const rounding = 1e-6 // of the limit: what the solver's tolerance leaves
	if limit <= 0 || level <= limit/(1+v.Rules.Margin/4) {
		return Finding{}, false
	}
	over := level - limit
	return Finding{Kind: Space, Subject: subject, Amount: max(over, 0), Unit: unit, When: day, Hold: over <= rounding*limit, Urgent: day <= v.Today+1,
		What: fmt.Sprintf("%s holds %s on %s, its limit is %s", name, v.stored(level, unit), day, v.stored(limit, unit)),
		Why:  "more comes in than is drawn; limits of stores are also the fire code's", Do: do}, true
}

func (v View) silos() (all []Finding) {
	for _, g := range v.In.Grades {
		worst, ok := Finding{}, false
		for _, l := range v.Plan.Pellets {
			if l.Grade != g.Code || l.Bucket >= len(v.Plan.Buckets) {
				continue
			}
			f, near := v.place("silo "+g.Code, "the silo of "+g.Code, float64(l.Closing), float64(g.Silo), "kg", v.Plan.Buckets[l.Bucket].Span.From, "run what uses it, or pelletize less")
			if near && (!ok || worst.Hold && !f.Hold) {
				worst, ok = f, true
			}
		}
		if ok {
			all = append(all, worst)
		}
	}
	return all
}

// yard adds up what lies in the yard, lots on hold included.
func (v View) yard() []Finding {
	density := map[string]float64{}
	for _, m := range v.In.Materials {
		density[m.Code] = float64(m.BulkDensity)
	}
	held := 0.0
	for _, l := range v.In.Lots {
		if d := density[l.Material]; l.Hold && d > 0 {
			held += float64(l.Mass) / d
		}
	}
	volume := make([]float64, len(v.Plan.Buckets))
	for _, l := range v.Plan.Yard {
		if d := density[l.Material]; d > 0 && l.Bucket < len(volume) {
			volume[l.Bucket] += float64(l.Closing) / d
		}
	}
	worst, ok := Finding{}, false
	for t, x := range volume {
		f, near := v.place("yard", "the yard", x+held, float64(v.In.Plant.Yard), "m³", v.Plan.Buckets[t].Span.From, "put off a delivery, or find room elsewhere that may hold it")
		if near && (!ok || worst.Hold && !f.Hold) {
			worst, ok = f, true
		}
	}
	if !ok {
		return nil
	}
	return []Finding{worst}
}
