package inventory

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

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
