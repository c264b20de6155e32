package lu

import "feedline/planner/solve/internal/sparse"

// kernel is the working store of one factorisation. Columns are named by their place in the caller's
// list of basic variables, k = 0…m−1.
type kernel struct {
	m, n  int
	head  []int32 // variable of each place
	varAt []int32 // variable pivoted on each row, -1 while none

	rowDone, colDone []bool
	cCount, rCount   []int32 // entries in the rows (columns) that are left
	rBeg, rLen, rCap []int32 // pattern by rows, places of columns
	rIdx             []int32
	queue            []int32
	pivots           int

	// the kernel proper: active entries by columns
	cBeg, cLen, cCap []int32
	cIdx             []int32
	cVal             []float64
	cMax             []float64 // largest magnitude among a column's active entries

	// entries of U met during elimination, a linked list for each column
	uHead  []int32
	uNext  []int32
	uRow   []int32
	uVal   []float64
	pivRow []int32 // pivot row of each place, -1 while none

	colList, rowList countLists
	w                []float64 // multipliers by row
	seen             []bool
}

func (k *kernel) size(m int) {
	if k.m == m && len(k.varAt) == m {
		return
	}
	k.m = m
	i32 := func() []int32 { return make([]int32, m) }
	k.varAt, k.cCount, k.rCount, k.rBeg, k.rLen, k.rCap = i32(), i32(), i32(), i32(), i32(), i32()
	k.cBeg, k.cLen, k.cCap, k.uHead, k.pivRow, k.queue = i32(), i32(), i32(), i32(), i32(), i32()
	k.rowDone, k.colDone, k.seen = make([]bool, m), make([]bool, m), make([]bool, m)
	k.cMax, k.w = make([]float64, m), make([]float64, m)
	k.colList.size(m)
	k.rowList.size(m)
}

// load reads the columns, pivots the identity columns and stores the pattern of the rest by rows.
func (k *kernel) load(f *Factor, a *sparse.Matrix, n int, head []int32) {
	k.size(f.m)
	k.n, k.pivots = n, 0
	k.head = append(k.head[:0], head...)
	clear(k.rowDone)
	clear(k.colDone)
	clear(k.rCount)
	for p := range k.varAt {
		k.varAt[p], k.uHead[p], k.pivRow[p] = -1, -1, -1
	}
	k.uNext, k.uRow, k.uVal = k.uNext[:0], k.uRow[:0], k.uVal[:0]
	for c, v := range head {
		if i := v - int32(n); i >= 0 && !k.rowDone[i] {
			f.ucBeg[i], f.ucEnd[i] = 0, 0
			k.take(f, i, int32(c), 1)
		}
	}
	k.loadRows(f, a)
}

// take records pivot (row p, place c).
func (k *kernel) take(f *Factor, p, c int32, v float64) {
	f.pivot(p, v)
	k.rowDone[p], k.colDone[c] = true, true
	k.varAt[p], k.pivRow[c] = k.head[c], p
	k.pivots++
}

// takeOriginal records pivot (p, c) of a column that no elimination touched: its entries in the rows
// pivoted before are its column of U.
func (k *kernel) takeOriginal(f *Factor, a *sparse.Matrix, p, c int32, v float64) {
	idx, val := a.Line(int(k.head[c]))
	f.ucBeg[p] = int32(len(f.ucIdx))
	for t, i := range idx {
		if k.rowDone[i] {
			f.ucIdx = append(f.ucIdx, i)
			f.ucVal = append(f.ucVal, val[t])
		}
	}
	f.ucEnd[p] = int32(len(f.ucIdx))
	k.take(f, p, c, v)
}

func (k *kernel) loadRows(f *Factor, a *sparse.Matrix) {
	for c, v := range k.head {
		if k.colDone[c] || v >= int32(k.n) {
			k.cCount[c] = 0
			continue
		}
		idx, _ := a.Line(int(v))
		f.Work += int64(len(idx))
		cnt := int32(0)
		for _, i := range idx {
			if !k.rowDone[i] {
				k.rCount[i]++
				cnt++
			}
		}
		k.cCount[c] = cnt
	}
	at := int32(0)
	for i := range k.rBeg {
		k.rBeg[i], k.rLen[i] = at, 0
		at += k.rCount[i]
		k.rCap[i] = k.rCount[i]
	}
	k.rIdx = grow(k.rIdx, int(at))
	for c, v := range k.head {
		if k.colDone[c] || v >= int32(k.n) {
			continue
		}
		idx, _ := a.Line(int(v))
		for _, i := range idx {
			if !k.rowDone[i] {
				k.rIdx[k.rBeg[i]+k.rLen[i]] = int32(c)
				k.rLen[i]++
			}
		}
	}
}

// columnSingletons pivots columns with one entry left, as long as there are any.
func (k *kernel) columnSingletons(f *Factor, a *sparse.Matrix) {
	q := k.queue[:0]
	for c := range k.head {
		if !k.colDone[c] && k.cCount[c] == 1 {
			q = append(q, int32(c))
		}
	}
	for len(q) > 0 {
		c := q[len(q)-1]
		q = q[:len(q)-1]
		if k.colDone[c] || k.cCount[c] != 1 {
			continue
		}
		p, v := k.onlyRow(a, c)
		if v < pivotFloor && v > -pivotFloor {
			continue
		}
		k.takeOriginal(f, a, p, c, v)
		for t := k.rBeg[p]; t < k.rBeg[p]+k.rLen[p]; t++ {
			j := k.rIdx[t]
			k.cCount[j]--
			if k.cCount[j] == 1 && !k.colDone[j] {
				q = append(q, j)
			}
		}
		f.Work += int64(k.rLen[p])
	}
}

func (k *kernel) onlyRow(a *sparse.Matrix, c int32) (int32, float64) {
	idx, val := a.Line(int(k.head[c]))
	for t, i := range idx {
		if !k.rowDone[i] {
			return i, val[t]
		}
	}
	panic("lu: a column counted as a singleton has no row")
}

// rowSingletons pivots rows with one entry left, as long as there are any. The column's other entries
// left, divided by the pivot, are a column of L.
func (k *kernel) rowSingletons(f *Factor, a *sparse.Matrix) {
	q := k.queue[:0]
	for i := range k.rCount {
		if !k.rowDone[i] && k.rCount[i] == 1 {
			q = append(q, int32(i))
		}
	}
	for len(q) > 0 {
		p := q[len(q)-1]
		q = q[:len(q)-1]
		if k.rowDone[p] || k.rCount[p] != 1 {
			continue
		}
		q = k.pivotRowSingleton(f, a, p, q)
	}
}

func (k *kernel) pivotRowSingleton(f *Factor, a *sparse.Matrix, p int32, q []int32) []int32 {
	c := int32(-1)
	for t := k.rBeg[p]; t < k.rBeg[p]+k.rLen[p]; t++ {
		if !k.colDone[k.rIdx[t]] {
			c = k.rIdx[t]
			break
		}
	}
	idx, val := a.Line(int(k.head[c]))
	v, big := 0.0, 0.0
	for t, i := range idx {
		if i == p {
			v = val[t]
		}
		if x := val[t]; !k.rowDone[i] && (x > big || -x > big) {
			big = max(x, -x)
		}
	}
	// A pivot far below its column's largest is left to the kernel, which may choose better.
	if x := max(v, -v); x < pivotFloor || x < 1e-3*f.Threshold*big {
		return q
	}
	f.lBeg[p] = int32(len(f.lIdx))
	for t, i := range idx {
		if i == p || k.rowDone[i] {
			continue
		}
		f.lIdx = append(f.lIdx, i)
		f.lVal = append(f.lVal, val[t]/v)
		k.rCount[i]--
		if k.rCount[i] == 1 {
			q = append(q, i)
		}
	}
	f.lEnd[p] = int32(len(f.lIdx))
	if f.lEnd[p] > f.lBeg[p] {
		f.lOrder = append(f.lOrder, p)
	}
	k.takeOriginal(f, a, p, c, v)
	f.Work += int64(len(idx))
	return q
}

// addU lists an entry of U: row i of the column at place c.
func (k *kernel) addU(c, i int32, v float64) {
	k.uRow = append(k.uRow, i)
	k.uVal = append(k.uVal, v)
	k.uNext = append(k.uNext, k.uHead[c])
	k.uHead[c] = int32(len(k.uRow) - 1)
}
