package mip

import (
	"context"
	"math"
	"slices"
)

// separator makes cuts that hold for every solution in the box lower..upper and cut off the point x.
type separator struct {
	p            *problem
	lower, upper []float64
	x            []float64
	cuts         []*cut // rows of the relaxation beyond the problem's, usable in combinations
	found        []*cut
	work         int64
	ctx          context.Context // ends separation early; may be nil

	base   *sparseRow // Σ base·x + Σ slacks ≤ rhs
	rhs    float64
	slacks []slackTerm
	used   []int32 // rows in the combination
	kn     knapsack
	out    *sparseRow
	cover  coverScratch
	paths  *pathFinder
	nets   *networkFinder
}

// slackTerm is the distance s ≥ 0 of a row from its side, with its (negative) coefficient.
// Slacks with positive coefficients need not be kept: dropping them only weakens the ≤ row.
type slackTerm struct {
	row   int32
	upper bool // s = side − a·x, otherwise s = a·x − side
	coef  float64
	value float64 // of s at the point
}

func newSeparator(p *problem) *separator {
	s := &separator{p: p, base: newSparseRow(p.n), out: newSparseRow(p.n), kn: knapsack{ints: newSparseRow(p.n)}}
	s.paths = newPathFinder(s)
	s.nets = newNetworkFinder(s)
	return s
}

// at points the separator to a relaxation's optimum and a box that holds for every solution.
func (s *separator) at(x, lower, upper []float64, cuts []*cut) {
	s.x, s.lower, s.upper, s.cuts = x, lower, upper, cuts
	s.found = s.found[:0:0]
}

// halted tells that the search was ended.
func (s *separator) halted() bool { return s.ctx != nil && s.ctx.Err() != nil }

func (s *separator) rowAt(i int32) (lo, up float64, vars []int32, coefs []float64) {
	if int(i) < s.p.m {
		vars, coefs = s.p.row(int(i))
		return s.p.rowLo[i], s.p.rowUp[i], vars, coefs
	}
	c := s.cuts[int(i)-s.p.m]
	return -inf, c.rhs, c.vars, c.coefs
}

func (s *separator) value(vars []int32, coefs []float64) float64 {
	v := 0.0
	for k, j := range vars {
		v += coefs[k] * s.x[j]
	}
	return v
}

func (s *separator) reset() {
	s.base.clear()
	s.rhs, s.slacks, s.used = 0, s.slacks[:0], s.used[:0]
}

// addRow adds w times row i to the combination, on the side that the point is nearer to.
// It reports false when the row has no side to use.
func (s *separator) addRow(i int32, w float64) bool {
	lo, up, vars, coefs := s.rowAt(i)
	s.work += int64(len(vars))
	s.used = append(s.used, i)
	for k, j := range vars {
		s.base.add(j, w*coefs[k])
	}
	if lo == up {
		s.rhs += w * up
		return true
	}
	v := s.value(vars, coefs)
	atUpper := up-v <= v-lo
	side := lo
	if atUpper {
		side = up
	}
	if math.IsInf(side, 0) {
		return false
	}
	s.rhs += w * side
	if atUpper != (w > 0) {
		s.slacks = append(s.slacks, slackTerm{i, atUpper, -math.Abs(w), math.Max(0, math.Abs(side-v))})
	}
	return true
}

// rebuild makes the combination of the rows with f times the weights. False when a row has no side to use.
func (s *separator) rebuild(rows []int32, weights []float64, f float64) bool {
	s.reset()
	for k, i := range rows {
		if !s.addRow(i, f*weights[k]) {
			return false
		}
	}
	return true
}

// maxAggregated is the number of rows combined into one at most.
const maxAggregated = 6

// separateRows makes cuts from each row and from chains of rows joined by eliminating continuous columns that the
// point holds strictly between their bounds (Marchand and Wolsey 2001, "Aggregation and mixed integer rounding to
// solve MIPs"). On the balance rows of a stock these chains are the paths of consecutive periods.
func (s *separator) separateRows(budget int64) {
	end := s.work + budget
	usedRow := make([]bool, s.p.m)
	rows := make([]int32, 0, maxAggregated)
	weights := make([]float64, 0, maxAggregated)
	for i := range s.p.m {
		if s.work > end || s.halted() {
			return
		}
		if !s.promising(int32(i)) {
			continue
		}
		rows, weights = append(rows[:0], int32(i)), append(weights[:0], 1)
		usedRow[i] = true
		for s.tryBoth(rows, weights) == 0 && len(rows) < maxAggregated && s.work <= end {
			k, w, ok := s.nextRow(usedRow)
			if !ok {
				break
			}
			rows, weights = append(rows, k), append(weights, w)
			usedRow[k] = true
		}
		for _, k := range rows {
			usedRow[k] = false
		}
	}
}

// promising says whether the row is tight or nearly so at the point, and thus worth starting from.
func (s *separator) promising(i int32) bool {
	lo, up, vars, coefs := s.rowAt(i)
	if lo == up {
		return true
	}
	v := s.value(vars, coefs)
	square := 0.0
	for _, c := range coefs {
		square += c * c
	}
	return math.Min(up-v, v-lo) <= 0.1*math.Sqrt(square)
}

// tryBoth tries the combination and its negative; it returns the number of cuts made.
func (s *separator) tryBoth(rows []int32, weights []float64) int {
	before := len(s.found)
	if s.rebuild(rows, weights, -1) {
		s.tryCombination()
	}
	if s.rebuild(rows, weights, 1) {
		s.tryCombination()
	}
	return len(s.found) - before
}

// tryCombination makes what cuts it can of the combination held in base.
func (s *separator) tryCombination() {
	if !s.substitute() {
		return
	}
	s.roundMixed("mir")
	s.coverCut()
}

// nextRow finds the continuous column of the combination that lies farthest inside its bounds and a row to eliminate
// it with. It returns the row and its weight.
func (s *separator) nextRow(used []bool) (int32, float64, bool) {
	best, bestRow, bestWeight := 1e-6, int32(-1), 0.0
	for _, j := range s.base.list {
		a := s.base.coef[j]
		if s.p.integer[j] || math.Abs(a) < 1e-9 {
			continue
		}
		if d := s.boundDistance(j); d > best {
			if row, coef, ok := s.eliminator(j, used); ok {
				best, bestRow, bestWeight = d, row, -a/coef
			}
		}
	}
	return bestRow, bestWeight, bestRow >= 0
}

// boundDistance is how far the point lies from the nearest (variable) bound of continuous column j.
func (s *separator) boundDistance(j int32) float64 {
	_, _, lo := s.bestLower(j)
	_, _, up := s.bestUpper(j)
	return math.Min(s.x[j]-lo, up-s.x[j])
}

// eliminator is the row best suited to eliminate column j: unused, an equation or tight, short.
func (s *separator) eliminator(j int32, used []bool) (int32, float64, bool) {
	rows, coefs := s.p.col(int(j))
	best, row, coef := inf, int32(-1), 0.0
	for k, i := range rows {
		if int(i) == s.p.m || used[i] {
			continue
		}
		lo, up, vars, rc := s.rowAt(i)
		if len(vars) > 200 {
			continue
		}
		s.work += int64(len(vars))
		v := s.value(vars, rc)
		score := math.Min(up-v, v-lo)/math.Abs(coefs[k]) + 0.001*float64(len(vars))
		if len(vars) == 2 && lo != up {
			continue // a variable bound, used by substitution
		}
		if score < best {
			best, row, coef = score, i, coefs[k]
		}
	}
	return row, coef, row >= 0
}

// bestLower is the greatest lower bound of continuous column j at the point: a variable bound (ok) or its plain one. A
// variable bound that is itself part of the combination would only take the combination apart again and is left out.
func (s *separator) bestLower(j int32) (vb varBound, ok bool, at float64) {
	at = s.lower[j]
	for _, b := range s.p.varLower[j] {
		if v := b.coef*s.x[b.y] + b.constant; v > at-1e-9 && !slices.Contains(s.used, b.row) {
			vb, ok, at = b, true, v
		}
	}
	return vb, ok, at
}

func (s *separator) bestUpper(j int32) (vb varBound, ok bool, at float64) {
	at = s.upper[j]
	for _, b := range s.p.varUpper[j] {
		if v := b.coef*s.x[b.y] + b.constant; v < at+1e-9 && !slices.Contains(s.used, b.row) {
			vb, ok, at = b, true, v
		}
	}
	return vb, ok, at
}
