package inventory

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Twelve loads that came and five still under way. Mean, standard deviation and log likelihood of SciPy 1.10.1: the negative of
// logpdf(arrived).sum() + logsf(open).sum() minimised by scipy.optimize.minimize (Nelder-Mead, xatol 1e-12, fatol 1e-14).
func TestFitLeadTimeAgainstSciPy(t *testing.T) {
	arrived := []float64{38, 41, 44, 52, 47, 39, 61, 43, 40, 55, 49, 42}
	open := []float64{20, 35, 48, 60, 66}
	for family, want := range map[Distribution][3]float64{
		Normal:    {49.61963956895467, 9.928605487521098, -47.784526908288285},
		Lognormal: {49.81441202551447, 9.997679806856148, -46.57561583638465},
		Gamma:     {49.75519433665702, 9.873297199251233, -46.94394090124965},
	} {
		f, ok := FitLeadTime(family, arrived, open)
		if !ok || f.Arrived != 12 || f.Open != 5 {
			t.Fatalf("%s: %+v, %v", family, f, ok)
		}
		for i, got := range []float64{f.Mean, f.SD, f.LogLikelihood} {
			if math.Abs(got-want[i]) > 2e-6*math.Abs(want[i]) {
				t.Errorf("%s, figure %d: %.9f, SciPy has %.9f", family, i, got, want[i])
			}
		}
	}
}

// Without open loads the normal's most likely parameters are the mean and the deviation with n below (Johnson, Kotz and Balakrishnan,
// Continuous Univariate Distributions, vol. 1, 2nd ed., 1994, ch. 13), and the lognormal's those of the logarithms (ch. 14).
func TestFitLeadTimeClosedForms(t *testing.T) {
	arrived := []float64{9, 12, 10, 17, 11, 8, 14}
	mean, square, lmean, lsquare := 0.0, 0.0, 0.0, 0.0
	n := float64(len(arrived))
	for _, x := range arrived {
		mean += x / n
		lmean += math.Log(x) / n
	}
	for _, x := range arrived {
		square += (x - mean) * (x - mean) / n
		lsquare += (math.Log(x) - lmean) * (math.Log(x) - lmean) / n
	}
	f, _ := FitLeadTime(Normal, arrived, nil)
	if math.Abs(f.Mean-mean) > 1e-5 || math.Abs(f.SD-math.Sqrt(square)) > 1e-5 {
		t.Errorf("normal %v ± %v, closed form %v ± %v", f.Mean, f.SD, mean, math.Sqrt(square))
	}
	f, _ = FitLeadTime(Lognormal, arrived, nil)
	wantMean := math.Exp(lmean + lsquare/2)
	wantSD := wantMean * math.Sqrt(math.Expm1(lsquare))
	if math.Abs(f.Mean-wantMean) > 1e-5 || math.Abs(f.SD-wantSD) > 1e-5 {
		t.Errorf("lognormal %v ± %v, closed form %v ± %v", f.Mean, f.SD, wantMean, wantSD)
	}
	// Ignoring the loads that are still open would say that the lane is quicker than it is.
	late, _ := FitLeadTime(Lognormal, arrived, []float64{30, 30})
	if late.Mean <= f.Mean {
		t.Errorf("with loads overdue %v days, without %v", late.Mean, f.Mean)
	}
}

func TestFitLeadTimeNeedsLoads(t *testing.T) {
	for what, c := range map[string][2][]float64{"none": {}, "one": {{9}, {20}}, "all alike": {{9, 9, 9}, nil}, "not above 0": {{0, -1, 9, math.Inf(1)}, nil}} {
		if f, ok := FitLeadTime(Gamma, c[0], c[1]); ok {
			t.Errorf("%s: %+v", what, f)
		}
	}
	if _, ok := FitLeadTime(Fixed, []float64{8, 9}, nil); ok {
		t.Error("a fixed lead time has nothing to fit")
	}
}

// A load overdue by many deviations has a likelihood that no float64 holds; the fit must stand it. SciPy 1.10.1:
// norm.logsf(38) = −726.557216, norm.logsf(60) = −1805.013560, gamma(100).logsf is −inf there.
func TestFitLeadTimeFarTail(t *testing.T) {
	for z, want := range map[float64]float64{38: -726.557216, 60: -1805.013560} {
		if got := logSurvival(distuv.Normal{Mu: 0, Sigma: 1}, z); math.Abs(got-want) > 1e-5 {
			t.Errorf("ln survival at %v: %.6f, SciPy has %.6f", z, got, want)
		}
	}
	arrived := []float64{30, 31, 32, 30, 33, 31, 30, 32}
	for _, family := range []Distribution{Normal, Lognormal, Gamma} {
		f, ok := FitLeadTime(family, arrived, []float64{120})
		without, _ := FitLeadTime(family, arrived, nil)
		if !ok || math.IsInf(f.LogLikelihood, 0) || f.SD <= without.SD {
			t.Errorf("%s: %+v, %v; without the open load %+v", family, f, ok, without)
		}
	}
}
