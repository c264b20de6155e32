// Package lu keeps sparse triangular factors of a simplex basis and updates them.
//
// The basis B (m×m) has its columns among the n columns of A and the m columns of the identity.
// It is factorised by elimination with pivots (p_k, j_k), k = 1…m: row p_k and column j_k. The basic
// variable of the column pivoted on row p is said to stand in position p, so that rows and positions
// share one numbering and no vector is ever permuted; Factor reorders the caller's list accordingly.
//
// Pivots are found in three steps. Columns with one entry in the rows that are left are pivoted first
// (identity columns among them): they need no elimination. Then rows with one entry in the columns
// that are left: they give a column of L, still without elimination. What remains, the kernel, is
// eliminated in an order that Markowitz' count (r−1)(c−1) makes sparse, among entries not smaller than
// a threshold times the largest in their column (H. M. Markowitz 1957; U. Suhl, L. Suhl 1990).
//
// After a basis change the factors are updated by the method of Forrest and Tomlin (1972): the new
// column replaces the old one in U and goes to the end of the order; the row of the leaving position,
// now a spike, is eliminated by one row operation, kept in the list R. So
//
//	B = L·R₁⁻¹·…·R_t⁻¹·U,   B⁻¹ = U⁻¹·R_t·…·R₁·L⁻¹.
//
// Each triangular solve has two forms: a plain pass over all pivots, and one that first finds the
// places that can become nonzero by a depth-first search, so that its cost is proportional to the
// arithmetic alone (J. R. Gilbert, T. Peierls 1988). The expected density decides.
package lu

import (
	"feedline/planner/solve/internal/sparse"
)

const (
	// tiny is the magnitude below which an entry of a factor or of a solution is taken for zero.
	tiny = 1e-14
	// pivotFloor is the smallest pivot accepted; a column without a larger entry is declared dependent.
	pivotFloor = 1e-10
	// ThresholdStart is the usual relative pivot threshold: an entry must be this part of its column's largest.
	ThresholdStart = 0.1
	// ThresholdMax is the strictest threshold worth trying before a basis is given up.
	ThresholdMax = 0.7
	// candidates is how many rows and columns the Markowitz search looks into before it takes the best pivot seen.
	candidates = 6
)

// Swap tells that the column of variable Out was dependent and the identity column of Row took its place.
type Swap struct {
	Row int32
	Out int32
}

// Factor holds the factors of one basis. Create it with New.
type Factor struct {
	Threshold float64 // relative pivot threshold of the next Factor call
	Swaps     []Swap  // columns replaced by the last Factor call
	Work      int64   // entries touched since the start

	m int

	// L: column of pivot row p in lIdx/lVal[lBeg[p]:lEnd[p]], and by rows in lr*.
	lBeg, lEnd   []int32
	lIdx         []int32
	lVal         []float64
	lrBeg, lrEnd []int32
	lrIdx        []int32
	lrVal        []float64
	lOrder       []int32 // rows with a nonempty column of L, in pivot order
	lrOrder      []int32 // rows with a nonempty row of L, in pivot order

	// R: row operation t is x[rRow[t]] −= Σ rVal·x[rIdx] over [rBeg[t], rBeg[t+1]).
	rRow []int32
	rBeg []int32
	rIdx []int32
	rVal []float64

	// U by columns and by rows, both named by pivot row; pivots apart.
	piv          []float64
	ucBeg, ucEnd []int32
	ucIdx        []int32
	ucVal        []float64
	urBeg, urEnd []int32
	urCap        []int32
	urIdx        []int32
	urVal        []float64
	order        []int32 // pivot rows in order; -1 where a later update moved the row to the end
	slot         []int32 // place of each row in order

	updates   int
	fill      int // entries of L and U when fresh
	lFill     int
	fillAdded int

	k kernel // working store of the elimination

	// depth-first search
	mark  []bool
	stack []int32
	edge  []int32
	topo  []int32
}

// New returns an empty factor for bases of m rows.
func New(m int) *Factor {
	f := &Factor{m: m, Threshold: ThresholdStart}
	i32 := func() []int32 { return make([]int32, m) }
	f.lBeg, f.lEnd, f.lrBeg, f.lrEnd = i32(), i32(), i32(), i32()
	f.ucBeg, f.ucEnd, f.urBeg, f.urEnd, f.urCap = i32(), i32(), i32(), i32(), i32()
	f.slot, f.stack, f.edge, f.topo = i32(), i32(), i32(), i32()
	f.piv = make([]float64, m)
	f.mark = make([]bool, m)
	f.rBeg = append(f.rBeg, 0)
	return f
}

// Updates is the number of updates since the last Factor call.
func (f *Factor) Updates() int { return f.updates }

// Nonzeros is the number of entries of L, R and U.
func (f *Factor) Nonzeros() int { return f.fill + f.fillAdded }

// Fresh is the number of entries of L and U right after the last Factor call.
func (f *Factor) Fresh() int { return f.fill }

// Factor factorises the basis whose variables are head: j < n is column j of a, n+i the identity's
// column i. On return head is reordered so that head[p] is pivoted on row p. Dependent columns are
// replaced by identity columns and listed in Swaps.
func (f *Factor) Factor(a *sparse.Matrix, n int, head []int32) {
	f.reset()
	f.k.load(f, a, n, head)
	f.k.columnSingletons(f, a)
	f.k.rowSingletons(f, a)
	f.k.eliminate(f, a)
	f.k.repair(f, n)
	copy(head, f.k.varAt)
	f.k.storeU(f)
	f.storeRowsOfL()
	f.fill = len(f.lIdx) + len(f.ucIdx) + f.m
	f.lFill = len(f.lIdx)
	f.Work += int64(f.fill + f.m)
}

func (f *Factor) reset() {
	clear(f.lBeg)
	clear(f.lEnd)
	f.lIdx, f.lVal = f.lIdx[:0], f.lVal[:0]
	f.rRow, f.rBeg, f.rIdx, f.rVal = f.rRow[:0], f.rBeg[:1], f.rIdx[:0], f.rVal[:0]
	f.ucIdx, f.ucVal = f.ucIdx[:0], f.ucVal[:0]
	f.order, f.lOrder, f.lrOrder = f.order[:0], f.lOrder[:0], f.lrOrder[:0]
	f.Swaps = f.Swaps[:0]
	f.updates, f.fillAdded = 0, 0
}

// pivot records row p as the next pivot.
func (f *Factor) pivot(p int32, v float64) {
	f.piv[p] = v
	f.slot[p] = int32(len(f.order))
	f.order = append(f.order, p)
}

// storeRowsOfL makes the row-wise copy of L.
func (f *Factor) storeRowsOfL() {
	clear(f.lrEnd)
	for _, i := range f.lIdx {
		f.lrEnd[i]++
	}
	at := int32(0)
	for i := range f.lrBeg {
		f.lrBeg[i] = at
		at += f.lrEnd[i]
		f.lrEnd[i] = f.lrBeg[i]
	}
	f.lrIdx = grow(f.lrIdx, int(at))
	f.lrVal = grow(f.lrVal, int(at))
	for _, p := range f.lOrder {
		for t := f.lBeg[p]; t < f.lEnd[p]; t++ {
			i := f.lIdx[t]
			f.lrIdx[f.lrEnd[i]], f.lrVal[f.lrEnd[i]] = p, f.lVal[t]
			f.lrEnd[i]++
		}
	}
	if at == 0 {
		return
	}
	for _, p := range f.order {
		if f.lrEnd[p] > f.lrBeg[p] {
			f.lrOrder = append(f.lrOrder, p)
		}
	}
}

// grow returns s with length n, reallocating with room to spare when needed; old contents may be lost.
func grow[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/4+16)
	}
	return s[:n]
}
