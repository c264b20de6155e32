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
	warmPrograms
)

// named is a basis by hash of name; what it does not have is at its lower bound.
type named map[uint32]lp.Status

func hashOf(kind byte, name string) uint32 {
	h := fnv.New32a()
	h.Write([]byte{kind})
	h.Write([]byte(name))
	return h.Sum32()
}

// put notes the status of a column ('c') or row ('r').
func (n named) put(kind byte, name string, s lp.Status) {
	if s != lp.AtLower {
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

// on is the basis for m, as far as its columns and rows are known. A row that is new is basic, so that it has no say at first.
func (n named) on(m *model.Model) lp.Basis {
	b := lp.Basis{Cols: make([]lp.Status, m.NumVars()), Rows: make([]lp.Status, m.NumRows())}
	for j := range b.Cols {
		b.Cols[j] = n[hashOf('c', m.NameOfVar(model.Var(j)))]
	}
	for i := range b.Rows {
		b.Rows[i] = n[hashOf('r', m.NameOfRow(model.Row(i)))]
	}
	return b
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

// bases are those of a plan's programs; nil where there is none.
type bases [warmPrograms]named

// text packs the bases: for each the count of each status and the sorted hashes as differences, in base 64.
func (b *bases) text() string {
	var out []byte
	for _, n := range b {
		for _, status := range []lp.Status{lp.Basic, lp.AtUpper, lp.Free} {
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
		for _, status := range []lp.Status{lp.Basic, lp.AtUpper, lp.Free} {
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
