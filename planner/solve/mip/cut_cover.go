package mip

import (
	"math"
	"slices"
)

// Lifted covers of a knapsack row Σ a·z ≤ b over 0-1 columns (complemented so that a > 0): a set C with Σ_C a > b can
// not be all ones, Σ_C z ≤ |C| − 1, and every other column j joins with the coefficient |C| − 1 − (the most of the
// inequality so far that fits into b − a_j), found by a table of least weights per value (Zemel 1989, "Easily
// computable facets of the knapsack polytope").

// coverScratch are the lists that coverCut works with.
type coverScratch struct {
	items, cover []int
	weight       []float64
	lift         []float64
}

// coverCut makes a lifted cover of the substituted combination, if all its whole-number columns are 0-1.
// Continuous terms that could still lower the row's value widen the right-hand side.
func (s *separator) coverCut() {
	k := &s.kn
	b, ok := s.coverSide()
	if !ok {
		return
	}
	s.work += int64(4 * len(k.coefs))
	for n, c := range k.coefs {
		if c < 0 {
			k.flip(n)
			b += -c * k.widths[n]
		}
	}
	cover := s.findCover(b)
	if len(cover) < 2 || len(cover) > 100 {
		return
	}
	s.liftCover(cover, b)
	s.emitCover(float64(len(cover) - 1))
}

// coverSide is the right-hand side with the continuous part at its most helpful; false if that has no end
// or a column is not 0-1.
func (s *separator) coverSide() (float64, bool) {
	k := &s.kn
	for _, w := range k.widths {
		if w != 1 {
			return 0, false
		}
	}
	b := k.rhs
	for _, t := range s.kn.terms {
		// t.upper: t = vb − x ≤ greatest vb − lower; otherwise t = x − vb ≤ upper − least vb.
		if t.vb.y >= 0 {
			return 0, false
		}
		b -= t.coef * (s.upper[t.col] - s.lower[t.col])
	}
	return b, len(s.slacks) == 0 && !math.IsInf(b, 0)
}

// findCover picks columns by increasing (1 − z*)/a until they exceed b, then leaves out what is not needed.
func (s *separator) findCover(b float64) []int {
	k, c := &s.kn, &s.cover
	c.items = c.items[:0]
	for n := range k.coefs {
		if k.coefs[n] > 1e-9 {
			c.items = append(c.items, n)
		}
	}
	slices.SortStableFunc(c.items, func(p, q int) int {
		a, b := (1-k.values[p])*k.coefs[q], (1-k.values[q])*k.coefs[p]
		switch {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	})
	need := b + 1e-6*math.Max(1, math.Abs(b))
	sum := 0.0
	c.cover = c.cover[:0]
	for _, n := range c.items {
		if sum > need {
			break
		}
		c.cover = append(c.cover, n)
		sum += k.coefs[n]
	}
	if sum <= need || b < 0 {
		return nil
	}
	kept := c.cover[:0]
	for _, n := range slices.Clone(c.cover) {
		if k.values[n] < 0.999 && sum-k.coefs[n] > need {
			sum -= k.coefs[n]
			continue
		}
		kept = append(kept, n)
	}
	c.cover = kept
	return kept
}

// liftCover fills s.cover.lift with the coefficients of all columns.
func (s *separator) liftCover(cover []int, b float64) {
	k, c := &s.kn, &s.cover
	size := len(cover)
	c.lift = append(c.lift[:0], make([]float64, len(k.coefs))...)
	sizes := make([]float64, 0, size)
	for _, n := range cover {
		c.lift[n] = 1
		sizes = append(sizes, k.coefs[n])
	}
	slices.Sort(sizes)
	// weight[v] is the least weight that reaches value v or more.
	c.weight = append(c.weight[:0], make([]float64, size+1)...)
	for v := 1; v <= size; v++ {
		c.weight[v] = c.weight[v-1] + sizes[v-1]
	}
	rest := make([]int, 0, len(c.items))
	for _, n := range c.items {
		if c.lift[n] == 0 {
			rest = append(rest, n)
		}
	}
	slices.SortStableFunc(rest, func(p, q int) int {
		switch {
		case k.values[p] > k.values[q]:
			return -1
		case k.values[p] < k.values[q]:
			return 1
		}
		return 0
	})
	loose := b + 1e-9*math.Max(1, math.Abs(b))
	for _, n := range rest {
		s.work += int64(size)
		fits := 0
		for fits < size-1 && c.weight[fits+1] <= loose-k.coefs[n] {
			fits++
		}
		gain := size - 1 - fits
		if k.coefs[n] > loose {
			gain = size - 1
		}
		if gain == 0 {
			continue
		}
		c.lift[n] = float64(gain)
		for v := size; v >= 1; v-- {
			c.weight[v] = math.Min(c.weight[v], c.weight[max(0, v-gain)]+k.coefs[n])
		}
	}
}

func (s *separator) emitCover(rhs float64) {
	k := &s.kn
	s.out.clear()
	for n, j := range k.ints.list {
		g := s.cover.lift[n]
		if g == 0 {
			continue
		}
		if k.flipped[n] {
			s.out.add(j, -g)
			rhs -= g * s.upper[j]
		} else {
			s.out.add(j, g)
			rhs += g * s.lower[j]
		}
	}
	if c := finish(s.out, rhs, s.lower, s.upper, s.x, "cover"); c != nil {
		s.found = append(s.found, c)
	}
}
