package lu

import "feedline/planner/solve/internal/sparse"

// Update replaces the column of position p. spike is the new column after L and R (as Ftran saved it),
// row is U⁻ᵀe_p (as Btran saved it), alpha entry p of the new column's B⁻¹ form: the new pivot is alpha
// times the old one. It costs the entries of both vectors and of the lines of U that change.
func (f *Factor) Update(p int32, spike, row *sparse.Vec, alpha float64) {
	old := f.piv[p]
	f.removeRow(p)
	f.removeColumn(p)
	f.insertColumn(p, spike)
	f.order[f.slot[p]] = -1
	f.pivot(p, alpha*old)
	for _, i := range row.Idx[:row.N] {
		if v := -row.Val[i] * old; i != p && (v > tiny || v < -tiny) {
			f.rIdx = append(f.rIdx, i)
			f.rVal = append(f.rVal, v)
		}
	}
	if n := int32(len(f.rIdx)); n > f.rBeg[len(f.rBeg)-1] {
		f.fillAdded += int(n - f.rBeg[len(f.rBeg)-1])
		f.rRow = append(f.rRow, p)
		f.rBeg = append(f.rBeg, n)
	}
	f.updates++
	f.Work += int64(spike.N + row.N)
}

// removeRow empties row p of U: the row operation eliminates it.
func (f *Factor) removeRow(p int32) {
	for t := f.urBeg[p]; t < f.urEnd[p]; t++ {
		q := f.urIdx[t]
		s := f.ucBeg[q]
		for f.ucIdx[s] != p {
			s++
		}
		e := f.ucEnd[q] - 1
		f.ucIdx[s], f.ucVal[s] = f.ucIdx[e], f.ucVal[e]
		f.ucEnd[q] = e
	}
	f.fillAdded -= int(f.urEnd[p] - f.urBeg[p])
	f.urEnd[p] = f.urBeg[p]
}

func (f *Factor) removeColumn(p int32) {
	for t := f.ucBeg[p]; t < f.ucEnd[p]; t++ {
		i := f.ucIdx[t]
		s := f.urBeg[i]
		for f.urIdx[s] != p {
			s++
		}
		e := f.urEnd[i] - 1
		f.urIdx[s], f.urVal[s] = f.urIdx[e], f.urVal[e]
		f.urEnd[i] = e
	}
	f.fillAdded -= int(f.ucEnd[p] - f.ucBeg[p])
}

func (f *Factor) insertColumn(p int32, spike *sparse.Vec) {
	f.ucBeg[p] = int32(len(f.ucIdx))
	for _, i := range spike.Idx[:spike.N] {
		v := spike.Val[i]
		if i == p || v < tiny && v > -tiny {
			continue
		}
		f.ucIdx = append(f.ucIdx, i)
		f.ucVal = append(f.ucVal, v)
		f.insertInRow(i, p, v)
	}
	f.ucEnd[p] = int32(len(f.ucIdx))
	f.fillAdded += int(f.ucEnd[p] - f.ucBeg[p])
}

func (f *Factor) insertInRow(i, p int32, v float64) {
	b, e := f.urBeg[i], f.urEnd[i]
	if n := e - b; n == f.urCap[i] {
		room := n + n/2 + 4
		at := int32(len(f.urIdx))
		f.urIdx = extend(f.urIdx, int(room))
		f.urVal = extend(f.urVal, int(room))
		copy(f.urIdx[at:at+n], f.urIdx[b:e])
		copy(f.urVal[at:at+n], f.urVal[b:e])
		f.urBeg[i], f.urCap[i] = at, room
		e = at + n
	}
	f.urIdx[e], f.urVal[e] = p, v
	f.urEnd[i] = e + 1
}
