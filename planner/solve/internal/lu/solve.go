package lu

import "feedline/planner/solve/internal/sparse"

const (
	// sparseNow and sparseSoon decide for the search-first form of a solve: the right-hand side's
	// density must be below the one and the density expected of the result below the other.
	sparseNow  = 0.05
	sparseSoon = 0.10
)

// Ftran replaces x by B⁻¹x. If spike is not nil it receives the vector before the last step with U,
// for Update. expect is the usual density (0…1) of results of this kind.
func (f *Factor) Ftran(x, spike *sparse.Vec, expect float64) {
	f.lower(x, f.lBeg, f.lEnd, f.lIdx, f.lVal, f.lOrder, false, expect)
	f.rows(x)
	if spike != nil {
		x.Pack(tiny)
		spike.Copy(x)
	}
	f.upper(x, f.ucBeg, f.ucEnd, f.ucIdx, f.ucVal, true, expect)
}

// Btran replaces x by B⁻ᵀx. If save is not nil it receives U⁻ᵀx, for Update.
func (f *Factor) Btran(x, save *sparse.Vec, expect float64) {
	f.upper(x, f.urBeg, f.urEnd, f.urIdx, f.urVal, false, expect)
	if save != nil {
		save.Copy(x)
	}
	f.rowsBack(x)
	f.lower(x, f.lrBeg, f.lrEnd, f.lrIdx, f.lrVal, f.lrOrder, true, expect)
	if x.N < 0 {
		x.Pack(tiny)
	}
}

func (f *Factor) thin(x *sparse.Vec, expect float64) bool {
	return x.N >= 0 && float64(x.N) < sparseNow*float64(f.m) && expect < sparseSoon
}

// lower solves with L (lists by columns, in order) or Lᵀ (by rows, backwards).
func (f *Factor) lower(x *sparse.Vec, beg, end, idx []int32, val []float64, order []int32, back bool, expect float64) {
	if len(order) == 0 {
		return
	}
	if f.thin(x, expect) {
		f.reach(x, beg, end, idx)
		v := x.Val
		n := 0
		work := 0
		for t := len(f.topo) - 1; t >= 0; t-- {
			p := f.topo[t]
			f.mark[p] = false
			xp := v[p]
			if xp < tiny && xp > -tiny {
				v[p] = 0
				continue
			}
			x.Idx[n] = p
			n++
			b, e := beg[p], end[p]
			ids := idx[b:e]
			vals := val[b:e][:len(ids)]
			for q, i := range ids {
				v[i] -= vals[q] * xp
			}
			work += len(vals)
		}
		x.N = n
		f.Work += int64(work + len(f.topo))
		return
	}
	v := x.Val
	work := len(order)
	for k := range order {
		p := order[k]
		if back {
			p = order[len(order)-1-k]
		}
		xp := v[p]
		if xp == 0 {
			continue
		}
		b, e := beg[p], end[p]
		ids := idx[b:e]
		vals := val[b:e][:len(ids)]
		for q, i := range ids {
			v[i] -= vals[q] * xp
		}
		work += len(vals)
	}
	x.N = -1
	f.Work += int64(work)
}

// upper solves with U (lists by columns, backwards) or Uᵀ (by rows, in order).
func (f *Factor) upper(x *sparse.Vec, beg, end, idx []int32, val []float64, back bool, expect float64) {
	v, piv := x.Val, f.piv
	if f.thin(x, expect) {
		f.reach(x, beg, end, idx)
		n := 0
		work := 0
		for t := len(f.topo) - 1; t >= 0; t-- {
			p := f.topo[t]
			f.mark[p] = false
			xp := v[p]
			if xp < tiny && xp > -tiny {
				v[p] = 0
				continue
			}
			xp /= piv[p]
			v[p] = xp
			x.Idx[n] = p
			n++
			b, e := beg[p], end[p]
			ids := idx[b:e]
			vals := val[b:e][:len(ids)]
			for q, i := range ids {
				v[i] -= vals[q] * xp
			}
			work += len(vals)
		}
		x.N = n
		f.Work += int64(work + len(f.topo))
		return
	}
	n := 0
	order := f.span(x, back)
	work := len(order)
	for k := range order {
		p := order[k]
		if back {
			p = order[len(order)-1-k]
		}
		if p < 0 {
			continue
		}
		xp := v[p]
		if xp == 0 {
			continue
		}
		if xp < tiny && xp > -tiny {
			v[p] = 0
			continue
		}
		xp /= piv[p]
		v[p] = xp
		x.Idx[n] = p
		n++
		b, e := beg[p], end[p]
		ids := idx[b:e]
		vals := val[b:e][:len(ids)]
		for q, i := range ids {
			v[i] -= vals[q] * xp
		}
		work += len(vals)
	}
	x.N = n
	f.Work += int64(work)
}

// span is the part of the pivot order that matters for x: up to (back) or from its outermost nonzero.
func (f *Factor) span(x *sparse.Vec, back bool) []int32 {
	if x.N < 0 {
		return f.order
	}
	first, last := int32(len(f.order)), int32(-1)
	for _, i := range x.Idx[:x.N] {
		first, last = min(first, f.slot[i]), max(last, f.slot[i])
	}
	if back {
		return f.order[:last+1]
	}
	return f.order[first:]
}

// rows applies R₁, …, R_t.
func (f *Factor) rows(x *sparse.Vec) {
	v := x.Val
	for t, p := range f.rRow {
		b, e := f.rBeg[t], f.rBeg[t+1]
		ids := f.rIdx[b:e]
		vals := f.rVal[b:e][:len(ids)]
		s := 0.0
		for q, i := range ids {
			s += vals[q] * v[i]
		}
		if s != 0 {
			put(x, p, v[p]-s)
		}
	}
	f.Work += int64(len(f.rIdx) + len(f.rRow))
}

// rowsBack applies R_tᵀ, …, R₁ᵀ.
func (f *Factor) rowsBack(x *sparse.Vec) {
	v := x.Val
	for t := len(f.rRow) - 1; t >= 0; t-- {
		xp := v[f.rRow[t]]
		if xp == 0 {
			continue
		}
		b, e := f.rBeg[t], f.rBeg[t+1]
		vals := f.rVal[b:e]
		for q, i := range f.rIdx[b:e] {
			put(x, i, v[i]-vals[q]*xp)
		}
		f.Work += int64(len(vals))
	}
	f.Work += int64(len(f.rRow))
}

// cancelled stands for a zero at a place that stays in the pattern.
const cancelled = 1e-50

// put sets place i, adding it to the pattern if it was zero.
func put(x *sparse.Vec, i int32, v float64) {
	if x.N >= 0 && x.Val[i] == 0 {
		x.Idx[x.N] = i
		x.N++
	}
	if v == 0 {
		v = cancelled
	}
	x.Val[i] = v
}

// reach lists in topo, each place after all places that it leads to, what can become nonzero from x's pattern.
func (f *Factor) reach(x *sparse.Vec, beg, end, idx []int32) {
	mark, stack, edge := f.mark, f.stack, f.edge
	topo := f.topo[:0]
	for _, r := range x.Idx[:x.N] {
		if mark[r] {
			continue
		}
		mark[r] = true
		if beg[r] == end[r] {
			topo = append(topo, r)
			continue
		}
		top := 0
		stack[0], edge[0] = r, beg[r]
		for top >= 0 {
			p := stack[top]
			e, last := edge[top], end[p]
			down := false
			for e < last {
				i := idx[e]
				e++
				if mark[i] {
					continue
				}
				mark[i] = true
				if beg[i] == end[i] {
					topo = append(topo, i)
					continue
				}
				edge[top] = e
				top++
				stack[top], edge[top] = i, beg[i]
				down = true
				break
			}
			if !down {
				topo = append(topo, p)
				top--
			}
		}
	}
	f.topo = topo
}
