package lines

import (
	"math"

	"feedline/inventory/quantity"
)

const minutesPerHour = 60

// Limit names what bounds a line's rate.
type Limit string

// The limits.
const (
	MeltLimit    Limit = "melt"     // the extruder gives no more kg/h
	HaulOffLimit Limit = "haul-off" // the haul-off runs no faster
)

// RateResult is what a line makes of a profile. All zero if the fit makes nothing: no limit entered, or
// a profile mass, availability or quality of 0.
type RateResult struct {
	GoodMetresPerHour   float64                // per crewed hour; availability and quality are in it
	PelletsPerGoodMetre quantity.LinearDensity // kg of pellets a good metre, scrap included
	ScrapPerGoodMetre   quantity.LinearDensity // kg of scrap a good metre
	Binds               Limit
}

// Rate is the good metres that a line makes of a profile in a crewed hour:
//
//	min(melt kg/h ÷ kg/m, haul-off m/min × 60 × strands) × availability × quality
//
// A limit of 0 is not known and does not bind; 0 strands count as one. Pellets a good metre are kg/m ÷ quality and
// scrap is the difference to kg/m, so that metres × pellets = good kilograms + scrap. Of equal limits melt is named.
func Rate(p Profile, f Fit) RateResult {
	metres, binds := grossMetres(p, f)
	if metres <= 0 || f.Availability <= 0 || f.Quality <= 0 {
		return RateResult{}
	}
	pellets := float64(p.PerMetre) / float64(f.Quality)
	return RateResult{
		GoodMetresPerHour:   metres * float64(f.Availability) * float64(f.Quality),
		PelletsPerGoodMetre: quantity.LinearDensity(pellets),
		ScrapPerGoodMetre:   quantity.LinearDensity(pellets - float64(p.PerMetre)),
		Binds:               binds,
	}
}

// grossMetres is the metres, good or not, an hour of running, 0 if nothing bounds them.
func grossMetres(p Profile, f Fit) (float64, Limit) {
	if p.PerMetre <= 0 {
		return 0, ""
	}
	melt, haul := math.Inf(1), math.Inf(1)
	if f.Melt > 0 {
		melt = float64(f.Melt) / float64(p.PerMetre)
	}
	if f.HaulOff > 0 {
		haul = float64(f.HaulOff) * minutesPerHour * float64(max(1, f.Strands))
	}
	switch {
	case math.IsInf(melt, 1) && math.IsInf(haul, 1):
		return 0, ""
	case melt <= haul:
		return melt, MeltLimit
	}
	return haul, HaulOffLimit
}

// MetresPerDay is the good metres of a day with the given crewed hours.
func (r RateResult) MetresPerDay(h quantity.Hours) quantity.Length {
	return quantity.Length(r.GoodMetresPerHour * float64(h))
}

// PelletsPerHour is the pellets used up in a crewed hour.
func (r RateResult) PelletsPerHour() quantity.MassRate {
	return quantity.MassRate(r.GoodMetresPerHour * float64(r.PelletsPerGoodMetre))
}
