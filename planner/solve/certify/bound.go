package certify

import (
	"math"

	"feedline/planner/model"
)

// proof is a bound on a minimisation that follows from duals, and what had to be done to get it.
type proof struct {
	lower    float64 // proven; −Inf without a bound
	positive bool    // the exact sum is above zero
	dropped  float64 // largest dual of the wrong sign, set to zero
	leaned   int     // columns whose wrong reduced cost met an implied limit
	shifted  int     // shifts of duals
	blocked  model.Var
}

// prover computes the sum of the package comment without rounding.
type prover struct {
	m      *model.Model
	cost   []float64 // minimised
	offset float64
	cols   model.Columns
	y      []float64
	d      []*exact
	lo, up []float64 // limits in use
	cutoff float64   // K, without offset; +Inf for none
	before float64   // the dual that moveDual replaced last
	proof
}

// prove finds the bound that y (of the minimised model) gives on cost; cutoff is +Inf or a K of the package comment.
func prove(m *model.Model, cost []float64, offset float64, y []float64, cutoff float64) proof {
	p := &prover{m: m, cost: cost, offset: offset, cols: m.Columns(), cutoff: cutoff}
	p.blocked = -1
	p.takeDuals(y)
	p.d = make([]*exact, m.NumVars())
	p.lo, p.up = make([]float64, m.NumVars()), make([]float64, m.NumVars())
	for j := range p.d {
		p.d[j] = p.reducedCost(model.Var(j))
		p.lo[j], p.up[j] = low(m.Lower[j]), high(m.Upper[j])
	}
	if p.anyOpen() {
		p.shiftAll()
	}
	usesCutoff := false
	if p.anyOpen() {
		usesCutoff = !math.IsInf(cutoff, 0)
		p.lean()
	}
	p.add(usesCutoff)
	return p.proof
}

// takeDuals copies y with wrong-signed and unusable entries set to zero.
func (p *prover) takeDuals(y []float64) {
	p.y = make([]float64, p.m.NumRows())
	for i, v := range y {
		switch {
		case p.signAllowed(i, v):
			p.y[i] = v
		case math.IsNaN(v):
			p.dropped = math.Inf(1)
		default:
			p.dropped = math.Max(p.dropped, math.Abs(v))
		}
	}
}

// signAllowed tells whether v may stand as dual of row i: finite, and the side that it multiplies is finite.
func (p *prover) signAllowed(i int, v float64) bool {
	switch {
	case v > 0:
		return !math.IsInf(v, 0) && !math.IsInf(low(p.m.RowLower[i]), 0)
	case v < 0:
		return !math.IsInf(v, 0) && !math.IsInf(high(p.m.RowUpper[i]), 0)
	}
	return v == 0
}

func (p *prover) reducedCost(j model.Var) *exact {
	d := newExact()
	d.add(p.cost[j], 1)
	for k := p.cols.Start[j]; k < p.cols.Start[j+1]; k++ {
		d.add(-p.cols.Value[k], p.y[p.cols.Index[k]])
	}
	return d
}

// open tells whether column j makes the sum −∞: its reduced cost pulls towards an infinite side.
func (p *prover) open(j int) bool {
	switch p.d[j].sign() {
	case 1:
		return math.IsInf(p.lo[j], 0)
	case -1:
		return math.IsInf(p.up[j], 0)
	}
	return false
}

func (p *prover) anyOpen() bool {
	for j := range p.d {
		if p.open(j) {
			return true
		}
	}
	return false
}

// lean replaces infinite sides by implied limits.
func (p *prover) lean() {
	var extra []row
	if !math.IsInf(p.cutoff, 0) {
		r := row{lo: math.Inf(-1), up: p.cutoff}
		for j, c := range p.cost {
			if c != 0 {
				r.vars = append(r.vars, model.Var(j))
				r.coefs = append(r.coefs, c)
			}
		}
		extra = append(extra, r)
	}
	b := implied(p.m, extra...)
	for j := range p.d {
		if p.open(j) {
			p.lo[j], p.up[j] = b.lo[j], b.up[j]
			p.leaned++
		}
	}
}

// add adds up the bound.
func (p *prover) add(usesCutoff bool) {
	z := newExact()
	z.add(p.offset, 1)
	for i, v := range p.y {
		switch {
		case v > 0:
			z.add(v, p.m.RowLower[i])
		case v < 0:
			z.add(v, p.m.RowUpper[i])
		}
	}
	for j, d := range p.d {
		at := p.lo[j]
		if d.sign() < 0 {
			at = p.up[j]
		}
		if d.sign() == 0 || at == 0 {
			continue
		}
		if math.IsInf(at, 0) {
			p.lower, p.blocked = math.Inf(-1), model.Var(j)
			return
		}
		z.addScaled(d, at)
	}
	p.lower, p.positive = z.floor(), z.sign() > 0
	if usesCutoff {
		k := newExact()
		k.add(p.offset, 1)
		k.add(p.cutoff, 1)
		p.lower = math.Min(p.lower, k.floor())
	}
}
