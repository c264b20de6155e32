package inventory

import (
	"math"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// LeadTimeFit is a distribution fitted to how long loads took.
type LeadTimeFit struct {
	LeadTime
	LogLikelihood float64
	Arrived       int // loads that came
	Open          int // loads that have not come yet, of which only a least time is known
}

// densities is what a likelihood needs of a distribution.
type densities interface {
	LogProb(x float64) float64
	Survival(x float64) float64
}

// FitLeadTime is the distribution of the family Normal, Lognormal or Gamma that makes the days which loads took most likely, those
// that are still open counting as longer than the days they have been under way (right-censored):
//
//	Σ ln f(arrived) + Σ ln (1 − F(open))
//
// (Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., 2003, §2.2). Mean and SD are those of the distribution found.
// Times that are not above 0 are left out. False for another family, for fewer than two loads that came, and where all that came
// took as long as one another, in which case no spread can be told.
func FitLeadTime(family Distribution, arrived, open []float64) (LeadTimeFit, bool) {
	arrived, open = above0(arrived), above0(open)
	if len(arrived) < 2 || family != Normal && family != Lognormal && family != Gamma {
		return LeadTimeFit{}, false
	}
	x := arrived
	if family == Lognormal {
		x = logs(arrived)
	}
	mean, sd := stat.MeanStdDev(x, nil)
	if !(sd > 1e-9*math.Abs(mean)) {
		return LeadTimeFit{}, false
	}
	start := []float64{mean, math.Log(sd)}
	if family == Gamma {
		start = []float64{math.Log(mean), math.Log(sd / mean)} // of the mean and the coefficient of variation
	}
	minus := func(p []float64) float64 { return -likelihood(of(family, p), arrived, open) }
	best, err := optimize.Minimize(optimize.Problem{Func: minus}, start,
		&optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-13, Relative: 1e-15, Iterations: 60}, MajorIterations: 2000}, &optimize.NelderMead{})
	if best == nil || err != nil && best.Stats.MajorIterations == 0 {
		return LeadTimeFit{}, false
	}
	f := LeadTimeFit{LeadTime: leadTime(family, best.X), LogLikelihood: -best.F, Arrived: len(arrived), Open: len(open)}
	return f, !math.IsNaN(f.Mean) && !math.IsInf(f.Mean, 0) && f.SD > 0
}

func above0(list []float64) []float64 {
	var out []float64
	for _, x := range list {
		if x > 0 && !math.IsInf(x, 0) {
			out = append(out, x)
		}
	}
	return out
}

func logs(list []float64) []float64 {
	out := make([]float64, len(list))
	for i, x := range list {
		out[i] = math.Log(x)
	}
	return out
}

// of is the distribution of parameters as they are searched: location and log scale, of the gamma the logs of mean and variation.
func of(family Distribution, p []float64) densities {
	switch family {
	case Lognormal:
		return distuv.LogNormal{Mu: p[0], Sigma: math.Exp(p[1])}
	case Gamma:
		shape := math.Exp(-2 * p[1])
		return distuv.Gamma{Alpha: shape, Beta: shape / math.Exp(p[0])}
	}
	return distuv.Normal{Mu: p[0], Sigma: math.Exp(p[1])}
}

func leadTime(family Distribution, p []float64) LeadTime {
	l := LeadTime{Distribution: family}
	switch family {
	case Lognormal:
		d := distuv.LogNormal{Mu: p[0], Sigma: math.Exp(p[1])}
		l.Mean, l.SD = d.Mean(), d.StdDev()
	case Gamma:
		l.Mean = math.Exp(p[0])
		l.SD = l.Mean * math.Exp(p[1])
	default:
		l.Mean, l.SD = p[0], math.Exp(p[1])
	}
	return l
}

func likelihood(d densities, arrived, open []float64) float64 {
	sum := 0.0
	for _, x := range arrived {
		sum += d.LogProb(x)
	}
	for _, x := range open {
		sum += logSurvival(d, x)
	}
	if math.IsNaN(sum) {
		return math.Inf(-1)
	}
	return sum
}

// logSurvival is ln (1 − F(x)), in the far tail too, where 1 − F is less than a float64 holds: a load is overdue beyond all belief then,
// and must still pull the fit.
func logSurvival(d densities, x float64) float64 {
	if s := d.Survival(x); s > 1e-200 {
		return math.Log(s)
	}
	switch d := d.(type) {
	case distuv.Normal:
		return normalTail((x - d.Mu) / d.Sigma)
	case distuv.LogNormal:
		return normalTail((math.Log(x) - d.Mu) / d.Sigma)
	case distuv.Gamma: // Γ(a, y) ≈ y^(a−1) e^(−y) (1 + (a−1)÷y) (Abramowitz and Stegun 6.5.32)
		y := d.Beta * x
		lg, _ := math.Lgamma(d.Alpha)
		return (d.Alpha-1)*math.Log(y) - y - lg + math.Log1p((d.Alpha-1)/y)
	}
	return math.Inf(-1)
}

// normalTail is ln (1 − Φ(z)) for large z: φ(z) ÷ z · (1 − 1÷z² + 3÷z⁴) (Abramowitz and Stegun 26.2.12).
func normalTail(z float64) float64 {
	z2 := z * z
	return -z2/2 - math.Log(z*math.Sqrt(2*math.Pi)) + math.Log1p(-1/z2+3/(z2*z2))
}
