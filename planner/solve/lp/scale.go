package lp

import "math"

const (
	// scalePasses is how often rows and columns are scaled in turn.
	scalePasses = 4
	// scaleLimit bounds the exponents of the factors.
	scaleLimit = 20
	// wellScaled is the range of magnitudes within which a matrix is left alone.
	wellScaled = 5.0
)

// scale computes row and column factors by geometric means, rounds them to powers of two and applies them.
func (s *Solver) scale() {
	s.rowScale, s.colScale = ones(s.m), ones(s.n)
	if !s.needsScaling() {
		return
	}
	lo, hi := make([]float64, s.m), make([]float64, s.m)
	for pass := 0; pass < scalePasses; pass++ {
		s.scaleRows(lo, hi)
		s.scaleColumns()
	}
	roundToPowers(s.rowScale)
	s.equilibrateColumns()
	roundToPowers(s.colScale)
	for j := 0; j < s.n; j++ {
		idx, val := s.a.Line(j)
		for t, i := range idx {
			val[t] *= s.rowScale[i] * s.colScale[j]
		}
	}
}

func ones(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	return v
}

func (s *Solver) needsScaling() bool {
	small, big := math.Inf(1), 0.0
	for _, v := range s.a.Val {
		small, big = math.Min(small, math.Abs(v)), math.Max(big, math.Abs(v))
	}
	return big > 0 && (small < 1/wellScaled || big > wellScaled)
}

func (s *Solver) scaleRows(lo, hi []float64) {
	for i := range lo {
		lo[i], hi[i] = math.Inf(1), 0
	}
	for j := 0; j < s.n; j++ {
		idx, val := s.a.Line(j)
		for t, i := range idx {
			v := math.Abs(val[t]) * s.colScale[j]
			lo[i], hi[i] = math.Min(lo[i], v), math.Max(hi[i], v)
		}
	}
	for i := range lo {
		if hi[i] > 0 {
			s.rowScale[i] = 1 / math.Sqrt(lo[i]*hi[i])
		}
	}
}

func (s *Solver) scaleColumns() {
	for j := 0; j < s.n; j++ {
		lo, hi := s.columnRange(j)
		if hi > 0 {
			s.colScale[j] = 1 / math.Sqrt(lo*hi)
		}
	}
}

// equilibrateColumns makes each column's largest entry about one.
func (s *Solver) equilibrateColumns() {
	for j := 0; j < s.n; j++ {
		if _, hi := s.columnRange(j); hi > 0 {
			s.colScale[j] = 1 / hi
		}
	}
}

// columnRange is the smallest and largest magnitude of column j after row scaling.
func (s *Solver) columnRange(j int) (lo, hi float64) {
	lo = math.Inf(1)
	idx, val := s.a.Line(j)
	for t, i := range idx {
		v := math.Abs(val[t]) * s.rowScale[i]
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	return lo, hi
}

func roundToPowers(v []float64) {
	for i, x := range v {
		e := math.Round(math.Log2(x))
		v[i] = math.Ldexp(1, int(math.Max(-scaleLimit, math.Min(scaleLimit, e))))
	}
}
