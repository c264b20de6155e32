package demo

import (
	"math"

	"feedline/inventory"
	"feedline/lines/calendar"
	"feedline/planner"
)

// pathYield is the pellets a kilogram of the material gives, typed by hand from the steps' yields.
var pathYield = map[string]float64{
	"INW": 0.985 * 0.965, "IMW": 0.985 * 0.955, "BLW": 0.985 * 0.935, "VGP": 0.998,
	"INM": 0.985 * 0.965, "RGM": 0.98, "FLH": 0.965, "PLB": 0.998,
}

// firstShort is, by grade, the first week (1 = the first) in which demand has eaten more than committed supply gives.
// Mixed ingot and HIPS flake go to grey; black has its own pellet.
func firstShort(in *planner.Input) map[string]int {
	gradeOf := map[string]string{"INW": white, "IMW": white, "BLW": white, "VGP": white, "INM": grey, "RGM": grey, "FLH": grey, "PLB": black}
	short := map[string]int{}
	for _, g := range []string{white, grey, black} {
		have := opening(in, g, gradeOf)
		short[g] = 26
		for w := range 26 {
			have += arriving(in, g, gradeOf, w) - weeklyPellets(g, w)
			if have < 0 {
				short[g] = w + 1
				break
			}
		}
	}
	return short
}

// opening is the pellets that the plant's stock can give: silo, regrind (pelletized at 0.965), free lots and what the
// rack saves beyond its target.
func opening(in *planner.Input, grade string, gradeOf map[string]string) float64 {
	kg := 0.0
	for _, s := range in.Stock {
		switch {
		case s.Code == grade && s.Kind == inventory.PelletStock:
			kg += float64(s.Mass)
		case s.Code == grade && s.Kind == inventory.RegrindStock:
			kg += 0.965 * float64(s.Mass)
		}
	}
	for _, l := range in.Lots {
		if !l.Hold && gradeOf[l.Material] == grade {
			kg += pathYield[l.Material] * float64(l.Mass)
		}
	}
	for _, p := range products {
		if p.grade == grade {
			kg += (p.stock - 0.25*p.weekly) * netPellets(p)
		}
	}
	return kg
}

// arriving is the pellets that the deliveries planned for the week give.
func arriving(in *planner.Input, grade string, gradeOf map[string]string, week int) float64 {
	kg := 0.0
	for _, d := range in.Deliveries {
		day := d.ETA + calendar.Day(math.Ceil(0.8416*d.Spread))
		if gradeOf[d.Material] == grade && on(monday, week, 0) <= day && day < on(monday, week+1, 0) {
			kg += pathYield[d.Material] * float64(d.Mass)
		}
	}
	return kg
}

// weeklyPellets is what a week's demand takes.
func weeklyPellets(grade string, week int) float64 {
	kg := 0.0
	for _, p := range products {
		if p.grade == grade {
			kg += weeklyMetres(p, week) * netPellets(p)
		}
	}
	return kg
}

// netPellets is the pellets a good metre takes, less what its scrap gives back as regrind (0.92) pelletized (0.965).
func netPellets(p product) float64 {
	for _, f := range families {
		if f.code == p.family {
			scrap := p.perMetre/f.quality - p.perMetre
			return p.perMetre + scrap - 0.92*0.965*scrap
		}
	}
	panic("demo: product of no family")
}
