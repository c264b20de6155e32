package lines

import (
	"math"

	"feedline/inventory/quantity"
)

// Screw is the metering section of a single-screw extruder. Lengths in metres, angles in radians;
// any one coherent set of units will do, since the formulas hold in each.
type Screw struct {
	Diameter float64 // D
	Depth    float64 // channel depth d_c
	Angle    float64 // flight angle A; a square pitch has atan(1/π) = 17.66°
	Length   float64 // L of the section
	Speed    float64 // N in revolutions per second, not radians
}

// RoundDie is a die with one round orifice.
type RoundDie struct{ Diameter, Length float64 }

// Operating is where a screw and a die meet: pressure before the die and volume flow.
type Operating struct{ Pressure, Flow float64 }

// DragFlow is the volume the screw would convey against no pressure, Q_d = ½ π² D² N d_c sin A cos A, volume per second.
// This and the next four: Groover, Fundamentals of Modern Manufacturing, ch. 13, eq. 13.4 and following;
// Crawford, Plastics Engineering, p. 259.
func (s Screw) DragFlow() float64 {
	return math.Pi * math.Pi / 2 * s.Diameter * s.Diameter * s.Speed * s.Depth * math.Sin(s.Angle) * math.Cos(s.Angle)
}

// BackFlow is the volume that a pressure p drives back along the channel, Q_b = π p D d_c³ sin² A ÷ (12 η L),
// with the melt's viscosity η.
func (s Screw) BackFlow(p, viscosity float64) float64 {
	sin := math.Sin(s.Angle)
	return math.Pi * p * s.Diameter * s.Depth * s.Depth * s.Depth * sin * sin / (12 * viscosity * s.Length)
}

// MaxPressure is the pressure at which back flow takes all of the drag flow, p = 6 π D N L η cot A ÷ d_c².
func (s Screw) MaxPressure(viscosity float64) float64 {
	return 6 * math.Pi * s.Diameter * s.Speed * s.Length * viscosity / (math.Tan(s.Angle) * s.Depth * s.Depth)
}

// Conductance is the flow through the die per pressure, K = π D⁴ ÷ (128 η L).
func (d RoundDie) Conductance(viscosity float64) float64 {
	return math.Pi * math.Pow(d.Diameter, 4) / (128 * viscosity * d.Length)
}

// Meet is where the screw's characteristic, Q_d − Q_d p ÷ p_max, and the die's, K p, cross.
func (s Screw) Meet(d RoundDie, viscosity float64) Operating {
	k := d.Conductance(viscosity)
	drag, pmax := s.DragFlow(), s.MaxPressure(viscosity)
	p := drag / (k + drag/pmax)
	return Operating{Pressure: p, Flow: k * p}
}

// massRate is the kilograms an hour of a volume flow in cubic metres per second of melt.
func massRate(flow float64, melt quantity.Density) quantity.MassRate {
	const secondsPerHour = 3600
	return quantity.MassRate(flow * float64(melt) * secondsPerHour)
}

// DragMass is the drag flow in kg/h of melt at the given density; s in metres and seconds.
func (s Screw) DragMass(melt quantity.Density) quantity.MassRate { return massRate(s.DragFlow(), melt) }

// MeltDensity is the density of molten polystyrene at no pressure:
// (p + 27 000)(V − 0.822) = 11.6 T with p in psi, V in cm³/g, T in kelvin, at p = 0.
// Spencer & Gilmore, Equation of State for Polystyrene, 1949. Good for melts; below about 100 °C it is an extrapolation.
func MeltDensity(celsius float64) quantity.Density {
	volume := 0.822 + 11.6*(celsius+273.15)/27000
	return quantity.Density(1000 / volume)
}

// SolidDensity is the recommended reference density of solid polystyrene: Ho, Desai, Wu, Havill & Lee,
// Thermophysical Properties of Polystyrene and Poly(vinyl chloride), NBS GCR 77-83, 1977.
const SolidDensity quantity.Density = 1050

// RuleOfThumb is the usual output of a screw run to the rule 2.3 D² h ρ N in lb/h: diameter and channel depth in
// inches, melt density in g/cm³, N in revolutions a minute. It is about 74 % of a square-pitch screw's drag flow. From memory: a rule of the trade.
func (s Screw) RuleOfThumb(melt quantity.Density) quantity.MassRate {
	const coefficient = 2.3
	d, h := s.Diameter/quantity.MetrePerInch, s.Depth/quantity.MetrePerInch
	return quantity.MassRate(coefficient * d * d * h * float64(melt) / 1000 * s.Speed * 60 * quantity.KgPerPound)
}

// The screw whose whole drag flow is the ceiling on an entered melt rate. Handbook geometry: feed depth 0.15–0.20 D and a depth
// ratio of 2–4, so at most 0.10 D in the metering section; the speed is common practice, no published source.
const (
	ceilingDepth   = 0.10 // screw diameters
	ceilingRPM     = 150
	ceilingCelsius = 200 // of the melt
)

// PlausibleMelt is what a single-screw extruder of the given diameter gives as a rule, ⅔ D^2.7 kg/h with D in
// centimetres, and the ceiling above which an entered rate is most likely mistaken: the drag flow of
// a deep screw with a square pitch turned fast, of which a real one gives 70–80 %. Both are 0 for a diameter
// that is not known (0).
func PlausibleMelt(screwMM float64) (typical, ceiling quantity.MassRate) {
	if screwMM <= 0 {
		return 0, 0
	}
	d := screwMM / 1000
	deep := Screw{Diameter: d, Depth: ceilingDepth * d, Angle: math.Atan(1 / math.Pi), Speed: ceilingRPM / 60.0}
	return quantity.MassRate(2.0 / 3 * math.Pow(screwMM/10, 2.7)), deep.DragMass(MeltDensity(ceilingCelsius))
}

// HeatSoak is the least time to wait after the heating zones reach their set-points before the screw is turned: half an hour up to
// 90 mm, an hour and a half at 150 mm and more, in between in proportion. Start the screw slowly, with nobody before the die.
// Source: a start-up and shut-down guide for extruders (see the reference's section 3.3).
func HeatSoak(screwMM float64) quantity.Hours {
	const small, large = 90, 150 // mm
	switch {
	case screwMM <= small:
		return 0.5
	case screwMM >= large:
		return 1.5
	}
	return quantity.Hours(0.5 + (screwMM-small)/(large-small))
}

// SettlingTime is how long a line takes to come to thermal equilibrium after any change: five to six minutes per inch of screw
// diameter, here six. Extrusion Trials, Extruder, vol. 19 no. 3, 1992.
func SettlingTime(screwMM float64) quantity.Hours {
	const minutesPerInch = 6
	return quantity.Hours(screwMM / 1000 / quantity.MetrePerInch * minutesPerInch / minutesPerHour)
}

// MassRateOf is the kilograms an hour of a profile that runs off at a speed: kg/h = 60 · m/min · strands · kg/m.
func MassRateOf(perMetre quantity.LinearDensity, speed quantity.Speed, strands int) quantity.MassRate {
	return quantity.MassRate(minutesPerHour * float64(speed) * float64(strands) * float64(perMetre))
}
