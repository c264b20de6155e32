package mip

// findVarBounds collects variable bounds: rows of two terms, one continuous column x and one whole-number
// column y. a·x + b·y ≤ r gives x ≤ r/a − (b/a)·y for a > 0 and x ≥ … for a < 0.
func (p *problem) findVarBounds() {
	p.varUpper, p.varLower = make([][]varBound, p.n), make([][]varBound, p.n)
	for i := range p.m {
		vars, coefs := p.row(i)
		if len(vars) != 2 {
			continue
		}
		for k := range 2 {
			if x, y := vars[k], vars[1-k]; !p.integer[x] && p.integer[y] {
				p.addVarBound(x, y, coefs[k], coefs[1-k], i)
			}
		}
	}
}

func (p *problem) addVarBound(x, y int32, a, b float64, row int) {
	lo, up := p.rowLo[row], p.rowUp[row]
	if a < 0 {
		a, b, lo, up = -a, -b, -up, -lo
	}
	if up < inf {
		p.varUpper[x] = append(p.varUpper[x], varBound{y, -b / a, up / a, int32(row)})
	}
	if lo > -inf {
		p.varLower[x] = append(p.varLower[x], varBound{y, -b / a, lo / a, int32(row)})
	}
}
