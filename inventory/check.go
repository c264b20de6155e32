package inventory

import (
	"fmt"
	"math"
	"strings"

	"feedline/inventory/quantity"
)

var inf = math.Inf(1)

// usual is bounds outside of which a value is doubtful.
type usual struct{ low, high float64 }

// bulkDensity is the usual density in the yard in kg/m³, by form. Sources: makers' and recyclers' figures for
// cold-pressed (300–400) and hot-melt (600–700, at most solid) foam; pellets and regrind from memory, no published source.
var bulkDensity = map[Form]usual{
	Ingot: {450, 1050}, Block: {150, 500}, Flake: {150, 650}, Pellet: {450, 700}, Virgin: {450, 700}, Regrind: {150, 650},
}

const (
	usualMoisture      = 0.05 // moisture and volatiles of incoming material
	usualContamination = 0.10 // foreign matter; assumed sorting yields are 0.90 to 0.99
	usualMFRLow        = 1    // g/10 min; published ranges of GPPS and HIPS are 1 to 20
	usualMFRHigh       = 20
	usualRegrind       = 0.30 // of the feed; 20 to 25 % is typical without harm, some makers allow 30 %
)

// Check says what is wrong or doubtful about a material by itself.
func (m Material) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", m.Code)
	c.OneOf("Form", string(m.Form), string(Ingot), string(Block), string(Flake), string(Pellet), string(Virgin), string(Regrind))
	c.OneOf("Source", string(m.Source), string(PostConsumer), string(PreConsumer), string(VirginSource), string(InHouse))
	c.OneOf("Polymer", m.Polymer, "GPPS", "HIPS", "EPS")
	c.NotNegative("MFR", m.MFR, "g/10 min")
	if m.MFR > 0 {
		c.Usual("MFR", m.MFR, usualMFRLow, usualMFRHigh, "g/10 min", "is it at 200 °C and 5 kg?")
	}
	c.Fraction("Moisture", m.Moisture)
	c.Usual("Moisture", float64(m.Moisture), 0, usualMoisture, "", "write 2 % as 0.02")
	c.Fraction("Contamination", m.Contamination)
	c.Usual("Contamination", float64(m.Contamination), 0, usualContamination, "", "write 2 % as 0.02")
	if m.Moisture <= 1 && m.Contamination <= 1 && m.Moisture+m.Contamination > 1 {
		c.Add(quantity.Problem{Field: "Contamination", Value: fmt.Sprintf("%g", float64(m.Contamination)), Allowed: "with moisture no more than 1"})
	}
	c.NotNegative("Price", float64(m.Price), "a kg")
	m.checkDensity(&c)
	if m.Form == Virgin && m.Source.Counts() {
		c.Add(quantity.Problem{Field: "Source", Value: string(m.Source), Allowed: string(VirginSource) + ", for virgin pellets"})
	}
	return c.Problems()
}

// checkDensity refuses what is denser than polystyrene can be, and warns of what is unusual for the form.
func (m Material) checkDensity(c *quantity.Checks) {
	c.Within("BulkDensity", float64(m.BulkDensity), 0, quantity.MaxDensity, "kg/m³")
	if u, ok := bulkDensity[m.Form]; ok && m.BulkDensity > 0 {
		c.Usual("BulkDensity", float64(m.BulkDensity), u.low, u.high, "kg/m³", "it is the density in the yard, air included")
	}
}

// Check says what is wrong or doubtful about a grade by itself.
func (g Grade) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", g.Code)
	c.NotNegative("Silo", float64(g.Silo), "kg")
	c.NotNegative("MFRMin", g.MFRMin, "g/10 min")
	c.NotNegative("MFRMax", g.MFRMax, "g/10 min")
	if g.MFRMax > 0 && g.MFRMin > g.MFRMax {
		c.Add(quantity.Problem{Field: "MFRMin", Value: fmt.Sprintf("%g g/10 min", g.MFRMin), Allowed: fmt.Sprintf("up to MFRMax, %g g/10 min", g.MFRMax)})
	}
	c.Fraction("MinRecycled", g.MinRecycled)
	c.Fraction("MaxRegrind", g.MaxRegrind)
	c.Usual("MaxRegrind", float64(g.MaxRegrind), 0, usualRegrind, "", "regrind weakens with every pass")
	c.Fraction("MaxHIPS", g.MaxHIPS)
	c.NotNegative("StockTarget", float64(g.StockTarget), "kg")
	if g.Silo > 0 {
		c.Usual("StockTarget", float64(g.StockTarget), 0, float64(g.Silo), "kg", "the silo holds no more")
	}
	return c.Problems()
}

// Check says what is wrong about an ingredient by itself.
func (i Ingredient) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Grade", i.Grade)
	c.Named("Material", i.Material)
	c.Fraction("MinShare", i.MinShare)
	c.Fraction("MaxShare", i.MaxShare)
	if i.MaxShare != 0 && i.MinShare > i.MaxShare {
		c.Add(quantity.Problem{Field: "MinShare", Value: fmt.Sprintf("%g", float64(i.MinShare)), Allowed: fmt.Sprintf("up to MaxShare, %g", float64(i.MaxShare))})
	}
	return c.Problems()
}

// Check says what is wrong or doubtful about a lot by itself.
func (l Lot) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", l.Code)
	c.Named("Material", l.Material)
	c.NotNegative("Mass", float64(l.Mass), "kg")
	if l.Hold && strings.TrimSpace(l.Reason) == "" {
		c.Add(quantity.Problem{Field: "Reason", Value: `""`, Allowed: "why the lot is on hold", Remedy: "whoever frees it needs to know", Warning: true})
	}
	return c.Problems()
}

// Check says what is wrong about a supplier by itself.
func (s Supplier) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", s.Code)
	return c.Problems()
}

// Check says what is wrong or doubtful about a lane by itself, its lead time and its load in the mode's equipment included.
func (l Lane) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", l.Code)
	c.Named("Material", l.Material)
	if e, ok := EquipmentOf(l.Mode); ok {
		for _, p := range e.CheckLoad("Load", l.Load, 0, 0) {
			c.Add(p)
		}
	} else {
		c.OneOf("Mode", string(l.Mode), string(Van), string(Trailer), string(Container), string(Container20), string(Bulk))
		c.Positive("Load", float64(l.Load), "kg")
	}
	c.NotNegative("MinLoads", float64(l.MinLoads), "loads")
	c.NotNegative("LoadsAWeek", l.LoadsAWeek, "loads a week")
	c.NotNegative("Price", float64(l.Price), "a kg")
	c.NotNegative("Freight", float64(l.Freight), "a load")
	c.NotNegative("Rate", l.Rate, "")
	if n := len(l.Currency); n != 0 && (n != 3 || strings.ToUpper(l.Currency) != l.Currency) {
		c.Add(quantity.Problem{Field: "Currency", Value: l.Currency, Allowed: "three capital letters of ISO 4217 such as EUR"})
	}
	if (l.From != 0 || l.To != 0) && l.To <= l.From {
		c.Add(quantity.Problem{Field: "To", Value: l.To.String(), Allowed: "after " + l.From.String(), Remedy: "it is the first day without orders; leave both empty for always"})
	}
	for _, p := range l.LeadTime.Check() {
		c.Add(p)
	}
	return c.Problems()
}

// Check says what is wrong about a stock row by itself: an unknown kind, a negative amount, metres of pellets or kilograms of profile.
func (s Stock) Check() []quantity.Problem {
	var c quantity.Checks
	c.OneOf("Kind", string(s.Kind), string(PelletStock), string(RegrindStock), string(ProfileStock))
	c.Named("Code", s.Code)
	mass, length := inf, 0.0
	if s.Kind == ProfileStock {
		mass, length = 0, inf
	}
	c.Within("Mass", float64(s.Mass), 0, mass, "kg")
	c.Within("Length", float64(s.Length), 0, length, "m")
	return c.Problems()
}
