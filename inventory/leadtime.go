package inventory

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Quantile is the days within which a share p of loads arrive, 0 ≤ p ≤ 1; NaN for other p. A lead time without
// spread (SD 0) or with the distribution Fixed or "" is always its Mean. The normal's lower tail is cut at 0 days.
// Lognormal and gamma are fitted by moments, see LogParameters and GammaParameters.
func (l LeadTime) Quantile(p float64) float64 {
	switch {
	case math.IsNaN(p) || p < 0 || p > 1:
		return math.NaN()
	case l.certain():
		return l.Mean
	}
	switch l.Distribution {
	case Lognormal:
		mu, sigma := l.LogParameters()
		return distuv.LogNormal{Mu: mu, Sigma: sigma}.Quantile(p)
	case Gamma:
		shape, rate := l.GammaParameters()
		return distuv.Gamma{Alpha: shape, Beta: rate}.Quantile(p)
	}
	return max(0, distuv.Normal{Mu: l.Mean, Sigma: l.SD}.Quantile(p))
}

// certain reports whether the lead time has no spread. A mean of 0 or less has none that lognormal or gamma could take.
func (l LeadTime) certain() bool {
	if l.Distribution == Normal {
		return l.SD <= 0
	}
	return l.Distribution == Fixed || l.Distribution == "" || l.SD <= 0 || l.Mean <= 0
}

// LogParameters is the mean and standard deviation of the logarithm of a lognormal lead time in days:
// σ² = ln(1 + (SD÷Mean)²), μ = ln Mean − σ²÷2. Mean must be above 0.
func (l LeadTime) LogParameters() (mu, sigma float64) {
	cv := l.SD / l.Mean
	v := math.Log1p(cv * cv)
	return math.Log(l.Mean) - v/2, math.Sqrt(v)
}

// GammaParameters is the shape and the rate (1 ÷ days) of a gamma lead time: (Mean÷SD)² and Mean÷SD².
// Mean and SD must be above 0.
func (l LeadTime) GammaParameters() (shape, rate float64) {
	return l.Mean * l.Mean / (l.SD * l.SD), l.Mean / (l.SD * l.SD)
}
