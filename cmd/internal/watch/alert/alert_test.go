package alert

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

var start = time.Date(2027, 1, 4, 5, 0, 0, 0, time.UTC)

// life feeds looks to Step and says what happened after each.
type life struct {
	t     *testing.T
	all   []*Alert
	now   time.Time
	rules Rules
}

func newLife(t *testing.T) *life { return &life{t: t, now: start, rules: DefaultRules()} }

// look makes a look an hour after the last.
func (l *life) look(found ...Finding) string {
	l.t.Helper()
	l.now = l.now.Add(time.Hour)
	changed, events := Step(l.all, found, PlanKinds, l.rules, l.now)
	for _, a := range changed {
		if a.ID == 0 {
			a.ID = int64(len(l.all) + 1)
			l.all = append([]*Alert{a}, l.all...)
		}
	}
	var words []string
	for _, e := range events {
		words = append(words, fmt.Sprintf("%s %d", e.What, e.Alert.ID))
	}
	return strings.Join(words, ", ")
}

func (l *life) want(what, got, want string) {
	l.t.Helper()
	if got != want {
		l.t.Errorf("%s: %q, want %q", what, got, want)
	}
}

func short(kg float64, day int) Finding {
	return Finding{Kind: Short, Subject: "WH", Amount: kg, Unit: "kg", When: calendar.Date(2027, 2, day), What: fmt.Sprint("short by ", kg)}
}

func TestRaisedOnceToldWhenWorseClearedWhenGone(t *testing.T) {
	l := newLife(t)
	l.want("first look", l.look(short(1000, 20)), "raised 1")
	l.want("the same again", l.look(short(1000, 20)), "")
	l.want("a little worse", l.look(short(1200, 20)), "")
	l.want("a quarter worse than told", l.look(short(1260, 20)), "worse 1")
	l.want("a day earlier", l.look(short(1260, 19)), "worse 1")
	l.want("better", l.look(short(500, 22)), "")
	l.want("gone once", l.look(), "")
	l.want("there again", l.look(short(500, 22)), "")
	l.want("gone once", l.look(), "")
	l.want("gone twice", l.look(), "cleared 1")
	l.want("still gone", l.look(), "")
	l.want("back within two days", l.look(short(900, 21)), "back 1")
	if l.all[0].Times != 2 || len(l.all) != 1 {
		t.Errorf("%d alerts, raised %d times", len(l.all), l.all[0].Times)
	}
	l.look()
	l.want("gone again", l.look(), "cleared 1")
	l.now = l.now.Add(72 * time.Hour)
	l.want("after three days it is another", l.look(short(900, 21)), "raised 2")
}

// Slowly rising figures are told against those told last, not against the last look: they can't creep.
func TestCreepingIsTold(t *testing.T) {
	l := newLife(t)
	l.look(short(1000, 20))
	told := 0
	for kg := 1000.0; kg < 2000; kg *= 1.02 {
		if l.look(short(kg, 20)) != "" {
			told++
		}
	}
	if told != 2 { // twelve steps of 2 % are the first beyond a quarter: at 1268, 1608 and 2039 kg
		t.Errorf("told %d times on the way from 1000 to 2000 kg by 2 %%, want 2", told)
	}
}

// An order that was late by some days and now is never made in full is worse, be it by fewer metres than it was days; made after all it is
// better, and days count from there.
func TestLateThenNeverMade(t *testing.T) {
	l := newLife(t)
	late := func(amount float64, unit string) Finding {
		return Finding{Kind: Late, Subject: "O-1", Amount: amount, Unit: unit, What: "order O-1", Why: "?", Do: "tell the customer"}
	}
	l.want("late", l.look(late(30, "days")), "raised 1")
	l.all[0].Ack("anna", "customer told", l.now)
	l.want("not made", l.look(late(12, "m")), "worse 1")
	l.want("more not made", l.look(late(5000, "m")), "worse 1")
	l.want("late again", l.look(late(4, "days")), "")
	l.want("later", l.look(late(9, "days")), "worse 1")
}

func TestAcknowledgedIsSilentUntilWorse(t *testing.T) {
	l := newLife(t)
	l.look(short(1000, 20))
	l.all[0].Ack("anna", "ordered", l.now)
	l.want("the same", l.look(short(1100, 20)), "")
	if l.all[0].State != Acknowledged {
		t.Errorf("state %s", l.all[0].State)
	}
	l.want("much worse", l.look(short(2000, 20)), "worse 1")
	if l.all[0].State != Open {
		t.Errorf("state %s, want open again", l.all[0].State)
	}
	l.all[0].Ack("anna", "", l.now)
	l.look()
	l.want("gone", l.look(), "cleared 1")
}

func TestSnoozedIsSilentForItsTime(t *testing.T) {
	l := newLife(t)
	l.look(short(1000, 20))
	l.all[0].Snooze("anna", "", l.now.Add(150*time.Minute))
	l.want("an hour later, much worse", l.look(short(9000, 2)), "")
	l.want("two hours later", l.look(short(9000, 2)), "")
	l.want("three hours later", l.look(short(9000, 2)), "again 1")
	l.want("four hours later", l.look(short(9000, 2)), "")
}

// Within the margin an alert that is there stays, and none is raised: a figure that wavers about its limit makes one alert.
func TestHysteresis(t *testing.T) {
	l := newLife(t)
	near := short(0, 20)
	near.Hold = true
	l.want("within the margin", l.look(near), "")
	if len(l.all) != 0 {
		t.Fatal("raised within the margin")
	}
	n := 0
	for k := range 40 {
		f := near
		if k%2 == 0 {
			f = short(100, 20)
		}
		if l.look(f) != "" {
			n++
		}
	}
	if n != 1 {
		t.Errorf("told %d times of a figure that wavers, want once", n)
	}
}

// A look that covers some kinds leaves alerts of others alone.
func TestLooksCoverTheirKindsAlone(t *testing.T) {
	l := newLife(t)
	l.look(short(1000, 20))
	for range 5 {
		if _, events := Step(l.all, nil, []string{OrderBy}, l.rules, l.now); len(events) > 0 {
			t.Fatal("a look at loads to order cleared a shortage")
		}
	}
	if _, events := Step(l.all, []Finding{short(9e9, 1)}, []string{OrderBy}, l.rules, l.now); len(events) > 0 {
		t.Error("a look at loads to order told of a shortage")
	}
}

// Whatever is shown in whatever order: of each key one alert at most is open, each is raised before it is cleared, and none is told while
// it is snoozed.
func TestLifeHoldsForAnyHistory(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		l := newLife(t)
		for range rapid.IntRange(1, 60).Draw(r, "looks") {
			var found []Finding
			for _, s := range []string{"A", "B"} {
				if rapid.Bool().Draw(r, "shown") {
					f := short(rapid.Float64Range(0, 1e4).Draw(r, "kg"), rapid.IntRange(1, 28).Draw(r, "day"))
					f.Subject, f.Hold = s, rapid.Bool().Draw(r, "hold")
					found = append(found, f)
				}
			}
			silent := map[int64]bool{}
			for _, a := range l.all {
				if !a.IsOpen() {
					continue
				}
				switch rapid.IntRange(0, 5).Draw(r, "answer") {
				case 0:
					a.Ack("anna", "", l.now)
				case 1:
					a.Snooze("anna", "", l.now.Add(5*time.Hour))
				}
				silent[a.ID] = a.State == Snoozed && a.SnoozedUntil.After(l.now.Add(time.Hour))
			}
			for _, word := range strings.Split(l.look(found...), ", ") {
				var what string
				var id int64
				if _, err := fmt.Sscan(word, &what, &id); err == nil && silent[id] && what != Gone {
					r.Fatalf("%s told while snoozed", word)
				}
			}
			open := map[string]int{}
			for _, a := range l.all {
				if a.IsOpen() {
					open[a.Key()]++
				}
				if (a.State == Cleared) != (a.Cleared != nil) || open[a.Key()] > 1 {
					r.Fatalf("alert %+v; open %v", a, open)
				}
			}
		}
	})
}

// plant is a view of a plan made by hand: white runs short on 2027-02-10, a delivery of its feed has slipped, a load is to be ordered
// by the 10th of January.
func plant() View {
	day := func(m time.Month, d int) calendar.Day { return calendar.Date(2027, m, d) }
	in := &planner.Input{
		Plant:       planner.Plant{Yard: 100},
		Materials:   []inventory.Material{{Code: "ING", BulkDensity: 500}},
		Grades:      []inventory.Grade{{Code: "WH", Silo: 1000}, {Code: "GY", Silo: 1000}},
		Ingredients: []inventory.Ingredient{{Grade: "WH", Material: "ING"}},
		Profiles:    []lines.Profile{{Code: "P", Grade: "WH"}, {Code: "Q", Grade: "GY"}},
		Lines:       []lines.Line{{Code: "L1", State: lines.Running}, {Code: "L2", State: lines.Ready}, {Code: "L3", State: lines.Ready}},
		Fits:        []lines.Fit{{Line: "L1", Profile: "P"}, {Line: "L2", Profile: "Q"}, {Line: "L3", Profile: "P"}},
		Deliveries: []inventory.Delivery{
			{Code: "D-1", Material: "ING", Mass: 20000, ETA: day(1, 30), Status: inventory.Afloat},
			{Code: "D-2", Material: "ING", Mass: 21000, ETA: day(1, 1), Status: inventory.OnRoad},
			{Code: "D-3", Material: "ING", Mass: 21000, ETA: day(1, 1), Status: inventory.Received},
		},
		Orders: []planner.Order{{Code: "O-1", Customer: "Hill", Profile: "Q"}},
	}
	p := &planner.Plan{
		Buckets:   []calendar.Bucket{{Span: calendar.Span{From: day(1, 4), To: day(1, 5)}}, {Span: calendar.Span{From: day(1, 5), To: day(1, 6)}}},
		Shortages: []planner.Shortage{{Grade: "WH", First: day(2, 10), LastsTill: day(2, 11), MassIn4Weeks: 12000, OrdersAtRisk: []string{"O-1", "O-2"}}},
		OrderBy: []planner.OrderBy{
			{Grade: "WH", Lane: "SEA", Loads: 1, By: day(1, 2), TooLate: true, Landed: 0.5, Mass: 24000},
			{Grade: "WH", Lane: "ROAD", Loads: 2, By: day(1, 10), Landed: 0.8, Mass: 40000},
			{Grade: "WH", Lane: "RAIL", Loads: 2, By: day(1, 12), Landed: 0.7, Mass: 40000},
		},
		Pellets: []planner.PelletLevel{{Grade: "WH", Bucket: 0, Closing: 400, Used: 200, CoverDays: 2}, {Grade: "GY", Bucket: 0, Closing: 900, CoverDays: 30}, {Grade: "GY", Bucket: 1, Closing: 1100, CoverDays: 30}},
		Yard:    []planner.YardLevel{{Material: "ING", Bucket: 0, Closing: 40000}, {Material: "ING", Bucket: 1, Closing: 60000}},
		Orders:  []planner.OrderResult{{Order: "O-1", Profile: "Q", Due: day(1, 20), Length: 500, Promise: day(1, 25), DaysLate: 5}, {Order: "O-3", Profile: "P", Due: day(1, 20), Length: 500, Promise: day(1, 19)}},
		Lines:   []planner.LineUse{{Line: "L1", Bucket: 0, On: true}},
	}
	return View{In: in, Plan: p, Today: day(1, 4), Rules: DefaultRules(), FirstETA: map[string]calendar.Day{"D-1": day(1, 20)},
		Drifts: []Drift{{Name: "yield PELLET ING of NORTH", Ratio: 0.94, Words: "the smoothed yield is below its limit"}}}
}

// Each condition is found with its figures, and says what, why and what to do; worked by hand.
func TestLookFindsEachKind(t *testing.T) {
	got := map[string]Finding{}
	for _, f := range Look(plant()) {
		if f.What == "" || f.Why == "" || f.Do == "" {
			t.Errorf("%s lacks words: %+v", f.Key(), f)
		}
		got[f.Key()] = f
	}
	for key, want := range map[string]string{
		"short/WH":                              "12 000 kg",
		"order-by/WH":                           "2 loads (40 000 kg) are to be ordered on RAIL by 2027-01-12", // the cheapest that is in time
		"slip/D-1":                              "slipped by 10 days to 2027-01-30",
		"overdue/D-2":                           "delivery D-2, 21 000 kg of ING, was expected on 2027-01-01 and is not booked",
		"cover/WH":                              "cover 2.0 days",
		"late/O-1":                              "will be 5 days late",
		"yield drift/yield PELLET ING of NORTH": "94.0 % of what was entered",
		"idle line/L2":                          "stands ready", // L3's profile is of the grade that runs short
		"space/silo GY":                         "holds 1 100 kg on 2027-01-05, its limit is 1 000",
		"space/yard":                            "holds 120 m³ on 2027-01-05", // 60 t at 500 kg/m³; 80 m³ the day before
	} {
		if !strings.Contains(strings.ReplaceAll(got[key].What, "\u202f", " "), want) {
			t.Errorf("%s: %q, want %q in it", key, got[key].What, want)
		}
		delete(got, key)
	}
	for key, f := range got {
		t.Errorf("found too: %s %q", key, f.What)
	}
}

// What a plant in US units is told is in them: 12,000 kg are 26,455 lb, 40,000 kg 88,185 lb, 120 m³ 4,238 ft³.
func TestLookSpeaksThePlantsUnits(t *testing.T) {
	v := plant()
	v.In.Plant.Units = quantity.US
	said := ""
	for _, f := range Look(v) {
		said += f.What + "; " + f.Why + "; " + f.Do + "\n"
	}
	said = strings.NewReplacer("\u202f", " ", "\u00a0", " ").Replace(said)
	for _, want := range []string{"by 26 455 lb within", "2 loads (88 185 lb)", "/lb of pellets", "holds 4 238 ft³"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in\n%s", want, said)
		}
	}
	for _, not := range []string{" kg", " m ", "m³"} {
		if strings.Contains(said, not) {
			t.Errorf("%q in\n%s", not, said)
		}
	}
}

// A delivery whose spread leaves it days yet holds an alert that is there, and raises none; one is urgent where the grade that it feeds runs short.
func TestOverdueIsLookedAt(t *testing.T) {
	v := plant()
	v.Plan.Shortages[0].First = calendar.Date(2027, 1, 20)
	find := func() (f Finding) {
		for _, f = range Look(v) {
			if f.Key() == "overdue/D-2" {
				return f
			}
		}
		return Finding{}
	}
	if f := find(); f.Hold || !f.Urgent || f.Amount != 3 || !strings.Contains(f.Why, "WH, which it feeds, runs short from 2027-01-20") {
		t.Errorf("found %+v, want an urgent one of 3 days", f)
	}
	v.In.Deliveries[1].Late = true // somebody knows, but there is no new day
	if f := find(); f.Hold || f.Amount != 3 {
		t.Errorf("marked late: found %+v", f)
	}
	v.In.Deliveries[1].Spread = 6 // by its 0.8 quantile, 0.84 × 6 days, it has until the 7th
	if f := find(); !f.Hold {
		t.Errorf("with a spread of 6 days: found %+v, want one that only holds", f)
	}
	v.Plan.Shortages, v.In.Deliveries[1].Spread = nil, 0
	if f := find(); f.Urgent || f.Amount != 3 {
		t.Errorf("nothing short: found %+v, want one that is not urgent", f)
	}
}

// What is not so is not found: nothing short, a slip that touches no shortage, cover above its limit, stores within theirs.
func TestLookFindsNothingWhereAllIsWell(t *testing.T) {
	v := plant()
	v.Plan.Shortages, v.Plan.OrderBy, v.Drifts = nil, nil, nil
	v.Plan.Orders[0].DaysLate = 0
	v.Plan.Pellets = []planner.PelletLevel{{Grade: "WH", CoverDays: 3.7, Closing: 940}}
	v.Plan.Yard = []planner.YardLevel{{Material: "ING", Closing: 47000}}
	v.In.Deliveries = v.In.Deliveries[:1]
	for _, f := range Look(v) {
		t.Errorf("found %s: %s", f.Key(), f.What)
	}
	v.Plan.Pellets[0].CoverDays = 3.5 // above the limit of 3, within the margin of 3.6
	if list := Look(v); len(list) != 1 || !list[0].Hold {
		t.Errorf("within the margin: %+v, want one that holds", list)
	}
}

// An order-by date comes near as days pass, with the same plan.
func TestOrderByComesNear(t *testing.T) {
	v := plant()
	v.Plan.OrderBy = v.Plan.OrderBy[1:2] // by the 10th
	for before, want := range map[int]string{12: "", 10: "", 9: "hold", 8: "hold", 7: "raise", 2: "raise", 1: "urgent", 0: "urgent", -3: "urgent"} {
		v.Today = v.Plan.OrderBy[0].By - calendar.Day(before)
		got := ""
		for _, f := range v.orderBy() {
			got = map[bool]string{true: "hold", false: "raise"}[f.Hold]
			if f.Urgent {
				got = "urgent"
			}
		}
		if got != want {
			t.Errorf("%d days before: %q, want %q", before, got, want)
		}
	}
}

func TestRulesAreChecked(t *testing.T) {
	if p := DefaultRules().Check(); p != "" {
		t.Error(p)
	}
	r := DefaultRules()
	r.CoverDays = -1
	if p := r.Check(); !strings.Contains(p, "cover_days = -1, allowed: 0 to 365") {
		t.Errorf("%q", p)
	}
}

// A late order's alert says what the plan found to be the reason, where it found one.
func TestLateSaysWhy(t *testing.T) {
	v := plant()
	why := func() string {
		for _, f := range Look(v) {
			if f.Key() == "late/O-1" {
				return f.Why
			}
		}
		return ""
	}
	if got, want := why(), "customer Hill; it is not worth more to the plan to have it in time"; !strings.HasPrefix(got, want) {
		t.Errorf("without a reason: %q, want it to begin with %q", got, want)
	}
	v.Plan.WhyLate = []planner.WhyLate{{Order: "O-1", Words: "time: it was due before the plan starts"}}
	if got, want := why(), "customer Hill; time: it was due before the plan starts"; got != want {
		t.Errorf("with a reason: %q, want %q", got, want)
	}
}

// A plan is read on days after it was made: a last day to order that is past by then is told so, and another lane that is still in time
// goes before it.
func TestOrderByPassesWithTheDays(t *testing.T) {
	v := plant()
	v.Today = v.Plan.OrderBy[2].By // RAIL is cheaper and still in time
	if o, _ := v.bestOrder("WH"); o.Lane != "RAIL" {
		t.Errorf("on the last day of RAIL: order on %s", o.Lane)
	}
	v.Plan.OrderBy[1].By += 9
	v.Today++
	if o, _ := v.bestOrder("WH"); o.Lane != "ROAD" {
		t.Errorf("a day after the last of RAIL, ROAD in time: order on %s", o.Lane)
	}
	v.Today += 20
	for _, f := range v.orderBy() {
		if !f.Urgent || !strings.Contains(f.What, "that day has passed") || !strings.Contains(f.Do, "at once") {
			t.Errorf("after the last day of all lanes: %s; %s, urgent %t", f.What, f.Do, f.Urgent)
		}
	}
}
