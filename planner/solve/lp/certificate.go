package lp

import "math"

const (
	// rayNoise is the part of the sum of its terms' magnitudes below which a combination counts as cancelled.
	rayNoise = 1e-9
	// rayMargin is the part of the magnitudes in a Farkas row's bound by which zero must be missed.
	rayMargin = 1e-9
)

// farkas checks that ±ρ, the row of position r, proves that no point satisfies rows and bounds, and stores it as
// the ray, in the model's units: with g = Aᵀy, the smallest yᵀ(A·x) that the row bounds allow exceeds the
// largest gᵀx that the column bounds allow.
func (s *Solver) farkas(r int32, delta float64) bool {
	sign := -1.0
	if delta < 0 {
		sign = 1
	}
	y := s.tau
	y.Copy(s.rho)
	for _, i := range y.Idx[:y.N] {
		y.Val[i] *= sign
	}
	ok := s.proves(y.Val)
	if ok {
		s.ray = make([]float64, s.m)
		for i, v := range y.Val {
			s.ray[i] = -v * s.rowScale[i] // the logical variable is −r
		}
	}
	y.Clear()
	return ok
}

// proves tells whether g = [A I]ᵀy, whose product with every feasible point is zero, has a positive minimum over the
// true bounds.
func (s *Solver) proves(y []float64) bool {
	low, size := 0.0, 0.0
	for v := range s.lo {
		g, mag := s.combine(y, v)
		if g == 0 {
			continue
		}
		at := s.lo[v]
		if g < 0 {
			at = s.hi[v]
		}
		if math.IsInf(at, 0) {
			if math.Abs(g) > rayNoise*mag {
				return false
			}
			continue
		}
		low += g * at
		size += math.Abs(g * at)
	}
	return low > rayMargin*(1+size)
}

// combine is entry v of [A I]ᵀy and the sum of the magnitudes of its terms.
func (s *Solver) combine(y []float64, v int) (g, mag float64) {
	if v >= s.n {
		return y[v-s.n], math.Abs(y[v-s.n])
	}
	idx, val := s.a.Line(v)
	for t, i := range idx {
		p := y[i] * val[t]
		g += p
		mag += math.Abs(p)
	}
	return g, mag
}

// direction checks that moving q in direction dir improves without end, and stores the ray.
func (s *Solver) direction(q int32, dir float64) bool {
	ray := make([]float64, s.n+s.m)
	ray[q] = dir
	for _, p := range s.aq.Idx[:s.aq.N] {
		if v := s.aq.Val[p]; math.Abs(v) > primalPivot {
			ray[s.head[p]] = -dir * v
		}
	}
	gain, size := 0.0, 0.0
	for v, t := range ray {
		if t > 0 && !math.IsInf(s.hi[v], 1) || t < 0 && !math.IsInf(s.lo[v], -1) {
			return false
		}
		gain += s.c[v] * t
		size += math.Abs(s.c[v] * t)
	}
	if gain > -rayNoise*size-dualTol*1e-2 || !s.balanced(ray) {
		return false
	}
	s.ray = make([]float64, s.n)
	for j := range s.ray {
		s.ray[j] = ray[j] * s.colScale[j]
	}
	return true
}

// balanced tells whether A·x + s = 0 holds along ray within rounding.
func (s *Solver) balanced(ray []float64) bool {
	sum, mag := make([]float64, s.m), make([]float64, s.m)
	for j := 0; j < s.n; j++ {
		if ray[j] == 0 {
			continue
		}
		idx, val := s.a.Line(j)
		for t, i := range idx {
			sum[i] += val[t] * ray[j]
			mag[i] += math.Abs(val[t] * ray[j])
		}
	}
	for i := range sum {
		if math.Abs(sum[i]+ray[s.n+i]) > 1e-7*math.Max(1, mag[i]) {
			return false
		}
	}
	return true
}
