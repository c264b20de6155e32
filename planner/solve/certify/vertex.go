package certify

import (
	"math"
	"math/big"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/internal/rational"
	"feedline/planner/solve/internal/sparse"
)

// vertexTime is how long the exact solution of a basis may take; beyond it the answer stands on its floating-point numbers.
const vertexTime = 20 * time.Second

// vertex is the basic solution of an answer's basis, its duals likewise, in rationals. Columns off the basis stand at the side
// that X is at, rows off it at the side that their dual or else X names.
type vertex struct {
	m     *model.Model
	sys   *rational.System
	place []int // position of each variable in the basis, −1 off it
	x, y  rational.Solution
	hasX  bool
	hasY  bool
	rest  []float64 // value of each variable off the basis, rows' activities after the columns
}

// newVertex solves both systems; nil when res has no basis or the basis is none.
func newVertex(m *model.Model, res solve.Result) *vertex {
	n, rows := m.NumVars(), m.NumRows()
	if len(res.Basic) != rows || !res.Has || len(res.X) != n || len(res.Y) != rows || rows == 0 {
		return nil
	}
	v := &vertex{m: m, place: make([]int, n+rows), rest: make([]float64, n+rows)}
	for k := range v.place {
		v.place[k] = -1
	}
	basic := make([]int32, rows)
	for p, k := range res.Basic {
		if k < 0 || k >= n+rows {
			return nil
		}
		basic[p] = int32(k)
	}
	c := m.Columns()
	cols := sparse.Matrix{Beg: make([]int32, n+1), Idx: make([]int32, len(c.Index)), Val: c.Value}
	for j := range cols.Beg {
		cols.Beg[j] = int32(c.Start[j])
	}
	for k, i := range c.Index {
		cols.Idx[k] = int32(i)
	}
	sys, ok := rational.New(cols, n, basic)
	if !ok {
		return nil
	}
	v.sys = sys
	for p, k := range sys.Head() {
		v.place[k] = p
	}
	v.standAt(res)
	end := time.Now().Add(vertexTime)
	stop := func() bool { return time.Now().After(end) }
	v.solveDuals(stop)
	v.solvePoint(&cols, stop)
	return v
}

// standAt puts the variables off the basis at a side of theirs.
func (v *vertex) standAt(res solve.Result) {
	m, s := v.m, sense(v.m)
	for j, at := range res.X {
		v.rest[j] = nearestSide(at, low(m.Lower[j]), high(m.Upper[j]))
	}
	for i, y := range res.Y {
		lo, up := low(m.RowLower[i]), high(m.RowUpper[i])
		k := m.NumVars() + i
		switch {
		case s*y > 0 && !math.IsInf(lo, 0):
			v.rest[k] = lo
		case s*y < 0 && !math.IsInf(up, 0):
			v.rest[k] = up
		default:
			a := activity(m, model.Row(i), res.X)
			v.rest[k] = nearestSide(a.value(), lo, up)
		}
	}
}

// nearestSide is the finite one of lo and up that at is nearer to; 0 when both are infinite.
func nearestSide(at, lo, up float64) float64 {
	switch {
	case math.IsInf(lo, 0) && math.IsInf(up, 0):
		return 0
	case math.IsInf(up, 0) || !math.IsInf(lo, 0) && at-lo <= up-at:
		return lo
	}
	return up
}

// solveDuals solves Bᵀ·y = c_B.
func (v *vertex) solveDuals(stop func() bool) {
	n := v.m.NumVars()
	var d dyadics
	for _, k := range v.sys.Head() {
		c := 0.0
		if int(k) < n {
			c = v.m.Cost[k]
		}
		d.next(c, 1)
	}
	b, e := d.whole()
	v.y, v.hasY = v.sys.Solve(b, e, true, stop)
}

// solvePoint solves B·z = −N·z_N, a row's identity column standing for minus its activity.
func (v *vertex) solvePoint(cols *sparse.Matrix, stop func() bool) {
	n := v.m.NumVars()
	var d dyadics
	for i := range v.m.NumRows() {
		at := 0.0
		if v.place[n+i] < 0 {
			at = v.rest[n+i]
		}
		d.next(at, 1)
	}
	for j := range n {
		if v.place[j] >= 0 || v.rest[j] == 0 {
			continue
		}
		idx, val := cols.Line(j)
		for k, i := range idx {
			d.addTo(int(i), -val[k], v.rest[j])
		}
	}
	b, e := d.whole()
	v.x, v.hasX = v.sys.Solve(b, e, false, stop)
}

// value is variable k of the basic solution, rows' activities after the columns.
func (v *vertex) value(k int) *big.Rat {
	p := v.place[k]
	if p < 0 {
		return new(big.Rat).SetFloat64(v.rest[k])
	}
	r := v.x.Rat(p)
	if k >= v.m.NumVars() {
		r.Neg(r)
	}
	return r
}

// outside notes by how much the basic solution lies outside bounds and rows.
func (v *vertex) outside(bound, row *Violation) {
	m := v.m
	see := func(to *Violation, k int, lo, up float64, where func() string) {
		if v.place[k] < 0 && (v.rest[k] == lo || v.rest[k] == up) {
			return
		}
		at := v.value(k)
		for s, side := range map[float64]float64{1: low(lo), -1: high(up)} {
			if math.IsInf(side, 0) {
				continue
			}
			by := new(big.Rat).SetFloat64(side)
			if by.Sub(by, at); int(s)*by.Sign() > 0 {
				f, _ := by.Float64()
				to.note(up1(math.Abs(f)), side, where)
			}
		}
	}
	for j := range m.NumVars() {
		see(bound, j, m.Lower[j], m.Upper[j], func() string { return "column " + m.NameOfVar(model.Var(j)) })
	}
	for i := range m.NumRows() {
		see(row, m.NumVars()+i, m.RowLower[i], m.RowUpper[i], func() string { return "row " + m.NameOfRow(model.Row(i)) })
	}
}

// up1 is the next float64.
func up1(f float64) float64 { return math.Nextafter(f, math.Inf(1)) }

// objective is that of the basic solution.
func (v *vertex) objective() *big.Rat {
	z := new(big.Rat).SetFloat64(v.m.Offset)
	for j, c := range v.m.Cost {
		if c != 0 {
			r := v.value(j)
			z.Add(z, r.Mul(r, new(big.Rat).SetFloat64(c)))
		}
	}
	return z
}

// bound is what the exact duals prove, in the model's own sense, rounded to the safe side. False, with the column or row that
// is in the way, when one of the wrong sign meets an infinite side.
func (v *vertex) bound() (bound float64, where string, ok bool) {
	m, s := v.m, sense(v.m)
	// In the minimised sense, over the common denominator: Σ y·side + Σ d·bound.
	den := v.y.Den
	z := dyadic{}
	z.addProduct(den, s*m.Offset, 0)
	var side float64
	for i := range m.NumRows() {
		y := v.y.Num[i]
		if y.Sign() == 0 {
			continue
		}
		if side = low(m.RowLower[i]); int(s)*y.Sign() < 0 {
			side = high(m.RowUpper[i])
		}
		if math.IsInf(side, 0) {
			return 0, "row " + m.NameOfRow(model.Row(i)), false
		}
		z.addProduct(y, s*side, v.y.Exp)
	}
	cols := m.Columns()
	for j, c := range m.Cost {
		d := dyadic{}
		d.addProduct(den, s*c, 0)
		for k := cols.Start[j]; k < cols.Start[j+1]; k++ {
			d.addProduct(v.y.Num[cols.Index[k]], -s*cols.Value[k], v.y.Exp)
		}
		sign := d.v.Sign()
		if sign == 0 {
			continue
		}
		if side = low(m.Lower[j]); sign < 0 {
			side = high(m.Upper[j])
		}
		if math.IsInf(side, 0) {
			return 0, "column " + m.NameOfVar(model.Var(j)), false
		}
		z.addProduct(&d.v, side, d.exp)
	}
	r := rational.Solution{Num: []*big.Int{&z.v}, Den: den, Exp: z.exp}.Rat(0)
	return s * floorOf(r), "", true
}

// floorOf is the greatest float64 not above r.
func floorOf(r *big.Rat) float64 {
	f, exactly := r.Float64()
	if !exactly && new(big.Rat).SetFloat64(f).Cmp(r) > 0 {
		return math.Nextafter(f, math.Inf(-1))
	}
	return f
}

// dyadic is the number v·2^exp.
type dyadic struct {
	v   big.Int
	exp int
}

// addProduct adds k·f·2^e.
func (d *dyadic) addProduct(k *big.Int, f float64, e int) {
	if f == 0 || k.Sign() == 0 {
		return
	}
	frac, at := math.Frexp(f)
	t := big.NewInt(int64(math.Ldexp(frac, 53)))
	at += e - 53
	zeros := t.TrailingZeroBits()
	t.Rsh(t, zeros)
	at += int(zeros)
	t.Mul(t, k)
	switch {
	case d.v.Sign() == 0:
		d.exp = at
	case at > d.exp:
		t.Lsh(t, uint(at-d.exp))
	case at < d.exp:
		d.v.Lsh(&d.v, uint(d.exp-at))
		d.exp = at
	}
	d.v.Add(&d.v, t)
}

// dyadics is a vector of them.
type dyadics []*dyadic

// next appends a·b.
func (d *dyadics) next(a, b float64) {
	*d = append(*d, &dyadic{})
	d.addTo(len(*d)-1, a, b)
}

// addTo adds a·b to entry i.
func (d dyadics) addTo(i int, a, b float64) {
	if a == 0 || b == 0 {
		return
	}
	frac, at := math.Frexp(a)
	d[i].addProduct(big.NewInt(int64(math.Ldexp(frac, 53))), b, at-53)
}

// whole writes all entries as whole numbers of one power of two.
func (d dyadics) whole() ([]*big.Int, int) {
	least := 0
	for _, v := range d {
		if v.v.Sign() != 0 {
			least = min(least, v.exp)
		}
	}
	w := make([]*big.Int, len(d))
	for i, v := range d {
		w[i] = new(big.Int).Set(&v.v)
		if v.v.Sign() != 0 {
			w[i].Lsh(w[i], uint(v.exp-least))
		}
	}
	return w, least
}
