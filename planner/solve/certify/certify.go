// Package certify checks what a solver claims against the original model, with nothing of the solver's own.
//
// Check measures: how far a point violates rows, bounds and wholeness, how far the duals and reduced costs are from
// what they must be, and which bound on the optimum follows from the duals. Exact does the same for the point and the
// bound in exact arithmetic, so that its verdict rests on no rounding at all. Neither looks at how an answer was found:
// the bound of a search over whole numbers has no certificate here, and that is said.
//
// # The bound
//
// In a minimisation, any vector y gives a bound on the optimum. With d = c − Aᵀy every feasible x has
//
//	cᵀx = yᵀ(A·x) + dᵀx ≥ Σ_i min{y_i·r : rowLower_i ≤ r ≤ rowUpper_i} + Σ_j min{d_j·x : lower_j ≤ x ≤ upper_j}
//
// which is −∞ as soon as a y_i or d_j of the wrong sign meets an infinite side. A wrong y_i is set to zero, which
// is allowed. A wrong d_j, usually of the size of rounding, is met in two ways: by a limit that the rows imply
// for that column (Neumaier and Shcherbina, Safe bounds in linear and mixed-integer programming, Mathematical
// Programming 99, 2004, from memory), computed with every operation rounded outwards, and failing that by small
// shifts of y. If neither helps there is no bound, and the column is named.
//
// The limits may also use that no better point than one of cost K is of interest: the bound is then the smaller of
// the sum above and K, valid whether or not that point exists. K is a little worse than the point in hand.
//
// A maximisation is negated first and its values negated back. With c = 0 the same sum proves
// infeasibility when it is positive (Farkas).
package certify

import (
	"math"

	"feedline/planner/model"
)

const (
	// Feasibility is the violation of a row or bound, relative to max(1, |side|), up to which a point counts as feasible.
	Feasibility = 1e-6
	// Integrality is the distance from a whole number up to which a value counts as whole.
	Integrality = 1e-5
	// DualFeasibility is the wrong-signed reduced cost or dual, relative to max(1, largest cost), that an optimal answer may have.
	DualFeasibility = 1e-6
	// Agreement is the relative difference up to which two values that ought to be equal are taken as equal.
	Agreement = 1e-6
	// rayNoise is the part of the sum of its terms' magnitudes up to which a ray's row counts as zero.
	rayNoise = 1e-9
)

// sense is −1 for a maximisation, else 1: what turns costs and duals into those of a minimisation.
func sense(m *model.Model) float64 {
	if m.Maximize {
		return -1
	}
	return 1
}

// low and high read bounds with the model's convention on infinite ones.
func low(v float64) float64 {
	if v <= -model.InfiniteFrom {
		return math.Inf(-1)
	}
	return v
}

func high(v float64) float64 {
	if v >= model.InfiniteFrom {
		return math.Inf(1)
	}
	return v
}

// scaled is |a − b| relative to max(1, |a|, |b|).
func scaled(a, b float64) float64 {
	if a == b {
		return 0
	}
	return math.Abs(a-b) / math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// sum adds products with the error of each operation carried along (Ogita, Rump and Oishi, Accurate sum and dot
// product, SIAM Journal on Scientific Computing 26, 2005, from memory): the result is as if computed in twice the precision.
type sum struct{ hi, lo, size float64 }

// add adds a·b; size grows by |a·b|.
func (s *sum) add(a, b float64) {
	p := a * b
	e := math.FMA(a, b, -p)
	t := s.hi + p
	z := t - s.hi
	s.lo += float64((s.hi-(t-z))+(p-z)) + e
	s.hi = t
	s.size += math.Abs(p)
}

func (s *sum) value() float64 { return s.hi + s.lo }

// activity is row r's sum at x.
func activity(m *model.Model, r model.Row, x []float64) sum {
	var s sum
	vars, coefs := m.RowTerms(r)
	for k, j := range vars {
		s.add(coefs[k], x[j])
	}
	return s
}

// reduced are the reduced costs c − Aᵀy of the model as it stands, and the size of their terms.
func reduced(m *model.Model, y []float64) []sum {
	d := make([]sum, m.NumVars())
	for j, c := range m.Cost {
		d[j].add(c, 1)
	}
	for i := range m.RowLower {
		vars, coefs := m.RowTerms(model.Row(i))
		for k, j := range vars {
			d[j].add(-coefs[k], y[i])
		}
	}
	return d
}
