package lu

import (
	"math"
	"math/rand/v2"
	"testing"

	"feedline/planner/solve/internal/sparse"
)

// randomMatrix has n columns on m rows, about k entries each; every column has an entry on a random
// diagonal so that bases are seldom singular.
func randomMatrix(r *rand.Rand, m, n, k int) sparse.Matrix {
	a := sparse.Matrix{Beg: []int32{0}}
	seen := make([]int, m)
	for j := 0; j < n; j++ {
		for t := 0; t < 1+r.IntN(k); t++ {
			i := r.IntN(m)
			if seen[i] == j+1 {
				continue
			}
			seen[i] = j + 1
			a.Idx = append(a.Idx, int32(i))
			a.Val = append(a.Val, math.Round(8*(r.Float64()-0.5)*4)/4+0.125)
		}
		a.Beg = append(a.Beg, int32(len(a.Idx)))
	}
	return a
}

// times returns B·x (or Bᵀ·x) for the basis head.
func times(a *sparse.Matrix, n int, head []int32, x []float64, transposed bool) []float64 {
	y := make([]float64, len(head))
	for p, v := range head {
		if v >= int32(n) {
			if i := v - int32(n); transposed {
				y[p] += x[i]
			} else {
				y[i] += x[p]
			}
			continue
		}
		idx, val := a.Line(int(v))
		for t, i := range idx {
			if transposed {
				y[p] += val[t] * x[i]
			} else {
				y[i] += val[t] * x[p]
			}
		}
	}
	return y
}

func checkSolves(t *testing.T, r *rand.Rand, f *Factor, a *sparse.Matrix, n int, head []int32) {
	t.Helper()
	m := len(head)
	for _, expect := range []float64{0, 1} {
		for _, trans := range []bool{false, true} {
			x := sparse.NewVec(m)
			b := make([]float64, m)
			for q := 0; q < 1+m/25; q++ {
				i := int32(r.IntN(m))
				if x.Val[i] == 0 {
					x.Set(i, 1+r.Float64())
					b[i] = x.Val[i]
				}
			}
			if trans {
				f.Btran(x, nil, expect)
			} else {
				f.Ftran(x, nil, expect)
			}
			big := 1.0
			named := make([]bool, m)
			for _, i := range x.Idx[:x.N] {
				if named[i] {
					t.Fatalf("place %d is named twice", i)
				}
				named[i] = true
			}
			for i, v := range x.Val {
				big = math.Max(big, math.Abs(v))
				if v != 0 && !named[i] {
					t.Fatalf("place %d holds %g outside the pattern", i, v)
				}
			}
			for i, v := range times(a, n, head, x.Val, trans) {
				if math.Abs(v-b[i]) > 1e-9*big {
					t.Fatalf("m=%d transposed=%v: residual %g at %d (largest entry %g)", m, trans, v-b[i], i, big)
				}
			}
			for _, b := range f.mark {
				if b {
					t.Fatal("a mark was left set")
				}
			}
		}
	}
}

func TestSolvesAndUpdates(t *testing.T) {
	for seed := uint64(0); seed < 60; seed++ {
		r := rand.New(rand.NewPCG(seed, 1))
		m := 1 + r.IntN(120)
		n := 2 * m
		a := randomMatrix(r, m, n, 1+r.IntN(6))
		head := make([]int32, m)
		for p, v := range r.Perm(n + m)[:m] {
			head[p] = int32(v)
		}
		f := New(m)
		f.Factor(&a, n, head)
		basic := make([]bool, n+m)
		for _, v := range head {
			if basic[v] {
				t.Fatalf("seed %d: variable %d is basic twice", seed, v)
			}
			basic[v] = true
		}
		checkSolves(t, r, f, &a, n, head)
		col, spike, row, save := sparse.NewVec(m), sparse.NewVec(m), sparse.NewVec(m), sparse.NewVec(m)
		for u := 0; u < 30; u++ {
			q := r.IntN(n)
			if basic[q] {
				continue
			}
			col.Clear()
			idx, val := a.Line(q)
			for k, i := range idx {
				col.Set(i, val[k])
			}
			f.Ftran(col, spike, float64(u%2))
			p := -1
			for _, i := range col.Idx[:col.N] {
				if math.Abs(col.Val[i]) > 0.1 && (p < 0 || r.IntN(3) == 0) {
					p = int(i)
				}
			}
			if p < 0 {
				continue
			}
			row.Clear()
			row.Set(int32(p), 1)
			f.Btran(row, save, float64(u%2))
			f.Update(int32(p), spike, save, col.Val[p])
			basic[head[p]], basic[q] = false, true
			head[p] = int32(q)
			checkSolves(t, r, f, &a, n, head)
		}
	}
}

func TestDependentColumnsAreReplaced(t *testing.T) {
	// Columns 0 and 1 are the same, column 2 is empty, column 3 is the sum of 0 and 4.
	a := sparse.Matrix{
		Beg: []int32{0, 2, 4, 4, 7, 9},
		Idx: []int32{0, 1, 0, 1, 0, 1, 2, 2, 3},
		Val: []float64{1, 2, 1, 2, 1, 2, 1, 1, 0},
	}
	head := []int32{0, 1, 2, 3}
	f := New(4)
	f.Factor(&a, 5, head)
	if len(f.Swaps) != 2 {
		t.Fatalf("%d columns replaced, want 2: %v", len(f.Swaps), f.Swaps)
	}
	checkSolves(t, rand.New(rand.NewPCG(1, 1)), f, &a, 5, head)
}
