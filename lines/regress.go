package lines

import (
	"math"

	"feedline/inventory/quantity"
)

// Regression is a straight line fitted by least squares, y = Base + Slope·x.
type Regression struct {
	Base, Slope     float64
	BaseSE, SlopeSE float64 // standard errors; BaseSE 0 for a line through the origin
	ResidualSD      float64
	RSquared        float64 // about the mean; about 0 for a line through the origin
	N               int
}

// FitLine fits y = Base + Slope·x. All NaN but N for fewer than three points or x that do not differ. It panics if the lengths differ.
func FitLine(x, y []float64) Regression {
	mustPair(x, y)
	n := float64(len(x))
	mx, my := mean(x), mean(y)
	sxx, sxy, syy := 0.0, 0.0, 0.0
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		sxx, sxy, syy = sxx+dx*dx, sxy+dx*dy, syy+dy*dy
	}
	if len(x) < 3 || sxx == 0 {
		return unknown(len(x))
	}
	r := Regression{Slope: sxy / sxx, N: len(x)}
	r.Base = my - r.Slope*mx
	sse := residualSquares(x, y, r)
	r.ResidualSD = math.Sqrt(sse / (n - 2))
	r.SlopeSE = r.ResidualSD / math.Sqrt(sxx)
	r.BaseSE = r.ResidualSD * math.Sqrt(1/n+mx*mx/sxx)
	r.RSquared = 1 - sse/syy
	return r
}

// FitSlope fits y = Slope·x, a line through the origin. All NaN but N for fewer than two points or x that are all 0.
// It panics if the lengths differ.
func FitSlope(x, y []float64) Regression {
	mustPair(x, y)
	sxx, sxy, syy := 0.0, 0.0, 0.0
	for i := range x {
		sxx, sxy, syy = sxx+x[i]*x[i], sxy+x[i]*y[i], syy+y[i]*y[i]
	}
	if len(x) < 2 || sxx == 0 {
		return unknown(len(x))
	}
	r := Regression{Slope: sxy / sxx, N: len(x)}
	sse := residualSquares(x, y, r)
	r.ResidualSD = math.Sqrt(sse / float64(len(x)-1))
	r.SlopeSE = r.ResidualSD / math.Sqrt(sxx)
	r.RSquared = 1 - sse/syy
	return r
}

func mustPair(x, y []float64) {
	if len(x) != len(y) {
		panic("lines: regression of unequal lengths")
	}
}

func unknown(n int) Regression {
	nan := math.NaN()
	return Regression{nan, nan, nan, nan, nan, nan, n}
}

func residualSquares(x, y []float64, r Regression) float64 {
	sum := 0.0
	for i := range x {
		e := y[i] - r.Base - r.Slope*x[i]
		sum += e * e
	}
	return sum
}

// mean is the average, its rounding taken out by a second pass.
func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	m, rest := sum/float64(len(x)), 0.0
	for _, v := range x {
		rest += v - m
	}
	return m + rest/float64(len(x))
}

// EnergyRecord is a line's meter over a run.
type EnergyRecord struct {
	Hours   quantity.Hours
	Pellets quantity.Mass
	KWh     float64
}

// FitEnergy fits a line's power in kW to its output in kg/h: Base is what Line.BaseKW stands for and Slope what Line.KWhPerKg does,
// the line's energy fingerprint (Kent, Energy Management in Plastics Processing). Records without hours are left out.
func FitEnergy(records []EnergyRecord) Regression {
	var rate, power []float64
	for _, r := range records {
		if r.Hours > 0 {
			rate = append(rate, float64(r.Pellets)/float64(r.Hours))
			power = append(power, r.KWh/float64(r.Hours))
		}
	}
	return FitLine(rate, power)
}
