package yield

import (
	"math"
	"slices"
	"testing"
)

func near(t *testing.T, what string, got, want, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s: %.12g, want %.12g (± %g)", what, got, want, abs)
	}
}

// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4. Its limits are computed with √(λ÷(2−λ)) cut to 0.4201.
func TestEWMA(t *testing.T) {
	x := []float64{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	got := EWMA(x, 50, 0.3)
	for i, w := range want {
		near(t, "average", got[i], w, 0.005+1e-9)
	}
	l := EWMALimits(50, 2.0539, 0.3)
	near(t, "upper limit", l.High, 52.5884, 1e-4)
	near(t, "lower limit", l.Low, 47.4115, 1e-4)
	if out := l.Signals(got); len(out) != 0 {
		t.Errorf("signals at %v, want none: the process is in control", out)
	}
}

// Ross, Introduction to Probability and Statistics, §13.6: subgroups of 4, σ 24. The printed averages were worked
// with rounded ones; the farthest off is the eighth, 61.61 where the recursion in exact fractions has 61.6318.
func TestEWMARoss(t *testing.T) {
	x := []float64{48, 52, 70, 62, 57, 81, 56, 59, 77, 82, 78, 80, 74, 82, 68, 84}
	want := []float64{57, 55.75, 59.31, 59.98, 59.24, 64.68, 62.50, 61.61, 65.48, 69.60, 71.70, 73.78, 73.83, 75.87, 73.90, 76.43}
	got := EWMA(x, 60, 0.25)
	near(t, "eighth average", got[7], 61.6318, 5e-5)
	for i, w := range want {
		near(t, "average", got[i], w, 0.022)
	}
	l := EWMALimits(62, 24/math.Sqrt(4), 0.25)
	near(t, "lower limit", l.Low, 48.39, 0.005)
	near(t, "upper limit", l.High, 75.61, 0.005)
	if out := l.Signals(got); !slices.Equal(out, []int{13, 15}) {
		t.Errorf("signals at %v, want the 14th and the 16th", out)
	}
}

// NIST/SEMATECH e-Handbook, 6.3.2.2.
func TestIndividuals(t *testing.T) {
	l, r := IndividualsLimits([]float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	near(t, "mean", l.Centre, 50.81, 1e-9)
	near(t, "moving range", r, 1.8778, 5e-5)
	near(t, "upper limit", l.High, 55.8041, 5e-5)
	near(t, "lower limit", l.Low, 45.8159, 5e-5)
	if l, r := IndividualsLimits([]float64{1}); !math.IsNaN(l.High) || !math.IsNaN(r) {
		t.Errorf("limits %+v of one value, want NaN", l)
	}
}

// NIST/SEMATECH e-Handbook, 6.3.2.3.
func TestCUSUM(t *testing.T) {
	x := []float64{324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250,
		327.825, 328.500, 326.675, 327.775, 326.875, 328.350}
	high, low, signal := CUSUM(x, 325, 0.3175, 4.1959)
	if signal != 13 {
		t.Errorf("first signal at index %d, want the 14th value", signal)
	}
	near(t, "high sum 13", high[12], 3.0075, 1e-9)
	near(t, "high sum 14", high[13], 4.94, 1e-9)
	near(t, "high sum 20", high[19], 19.035, 1e-9)
	near(t, "low sum 8", low[7], 0.715, 1e-9)
	if slices.Max(low) != low[7] {
		t.Errorf("greatest low sum %v, want the eighth %v", slices.Max(low), low[7])
	}
	if _, _, none := CUSUM(x[:12], 325, 0.3175, 4.1959); none != -1 {
		t.Errorf("signal at %d in the first twelve, want none", none)
	}
}

// NIST/SEMATECH e-Handbook, 6.4.3.1: single exponential smoothing is the same recursion, started at the first value.
func TestExponentialSmoothing(t *testing.T) {
	y := []float64{71, 70, 69, 68, 64, 65, 72, 78, 75, 75, 75, 70}
	want := []float64{71, 70.9, 70.71, 70.44, 69.80, 69.32, 69.58, 70.43, 70.88, 71.29, 71.67}
	got := append([]float64{y[0]}, EWMA(y[1:], y[0], 0.1)...)
	sse := 0.0
	for i, w := range want {
		near(t, "smoothed", got[i], w, 0.01)
		sse += (y[i+1] - got[i]) * (y[i+1] - got[i])
	}
	near(t, "mean squared error", sse/11, 18.983492, 1e-6)
	near(t, "forecast", got[11], 71.50, 0.005)
}
