package lines

import (
	"math"
	"testing"
)

// NIST Statistical Reference Datasets, Norris: x, y and certified values (itl.nist.gov/div898/strd).
func TestNorris(t *testing.T) {
	x := []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
		556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5}
	y := []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
		557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2}
	r := FitLine(x, y)
	const nineDigits = 1e-9
	near(t, "base", r.Base, -0.262323073774029, nineDigits, "")
	near(t, "slope", r.Slope, 1.00211681802045, nineDigits, "")
	near(t, "standard error of the base", r.BaseSE, 0.232818234301152, nineDigits, "")
	near(t, "standard error of the slope", r.SlopeSE, 0.429796848199937e-3, nineDigits, "")
	near(t, "residual deviation", r.ResidualSD, 0.884796396144373, nineDigits, "")
	near(t, "R²", r.RSquared, 0.999993745883712, nineDigits, "")
}

// NIST Statistical Reference Datasets, NoInt1 and NoInt2: lines through the origin; R² about 0.
func TestNoIntercept(t *testing.T) {
	var x1, y1 []float64
	for i := range 11 {
		x1, y1 = append(x1, 60+float64(i)), append(y1, 130+float64(i))
	}
	for _, c := range []struct {
		name                string
		r                   Regression
		slope, se, sd, rsqr float64
	}{
		{"NoInt1", FitSlope(x1, y1), 2.07438016528926, 0.165289256198347e-1, 3.56753034006338, 0.999365492298663},
		{"NoInt2", FitSlope([]float64{4, 5, 6}, []float64{3, 4, 4}), 0.727272727272727, 0.420827318078432e-1, 0.369274472937998, 0.993348115299335},
	} {
		near(t, c.name+" slope", c.r.Slope, c.slope, 1e-12, "")
		near(t, c.name+" standard error", c.r.SlopeSE, c.se, 1e-12, "")
		near(t, c.name+" residual deviation", c.r.ResidualSD, c.sd, 1e-12, "")
		near(t, c.name+" R²", c.r.RSquared, c.rsqr, 1e-12, "")
	}
}

func TestFitEnergy(t *testing.T) {
	r := FitEnergy([]EnergyRecord{{8, 800, 8*15 + 0.4*800}, {6, 300, 6*15 + 0.4*300}, {0, 50, 9}, {2, 240, 2*15 + 0.4*240}})
	near(t, "base load", r.Base, 15, 1e-12, "kW")
	near(t, "slope", r.Slope, 0.4, 1e-12, "kWh/kg")
	if r.N != 3 {
		t.Errorf("%d records used, want 3", r.N)
	}
	for _, few := range [][]EnergyRecord{nil, {{1, 1, 1}, {1, 2, 2}}, {{1, 5, 1}, {1, 5, 2}, {1, 5, 3}}} {
		if r := FitEnergy(few); !math.IsNaN(r.Slope) || r.N != len(few) {
			t.Errorf("%v: slope %v, want NaN", few, r.Slope)
		}
	}
	if r := FitSlope([]float64{0, 0}, []float64{1, 2}); !math.IsNaN(r.Slope) {
		t.Errorf("slope %v at no x, want NaN", r.Slope)
	}
}
