package lines

import (
	"math"
	"testing"

	"feedline/inventory/quantity"
)

// near fails the test unless got is within rel of want, relatively.
func near(t *testing.T, what string, got, want, rel float64, unit string) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.9g %s, want %.9g %s (to %g)", what, got, unit, want, unit, rel)
	}
}

const degree = math.Pi / 180

// Groover, Fundamentals of Modern Manufacturing, example 13.1: inputs and printed answers from memory
// (53 525, 18 276, 35 249 × 10⁻⁹ m³/s).
func TestDragAndBackFlowGroover(t *testing.T) {
	s := Screw{Diameter: 0.075, Depth: 0.006, Angle: 20 * degree, Length: 1.9, Speed: 1}
	drag, back := s.DragFlow(), s.BackFlow(7e6, 100)
	near(t, "drag flow", drag, 53525e-9, 1e-4, "m³/s")
	near(t, "back flow", back, 18276e-9, 2e-4, "m³/s")
	near(t, "net flow", drag-back, 35249e-9, 1e-4, "m³/s")
	if q := drag - s.BackFlow(s.MaxPressure(100), 100); math.Abs(q) > 1e-12*drag {
		t.Errorf("net flow at the greatest pressure is %v m³/s, want 0", q)
	}
}

// A textbook problem in US units (stated on tutorbin.com and tutorsglobe.com); answers computed from Groover's formulas.
func TestOperatingPointUS(t *testing.T) {
	s := Screw{Diameter: 4.5, Depth: 0.35, Angle: 20 * degree, Length: 132, Speed: 1}
	die := RoundDie{Diameter: 0.312, Length: 0.75}
	const viscosity = 125e-4 // lb·s/in²
	near(t, "drag flow", s.DragFlow(), 11.2409, 1e-5, "in³/s")
	near(t, "greatest pressure", s.MaxPressure(viscosity), 3139.03, 1e-5, "lb/in²")
	near(t, "die", die.Conductance(viscosity), 0.0248077, 1e-5, "in⁵/(lb·s)")
	at := s.Meet(die, viscosity)
	near(t, "operating pressure", at.Pressure, 395.96, 1e-4, "lb/in²")
	near(t, "operating flow", at.Flow, 9.8229, 1e-4, "in³/s")
}

// A textbook problem in SI units (stated on qammunity.org/7315225); answers computed from Groover's formulas.
func TestOperatingPointSI(t *testing.T) {
	s := Screw{Diameter: 0.120, Depth: 0.0065, Angle: 17 * degree, Length: 2.8, Speed: 1}
	die := RoundDie{Diameter: 0.0035, Length: 0.0125}
	near(t, "drag flow", s.DragFlow(), 1.29145e-4, 1e-5, "m³/s")
	near(t, "greatest pressure", s.MaxPressure(200), 98.063e6, 1e-5, "Pa")
	near(t, "die", die.Conductance(200), 1.47324e-12, 1e-5, "m³/(Pa·s)")
	at := s.Meet(die, 200)
	near(t, "operating pressure", at.Pressure, 46.285e6, 2e-5, "Pa")
	near(t, "operating flow", at.Flow, 6.8189e-5, 2e-5, "m³/s")
}

// A public formula sheet after Tadmor & Gogos, Principles of Polymer Processing, 2nd ed., pp. 360–375: printed 28.2 cm³/s and
// 77.1 kg/h, with a slip in rounding, so to 1 %.
func TestDragMass(t *testing.T) {
	s := Screw{Diameter: 0.065, Depth: 0.0035, Angle: 17.65 * degree, Speed: 80.0 / 60}
	near(t, "drag flow", s.DragFlow()*1e6, 28.2, 0.01, "cm³/s")
	near(t, "drag mass", float64(s.DragMass(760)), 77.1, 0.01, "kg/h")
}

// The rule 2.3 D² h ρ N, from memory, against the square-pitch drag flow of the formula, 3.0917 D² h ρ N in lb/h.
func TestRuleOfThumb(t *testing.T) {
	s := Screw{Diameter: 2.5 * quantity.MetrePerInch, Depth: 0.125 * quantity.MetrePerInch, Angle: math.Atan(1 / math.Pi), Speed: 100.0 / 60}
	rule := s.RuleOfThumb(970)
	near(t, "rule of thumb", float64(rule)/quantity.KgPerPound, 174.30, 1e-4, "lb/h")
	near(t, "rule of thumb", float64(rule), 79.06, 1e-4, "kg/h")
	near(t, "share of drag flow", float64(rule)/float64(s.DragMass(970)), 2.3/3.0917, 1e-4, "")
}

// Spencer & Gilmore, Equation of State for Polystyrene, 1949, evaluated at no pressure.
func TestMeltDensity(t *testing.T) {
	for _, c := range []struct{ celsius, want float64 }{{180, 983.6}, {200, 975.34}, {220, 967.2}, {230, 963.2}} {
		near(t, "melt density", float64(MeltDensity(c.celsius)), c.want, 1e-4, "kg/m³")
	}
	near(t, "melt per solid volume at 200 °C", float64(SolidDensity)/float64(MeltDensity(200)), 1.0766, 1e-4, "")
}

// ⅔ D^2.7 from a public repository on screw melting theory (malteschoen/theoryOfScrewMelting).
func TestPlausibleMelt(t *testing.T) {
	for _, c := range []struct{ mm, want float64 }{{45, 38.7}, {65, 104.4}, {90, 251.4}, {120, 546.6}} {
		typical, _ := PlausibleMelt(c.mm)
		near(t, "typical output", float64(typical), c.want, 1e-3, "kg/h")
	}
	for mm := 15.0; mm < 400; mm++ {
		if typical, ceiling := PlausibleMelt(mm); !(typical < ceiling) {
			t.Errorf("%v mm: typical %v kg/h is not below the ceiling %v kg/h", mm, typical, ceiling)
		}
	}
	if typical, ceiling := PlausibleMelt(0); typical != 0 || ceiling != 0 {
		t.Errorf("unknown screw gives %v and %v kg/h, want 0", typical, ceiling)
	}
}

// At least half an hour up to 90 mm and an hour and a half at 150 mm: a start-up and shut-down guide (slideshare 34998834).
func TestHeatSoak(t *testing.T) {
	for _, c := range []struct {
		mm   float64
		want quantity.Hours
	}{{65, 0.5}, {90, 0.5}, {120, 1}, {150, 1.5}, {200, 1.5}} {
		if got := HeatSoak(c.mm); got != c.want {
			t.Errorf("heat soak at %v mm: %v h, want %v h", c.mm, float64(got), float64(c.want))
		}
	}
}

// Ten inches take 50 to 60 minutes: Extrusion Trials, Extruder, vol. 19 no. 3, 1992.
func TestSettlingTime(t *testing.T) {
	if got := float64(SettlingTime(254)) * 60; got < 50 || got > 60+1e-9 {
		t.Errorf("ten-inch screw settles in %v min, want 50 to 60 min", got)
	}
}
