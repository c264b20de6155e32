package mip

import (
	"math"

	"feedline/planner/model"
)

var inf = math.Inf(1)

// problem is the program the tree works on: a reduction of the model handed in, always minimised,
// with infinite bounds as math.Inf. Its rows carry the objective as a last row of index m.
// It is read only once the tree grows and shared by all slots.
type problem struct {
	m, n int
	work *model.Model // the reduced model, minimised; what the relaxations are built on

	lower, upper []float64 // of the columns, as in work
	integer      []bool
	cost         []float64
	rowLo, rowUp []float64 // of the rows; the objective row is not in these

	rowStart []int // m+2 entries
	rowVar   []int32
	rowCoef  []float64
	colStart []int // n+1 entries, rows ascending, the objective row last
	colRow   []int32
	colCoef  []float64

	step   float64 // objective values of solutions lie on a grid of this step; 0 means unknown
	gridAt float64 // one point of that grid

	// The way back: original column j is whole[origin] or held fixed.
	kept     []int32   // reduced column → original column
	fixed    []float64 // original column → its value if removed
	keptRows []int32   // reduced row → original row

	varUpper, varLower [][]varBound // per continuous column
	intCols            []int32
	downLocks, upLocks []int32 // rows that hinder a column's decrease, increase
}

// varBound says x ≤ (or ≥) coef·y + constant for the whole-number column y.
type varBound struct {
	y        int32
	coef     float64
	constant float64
	row      int32 // that says so
}

// row returns the columns and coefficients of row i; i = m is the objective.
func (p *problem) row(i int) ([]int32, []float64) {
	a, b := p.rowStart[i], p.rowStart[i+1]
	return p.rowVar[a:b], p.rowCoef[a:b]
}

// col returns the rows and coefficients of column j; the objective row comes last if it is there.
func (p *problem) col(j int) ([]int32, []float64) {
	a, b := p.colStart[j], p.colStart[j+1]
	return p.colRow[a:b], p.colCoef[a:b]
}

// newProblem lays the arrays out for the reduced, minimised model w.
func newProblem(w *model.Model) *problem {
	p := &problem{m: w.NumRows(), n: w.NumVars(), work: w,
		lower: w.Lower, upper: w.Upper, integer: w.Integer, cost: w.Cost, rowLo: w.RowLower, rowUp: w.RowUpper}
	p.layRows()
	p.layColumns()
	for j := range p.n {
		if p.integer[j] {
			p.intCols = append(p.intCols, int32(j))
		}
	}
	p.countLocks()
	p.findVarBounds()
	p.step, p.gridAt = objectiveGrid(p)
	return p
}

func (p *problem) layRows() {
	p.rowStart = make([]int, 0, p.m+2)
	for i := range p.m {
		p.rowStart = append(p.rowStart, len(p.rowVar))
		vars, coefs := p.work.RowTerms(model.Row(i))
		for k, v := range vars {
			p.rowVar = append(p.rowVar, int32(v))
			p.rowCoef = append(p.rowCoef, coefs[k])
		}
	}
	p.rowStart = append(p.rowStart, len(p.rowVar))
	for j, c := range p.cost {
		if c != 0 {
			p.rowVar = append(p.rowVar, int32(j))
			p.rowCoef = append(p.rowCoef, c)
		}
	}
	p.rowStart = append(p.rowStart, len(p.rowVar))
}

func (p *problem) layColumns() {
	p.colStart = make([]int, p.n+1)
	for _, j := range p.rowVar {
		p.colStart[j+1]++
	}
	for j := range p.n {
		p.colStart[j+1] += p.colStart[j]
	}
	p.colRow = make([]int32, len(p.rowVar))
	p.colCoef = make([]float64, len(p.rowVar))
	next := append([]int(nil), p.colStart[:p.n]...)
	for i := range p.m + 1 {
		vars, coefs := p.row(i)
		for k, j := range vars {
			p.colRow[next[j]], p.colCoef[next[j]] = int32(i), coefs[k]
			next[j]++
		}
	}
}

// countLocks counts, per column, the rows that can be violated by moving it down and up.
func (p *problem) countLocks() {
	p.downLocks, p.upLocks = make([]int32, p.n), make([]int32, p.n)
	for i := range p.m {
		vars, coefs := p.row(i)
		for k, j := range vars {
			if (p.rowUp[i] < inf) == (p.rowLo[i] > -inf) {
				p.downLocks[j]++
				p.upLocks[j]++
			} else if (p.rowUp[i] < inf) == (coefs[k] > 0) {
				p.upLocks[j]++
			} else {
				p.downLocks[j]++
			}
		}
	}
}

// restore writes the reduced point x into the original columns.
func (p *problem) restore(x []float64) []float64 {
	full := append([]float64(nil), p.fixed...)
	for k, j := range p.kept {
		full[j] = x[k]
	}
	return full
}

// project picks the reduced columns out of an original point.
func (p *problem) project(full []float64) []float64 {
	x := make([]float64, p.n)
	for k, j := range p.kept {
		x[k] = full[j]
	}
	return x
}

// value is the minimised objective at a reduced point.
func (p *problem) value(x []float64) float64 {
	z := p.work.Offset
	for j, c := range p.cost {
		z += c * x[j]
	}
	return z
}
