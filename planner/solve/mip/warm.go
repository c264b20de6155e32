package mip

import "feedline/planner/solve/lp"

// A basis of one model serves as a start for another with the same columns and rows and other bounds: it is carried in
// terms of the original columns and rows and cut down to what the reduction kept. What does not fit is repaired by the
// simplex method with slacks.

// warmBasis cuts the original basis b down to the problem; nil stays nil.
func (p *problem) warmBasis(b *lp.Basis) *lp.Basis {
	if b == nil || len(b.Cols) != len(p.fixed) {
		return nil
	}
	w := &lp.Basis{Cols: make([]lp.Status, p.n), Rows: make([]lp.Status, p.m)}
	for k, j := range p.kept {
		w.Cols[k] = b.Cols[j]
	}
	for k, i := range p.keptRows {
		w.Rows[k] = b.Rows[i]
	}
	return w
}

// originalBasis writes a basis of the problem (rows of cuts ignored) in terms of the original model of the given rows.
func (p *problem) originalBasis(b lp.Basis, rows int) *lp.Basis {
	w := &lp.Basis{Cols: make([]lp.Status, len(p.fixed)), Rows: make([]lp.Status, rows)}
	for i := range w.Rows {
		w.Rows[i] = lp.Basic
	}
	for k, j := range p.kept {
		w.Cols[j] = b.Cols[k]
	}
	for k, i := range p.keptRows {
		w.Rows[i] = b.Rows[k]
	}
	return w
}
