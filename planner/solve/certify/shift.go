package certify

import (
	"math"

	"feedline/planner/model"
)

const (
	// shiftMargin is what a shift goes beyond the least that is needed, so that rounding the shift can't fall short.
	shiftMargin = 1e-12
	// shiftPasses is how often all open columns are tried: closing one can make room for another.
	shiftPasses = 3
	// shiftBudget is how many nonzeros the trials may touch in all.
	shiftBudget = 20_000_000
)

// shiftAll closes open columns by small changes of single duals, keeping every change that opens no other column.
// Only sides that are infinite on one side can be closed so: a free column needs a reduced cost of exactly zero.
func (p *prover) shiftAll() {
	budget := shiftBudget
	for range shiftPasses {
		closed := false
		for j := range p.d {
			if p.open(j) && p.closeColumn(model.Var(j), &budget) {
				closed = true
			}
		}
		if !closed || budget < 0 {
			return
		}
	}
}

// closeColumn tries the rows of column j.
func (p *prover) closeColumn(j model.Var, budget *int) bool {
	if math.IsInf(p.lo[j], 0) && math.IsInf(p.up[j], 0) {
		return false
	}
	wrong := p.d[j].nearest()
	for k := p.cols.Start[j]; k < p.cols.Start[j+1]; k++ {
		i, a := int(p.cols.Index[k]), p.cols.Value[k]
		delta := wrong / a * (1 + shiftMargin)
		y := p.y[i] + delta // rounded: what counts is the dual that results
		if y == p.y[i] {
			y = math.Nextafter(p.y[i], math.Copysign(math.Inf(1), delta))
		}
		vars, _ := p.m.RowTerms(model.Row(i))
		*budget -= len(vars)
		if *budget < 0 {
			return false
		}
		if p.signAllowed(i, y) && p.tryDual(i, y, j) {
			return true
		}
	}
	return false
}

// tryDual sets row i's dual to y if that closes column j and opens none.
func (p *prover) tryDual(i int, y float64, j model.Var) bool {
	vars, coefs := p.m.RowTerms(model.Row(i))
	was := make([]bool, len(vars))
	for k, v := range vars {
		was[k] = p.open(int(v))
	}
	p.moveDual(vars, coefs, i, y)
	good := !p.open(int(j))
	for k := 0; good && k < len(vars); k++ {
		good = was[k] || !p.open(int(vars[k]))
	}
	if good {
		p.shifted++
		return true
	}
	p.moveDual(vars, coefs, i, p.before)
	return false
}

// moveDual sets row i's dual and brings the reduced costs of its columns along, without rounding.
func (p *prover) moveDual(vars []model.Var, coefs []float64, i int, y float64) {
	for k, v := range vars {
		p.d[v].add(coefs[k], p.y[i])
		p.d[v].add(-coefs[k], y)
	}
	p.before, p.y[i] = p.y[i], y
}
