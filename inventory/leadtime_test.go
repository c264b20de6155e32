package inventory

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// near fails the test unless got is within abs of want.
func near(t *testing.T, what string, got, want, abs float64, unit string) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s: %.9g %s, want %.9g %s (± %g)", what, got, unit, want, unit, abs)
	}
}

// Containers from entry at the port of origin to exit at that of destination: mean 44 days, standard deviation
// 10.5 days (World Bank, Connecting to Compete 2023). Quantiles computed with another statistics library.
func TestLognormalLeadTime(t *testing.T) {
	l := LeadTime{Lognormal, 44, 10.5}
	mu, sigma := l.LogParameters()
	near(t, "μ", mu, 3.7565, 5e-5, "")
	near(t, "σ", sigma, 0.23534, 5e-6, "")
	near(t, "median", l.Quantile(0.5), 42.80, 5e-3, "d")
	near(t, "P90", l.Quantile(0.90), 57.86, 5e-3, "d")
	near(t, "P95", l.Quantile(0.95), 63.03, 5e-3, "d")
	near(t, "P99", l.Quantile(0.99), 73.99, 5e-3, "d")
	near(t, "normal P95", LeadTime{Normal, 44, 10.5}.Quantile(0.95), 61.27, 5e-3, "d")
	shape, rate := l.GammaParameters()
	near(t, "gamma shape", shape, 17.56, 5e-3, "")
	near(t, "gamma scale", 1/rate, 2.506, 5e-4, "d")
}

// Truck dwell at the port of Los Angeles/Long Beach: mean 2.89 days with 5.3 % beyond 5 days (PMSA, January 2024) fit a
// lognormal with a logarithm's deviation of 0.385, computed elsewhere: standard deviation 1.16, median 2.68 days.
func TestPortDwell(t *testing.T) {
	const mean, sigma = 2.89, 0.385
	l := LeadTime{Lognormal, mean, mean * math.Sqrt(math.Expm1(sigma*sigma))}
	near(t, "standard deviation", l.SD, 1.16, 5e-3, "d")
	near(t, "beyond 5 days", 1-l.Within(5), 0.053, 5e-4, "")
	near(t, "median", l.Quantile(0.5), 2.68, 5e-3, "d")
	_, back := l.LogParameters()
	near(t, "σ", back, sigma, 1e-12, "")
}

func leadTimes() *rapid.Generator[LeadTime] {
	return rapid.Custom(func(t *rapid.T) LeadTime {
		mean := rapid.Float64Range(1, 100).Draw(t, "mean")
		return LeadTime{rapid.SampledFrom([]Distribution{Fixed, Normal, Lognormal, Gamma}).Draw(t, "family"), mean,
			mean * rapid.Float64Range(0.02, 0.9).Draw(t, "cv")}
	})
}

// Quantiles rise with p, give back p through Within, and average to the mean and the spread.
func TestQuantileProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := leadTimes().Draw(t, "lead time")
		const n = 2000
		last, sum, squares := 0.0, 0.0, 0.0
		for i := range n {
			p := (float64(i) + 0.5) / n
			q := l.Quantile(p)
			if q < last {
				t.Fatalf("quantile falls to %v at %v", q, p)
			}
			if back := l.Within(q); l.Distribution != Fixed && q > 0 && math.Abs(back-p) > 1e-6 {
				t.Fatalf("within %v days a share of %v arrives, want %v", q, back, p)
			}
			last = q
			sum += q
			squares += q * q
		}
		if l.Distribution == Normal && l.SD > l.Mean/4 {
			return // its lower tail is cut
		}
		mean := sum / n
		if math.Abs(mean-l.Mean) > 0.02*l.Mean {
			t.Fatalf("mean of the quantiles %v days, want %v", mean, l.Mean)
		}
		if sd := math.Sqrt(squares/n - mean*mean); l.Distribution != Fixed && math.Abs(sd-l.SD) > 0.1*l.SD {
			t.Fatalf("spread of the quantiles %v days, want %v", sd, l.SD)
		}
	})
}

func TestQuantileEdges(t *testing.T) {
	for _, p := range []float64{-0.1, 1.1, math.NaN()} {
		if q := (LeadTime{Lognormal, 44, 10.5}).Quantile(p); !math.IsNaN(q) {
			t.Errorf("quantile of %v is %v, want NaN", p, q)
		}
	}
	for _, l := range []LeadTime{{Fixed, 7, 3}, {"", 7, 3}, {Lognormal, 7, 0}, {Gamma, 7, 0}, {Normal, 7, 0}} {
		if q := l.Quantile(0.99); q != 7 || l.Within(6.9) != 0 || l.Within(7) != 1 {
			t.Errorf("%+v: P99 %v days, want 7", l, q)
		}
	}
	for _, d := range []Distribution{Lognormal, Gamma} {
		if q := (LeadTime{d, 0, 3}).Quantile(0.99); q != 0 {
			t.Errorf("%s without a mean: %v days, want 0", d, q)
		}
	}
	if q := (LeadTime{Normal, 1, 10}).Quantile(0.05); q != 0 {
		t.Errorf("normal's lower tail: %v days, want 0", q)
	}
}

func TestOrderByDate(t *testing.T) {
	lane := Lane{LeadTime: LeadTime{Lognormal, 44, 10.5}}
	needed := calendar.Date(2027, 3, 1)
	if got := OrderByDate(lane, needed, 0.95); got != needed-64 { // P95 63.03 days
		t.Errorf("order by %v, want %v", got, needed-64)
	}
	if got := OrderByDate(Lane{LeadTime: LeadTime{Fixed, 7, 0}}, needed, 0.95); got != needed-7 {
		t.Errorf("order by %v, want seven days before", got)
	}
	if got := OrderByDate(lane, needed, 1); got != needed-ceilDays(lane.LeadTime.Quantile(1-leastProbability)) {
		t.Errorf("order by %v for certainty", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		l := Lane{LeadTime: leadTimes().Draw(t, "lead time")}
		p := rapid.Float64Range(0.01, 0.99).Draw(t, "service")
		by := OrderByDate(l, needed, p)
		if got := LoadArrival(l, by, p); got != needed {
			t.Fatalf("ordered on %v it comes on %v, want %v", by, got, needed)
		}
		if in := l.LeadTime.Within(float64(needed - by)); in < p-1e-6 {
			t.Fatalf("ordered on %v it is there in time with %v, want %v", by, in, p)
		}
	})
}

func TestPlannedArrival(t *testing.T) {
	eta := calendar.Date(2026, 12, 10)
	for _, c := range []struct {
		spread, q float64
		want      calendar.Day
	}{
		{0, 0.95, eta}, {3, 0.5, eta}, {3, 0.8, eta + 3}, // z 0.8416 · 3 = 2.52
		{3, 0.95, eta + 5}, // z 1.6449 · 3 = 4.93
		{3, 0.2, eta - 2},  // −2.52, rounded up
		{3, 1, eta + 15}, {3, 0, eta - 14}, {math.NaN(), 0.8, eta}, {3, math.NaN(), eta},
		{1e300, 0.9, eta + longestDays},
	} {
		if got := PlannedArrival(Delivery{ETA: eta, Spread: c.spread}, c.q); got != c.want {
			t.Errorf("spread %v d at %v: planned %v, want %v", c.spread, c.q, got, c.want)
		}
	}
}

// Global Liner Performance report, March 2024: 54.6 % in time, late ones 5.03 days late on average.
func TestExpectedDelay(t *testing.T) {
	near(t, "expected delay", ExpectedDelay(0.546, 5.03), 2.284, 5e-4, "d")
}

func TestReplenishment(t *testing.T) {
	for _, c := range []struct {
		source           string
		r                Replenishment
		z                float64
		safety, point    float64
		deviation        float64
		safetyTo, rateTo float64
	}{
		{"Taylor, Introduction to Management Science, ch. 16, carpet store (printed 26.1, 326.1)",
			Replenishment{30, 5, 10, 0}, 1.65, 26.089, 326.089, 15.811, 1e-3, 1e-3},
		{"same text, both variable (from memory; printed 150.8, 450.8)", Replenishment{30, 5, 10, 3}, 1.65, 150.774, 450.774, 91.378, 1e-3, 1e-3},
		{"hardware warehouse, brainmass.com 468949", Replenishment{5, 0, 3, 2}, 1.65, 16.5, 31.5, 10, 1e-9, 1e-9},
		{"brainmass.com 210800", Replenishment{12500, 0, 4, 1}, 1.88, 23500, 73500, 12500, 1e-6, 1e-6},
		{"bookstore, math.bot", Replenishment{12, 5, 6, 0}, 1.645, 20.147, 92.147, 12.2474, 1e-3, 1e-3},
		{"web example; it prints 207, 342 and 1 042 rounded up", Replenishment{100, 20, 7, 2}, 1.65, 341.35, 1041.35, 206.88, 1e-2, 1e-2},
		{"solutioninn.com", Replenishment{100, 12, 12, 2}, 1.645, 336.03, 1536.03, 204.274, 1e-2, 1e-2},
	} {
		near(t, c.source+": deviation", float64(c.r.Deviation()), c.deviation, 5e-3, "")
		near(t, c.source+": safety stock", float64(c.r.SafetyStock(c.z)), c.safety, c.safetyTo, "")
		near(t, c.source+": reorder point", float64(c.r.ReorderPoint(c.z)), c.point, c.rateTo, "")
	}
	// Standard normal table.
	for service, z := range map[float64]float64{0.90: 1.2816, 0.95: 1.6449, 0.975: 1.9600, 0.98: 2.0537, 0.99: 2.3263} {
		near(t, "service factor", ServiceFactor(service), z, 5e-5, "")
	}
}

func TestCover(t *testing.T) {
	// A glossary's example: 1 585 units at 100 a day.
	near(t, "average cover", AverageCover(1585, 100), 15.85, 1e-12, "d")
	if got := AverageCover(5, 0); !math.IsInf(got, 1) {
		t.Errorf("cover without use %v days, want +Inf", got)
	}
	for _, c := range []struct {
		stock quantity.Mass
		use   []PeriodUse
		want  float64
	}{
		{1000, []PeriodUse{{1, 0}, {1, 400}, {7, 1400}}, 5},
		{400, []PeriodUse{{1, 0}, {1, 400}, {7, 1400}}, 2},
		{0, []PeriodUse{{3, 0}, {1, 10}}, 3},
		{0, []PeriodUse{{3, 0}}, math.Inf(1)},
		{0, nil, math.Inf(1)},
		{10, []PeriodUse{{3, 9}}, math.Inf(1)},
		{9, []PeriodUse{{3, 9}}, math.Inf(1)}, // just enough
		{9, []PeriodUse{{3, 9}, {2, 0}, {1, 5}}, 5},
		{-5, []PeriodUse{{3, 0}, {1, 9}}, 3},
		{-5, []PeriodUse{{3, 9}}, 0},
		{5, []PeriodUse{{2, 2}, {0, 9}}, 2},
	} {
		if got := ForwardCover(c.stock, c.use); got != c.want {
			t.Errorf("cover of %v kg by %v: %v days, want %v", float64(c.stock), c.use, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // at a steady use both covers agree
		stock := quantity.Mass(rapid.Float64Range(0, 1000).Draw(t, "stock"))
		use := quantity.Mass(rapid.Float64Range(1, 100).Draw(t, "use"))
		periods := make([]PeriodUse, 1100)
		for i := range periods {
			periods[i] = PeriodUse{1, use}
		}
		a, f := AverageCover(stock, use), ForwardCover(stock, periods)
		if math.Abs(a-f) > 1e-9*(1+a) {
			t.Fatalf("%v kg at %v a day: %v days on average, %v walked", stock, use, a, f)
		}
	})
}

func TestLandedCost(t *testing.T) {
	l := Lane{Price: 0.60, Freight: 2000, Load: 20000, Rate: 0.9}
	near(t, "landed", float64(LandedCost(l, 0.95)), 0.70*0.9/0.95, 1e-15, "a kg")
	near(t, "a load", float64(l.LoadCost()), 14000*0.9, 1e-9, "")
	l.Rate = 0
	near(t, "landed in the plant's currency", float64(LandedCost(l, 1)), 0.70, 1e-15, "a kg")
	if got := float64(LandedCost(l, 0)); !math.IsInf(got, 1) {
		t.Errorf("landed at no yield: %v, want +Inf", got)
	}
	if got := float64(LandedCost(Lane{Price: 1}, 1)); !math.IsInf(got, 1) {
		t.Errorf("landed without a load: %v, want +Inf", got)
	}
}

func TestBalanceRefuses(t *testing.T) {
	var b Balance
	day := calendar.Date(2026, 11, 25)
	if err := b.Apply(Movement{day, "lot 1", 100.0004, ""}); err != nil {
		t.Fatal(err)
	}
	var over *OverdrawnError
	err := b.Apply(Movement{day, "lot 1", -100.001, ""})
	if !errors.As(err, &over) || over.Have != 100_000 || b.Level("lot 1") != 100_000 {
		t.Errorf("a gram too much: %v; level %v g", err, b.Level("lot 1"))
	}
	if want := "lot 1 on 2026-11-25: 100.001 kg to be taken, 100.000 kg there; count the stock and correct the booking or the level"; err.Error() != want {
		t.Errorf("error %q\n want %q", err, want)
	}
	for _, m := range []float64{math.NaN(), math.Inf(1), 1e18} {
		if err := b.Apply(Movement{day, "lot 1", quantity.Mass(m), ""}); err == nil {
			t.Errorf("%v kg booked", m)
		}
	}
	if err := b.Apply(Movement{day, "lot 1", -100, ""}); err != nil || b.Level("lot 1") != 0 {
		t.Errorf("the rest: %v; level %v g", err, b.Level("lot 1"))
	}
	if got, err := Replay([]Movement{{day + 1, "x", -1, ""}, {day, "x", 1, ""}}); err != nil || got.Level("x") != 0 {
		t.Errorf("replay does not go by days: %v", err)
	}
}

// Σ in − Σ out to the gram, whatever the order of decimals; never negative.
func TestBalanceIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b Balance
		want := map[string]int64{}
		for range rapid.IntRange(0, 60).Draw(t, "bookings") {
			g := rapid.Int64Range(-5_000_000, 5_000_000).Draw(t, "grams")
			item := rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "item")
			err := b.Apply(Movement{Item: item, Mass: quantity.Mass(float64(g) / 1000)})
			if refused := want[item]+g < 0; refused != (err != nil) {
				t.Fatalf("%d g on %d g: %v", g, want[item], err)
			}
			if err == nil {
				want[item] += g
			}
		}
		for _, item := range []string{"a", "b", "c"} {
			if got := b.Level(item); int64(got) != want[item] || got < 0 {
				t.Fatalf("%s holds %d g, want %d g", item, got, want[item])
			}
			if again, err := GramsOf(b.Level(item).Mass()); err != nil || again != b.Level(item) {
				t.Fatalf("%v g as kilograms and back is %v g", b.Level(item), again)
			}
		}
	})
}
