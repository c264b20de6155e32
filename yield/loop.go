package yield

import "feedline/inventory/quantity"

// Loop is own scrap on its way back: ground, pelletized once more and fed again, up to a share of the feed.
type Loop struct {
	Quality  quantity.Share // good ÷ all metres; the rest is scrap
	Recovery quantity.Share // kg of pellets made of a kg of scrap: recovered regrind × the yield of its path
	MaxShare quantity.Share // most regrind in the feed
}

// Share is the share of own regrind in the feed once the loop has settled. Of each kilogram fed,
// (1 − Quality) · Recovery comes back; what exceeds MaxShare is left over.
func (l Loop) Share() quantity.Share {
	return min((1-l.Quality)*l.Recovery, l.MaxShare)
}

// Throughput is the kilograms fed to the lines per kilogram of fresh pellets: 1 + s + s² + … = 1 ÷ (1 − s) with s = Share.
// +Inf if all that is fed comes back.
func (l Loop) Throughput() float64 { return 1 / float64(1-l.Share()) }

// Balance is what becomes of one kilogram received, the loop settled. All in kg per kg received;
// Received = Good + StepLoss + ScrapLoss + Surplus.
type Balance struct {
	Received  quantity.Mass // 1
	StepLoss  quantity.Mass // lost on the way to fresh pellets
	Fresh     quantity.Mass // fresh pellets
	Extruded  quantity.Mass // pellets fed to the lines: Fresh ÷ (1 − share of regrind)
	Scrap     quantity.Mass // of Extruded
	Returned  quantity.Mass // pellets of scrap fed again
	Surplus   quantity.Mass // pellets that scrap would give and the share does not allow
	ScrapLoss quantity.Mass // scrap that gives no pellets
	Good      quantity.Mass // good profile
}

// ToGood follows one kilogram received through the path and the loop. All zero but for the path if the loop's quality is not above 0.
func (p Path) ToGood(l Loop) Balance {
	b := Balance{Received: 1, StepLoss: quantity.Mass(1 - p.Yield), Fresh: quantity.Mass(p.Yield)}
	if !(l.Quality > 0) {
		return b
	}
	b.Extruded = b.Fresh * quantity.Mass(l.Throughput())
	b.Good = b.Extruded * quantity.Mass(l.Quality)
	b.Scrap = b.Extruded - b.Good
	b.Returned = b.Extruded * quantity.Mass(l.Share())
	b.Surplus = max(0, b.Scrap*quantity.Mass(l.Recovery)-b.Returned)
	b.ScrapLoss = b.Scrap * quantity.Mass(1-l.Recovery)
	return b
}

// Metres is the good metres of a profile per kg received; 0 for a profile without mass.
func (b Balance) Metres(perMetre quantity.LinearDensity) quantity.Length {
	if perMetre <= 0 {
		return 0
	}
	return quantity.Length(float64(b.Good) / float64(perMetre))
}

// PerMetre is the kilograms received that a good metre of a profile takes; 0 if nothing good is made.
func (b Balance) PerMetre(perMetre quantity.LinearDensity) quantity.LinearDensity {
	if b.Good <= 0 {
		return 0
	}
	return perMetre * quantity.LinearDensity(b.Received/b.Good)
}
