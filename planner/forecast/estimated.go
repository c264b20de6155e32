package forecast

import (
	"math"

	"feedline/planner"
)

// Kinds of planner/estimates that say how sure a figure over the horizon is.
const (
	kindYield        = "yield"        // A a step, B a material
	kindAvailability = "availability" // A a line, B a profile
	kindRate         = "rate"         // likewise
	kindQuality      = "quality"      // likewise
)

// estimated sets the spread of each material's yield and each line's uptime over the horizon: what the plan's estimates say of them, else the
// usual. A material's steps count as independent, so that squares add up, and so do a profile's availability, rate and quality: a share less of any
// is that share less of good metres an hour, and drawn as uptime. A line's is the mean of its profiles', as they share its troubles.
func (pl *plant) estimated(list []planner.Estimate) {
	type fit struct{ line, profile string }
	steps, fits := map[string]float64{}, map[fit]float64{}
	for _, e := range list {
		sd, ok := relative(e)
		switch {
		case !ok:
		case e.Kind == kindYield:
			steps[e.B] += sd * sd
		case e.Kind == kindAvailability || e.Kind == kindRate || e.Kind == kindQuality:
			fits[fit{e.A, e.B}] += sd * sd
		}
	}
	sum, profiles := map[string]float64{}, map[string]float64{}
	for _, p := range pl.in.Profiles {
		for _, l := range pl.in.Lines {
			if v, ok := fits[fit{l.Code, p.Code}]; ok {
				sum[l.Code] += math.Sqrt(v)
				profiles[l.Code]++
			}
		}
	}
	for _, m := range pl.in.Materials {
		sd := pl.spread.Yield
		if v, ok := steps[m.Code]; ok {
			sd = math.Sqrt(v)
			pl.known++
		}
		pl.yield = append(pl.yield, sd)
	}
	for _, l := range pl.in.Lines {
		sd := pl.spread.Uptime
		if n := profiles[l.Code]; n > 0 {
			sd = sum[l.Code] / n
			pl.known++
		}
		pl.uptime = append(pl.uptime, sd)
	}
}

// normal95 is the half width of a 95 % interval in standard deviations.
const normal95 = 1.959964

// relative is the standard deviation of an estimate that the plan was made with, as a share of it, from the wider side of its 95 % interval:
// the other may be cut at what is possible.
func relative(e planner.Estimate) (float64, bool) {
	half := max(e.High-e.Value, e.Value-e.Low)
	if !e.Used || e.Value <= 0 || !(half > 0) {
		return 0, false
	}
	return half / normal95 / e.Value, true
}
