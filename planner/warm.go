package planner

import (
	"encoding/base64"
	"encoding/binary"
	"hash/fnv"
	"maps"
	"slices"

	"feedline/planner/model"
	"feedline/planner/solve/lp"
)

// A plan carries the bases that its linear programs ended with, so that a plan made from it, of an input that differs a little, starts where
// it ended. Columns and rows are told by hashes of their names, since a what-if adds and drops some. Bases are hints:
// whatever they say, the programs are solved to the end.

// The programs that have a basis in a plan.
const (
	warmAmounts = iota // hours, feed and stocks with whole numbers held (settle.go)
	warmBound          // the relaxation that bounds the plan (search.go)
	warmNeed           // what demand would eat (need.go)
	warmLots           // the one that knows of lots (lots.go)
	warmPrograms
)

// named is a basis by hash of name; what it does not have is a column at its lower bound or a basic row.
type named map[uint32]lp.Status

// usual is the status that is not noted.
func usual(kind byte) lp.Status {
	if kind == 'r' {
		return lp.Basic
	}
	return lp.AtLower
}

func hashOf(kind byte, name string) uint32 {
	h := fnv.New32a()
	h.Write([]byte{kind})
	h.Write([]byte(name))
	return h.Sum32()
}

// put notes the status of a column ('c') or row ('r').
func (n named) put(kind byte, name string, s lp.Status) {
	if s != usual(kind) {
		n[hashOf(kind, name)] = s
	}
}

// nameBasis tells basis b of m by names.
func nameBasis(m *model.Model, b lp.Basis) named {
	n := named{}
	for j, s := range b.Cols {
		n.put('c', m.NameOfVar(model.Var(j)), s)
	}
	for i, s := range b.Rows {
		n.put('r', m.NameOfRow(model.Row(i)), s)
	}
	return n
}

// on is the basis for m, as far as its columns and rows are known. A row that is new is basic, so that it has no say at first, and so is one
// that lost the column that was basic for it.
func (n named) on(m *model.Model) lp.Basis {
	b := lp.Basis{Cols: make([]lp.Status, m.NumVars()), Rows: make([]lp.Status, m.NumRows())}
	for j := range b.Cols {
		b.Cols[j] = n[hashOf('c', m.NameOfVar(model.Var(j)))]
	}
	for i := range b.Rows {
		b.Rows[i] = n.row(m.NameOfRow(model.Row(i)))
	}
	fillBasis(m, b)
	return b
}

func (n named) row(name string) lp.Status {
	if s, ok := n[hashOf('r', name)]; ok {
		return s
	}
	return lp.Basic
}

// fillBasis makes basic the rows for which no basic column is left. Basic columns are matched with rows as far as singletons go: a column
// in one row not yet matched takes it, a row with one such column takes that; what is left in cycles is taken to match. A row without a
// column after that would leave the basis singular.
func fillBasis(m *model.Model, b lp.Basis) {
	rowsOf := make([][]int32, len(b.Cols))
	colsOf := make([][]int32, len(b.Rows))
	for i := range b.Rows {
		if b.Rows[i] == lp.Basic {
			continue
		}
		vars, _ := m.RowTerms(model.Row(i))
		for _, v := range vars {
			if b.Cols[v] == lp.Basic {
				rowsOf[v], colsOf[i] = append(rowsOf[v], int32(i)), append(colsOf[i], int32(v))
			}
		}
	}
	inRows, inCols := make([]int, len(b.Cols)), make([]int, len(b.Rows))
	goneCol, goneRow := make([]bool, len(b.Cols)), make([]bool, len(b.Rows))
	var cols, rows []int32 // to be looked at
	for v, list := range rowsOf {
		if inRows[v] = len(list); inRows[v] == 1 {
			cols = append(cols, int32(v))
		}
	}
	for i, list := range colsOf {
		if inCols[i] = len(list); inCols[i] <= 1 && b.Rows[i] != lp.Basic {
			rows = append(rows, int32(i))
		}
	}
	match := func(v, i int32) {
		goneCol[v], goneRow[i] = true, true
		for _, o := range rowsOf[v] {
			if inCols[o]--; inCols[o] <= 1 && !goneRow[o] {
				rows = append(rows, o)
			}
		}
		for _, o := range colsOf[i] {
			if inRows[o]--; inRows[o] == 1 && !goneCol[o] {
				cols = append(cols, o)
			}
		}
	}
	for len(cols) > 0 || len(rows) > 0 {
		if n := len(cols); n > 0 {
			v := cols[n-1]
			cols = cols[:n-1]
			if k := slices.IndexFunc(rowsOf[v], func(i int32) bool { return !goneRow[i] }); k >= 0 && !goneCol[v] {
				match(v, rowsOf[v][k])
			}
			continue
		}
		i := rows[len(rows)-1]
		rows = rows[:len(rows)-1]
		if goneRow[i] {
			continue
		}
		if k := slices.IndexFunc(colsOf[i], func(v int32) bool { return !goneCol[v] }); k >= 0 {
			match(colsOf[i][k], i)
		} else {
			goneRow[i], b.Rows[i] = true, lp.Basic
		}
	}
}

// named is the standing by names of f's model.
func (st *standing) named(f *formulation) named {
	n := named{}
	for j, s := range st.cols {
		n.put('c', f.m.NameOfVar(model.Var(j)), s)
	}
	for i, s := range st.rows {
		n.put('r', f.m.NameOfRow(model.Row(i)), s)
	}
	return n
}

// standing is the basis told by the columns and rows of f's model; nil if there is none.
func (n named) standing(f *formulation) *standing {
	if len(n) == 0 {
		return nil
	}
	st := &standing{map[int]lp.Status{}, map[int]lp.Status{}}
	for j := range f.m.NumVars() {
		if s, ok := n[hashOf('c', f.m.NameOfVar(model.Var(j)))]; ok {
			st.cols[j] = s
		}
	}
	for i := range f.m.NumRows() {
		if s, ok := n[hashOf('r', f.m.NameOfRow(model.Row(i)))]; ok {
			st.rows[i] = s
		}
	}
	return st
}

// noted are the statuses that are packed.
var noted = []lp.Status{lp.AtLower, lp.AtUpper, lp.Basic, lp.Free}

// bases are those of a plan's programs; nil where there is none.
type bases [warmPrograms]named

// text packs the bases: for each the count of each status and the sorted hashes as differences, in base 64.
func (b *bases) text() string {
	var out []byte
	for _, n := range b {
		for _, status := range noted {
			var list []uint32
			for _, h := range slices.Sorted(maps.Keys(n)) {
				if n[h] == status {
					list = append(list, h)
				}
			}
			out = binary.AppendUvarint(out, uint64(len(list)))
			last := uint32(0)
			for _, h := range list {
				out = binary.AppendUvarint(out, uint64(h-last))
				last = h
			}
		}
	}
	return base64.StdEncoding.EncodeToString(out)
}

// readBases unpacks a text; what can't be read is as if it were not there.
func readBases(text string) *bases {
	b := &bases{}
	in, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return b
	}
	next := func() uint64 {
		v, n := binary.Uvarint(in)
		if n <= 0 {
			in = nil
			return 0
		}
		in = in[n:]
		return v
	}
	for i := range b {
		n := named{}
		for _, status := range noted {
			h := uint32(0)
			for range min(next(), uint64(len(in))) {
				h += uint32(next())
				n[h] = status
			}
		}
		b[i] = n
	}
	return b
}
