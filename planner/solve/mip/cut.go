package mip

import (
	"math"
	"slices"
)

// Numbers that a cut must respect to be let into the relaxation.
const (
	minEfficacy      = 1e-4 // least distance from the point cut off, in the cut's own norm
	maxDynamism      = 1e6  // greatest ratio of two coefficients
	tinyCoef         = 1e-7 // coefficients below this share of the greatest are relaxed away
	maxParallelism   = 0.7  // cosine above which the less effective of two cuts waits
	closeParallelism = 0.95 // likewise when few cuts were picked
	fewCuts          = 30
	cutMargin        = 1e-9 // the right-hand side is loosened by this, relative to its terms, for rounding
	maxCutShare      = 0.4  // densest cut, as a share of the columns, beside maxCutLength
	maxCutLength     = 500
	maxCutMagnitude  = 1e9
)

// cut is a valid inequality Σ coefs·x ≤ rhs for every solution of the problem (not only in a subtree).
type cut struct {
	vars     []int32 // ascending
	coefs    []float64
	rhs      float64
	norm     float64
	efficacy float64 // distance from the point it was made for
	age      int     // rounds in a row that it was slack
	source   string
}

// violation is Σ coefs·x − rhs.
func (c *cut) violation(x []float64) float64 {
	v := -c.rhs
	for k, j := range c.vars {
		v += c.coefs[k] * x[j]
	}
	return v
}

// cosine is the parallelism of two cuts.
func cosine(a, b *cut) float64 {
	dot := 0.0
	for i, k := 0, 0; i < len(a.vars) && k < len(b.vars); {
		switch {
		case a.vars[i] < b.vars[k]:
			i++
		case a.vars[i] > b.vars[k]:
			k++
		default:
			dot += a.coefs[i] * b.coefs[k]
			i, k = i+1, k+1
		}
	}
	return dot / (a.norm * b.norm)
}

// sparseRow gathers coefficients densely with the list of columns touched.
type sparseRow struct {
	coef []float64
	mark []bool
	list []int32
}

func newSparseRow(n int) *sparseRow {
	return &sparseRow{coef: make([]float64, n), mark: make([]bool, n)}
}

func (s *sparseRow) add(j int32, v float64) {
	if !s.mark[j] {
		s.mark[j] = true
		s.list = append(s.list, j)
	}
	s.coef[j] += v
}

func (s *sparseRow) clear() {
	for _, j := range s.list {
		s.coef[j], s.mark[j] = 0, false
	}
	s.list = s.list[:0]
}

// finish turns Σ s·x ≤ rhs into a cut fit for the relaxation, or returns nil. Coefficients that are small beside
// the greatest leave by the bounds lower, upper, which must hold for every solution; what remains must keep its
// numbers close together, be short enough and cut off x by a distance worth having.
func finish(s *sparseRow, rhs float64, lower, upper, x []float64, source string) *cut {
	slices.Sort(s.list)
	largest := 0.0
	for _, j := range s.list {
		largest = math.Max(largest, math.Abs(s.coef[j]))
	}
	if largest == 0 || largest > maxCutMagnitude || math.IsNaN(rhs) || math.IsInf(rhs, 0) {
		return nil
	}
	c := &cut{rhs: rhs, source: source}
	size := math.Abs(rhs)
	smallest, square, lhs := inf, 0.0, 0.0
	for _, j := range s.list {
		a := s.coef[j]
		if math.Abs(a) < tinyCoef*largest {
			end := lower[j]
			if a < 0 {
				end = upper[j]
			}
			if a == 0 {
				continue
			}
			if math.IsInf(end, 0) {
				return nil
			}
			c.rhs -= a * end
			size += math.Abs(a * end)
			continue
		}
		c.vars = append(c.vars, j)
		c.coefs = append(c.coefs, a)
		smallest = math.Min(smallest, math.Abs(a))
		square += a * a
		lhs += a * x[j]
	}
	if len(c.vars) == 0 || largest > maxDynamism*smallest || (len(c.vars) > maxCutLength && float64(len(c.vars)) > maxCutShare*float64(len(x))) {
		return nil
	}
	c.rhs += cutMargin * math.Max(largest, math.Min(size, 1e3*largest))
	c.norm = math.Sqrt(square)
	c.efficacy = (lhs - c.rhs) / c.norm
	if c.efficacy < minEfficacy {
		return nil
	}
	return c.scaled(largest)
}

// scaled divides by a power of two near the largest coefficient, which rounds nothing.
func (c *cut) scaled(largest float64) *cut {
	_, e := math.Frexp(largest)
	f := math.Ldexp(1, 1-e)
	for k := range c.coefs {
		c.coefs[k] *= f
	}
	c.rhs *= f
	c.norm *= f
	return c
}

// selectCuts picks up to limit cuts, the most effective first, none nearly parallel to one already picked. When that leaves
// few, nearly parallel ones follow.
func selectCuts(pool []*cut, limit int) []*cut {
	slices.SortStableFunc(pool, func(a, b *cut) int {
		switch sa, sb := a.score(), b.score(); {
		case sa > sb:
			return -1
		case sa < sb:
			return 1
		}
		return 0
	})
	var picked []*cut
	for _, most := range [2]float64{maxParallelism, closeParallelism} {
		if most == closeParallelism {
			limit = min(limit, max(len(picked), fewCuts))
		}
		for _, c := range pool {
			if len(picked) >= limit {
				break
			}
			if !slices.ContainsFunc(picked, func(o *cut) bool { return cosine(c, o) > most }) {
				picked = append(picked, c)
			}
		}
	}
	return picked
}

// score prefers effective cuts, and short ones among equals.
func (c *cut) score() float64 { return c.efficacy * (1 + 0.1/float64(len(c.vars))) }
