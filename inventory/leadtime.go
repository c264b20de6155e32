package inventory

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"feedline/inventory/quantity"
)

// distribution is the part of a probability distribution that is used here.
type distribution interface {
	Quantile(p float64) float64
	CDF(x float64) float64
}

// Quantile is the days within which a share p of loads arrive, 0 ≤ p ≤ 1; NaN for other p. A lead time without
// spread (SD 0) or with the distribution Fixed or "" is always its Mean. The normal's lower tail is cut at 0 days.
// Lognormal and gamma are fitted by moments: see LogParameters and GammaParameters.
func (l LeadTime) Quantile(p float64) float64 {
	switch {
	case !(p >= 0 && p <= 1):
		return math.NaN()
	case l.certain():
		return l.Mean
	}
	return max(0, l.spread().Quantile(p))
}

// Within is the share of loads that arrive within the days after the order.
func (l LeadTime) Within(days float64) float64 {
	switch {
	case days < 0 || l.certain() && days < l.Mean:
		return 0
	case l.certain():
		return 1
	}
	return l.spread().CDF(days)
}

// certain reports whether the lead time has no spread. Lognormal and gamma need a mean above 0 to have one.
func (l LeadTime) certain() bool {
	if l.Distribution == Fixed || l.Distribution == "" || !(l.SD > 0) {
		return true
	}
	return l.Distribution != Normal && !(l.Mean > 0)
}

func (l LeadTime) spread() distribution {
	switch l.Distribution {
	case Lognormal:
		mu, sigma := l.LogParameters()
		return distuv.LogNormal{Mu: mu, Sigma: sigma}
	case Gamma:
		shape, rate := l.GammaParameters()
		return distuv.Gamma{Alpha: shape, Beta: rate}
	}
	return distuv.Normal{Mu: l.Mean, Sigma: l.SD}
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

// Check says what is wrong or doubtful about a lead time.
func (l LeadTime) Check() []quantity.Problem {
	var c quantity.Checks
	c.OneOf("LeadTime.Distribution", string(l.Distribution), string(Fixed), string(Normal), string(Lognormal), string(Gamma))
	c.NotNegative("LeadTime.Mean", l.Mean, "days")
	c.NotNegative("LeadTime.SD", l.SD, "days")
	if l.Distribution != Fixed {
		c.Positive("LeadTime.Mean", l.Mean, "days")
		c.Usual("LeadTime.SD", l.SD, 0, l.Mean, "days", "it is spread wider than its mean")
	}
	c.Usual("LeadTime.Mean", l.Mean, 0, 365, "days", "is it in days?")
	if l.Distribution == Fixed && l.SD > 0 {
		c.Usual("LeadTime.SD", l.SD, 0, 0, "days", "a fixed lead time has no spread: it is not used")
	}
	return c.Problems()
}
