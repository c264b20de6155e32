package mip

import "math"

// maxTableauMixed is the length up to which tableau rows are rounded with other δ than 1.
const maxTableauMixed = 150

// separateTableau makes mixed-integer rounding cuts (with δ = 1, Gomory's mixed-integer cuts) from the tableau rows of
// whole-number columns that are basic at a fractional value. The tableau row only lends its row multipliers: the
// combination is added up again from the rows themselves, so that an inaccurate factor costs strength, not validity.
//
// Short combinations are rounded with other δ as well.
func (s *separator) separateTableau(r *relaxation, limit int) {
	rows := s.p.m + len(r.cuts)
	cols, weights := make([]float64, s.p.n), make([]float64, rows)
	list, coefs := make([]int32, 0, rows), make([]float64, 0, rows)
	for i := 0; i < rows && limit > 0; i++ {
		isRow, j := r.s.BasicVar(i)
		if isRow || !s.p.integer[j] {
			continue
		}
		if f := s.x[j] - math.Floor(s.x[j]); f < 0.01 || f > 0.99 {
			continue
		}
		if limit--; s.halted() {
			return
		}
		r.s.TableauRow(i, cols, weights)
		s.work += int64(rows)
		list, coefs = pickWeights(weights, list[:0], coefs[:0])
		if len(list) == 0 || len(list) > 1000 {
			continue
		}
		for _, f := range [2]float64{1, -1} {
			if s.rebuild(list, coefs, f) && s.substitute() {
				s.roundAt(1, "gomory")
				if len(s.kn.coefs) <= maxTableauMixed {
					s.roundMixed("tableau")
				}
			}
		}
	}
}

// pickWeights lists the multipliers that are not dust.
func pickWeights(weights []float64, list []int32, coefs []float64) ([]int32, []float64) {
	largest := 0.0
	for _, w := range weights {
		largest = math.Max(largest, math.Abs(w))
	}
	for i, w := range weights {
		if math.Abs(w) > 1e-9*largest && math.Abs(w) > 1e-12 {
			list, coefs = append(list, int32(i)), append(coefs, w)
		}
	}
	return list, coefs
}

// roundAt makes the cut for a given δ.
func (s *separator) roundAt(delta float64, source string) {
	if s.kn.efficacy(delta) > minEfficacy {
		s.emitMixed(delta, source)
	}
}
