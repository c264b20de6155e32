package audit

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

func override(step, material string, y quantity.Share) yield.Override {
	return yield.Override{Step: step, Material: material, Yield: y}
}

// The audit's own sums against those of the domain packages, which are computed another way.

func TestHoursAgreeWithTheCalendar(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Brussels")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		c := calendar.Calendar{Zone: zone}
		for range rapid.IntRange(1, 4).Draw(t, "shifts") {
			start := time.Duration(rapid.IntRange(0, 95).Draw(t, "start")) * 15 * time.Minute
			s := calendar.Shift{Start: start, End: start + time.Duration(rapid.IntRange(1, 96).Draw(t, "length"))*15*time.Minute}
			for d := range s.Weekdays {
				s.Weekdays[d] = rapid.Bool().Draw(t, "weekday")
			}
			c.Shifts = append(c.Shifts, s)
		}
		from := calendar.Date(2026, time.October, rapid.IntRange(10, 40).Draw(t, "day")) // clocks go back on 25 October
		for range rapid.IntRange(0, 2).Draw(t, "outages") {
			begin := c.At(from, time.Duration(rapid.IntRange(-48, 200).Draw(t, "begin"))*time.Hour)
			c.Outages = append(c.Outages, calendar.Outage{Machine: "M", From: begin, To: begin.Add(time.Duration(rapid.IntRange(1, 60).Draw(t, "hours")) * time.Hour)})
		}
		if rapid.Bool().Draw(t, "closed") {
			c.Closures = []calendar.Closure{{Span: calendar.Span{From: from + 2, To: from + 4}}}
		}
		b := read(&planner.Input{Calendar: c})
		span := calendar.Span{From: from, To: from + 8}
		if got, want := b.machineHours("M", span).float(), c.SpanHours("M", span); math.Abs(got-want) > 1e-9 {
			t.Fatalf("audit %.6f h, calendar %.6f h", got, want)
		}
	})
}

func TestRatesAgreeWithTheLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		p := lines.Profile{Code: "P", PerMetre: quantity.LinearDensity(0.1 + rng.Float64())}
		f := lines.Fit{Line: "L", Profile: "P", Melt: quantity.MassRate(rng.IntN(3) * 60), HaulOff: quantity.Speed(rng.IntN(3) * 4), Strands: rng.IntN(3),
			Availability: quantity.Share(0.5 + rng.Float64()/2), Quality: quantity.Share(0.5 + rng.Float64()/2)}
		b := read(&planner.Input{Profiles: []lines.Profile{p}, Fits: []lines.Fit{f}})
		got, want := b.fits[[2]string{"L", "P"}], lines.Rate(p, f)
		near := func(x num, y float64) bool { return math.Abs(x.float()-y) <= 1e-9*(1+y) }
		if !near(got.rate, want.GoodMetresPerHour) || want.GoodMetresPerHour > 0 && (!near(got.pellets, float64(want.PelletsPerGoodMetre)) || !near(got.scrap, float64(want.ScrapPerGoodMetre))) {
			t.Fatalf("%+v: audit %g m/h, %g and %g kg/m; lines %+v", f, got.rate.float(), got.pellets.float(), got.scrap.float(), want)
		}
	}
}

func TestRoutesAgreeWithTheChain(t *testing.T) {
	in := tinyBook()
	in.Overrides = append(in.Overrides, override("PEL", "IN", 0.77))
	in.Steps[0], in.Steps[1] = in.Steps[1], in.Steps[0]
	chain, b := yield.Chain{Steps: in.Steps, Overrides: in.Overrides}, read(in)
	for _, m := range append(in.Materials, inventory.Material{Form: inventory.Regrind}) {
		got, want := b.route[m.Code], chain.For(m.Code, string(m.Form))
		if math.Abs(got.yield.float()-float64(want.Yield)) > 1e-12 || math.Abs(got.cost.float()-float64(want.CostPerKg)) > 1e-12 {
			t.Errorf("material %q: audit yield %g at %g, chain %g at %g", m.Code, got.yield.float(), got.cost.float(), want.Yield, want.CostPerKg)
		}
		for _, s := range want.Steps {
			if d := got.hours[s.Step].float() - float64(s.HoursPerKg); math.Abs(d) > 1e-15 {
				t.Errorf("material %q, step %s: hours a kilogram differ by %g", m.Code, s.Step, d)
			}
		}
	}
}

func TestLeadTimesAgreeWithTheQuantiles(t *testing.T) {
	for _, d := range []inventory.Distribution{inventory.Fixed, inventory.Normal, inventory.Lognormal, inventory.Gamma} {
		for _, mean := range []float64{0, 1, 9, 44} {
			for _, sd := range []float64{0, 0.4, 10.5} {
				for _, q := range []float64{0.5, 0.8, 0.95} {
					l := inventory.LeadTime{Distribution: d, Mean: mean, SD: sd}
					days := calendar.Day(math.Ceil(l.Quantile(q) - dayTolerance))
					if !inTime(l, days, q) || inTime(l, days-1, q) {
						t.Errorf("%s %g ± %g at %g: %d days: probability %.6f, a day less %.6f", d, mean, sd, q, days, within(l, float64(days)), within(l, float64(days-1)))
					}
				}
			}
		}
	}
}

func TestDeliveriesAgreeWithThePlannedArrival(t *testing.T) {
	in := tinyBook()
	for _, q := range []float64{0.3, 0.5, 0.8, 0.99} {
		in.Plant.ArrivalQuantile = quantity.Share(q)
		a := auditor{book: read(in), p: &planner.Plan{Start: monday}}
		for _, spread := range []float64{0, 0.3, 1, 6, 20} {
			d := inventory.Delivery{ETA: monday + 30, Spread: spread}
			if got, want := a.plannedDay(d), max(monday, inventory.PlannedArrival(d, q)); got != want {
				t.Errorf("spread %g at %g: audit %s, inventory %s", spread, q, got, want)
			}
		}
	}
}

func TestChangesAgreeWithTheLines(t *testing.T) {
	names := []string{"", "*", "F1", "F2", "F3"}
	rng := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		var list []lines.Changeover
		for range rng.IntN(6) {
			list = append(list, lines.Changeover{From: names[rng.IntN(5)], To: names[rng.IntN(5)], Hours: quantity.Hours(1 + rng.IntN(9))})
		}
		b := read(&planner.Input{Changeovers: list})
		from, to := names[rng.IntN(2)*2], names[2+rng.IntN(3)]
		want, _ := lines.ChangeoverBetween(list, from, to)
		if got := b.change(from, to); got.Hours != want.Hours {
			t.Fatalf("%v from %q to %q: audit %g h, lines %g h", list, from, to, got.Hours, want.Hours)
		}
	}
}

// TestLeastSequence compares the dynamic program with all orders tried.
func TestLeastSequence(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 100 {
		in := &planner.Input{}
		for i := range 5 {
			f := string(rune('a' + i))
			in.Profiles = append(in.Profiles, lines.Profile{Code: f, DieFamily: f})
			for j := range 5 {
				in.Changeovers = append(in.Changeovers, lines.Changeover{From: f, To: string(rune('a' + j)), Hours: quantity.Hours(rng.IntN(20))})
			}
		}
		a := auditor{book: read(in)}
		hours := func(c lines.Changeover) float64 { return float64(c.Hours) }
		changed, end := []string{"b", "c", "d", "e"}, []string{"e", ""}[rng.IntN(2)]
		want := math.Inf(1)
		tryAll(changed, func(order []string) {
			sum, at := 0.0, "a"
			for _, p := range order {
				sum, at = sum+hours(a.change(at, p)), p
			}
			if end == "" || at == end {
				want = min(want, sum)
			}
		})
		if got := a.leastSequence("a", changed, end, hours); got != want {
			t.Fatalf("least sequence %g h, of all orders %g h", got, want)
		}
	}
}

func tryAll(rest []string, visit func([]string)) {
	var try func(done, rest []string)
	try = func(done, rest []string) {
		if len(rest) == 0 {
			visit(done)
		}
		for i := range rest {
			left := append(append([]string{}, rest[:i]...), rest[i+1:]...)
			try(append(done[:len(done):len(done)], rest[i]), left)
		}
	}
	try(nil, rest)
}
