package rational

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"feedline/planner/solve/internal/sparse"
)

// gauss solves the dense rational system by elimination: the outside check, which shares nothing with Solve.
func gauss(a [][]*big.Rat, b []*big.Rat) ([]*big.Rat, bool) {
	m := len(b)
	for k := range m {
		p := k
		for p < m && a[p][k].Sign() == 0 {
			p++
		}
		if p == m {
			return nil, false
		}
		a[k], a[p], b[k], b[p] = a[p], a[k], b[p], b[k]
		for i := range m {
			if i == k || a[i][k].Sign() == 0 {
				continue
			}
			f := new(big.Rat).Quo(a[i][k], a[k][k])
			for j := k; j < m; j++ {
				a[i][j] = new(big.Rat).Sub(a[i][j], new(big.Rat).Mul(f, a[k][j]))
			}
			b[i] = new(big.Rat).Sub(b[i], new(big.Rat).Mul(f, b[k]))
		}
	}
	for k := range m {
		b[k] = new(big.Rat).Quo(b[k], a[k][k])
	}
	return b, true
}

// TestAgainstElimination compares with Gaussian elimination in rationals, on matrices whose decimals are no float64 values.
func TestAgainstElimination(t *testing.T) {
	solved := 0
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 31))
		m := 1 + r.IntN(14)
		cols := sparse.Matrix{Beg: []int32{0}}
		var basic []int32
		for j := range m {
			for i := range m {
				if i == j || r.IntN(3) == 0 {
					cols.Idx = append(cols.Idx, int32(i))
					cols.Val = append(cols.Val, math.Round(1000*(r.Float64()-0.5))/100*math.Pow(10, float64(r.IntN(5)-2)))
				}
			}
			cols.Beg = append(cols.Beg, int32(len(cols.Idx)))
			if basic = append(basic, int32(j)); r.IntN(4) == 0 {
				basic[j] = int32(m + j)
			}
		}
		s, ok := New(cols, m, basic)
		if !ok {
			continue
		}
		for _, transposed := range []bool{false, true} {
			b := make([]*big.Int, m)
			want := make([]*big.Rat, m)
			a := make([][]*big.Rat, m)
			for i := range a {
				a[i] = make([]*big.Rat, m)
				for j := range a[i] {
					a[i][j] = new(big.Rat)
				}
				b[i] = big.NewInt(int64(r.IntN(2001) - 1000))
				want[i] = new(big.Rat).SetFrac(b[i], big.NewInt(8))
			}
			put := func(i, p int, v float64) {
				if transposed {
					i, p = p, i
				}
				a[i][p].SetFloat64(v)
			}
			for p, v := range s.Head() {
				if int(v) >= m {
					put(int(v)-m, p, 1)
					continue
				}
				idx, val := cols.Line(int(v))
				for k, i := range idx {
					put(int(i), p, val[k])
				}
			}
			x, ok := s.Solve(b, -3, transposed, func() bool { return false })
			exactly, regular := gauss(a, want)
			if !regular {
				continue
			}
			if !ok {
				t.Errorf("seed %d: not solved", seed)
				continue
			}
			solved++
			for i := range m {
				if x.Rat(i).Cmp(exactly[i]) != 0 {
					t.Errorf("seed %d transposed %v: entry %d is %v, want %v", seed, transposed, i, x.Rat(i), exactly[i])
				}
			}
		}
	}
	if solved < 60 {
		t.Errorf("only %d systems solved", solved)
	}
}
