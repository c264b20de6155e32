package yield

import "math"

// Limits are a control chart's: a value outside of [Low, High] signals that the process has changed.
type Limits struct{ Low, Centre, High float64 }

// Signals are the indices of the values outside of the limits.
func (l Limits) Signals(values []float64) []int {
	var out []int
	for i, v := range values {
		if v < l.Low || v > l.High {
			out = append(out, i)
		}
	}
	return out
}

const (
	sigmas = 3     // width of the limits in standard deviations of what is charted
	d2     = 1.128 // mean range of two normal values in standard deviations (NIST/SEMATECH e-Handbook 6.3.2)
)

// EWMA is the exponentially weighted moving average of x, λ·x + (1−λ)·previous, from start on: as many values as x.
func EWMA(x []float64, start, lambda float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		start = lambda*v + (1-lambda)*start
		out[i] = start
	}
	return out
}

// EWMALimits is centre ± 3·sd·√(λ ÷ (2−λ)), with the standard deviation of single values.
// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
func EWMALimits(centre, sd, lambda float64) Limits {
	w := sigmas * sd * math.Sqrt(lambda/(2-lambda))
	return Limits{centre - w, centre, centre + w}
}

// IndividualsLimits is the limits for single values, mean ± 3·R ÷ 1.128 with the mean moving range R of neighbours,
// which is returned too. NIST/SEMATECH e-Handbook, 6.3.2.2. NaN for fewer than two values.
func IndividualsLimits(x []float64) (l Limits, movingRange float64) {
	if len(x) < 2 {
		return Limits{math.NaN(), math.NaN(), math.NaN()}, math.NaN()
	}
	for i := 1; i < len(x); i++ {
		movingRange += math.Abs(x[i] - x[i-1])
	}
	movingRange /= float64(len(x) - 1)
	mean, _ := Moments(x)
	w := sigmas * movingRange / d2
	return Limits{mean - w, mean, mean + w}, movingRange
}

// CUSUM is the tabular cumulative sums of x above and below a target, each less a slack k and never below 0, and the
// index of the first value at which either exceeds h, −1 if none does. NIST/SEMATECH e-Handbook, 6.3.2.3.
func CUSUM(x []float64, target, k, h float64) (high, low []float64, signal int) {
	signal = -1
	up, down := 0.0, 0.0
	for i, v := range x {
		up = max(0, up+v-target-k)
		down = max(0, down+target-v-k)
		high, low = append(high, up), append(low, down)
		if signal < 0 && (up > h || down > h) {
			signal = i
		}
	}
	return high, low, signal
}
