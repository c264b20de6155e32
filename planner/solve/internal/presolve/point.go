package presolve

// Status says where a column or a row's activity stands in a basis.
type Status int8

// The places.
const (
	AtLower Status = iota
	AtUpper
	Basic
	Free // nonbasic at zero
)

// opposite is the other bound.
func (t Status) opposite() Status {
	switch t {
	case AtLower:
		return AtUpper
	case AtUpper:
		return AtLower
	}
	return t
}

// bySign is the bound at which a nonbasic column or row of reduced cost v and equal bounds stands.
func bySign(v float64) Status {
	if v < 0 {
		return AtUpper
	}
	return AtLower
}

// Point is a primal point with its duals and basis. X alone will do, and Cols and Rows may be left out.
type Point struct {
	X, Y, D    []float64 // columns; rows; columns
	Cols, Rows []Status
}

// step undoes one reduction on a point of the original program's dimensions.
type step interface {
	undo(p *point)
}

// point is a Point on its way back. y is nil when only primal values are wanted.
type point struct {
	x, y, d    []float64
	cols, rows []Status
}

// rowSum is Σ terms·x.
func (p *point) rowSum(terms []term) float64 {
	t := 0.0
	for _, k := range terms {
		t += k.val * p.x[k.at]
	}
	return t
}

// price is cost − Σ terms·y.
func (p *point) price(cost float64, terms []term) float64 {
	for _, k := range terms {
		cost -= k.val * p.y[k.at]
	}
	return cost
}

// merged says whose bounds a column or row has after an intersection, for the undo to tell who is held.
type merged struct {
	lowerFrom, upperFrom bool // whether the bound came from the partner that is gone
	equal                bool // whether the bounds became equal, so that the status may be either
}

// split returns the status of a column or row of merged bounds, and whether it is its gone partner's bound
// that holds it. With equal bounds the sign of the reduced cost decides; if that is zero, its own bound is preferred.
func (t merged) split(st Status, d float64) (Status, bool) {
	if st != AtLower && st != AtUpper {
		return st, false
	}
	if t.equal && d != 0 {
		st = bySign(d)
	} else if t.equal && !t.lowerFrom {
		st = AtLower
	} else if t.equal && !t.upperFrom {
		st = AtUpper
	}
	return st, st == AtLower && t.lowerFrom || st == AtUpper && t.upperFrom
}

// guess is the status of a variable of value x and reduced cost d without a basis.
func guess(x, d, lo, up float64) Status {
	atLower, atUpper := x <= lo+redundantTol*scale(lo), x >= up-redundantTol*scale(up)
	switch {
	case atLower && (d > 0 || !atUpper):
		return AtLower
	case atUpper:
		return AtUpper
	case d > strictDual && lo > -inf && x-lo <= up-x:
		return AtLower
	case d < -strictDual && up < inf && up-x <= x-lo:
		return AtUpper
	}
	return Basic
}
