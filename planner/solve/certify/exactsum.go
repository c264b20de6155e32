package certify

import "math/big"

// exactBits is enough for sums of products of three float64 values to be exact: such a product is a multiple of
// 2^(−3·1074) below 2^(3·1024), and 2^64 of them need 64 bits more.
const exactBits = 3*(1074+1024) + 64

// exact is a number held without rounding. Mantissas only grow as long as the values need.
type exact struct{ v, t big.Float }

func newExact() *exact {
	e := &exact{}
	e.v.SetPrec(exactBits)
	e.t.SetPrec(exactBits)
	return e
}

// add adds a·b, both finite.
func (e *exact) add(a, b float64) {
	if a == 0 || b == 0 {
		return
	}
	var f big.Float
	e.t.SetFloat64(a)
	f.SetFloat64(b)
	e.t.Mul(&e.t, &f)
	e.v.Add(&e.v, &e.t)
	if e.v.Acc() != big.Exact || e.t.Acc() != big.Exact {
		panic("certify: an exact sum was rounded")
	}
}

// addScaled adds o·b, b finite.
func (e *exact) addScaled(o *exact, b float64) {
	var f big.Float
	f.SetFloat64(b)
	e.t.Mul(&o.v, &f)
	e.v.Add(&e.v, &e.t)
	if e.v.Acc() != big.Exact || e.t.Acc() != big.Exact {
		panic("certify: an exact sum was rounded")
	}
}

func (e *exact) sign() int { return e.v.Sign() }

// floor and ceil are the nearest float64 values not above and not below.
func (e *exact) floor() float64 { return directed(&e.v, big.Below, down) }
func (e *exact) ceil() float64  { return directed(&e.v, big.Above, up) }

// directed rounds v; the result errs on the side want or not at all.
func directed(v *big.Float, want big.Accuracy, step func(float64) float64) float64 {
	f, acc := v.Float64()
	if acc == big.Exact || acc == want {
		return f
	}
	return step(f)
}

// nearest is the float64 next to the value.
func (e *exact) nearest() float64 {
	f, _ := e.v.Float64()
	return f
}
