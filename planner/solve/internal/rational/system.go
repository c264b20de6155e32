// Package rational solves the linear systems of a simplex basis without rounding.
//
// Floating-point factors of the basis B give, at each step, some twenty to forty correct bits of B⁻¹r; the residual r of all
// bits found so far is computed in whole numbers, without rounding, and stays short, because each step takes away about as
// many bits as it adds. After enough bits the numerators and the common denominator of the solution are read off by continued
// fractions and put to the test: B·n = d·b in whole numbers. What passes is the solution; nothing rests on how it was found.
// (Z. Wan, An algorithm to solve integer linear systems exactly using numerical methods, Journal of Symbolic Computation 41,
// 2006; A. M. Gleixner, D. E. Steffy and K. Wolter, Iterative refinement for linear programming, INFORMS Journal on Computing
// 28, 2016; both from memory.)
package rational

import (
	"math"
	"math/big"
	"slices"

	"feedline/planner/solve/internal/lu"
	"feedline/planner/solve/internal/sparse"
)

// System is a basis with its factors.
type System struct {
	m, n int
	cols sparse.Matrix
	head []int32 // basic variable of each position
	f    *lu.Factor
	ints []*big.Int // entry k of cols is ints[k]·2^low
	one  *big.Int   // 1 as ints are
	low  int
	size int // bits of the largest row sum of magnitudes
}

// New factorises the basis of the variables basic, of which j < n is column j of cols and n+i column i of the identity.
// False when they are no basis in floating point.
func New(cols sparse.Matrix, n int, basic []int32) (*System, bool) {
	s := &System{m: len(basic), n: n, cols: cols, head: slices.Clone(basic)}
	s.f = lu.New(s.m)
	s.f.Threshold = lu.ThresholdMax
	s.f.Factor(&s.cols, n, s.head)
	if len(s.f.Swaps) > 0 {
		return nil, false
	}
	s.low = 0
	for _, v := range cols.Val {
		if v != 0 {
			s.low = min(s.low, lowest(v))
		}
	}
	s.ints = make([]*big.Int, len(cols.Val))
	most := 1
	for k, v := range cols.Val {
		s.ints[k] = Whole(v, s.low)
		most = max(most, s.ints[k].BitLen())
	}
	s.one = Whole(1, s.low)
	s.size = max(most, s.one.BitLen())
	return s, true
}

// Head is the basic variable of each position.
func (s *System) Head() []int32 { return s.head }

// lowest is the exponent of v's last bit.
func lowest(v float64) int {
	f, e := math.Frexp(v)
	k := int64(math.Ldexp(f, 53))
	e -= 53
	for k&1 == 0 && k != 0 {
		k >>= 1
		e++
	}
	return e
}

// Whole is v·2^−low, which must be whole.
func Whole(v float64, low int) *big.Int {
	if v == 0 {
		return new(big.Int)
	}
	e := lowest(v)
	z := big.NewInt(int64(math.Ldexp(v, -e)))
	return z.Lsh(z, uint(e-low))
}

// times computes B·x, or Bᵀ·x, as whole numbers of 2^low.
func (s *System) times(x []*big.Int, transposed bool) []*big.Int {
	y := make([]*big.Int, s.m)
	for i := range y {
		y[i] = new(big.Int)
	}
	var t big.Int
	add := func(i, p int, a *big.Int) {
		if transposed {
			i, p = p, i
		}
		if x[p].Sign() != 0 {
			y[i].Add(y[i], t.Mul(a, x[p]))
		}
	}
	for p, v := range s.head {
		if v >= int32(s.n) {
			add(int(v)-s.n, p, s.one)
			continue
		}
		for k := s.cols.Beg[v]; k < s.cols.Beg[v+1]; k++ {
			add(int(s.cols.Idx[k]), p, s.ints[k])
		}
	}
	return y
}

// Solution is num/den·2^exp, entry by entry.
type Solution struct {
	Num []*big.Int
	Den *big.Int // > 0
	Exp int
}

// Rat is entry i.
func (x Solution) Rat(i int) *big.Rat {
	r := new(big.Rat).SetFrac(x.Num[i], x.Den)
	p := new(big.Int).Lsh(big.NewInt(1), uint(max(x.Exp, -x.Exp)))
	if x.Exp >= 0 {
		return r.Mul(r, new(big.Rat).SetInt(p))
	}
	return r.Quo(r, new(big.Rat).SetInt(p))
}

const (
	firstTry  = 100     // bits at which the solution is looked for first
	tryGrowth = 1.4     // bits between one look and the next
	mostBits  = 400_000 // bits at which the solution is given up
	startStep = 24      // bits a step to begin with
	leastStep = 4
	mostStep  = 44
)

// Solve solves B·x = b·2^exp (x by position), or Bᵀ·x = b·2^exp (b by position, x by row). False when stop says so or the
// factors are too poor.
func (s *System) Solve(b []*big.Int, exp int, transposed bool, stop func() bool) (Solution, bool) {
	r, x := make([]*big.Int, s.m), make([]*big.Int, s.m)
	for i := range r {
		r[i], x[i] = new(big.Int).Set(b[i]), new(big.Int)
	}
	vec := sparse.NewVec(s.m)
	delta := make([]*big.Int, s.m)
	for i := range delta {
		delta[i] = new(big.Int)
	}
	shift, step, next := 0, startStep, firstTry
	for shift < mostBits && !stop() {
		bits := longest(r)
		if bits == 0 {
			return Solution{x, new(big.Int).Lsh(big.NewInt(1), uint(shift)), exp - s.low}, true
		}
		top := s.approximate(r, bits, vec, transposed)
		if shift >= next {
			if n, d, ok := readOff(x, shift, max(0, top)); ok && s.satisfied(n, d, b, transposed) {
				return Solution{n, d, exp - s.low}, true
			}
			next = int(float64(next) * tryGrowth)
		}
		for i, z := range vec.Val {
			setRounded(delta[i], z, bits+s.low+step)
			x[i].Lsh(x[i], uint(step)).Add(x[i], delta[i])
		}
		for i, p := range s.times(delta, transposed) {
			r[i].Lsh(r[i], uint(step)).Sub(r[i], p)
		}
		shift += step
		switch over := longest(r) - max(s.size+12, bits-step/2); {
		case over > 0:
			step -= min(over, 8)
		case step < mostStep:
			step++
		}
		if step < leastStep {
			return Solution{}, false
		}
	}
	return Solution{}, false
}

// approximate solves for r·2^−bits in floating point into vec; top is the exponent of the largest entry of B⁻¹r, B in ints.
func (s *System) approximate(r []*big.Int, bits int, vec *sparse.Vec, transposed bool) (top int) {
	vec.Clear()
	for i, v := range r {
		if f := scaledFloat(v, bits); f != 0 {
			vec.Set(int32(i), f)
		}
	}
	if transposed {
		s.f.Btran(vec, nil, 1)
	} else {
		s.f.Ftran(vec, nil, 1)
	}
	largest := 0.0
	for _, z := range vec.Val {
		largest = math.Max(largest, math.Abs(z))
	}
	_, e := math.Frexp(largest)
	return e + bits + s.low + 1
}

func longest(r []*big.Int) int {
	n := 0
	for _, v := range r {
		n = max(n, v.BitLen())
	}
	return n
}

// scaledFloat is about v·2^−bits.
func scaledFloat(v *big.Int, bits int) float64 {
	n := v.BitLen()
	if n == 0 {
		return 0
	}
	if n <= 62 {
		return math.Ldexp(float64(v.Int64()), -bits)
	}
	var t big.Int
	t.Rsh(t.Abs(v), uint(n-62))
	f := math.Ldexp(float64(t.Int64()), n-62-bits)
	if v.Sign() < 0 {
		return -f
	}
	return f
}

// setRounded sets z to f·2^e, rounded.
func setRounded(z *big.Int, f float64, e int) {
	if f == 0 || math.IsInf(f, 0) || math.IsNaN(f) {
		z.SetInt64(0)
		return
	}
	m, k := math.Frexp(f)
	if k += e; k <= 62 {
		z.SetInt64(int64(math.Round(math.Ldexp(m, max(k, -2)))))
		return
	}
	z.SetInt64(int64(math.Ldexp(m, 62)))
	z.Lsh(z, uint(k-62))
}

// satisfied tells whether B·n = d·b.
func (s *System) satisfied(n []*big.Int, d *big.Int, b []*big.Int, transposed bool) bool {
	var t big.Int
	for i, v := range s.times(n, transposed) {
		if v.Cmp(t.Mul(d, b[i])) != 0 {
			return false
		}
	}
	return true
}
