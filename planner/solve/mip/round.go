package mip

import "math"

// roundByLocks rounds the fractional columns of x towards the side that no row minds. False if some column has no
// such side. The result still needs its continuous columns solved for.
func (p *problem) roundByLocks(x []float64, fractional []int32) ([]float64, bool) {
	for _, j := range fractional {
		if p.downLocks[j] > 0 && p.upLocks[j] > 0 {
			return nil, false
		}
	}
	y := append([]float64(nil), x...)
	for _, j := range fractional {
		if p.downLocks[j] == 0 {
			y[j] = math.Floor(x[j])
		} else {
			y[j] = math.Ceil(x[j])
		}
	}
	return y, true
}

// fixAndPropagate fixes whole-number columns one by one near x, propagating after each and trying the other side
// of x when that fails. The box of d is left as it was. False when both sides fail somewhere.
func fixAndPropagate(d *domain, x []float64, order []int32) ([]float64, bool) {
	mark := len(d.trail)
	defer d.back(mark)
	for _, j := range order {
		if d.lower[j] == d.upper[j] {
			continue
		}
		v := math.Max(d.lower[j], math.Min(d.upper[j], math.Round(x[j])))
		here := len(d.trail)
		if d.fix(j, v) && d.propagate() {
			continue
		}
		d.back(here)
		other := math.Ceil(x[j])
		if other == v {
			other = v - 1
		}
		if other < d.lower[j] || other > d.upper[j] || !d.fix(j, other) || !d.propagate() {
			return nil, false
		}
	}
	y := append([]float64(nil), x...)
	for _, j := range order {
		y[j] = d.lower[j]
	}
	return y, true
}
