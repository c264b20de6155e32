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
	lo, hi := math.Inf(1), 0.0
	for _, v := range s.a.Val {
		lo, hi = spread(lo, hi, v)
	}
	return hi > 0 && (lo < 1/wellScaled || hi > wellScaled)
}

// spread widens the range lo … hi of magnitudes by v.
func spread(lo, hi, v float64) (float64, float64) {
	v = math.Abs(v)
	if v < lo {
		lo = v
	}
	if v > hi {
		hi = v
	}
	return lo, hi
}

func (s *Solver) scaleRows(lo, hi []float64) {
	for i := range lo {
		lo[i], hi[i] = math.Inf(1), 0
	}
	for j, c := range s.colScale {
		idx, val := s.a.Line(j)
		for t, i := range idx {
			lo[i], hi[i] = spread(lo[i], hi[i], val[t]*c)
		}
	}
	for i := range lo {
		if hi[i] > 0 {
			s.rowScale[i] = 1 / math.Sqrt(lo[i]*hi[i])
		}
	}
}

func (s *Solver) scaleColumns() {
	for j := range s.colScale {
		lo, hi := s.columnRange(j)
		if hi > 0 {
			s.colScale[j] = 1 / math.Sqrt(lo*hi)
		}
	}
}

// equilibrateColumns makes each column's largest entry about one.
func (s *Solver) equilibrateColumns() {
	for j := range s.colScale {
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
		lo, hi = spread(lo, hi, val[t]*s.rowScale[i])
	}
	return lo, hi
}

func roundToPowers(v []float64) {
	for i, x := range v {
		v[i] = nearPower(x)
	}
}

// nearPower is the power of two nearest to x > 0 by ratio, within the limits of scaling.
func nearPower(x float64) float64 {
	f, e := math.Frexp(x) // x = f·2^e, ½ ≤ f < 1
	if f < math.Sqrt2/2 {
		e--
	}
	return math.Ldexp(1, max(-scaleLimit, min(scaleLimit, e)))
}
