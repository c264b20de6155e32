// Package sparse holds the vectors and matrices of the simplex codes.
package sparse

// Vec is a vector of fixed length with its nonzero pattern. Val is dense; the first N entries of Idx
// name every place where Val may be nonzero, each once. N = -1 means that the pattern is not known.
// Idx and Val have the vector's length as capacity, so no operation allocates.
type Vec struct {
	N   int
	Idx []int32
	Val []float64
}

// NewVec returns a zero vector of length n.
func NewVec(n int) *Vec {
	return &Vec{Idx: make([]int32, n), Val: make([]float64, n)}
}

// Clear sets v to zero; cost O(N) when the pattern is known and short.
func (v *Vec) Clear() {
	if v.N < 0 || 4*v.N > len(v.Val) {
		clear(v.Val)
	} else {
		for _, i := range v.Idx[:v.N] {
			v.Val[i] = 0
		}
	}
	v.N = 0
}

// Set puts x at place i of a vector that has nothing there yet.
func (v *Vec) Set(i int32, x float64) {
	v.Val[i] = x
	v.Idx[v.N] = i
	v.N++
}

// Copy makes v equal to w, of the same length.
func (v *Vec) Copy(w *Vec) {
	v.Clear()
	if w.N < 0 {
		copy(v.Val, w.Val)
		v.N = -1
		return
	}
	v.N = w.N
	copy(v.Idx[:w.N], w.Idx[:w.N])
	for _, i := range w.Idx[:w.N] {
		v.Val[i] = w.Val[i]
	}
}

// Pack finds the pattern of v anew, setting entries of magnitude below tiny to zero.
func (v *Vec) Pack(tiny float64) {
	if v.N >= 0 {
		n := 0
		for _, i := range v.Idx[:v.N] {
			if x := v.Val[i]; x > tiny || x < -tiny {
				v.Idx[n] = i
				n++
			} else {
				v.Val[i] = 0
			}
		}
		v.N = n
		return
	}
	n := 0
	for i, x := range v.Val {
		if x > tiny || x < -tiny {
			v.Idx[n] = int32(i)
			n++
		} else if x != 0 {
			v.Val[i] = 0
		}
	}
	v.N = n
}

// Norm2 is the sum of squares; the pattern must be known.
func (v *Vec) Norm2() float64 {
	t := 0.0
	for _, i := range v.Idx[:v.N] {
		t += v.Val[i] * v.Val[i]
	}
	return t
}

// Matrix holds a matrix by its major lines (columns, or rows for a transposed copy): line k has its
// places and values in Idx/Val[Beg[k]:Beg[k+1]].
type Matrix struct {
	Beg []int32
	Idx []int32
	Val []float64
}

// Lines is the number of major lines.
func (a *Matrix) Lines() int { return len(a.Beg) - 1 }

// Line returns the places and values of line k, aliasing the matrix.
func (a *Matrix) Line(k int) ([]int32, []float64) {
	b, e := a.Beg[k], a.Beg[k+1]
	idx := a.Idx[b:e]
	return idx, a.Val[b:e][:len(idx)]
}

// Transpose returns the same matrix held by its minor lines, of which there are n; places ascend.
func (a *Matrix) Transpose(n int) Matrix {
	t := Matrix{Beg: make([]int32, n+1), Idx: make([]int32, len(a.Idx)), Val: make([]float64, len(a.Val))}
	for _, i := range a.Idx {
		t.Beg[i+1]++
	}
	for i := 0; i < n; i++ {
		t.Beg[i+1] += t.Beg[i]
	}
	next := append([]int32(nil), t.Beg[:n]...)
	for k := 0; k < a.Lines(); k++ {
		idx, val := a.Line(k)
		for q, i := range idx {
			t.Idx[next[i]], t.Val[next[i]] = int32(k), val[q]
			next[i]++
		}
	}
	return t
}

// Clone returns a deep copy.
func (a *Matrix) Clone() Matrix {
	return Matrix{
		Beg: append([]int32(nil), a.Beg...),
		Idx: append([]int32(nil), a.Idx...),
		Val: append([]float64(nil), a.Val...),
	}
}
