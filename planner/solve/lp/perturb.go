package lp

import "math"

const (
	// perturbBase is the size of the cost perturbation in relation to the costs.
	perturbBase = 5e-7
	// perturbLogical is the perturbation of the (zero) costs of logical variables.
	perturbLogical = 1e-12
)

// next is a pseudo-random number in [0, 1) (splitmix64).
func (s *Solver) random() float64 {
	s.rng += 0x9e3779b97f4a7c15
	z := s.rng
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	z ^= z >> 31
	return float64(z>>11) / (1 << 53)
}

// perturb changes the working costs a little, each in the direction that keeps its variable's d right.
func (s *Solver) perturb() {
	base := perturbBase * s.costSize()
	for v, c := range s.wc {
		if s.wl[v] == s.wu[v] {
			continue
		}
		t := perturbLogical * (1 + s.random())
		if v < s.n {
			t = (1 + s.random()) * (math.Abs(c) + 1) * base
		}
		loInf, hiInf := math.IsInf(s.wl[v], -1), math.IsInf(s.wu[v], 1)
		switch {
		case loInf && hiInf:
			continue
		case hiInf:
		case loInf:
			t = -t
		case c < 0 || c == 0 && s.move[v] == down:
			t = -t
		}
		s.wc[v] = c + t
		if s.where[v] < 0 {
			s.d[v] += t
		}
	}
	s.shifted, s.perturbed = true, true
}

// costSize is the largest cost, dampened when it is large, and when hardly anything is boxed.
func (s *Solver) costSize() float64 {
	big, boxed := 0.0, 0
	for v := 0; v < s.n; v++ {
		big = math.Max(big, math.Abs(s.c[v]))
		if !math.IsInf(s.lo[v], -1) && !math.IsInf(s.hi[v], 1) {
			boxed++
		}
	}
	if big > 100 {
		big = math.Sqrt(math.Sqrt(big))
	}
	if 100*boxed < s.n {
		big = math.Min(big, 1)
	}
	return math.Max(big, 1e-3)
}

// trueCosts takes back all perturbations and shifts of costs.
func (s *Solver) trueCosts() {
	copy(s.wc, s.c)
	s.shifted, s.perturbed = false, false
}
