package lp

import "math"

// columnCut is the part of the best price from which a column is on the short list.
const columnCut = 0.7

// columnPrices chooses the entering variable of the primal method by d² / weight, the weights after Devex (P. M. J. Harris
// 1973). Columns that reached columnCut of the best at the last full scan, or since, are on a short list; while it
// has a member the best is there.
type columnPrices struct {
	weight []float64
	short  []int32
	listed []bool
	cut    float64
}

// startPricing begins a new reference frame.
func (s *Solver) startPricing() {
	c := &s.prices
	if t := s.n + s.m; len(c.weight) != t {
		c.weight, c.listed, c.short = make([]float64, t), make([]bool, t), make([]int32, 0, t)
	}
	for v := range c.weight {
		c.weight[v] = 1
	}
	s.forgetColumns()
}

// forgetColumns empties the short list after d was computed anew.
func (s *Solver) forgetColumns() {
	c := &s.prices
	for _, v := range c.short {
		c.listed[v] = false
	}
	c.short, c.cut = c.short[:0], math.Inf(1)
}

// columnPrice is d² / weight of a nonbasic variable that would improve the objective, else 0.
func (s *Solver) columnPrice(v int32) float64 {
	d := s.d[v]
	switch s.move[v] {
	case stay:
		return 0
	case up:
		if d >= -s.dtol {
			return 0
		}
	case down:
		if d <= s.dtol {
			return 0
		}
	case either:
		if d <= s.dtol && d >= -s.dtol {
			return 0
		}
		d *= 100 // free variables first
	}
	return d * d / s.prices.weight[v]
}

// chooseColumn returns the variable with the best price, or -1 if none improves.
func (s *Solver) chooseColumn() int32 {
	c := &s.prices
	for {
		best, top := int32(-1), 0.0
		n := 0
		for _, v := range c.short {
			t := s.columnPrice(v)
			if t <= c.cut {
				c.listed[v] = false
				continue
			}
			c.short[n] = v
			n++
			if t > top {
				best, top = v, t
			}
		}
		s.work += int64(len(c.short))
		c.short = c.short[:n]
		if best >= 0 || !s.fillColumns() {
			return best
		}
	}
}

// fillColumns makes a new short list from all columns; it tells whether any improves.
func (s *Solver) fillColumns() bool {
	c := &s.prices
	top := 0.0
	for v := range s.move {
		top = math.Max(top, s.columnPrice(int32(v)))
	}
	s.work += int64(len(s.move)) / 2
	c.cut = columnCut * top
	if top == 0 {
		c.cut = math.Inf(1)
		return false
	}
	for v := range s.move {
		s.noteColumn(int32(v))
	}
	return true
}

// noteColumn puts v on the short list if its price has come to belong there.
func (s *Solver) noteColumn(v int32) {
	c := &s.prices
	if !c.listed[v] && s.columnPrice(v) > c.cut {
		c.listed[v] = true
		c.short = append(c.short, v)
	}
}

// primalDuals updates d and the weights of nonbasic variables.
func (s *Solver) primalDuals(r, q int32, alpha float64) {
	theta := s.d[q] / alpha
	weight := s.prices.weight
	wq := weight[q]
	for _, j := range s.alphaRow.Idx[:s.alphaRow.N] {
		a := s.alphaRow.Val[j]
		s.d[j] -= theta * a
		if k := a / alpha; k*k*wq > weight[j] {
			weight[j] = k * k * wq
		}
		s.noteColumn(j)
	}
	out := s.head[r]
	s.d[q], s.d[out] = 0, -theta
	weight[out] = math.Max(wq/(alpha*alpha), 1)
	weight[q] = 1
}
