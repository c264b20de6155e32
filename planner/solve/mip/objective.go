package mip

import "math"

// objectiveGrid finds a step such that every solution's objective lies on gridAt + step·ℤ: all columns with
// a cost are whole numbers and their costs are multiples of the step. Step 0 means that none was proven.
//
// The proof is on the decimals as typed: costs are read as multiples of 10^-k for the smallest k ≤ 6 that
// makes all of them whole within one part in 10^12, and the step is their greatest common divisor.
func objectiveGrid(p *problem) (step, at float64) {
	costs := make([]float64, 0, p.n)
	at = p.work.Offset
	for j, c := range p.cost {
		switch {
		case c == 0:
		case p.lower[j] == p.upper[j]:
			at += c * p.lower[j]
		case !p.integer[j]:
			return 0, 0
		default:
			costs = append(costs, math.Abs(c))
		}
	}
	if len(costs) == 0 {
		return 0, 0
	}
	return commonStep(costs), at
}

// commonStep is the greatest common divisor of the decimals a (all positive), 0 if there is none above 1e-6.
func commonStep(a []float64) float64 {
	for scale := 1.0; scale <= 1e6; scale *= 10 {
		g, ok := int64(0), true
		for _, v := range a {
			w := math.Round(v * scale)
			if w < 1 || w > 1e12 || math.Abs(v*scale-w) > 1e-12*math.Max(1, w) {
				ok = false
				break
			}
			g = gcd(g, int64(w))
		}
		if ok && g > 0 {
			return float64(g) / scale
		}
	}
	return 0
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// lift raises a proven bound to the next point of the objective's grid.
func (p *problem) lift(bound float64) float64 {
	if p.step == 0 || math.IsInf(bound, 0) {
		return bound
	}
	k := math.Ceil((bound-p.gridAt)/p.step - 1e-6)
	return math.Max(bound, p.gridAt+k*p.step)
}

// cutoff is the value a node's bound must stay below to be worth exploring, given the objective held.
func (p *problem) cutoff(best float64) float64 {
	if math.IsInf(best, 1) {
		return inf
	}
	if p.step > 0 {
		// A better solution is better by a whole step; half of it leaves room for rounding.
		return best - p.step/2
	}
	return best - pruneTol*math.Max(1, math.Abs(best))
}
