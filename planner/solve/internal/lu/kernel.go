package lu

import "feedline/planner/solve/internal/sparse"

// countLists are doubly linked lists of the columns (rows) with each number of active entries.
type countLists struct {
	first      []int32 // by count
	next, prev []int32
}

func (l *countLists) size(m int) {
	l.first = make([]int32, m+1)
	l.next, l.prev = make([]int32, m), make([]int32, m)
}

func (l *countLists) clear() {
	for i := range l.first {
		l.first[i] = -1
	}
}

func (l *countLists) add(i, count int32) {
	n := l.first[count]
	l.next[i], l.prev[i] = n, -1
	if n >= 0 {
		l.prev[n] = i
	}
	l.first[count] = i
}

func (l *countLists) remove(i, count int32) {
	n, p := l.next[i], l.prev[i]
	if p >= 0 {
		l.next[p] = n
	} else {
		l.first[count] = n
	}
	if n >= 0 {
		l.prev[n] = p
	}
}

// eliminate factorises what the singleton passes left.
func (k *kernel) eliminate(f *Factor, a *sparse.Matrix) {
	if !k.loadKernel(f, a) {
		return
	}
	for {
		p, c := k.choose(f)
		if c < 0 {
			return
		}
		k.pivotOn(f, p, c)
	}
}

// loadKernel copies the active part of the columns left, and lists rows and columns by count.
func (k *kernel) loadKernel(f *Factor, a *sparse.Matrix) bool {
	if k.pivots == k.m {
		return false
	}
	k.colList.clear()
	k.rowList.clear()
	k.cIdx, k.cVal = k.cIdx[:0], k.cVal[:0]
	for c := range k.head {
		if !k.colDone[c] && k.head[c] < int32(k.n) {
			k.loadColumn(a, int32(c))
		}
	}
	for i := range k.rowDone {
		if k.rowDone[i] {
			continue
		}
		n := int32(0)
		for t := k.rBeg[i]; t < k.rBeg[i]+k.rLen[i]; t++ {
			if c := k.rIdx[t]; !k.colDone[c] {
				k.rIdx[k.rBeg[i]+n] = c
				n++
			}
		}
		k.rLen[i] = n
		if n > 0 {
			k.rowList.add(int32(i), n)
		}
	}
	return true
}

func (k *kernel) loadColumn(a *sparse.Matrix, c int32) {
	idx, val := a.Line(int(k.head[c]))
	k.cBeg[c] = int32(len(k.cIdx))
	big := 0.0
	for t, i := range idx {
		if k.rowDone[i] {
			k.addU(c, i, val[t])
			continue
		}
		k.cIdx = append(k.cIdx, i)
		k.cVal = append(k.cVal, val[t])
		big = max(big, val[t], -val[t])
	}
	n := int32(len(k.cIdx)) - k.cBeg[c]
	k.cLen[c], k.cCap[c], k.cMax[c] = n, n, big
	if n > 0 {
		k.colList.add(c, n)
	}
}

// choose returns the pivot of the next step, or a negative column when no acceptable one is left.
func (k *kernel) choose(f *Factor) (int32, int32) {
	bestP, bestC, best := int32(-1), int32(-1), int64(1)<<62
	bestAbs := 0.0
	looked := 0
	for n := int32(1); n <= int32(k.m-k.pivots); n++ {
		for c := k.colList.first[n]; c >= 0; {
			next := k.colList.next[c]
			if k.cMax[c] < pivotFloor {
				k.colList.remove(c, n) // dependent: repair will replace it
				c = next
				continue
			}
			floor := k.cMax[c] * f.Threshold
			b := k.cBeg[c]
			for t := b; t < b+n; t++ {
				v := k.cVal[t]
				if v < 0 {
					v = -v
				}
				if v < floor {
					continue
				}
				merit := int64(k.rLen[k.cIdx[t]]-1) * int64(n-1)
				if merit < best || merit == best && v > bestAbs {
					best, bestP, bestC, bestAbs = merit, k.cIdx[t], c, v
				}
			}
			f.Work += int64(n)
			looked++
			if best <= int64(n-1)*int64(n-1) || bestC >= 0 && looked >= candidates {
				return bestP, bestC
			}
			c = next
		}
		for i := k.rowList.first[n]; i >= 0; i = k.rowList.next[i] {
			b := k.rBeg[i]
			for t := b; t < b+n; t++ {
				c := k.rIdx[t]
				merit := int64(n-1) * int64(k.cLen[c]-1)
				if merit > best || k.cMax[c] < pivotFloor {
					continue
				}
				v := k.entry(i, c)
				if v < 0 {
					v = -v
				}
				if v < k.cMax[c]*f.Threshold {
					continue
				}
				if merit < best || v > bestAbs {
					best, bestP, bestC, bestAbs = merit, i, c, v
				}
			}
			f.Work += int64(n)
			looked++
			if best <= int64(n)*int64(n-1) || bestC >= 0 && looked >= candidates {
				return bestP, bestC
			}
		}
	}
	return bestP, bestC
}

// entry is the value at row i of column c, which must be there.
func (k *kernel) entry(i, c int32) float64 {
	b := k.cBeg[c]
	for t := b; t < b+k.cLen[c]; t++ {
		if k.cIdx[t] == i {
			return k.cVal[t]
		}
	}
	panic("lu: row pattern without its entry")
}

// pivotOn eliminates with pivot (p, c).
func (k *kernel) pivotOn(f *Factor, p, c int32) {
	k.rowList.remove(p, k.rLen[p])
	k.colList.remove(c, k.cLen[c])
	v := k.entry(p, c)
	k.storeColumnOfU(f, p, c)
	k.take(f, p, c, v)

	// The multipliers, and the pivot column out of the row patterns.
	lb := int32(len(f.lIdx))
	for t := k.cBeg[c]; t < k.cBeg[c]+k.cLen[c]; t++ {
		i := k.cIdx[t]
		if i == p {
			continue
		}
		x := k.cVal[t] / v
		f.lIdx = append(f.lIdx, i)
		f.lVal = append(f.lVal, x)
		k.w[i] = x
		k.rowList.remove(i, k.rLen[i])
		k.dropFromRow(i, c)
	}
	le := int32(len(f.lIdx))
	f.lBeg[p], f.lEnd[p] = lb, le
	if le > lb {
		f.lOrder = append(f.lOrder, p)
	}
	for t := k.rBeg[p]; t < k.rBeg[p]+k.rLen[p]; t++ {
		if j := k.rIdx[t]; j != c {
			k.update(f, p, j, lb, le)
		}
	}
	for t := lb; t < le; t++ {
		i := f.lIdx[t]
		k.w[i] = 0
		if k.rLen[i] > 0 {
			k.rowList.add(i, k.rLen[i])
		}
	}
}

// update subtracts the pivot column times the entry in row p from column j, and moves that entry to U.
func (k *kernel) update(f *Factor, p, j, lb, le int32) {
	k.colListRemove(j)
	b, n := k.cBeg[j], k.cLen[j]
	t := b
	for k.cIdx[t] != p {
		t++
	}
	u := k.cVal[t]
	n--
	k.cIdx[t], k.cVal[t] = k.cIdx[b+n], k.cVal[b+n]
	k.addU(j, p, u)
	big := 0.0
	hit := int32(0)
	for t = b; t < b+n; {
		i := k.cIdx[t]
		x := k.cVal[t]
		if l := k.w[i]; l != 0 {
			x -= l * u
			k.seen[i] = true
			hit++
			if x < tiny && x > -tiny {
				n--
				k.cIdx[t], k.cVal[t] = k.cIdx[b+n], k.cVal[b+n]
				k.dropFromRow(i, j)
				continue
			}
			k.cVal[t] = x
		}
		if x < 0 {
			x = -x
		}
		if x > big {
			big = x
		}
		t++
	}
	f.Work += int64(n + le - lb)
	if fill := le - lb - hit; fill > 0 {
		b = k.reserve(j, n, n+fill)
		for t := lb; t < le; t++ {
			i := f.lIdx[t]
			if k.seen[i] {
				k.seen[i] = false
				continue
			}
			x := -f.lVal[t] * u
			k.cIdx[b+n], k.cVal[b+n] = i, x
			n++
			k.addToRow(i, j)
			big = max(big, x, -x)
		}
	} else if hit > 0 {
		for t := lb; t < le; t++ {
			k.seen[f.lIdx[t]] = false
		}
	}
	k.cLen[j], k.cMax[j] = n, big
	if n > 0 {
		k.colList.add(j, n)
	}
}

// colListRemove takes column j out of its list, unless choose has dropped it as dependent.
func (k *kernel) colListRemove(j int32) {
	if k.cMax[j] < pivotFloor && !k.listed(j) {
		return
	}
	k.colList.remove(j, k.cLen[j])
}

func (k *kernel) listed(j int32) bool {
	for c := k.colList.first[k.cLen[j]]; c >= 0; c = k.colList.next[c] {
		if c == j {
			return true
		}
	}
	return false
}

// reserve gives column j room for want entries, keeping its first n, and returns where it begins.
func (k *kernel) reserve(j, n, want int32) int32 {
	b := k.cBeg[j]
	if want <= k.cCap[j] {
		return b
	}
	room := want + want/2 + 4
	at := int32(len(k.cIdx))
	k.cIdx = extend(k.cIdx, int(room))
	k.cVal = extend(k.cVal, int(room))
	copy(k.cIdx[at:at+n], k.cIdx[b:b+n])
	copy(k.cVal[at:at+n], k.cVal[b:b+n])
	k.cBeg[j], k.cCap[j] = at, room
	return at
}

func (k *kernel) dropFromRow(i, c int32) {
	b, n := k.rBeg[i], k.rLen[i]-1
	t := b
	for k.rIdx[t] != c {
		t++
	}
	k.rIdx[t] = k.rIdx[b+n]
	k.rLen[i] = n
}

func (k *kernel) addToRow(i, c int32) {
	b, n := k.rBeg[i], k.rLen[i]
	if n == k.rCap[i] {
		room := n + n/2 + 4
		at := int32(len(k.rIdx))
		k.rIdx = extend(k.rIdx, int(room))
		copy(k.rIdx[at:at+n], k.rIdx[b:b+n])
		k.rBeg[i], k.rCap[i] = at, room
		b = at
	}
	k.rIdx[b+n] = c
	k.rLen[i]++
}

// extend appends n unspecified entries.
func extend[T any](s []T, n int) []T {
	if len(s)+n <= cap(s) {
		return s[:len(s)+n]
	}
	t := make([]T, len(s)+n, 2*(len(s)+n))
	copy(t, s)
	return t
}

// storeColumnOfU moves the listed entries of the column at place c to U.
func (k *kernel) storeColumnOfU(f *Factor, p, c int32) {
	f.ucBeg[p] = int32(len(f.ucIdx))
	for t := k.uHead[c]; t >= 0; t = k.uNext[t] {
		f.ucIdx = append(f.ucIdx, k.uRow[t])
		f.ucVal = append(f.ucVal, k.uVal[t])
	}
	f.ucEnd[p] = int32(len(f.ucIdx))
}

// repair gives each row left without a pivot its own identity column.
func (k *kernel) repair(f *Factor, n int) {
	if k.pivots == k.m {
		return
	}
	c := 0
	for i := range k.rowDone {
		if k.rowDone[i] {
			continue
		}
		for k.colDone[c] {
			c++
		}
		f.Swaps = append(f.Swaps, Swap{Row: int32(i), Out: k.head[c]})
		k.head[c] = int32(n + i)
		f.ucBeg[i], f.ucEnd[i] = 0, 0
		k.take(f, int32(i), int32(c), 1)
	}
}

// storeU makes the row-wise copy of U, with a little room in each row for updates.
func (k *kernel) storeU(f *Factor) {
	clear(f.urEnd)
	for _, i := range f.ucIdx {
		f.urEnd[i]++
	}
	at := int32(0)
	for i := range f.urBeg {
		n := f.urEnd[i]
		f.urBeg[i], f.urEnd[i], f.urCap[i] = at, at, n+4
		at += n + 4
	}
	f.urIdx = grow(f.urIdx, int(at))
	f.urVal = grow(f.urVal, int(at))
	for _, p := range f.order {
		for t := f.ucBeg[p]; t < f.ucEnd[p]; t++ {
			i := f.ucIdx[t]
			f.urIdx[f.urEnd[i]], f.urVal[f.urEnd[i]] = p, f.ucVal[t]
			f.urEnd[i]++
		}
	}
}
