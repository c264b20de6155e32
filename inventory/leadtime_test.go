package inventory

import (
	"math"
	"testing"

	"pgregory.net/rapid"
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
