package audit

import (
	"math"
	"math/big"
	"strconv"
)

// num is an exact rational; the zero value is 0. Values are never changed once made.
type num struct{ r *big.Rat }

var zeroRat = new(big.Rat)

func (x num) rat() *big.Rat {
	if x.r == nil {
		return zeroRat
	}
	return x.r
}

// entered is the shortest decimal that reads as x: what somebody typed into the book. NaN and infinities are 0.
func entered[T ~float64](x T) num {
	if math.IsNaN(float64(x)) || math.IsInf(float64(x), 0) {
		return num{}
	}
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(float64(x), 'g', -1, 64))
	return num{r}
}

// computed is the very value of x. NaN and infinities are 0; the rule "finite" finds them.
func computed[T ~float64](x T) num {
	if r := new(big.Rat).SetFloat64(float64(x)); r != nil {
		return num{r}
	}
	return num{}
}

func whole[T ~int | ~int32 | ~int64](x T) num { return num{new(big.Rat).SetInt64(int64(x))} }

func (x num) add(y num) num { return num{new(big.Rat).Add(x.rat(), y.rat())} }
func (x num) sub(y num) num { return num{new(big.Rat).Sub(x.rat(), y.rat())} }
func (x num) mul(y num) num { return num{new(big.Rat).Mul(x.rat(), y.rat())} }

// over is x ÷ y, 0 if y is 0.
func (x num) over(y num) num {
	if y.rat().Sign() == 0 {
		return num{}
	}
	return num{new(big.Rat).Quo(x.rat(), y.rat())}
}

func (x num) less(y num) bool { return x.rat().Cmp(y.rat()) < 0 }
func (x num) sign() int       { return x.rat().Sign() }

func (x num) float() float64 {
	f, _ := x.rat().Float64()
	return f
}

func least(x, y num) num {
	if y.less(x) {
		return y
	}
	return x
}

func most(x, y num) num {
	if x.less(y) {
		return y
	}
	return x
}

// orElse is x, or d if x is not above 0: a field left empty.
func orElse(x, d num) num {
	if x.sign() > 0 {
		return x
	}
	return d
}
