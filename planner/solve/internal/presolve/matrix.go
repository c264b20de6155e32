package presolve

import "feedline/planner/model"

const none = int32(-1)

// entry is one nonzero, linked with the others of its row and of its column; none ends a list.
type entry struct {
	row, col         int32
	rowNext, rowPrev int32
	colNext, colPrev int32
	val              float64
}

// matrix holds nonzeros so that rows and columns can be walked, and entries inserted and removed, in any order.
type matrix struct {
	ent              []entry
	spare            int32 // head of the removed entries, linked by rowNext
	count            int   // live entries
	rowHead, colHead []int32
	rowLen, colLen   []int32
}

func (a *matrix) load(m *model.Model) {
	rows, cols := m.NumRows(), m.NumVars()
	a.ent = make([]entry, 0, m.NumNonzeros()+m.NumNonzeros()/8)
	a.spare = none
	a.rowHead, a.colHead = filled(rows, none), filled(cols, none)
	a.rowLen, a.colLen = make([]int32, rows), make([]int32, cols)
	for i := rows - 1; i >= 0; i-- { // backwards: insert puts entries in front
		vars, coefs := m.RowTerms(model.Row(i))
		for k := len(vars) - 1; k >= 0; k-- {
			if coefs[k] != 0 {
				a.insert(int32(i), int32(vars[k]), coefs[k])
			}
		}
	}
}

func filled(n int, v int32) []int32 {
	s := make([]int32, n)
	for i := range s {
		s[i] = v
	}
	return s
}

// insert adds an entry that is not there yet.
func (a *matrix) insert(row, col int32, val float64) int32 {
	e := a.spare
	if e == none {
		e = int32(len(a.ent))
		a.ent = append(a.ent, entry{})
	} else {
		a.spare = a.ent[e].rowNext
	}
	r, c := a.rowHead[row], a.colHead[col]
	a.ent[e] = entry{row: row, col: col, rowNext: r, rowPrev: none, colNext: c, colPrev: none, val: val}
	if r != none {
		a.ent[r].rowPrev = e
	}
	if c != none {
		a.ent[c].colPrev = e
	}
	a.rowHead[row], a.colHead[col] = e, e
	a.rowLen[row]++
	a.colLen[col]++
	a.count++
	return e
}

func (a *matrix) remove(e int32) {
	t := &a.ent[e]
	if t.rowPrev == none {
		a.rowHead[t.row] = t.rowNext
	} else {
		a.ent[t.rowPrev].rowNext = t.rowNext
	}
	if t.rowNext != none {
		a.ent[t.rowNext].rowPrev = t.rowPrev
	}
	if t.colPrev == none {
		a.colHead[t.col] = t.colNext
	} else {
		a.ent[t.colPrev].colNext = t.colNext
	}
	if t.colNext != none {
		a.ent[t.colNext].colPrev = t.colPrev
	}
	a.rowLen[t.row]--
	a.colLen[t.col]--
	a.count--
	t.rowNext = a.spare
	a.spare = e
}

// find returns the entry at row, col or none, walking the shorter of the two lists.
func (a *matrix) find(row, col int32) int32 {
	if a.rowLen[row] < a.colLen[col] {
		e := a.rowHead[row]
		for e != none && a.ent[e].col != col {
			e = a.ent[e].rowNext
		}
		return e
	}
	e := a.colHead[col]
	for e != none && a.ent[e].row != row {
		e = a.ent[e].colNext
	}
	return e
}

// term is a coefficient with its place: a column of a row, or a row of a column.
type term struct {
	at  int32
	val float64
}

// arena hands out slices of terms that live as long as the steps that hold them.
type arena struct{ block []term }

// take returns room for n terms, empty.
func (a *arena) take(n int32) []term {
	if cap(a.block)-len(a.block) < int(n) {
		a.block = make([]term, 0, max(4096, int(n)))
	}
	from := len(a.block)
	a.block = a.block[:from+int(n)]
	return a.block[from:from:len(a.block)]
}
