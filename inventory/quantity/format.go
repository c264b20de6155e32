package quantity

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

// Number is the shortest decimal, of 15 significant digits or else as many as are needed, that the Parse functions
// read back with unit u as exactly the stored value v. "NaN" and the infinities have none: the result is then "".
func (u Unit) Number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	exact := new(big.Rat).SetFloat64(v)
	exact.Mul(exact, rat(u.den)).Quo(exact, rat(u.num))
	wide := new(big.Float).SetPrec(exactBits).SetRat(exact)
	for digits := 15; ; digits++ {
		s := plain(wide.Text('e', digits-1))
		if back, perr := u.read(s); perr != nil || back == v {
			return s
		}
	}
}

// exactBits is the precision in which a quotient is written out. 53 bits are a stored value's; with the
// rest, rounding the quotient stays far below half the distance to the next stored value.
const exactBits = 160

// plain writes a number in e-notation as a decimal literal without exponent or trailing zeros.
func plain(e string) string {
	mantissa, exponent, _ := strings.Cut(e, "e")
	n, _ := strconv.Atoi(exponent)
	sign := ""
	if mantissa[0] == '-' {
		sign, mantissa = "-", mantissa[1:]
	}
	digits := strings.TrimRight(strings.Replace(mantissa, ".", "", 1), "0")
	switch {
	case digits == "":
		return "0"
	case n < 0:
		return sign + "0." + strings.Repeat("0", -n-1) + digits
	case len(digits) <= n+1:
		return sign + digits + strings.Repeat("0", n+1-len(digits))
	}
	return sign + digits[:n+1] + "." + digits[n+1:]
}

// Text is v with the unit's symbol such that the Parse function of its kind reads back exactly v.
func (u Unit) Text(v float64) string { return spaced(u.Number(v), u.Symbol) }

// Format prints the stored value v in the unit, rounded half to even on the binary value to the given decimals, thousands
// grouped by single spaces as NIST SP 811 (2008) 10.5.3 asks for: "12 345.7 kg". A space is never taken for a decimal sign.
func (u Unit) Format(v float64, decimals int) string {
	return spaced(Grouped(u.FromStored(v), decimals), u.Symbol)
}

func spaced(number, symbol string) string {
	if symbol == "" {
		return number
	}
	return number + " " + symbol
}

// Grouped prints a number with the given decimals and its thousands grouped by single spaces. A number that rounds
// to nothing is 0 without a sign.
func Grouped(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', max(0, decimals), 64)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return s
	}
	sign := ""
	if s[0] == '-' {
		s = s[1:]
		if strings.Trim(s, "0.") != "" {
			sign = "-"
		}
	}
	whole, fraction, point := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + " " + whole[i:]
	}
	if point {
		return sign + whole + "." + fraction
	}
	return sign + whole
}

// Format prints in kg or lb; see Unit.Format.
func (m Mass) Format(sys System, decimals int) string {
	return DefaultUnit(KindMass, sys).Format(float64(m), decimals)
}

// FormatTons prints in t or short tons (st).
func (m Mass) FormatTons(sys System, decimals int) string {
	return TonUnit(sys).Format(float64(m), decimals)
}

// TonUnit is the large unit of mass of a system: the tonne or the short ton.
func TonUnit(sys System) Unit {
	symbol := "t"
	if sys == US {
		symbol = "st"
	}
	u, _ := Lookup(symbol)
	return u
}

// Format prints in m or ft; see Unit.Format.
func (l Length) Format(sys System, decimals int) string {
	return DefaultUnit(KindLength, sys).Format(float64(l), decimals)
}

// Format prints in m³ or ft³; see Unit.Format.
func (v Volume) Format(sys System, decimals int) string {
	return DefaultUnit(KindVolume, sys).Format(float64(v), decimals)
}

// Format prints in hours; see Unit.Format.
func (h Hours) Format(decimals int) string {
	return DefaultUnit(KindHours, Metric).Format(float64(h), decimals)
}

// Format prints in kg/h or lb/h; see Unit.Format.
func (r MassRate) Format(sys System, decimals int) string {
	return DefaultUnit(KindMassRate, sys).Format(float64(r), decimals)
}

// Format prints in m/min or ft/min; see Unit.Format.
func (s Speed) Format(sys System, decimals int) string {
	return DefaultUnit(KindSpeed, sys).Format(float64(s), decimals)
}

// Format prints in kg/m or lb/ft; see Unit.Format.
func (d LinearDensity) Format(sys System, decimals int) string {
	return DefaultUnit(KindLinearDensity, sys).Format(float64(d), decimals)
}

// Format prints in kg/m³ or lb/ft³; see Unit.Format.
func (d Density) Format(sys System, decimals int) string {
	return DefaultUnit(KindDensity, sys).Format(float64(d), decimals)
}

// Format prints the amount and the currency, "12 345.00 EUR".
func (m Money) Format(currency string, decimals int) string {
	return spaced(Grouped(float64(m), decimals), currency)
}

// Format prints a price such as "0.85 EUR/kg" or, in US units, "0.39 EUR/lb".
func (p MassPrice) Format(currency string, sys System, decimals int) string {
	return price(float64(p), DefaultUnit(KindMassPrice, sys), currency, decimals)
}

// Format prints a price such as "1.20 EUR/m" or, in US units, "0.37 EUR/ft".
func (p LengthPrice) Format(currency string, sys System, decimals int) string {
	return price(float64(p), DefaultUnit(KindLengthPrice, sys), currency, decimals)
}

// Format prints a price such as "35.00 EUR/h".
func (p HourPrice) Format(currency string, decimals int) string {
	return price(float64(p), DefaultUnit(KindHourPrice, Metric), currency, decimals)
}

func price(v float64, u Unit, currency string, decimals int) string {
	return Grouped(u.FromStored(v), decimals) + " " + currency + u.Symbol
}

// Format prints as a percentage, "85.0 %".
func (s Share) Format(decimals int) string { return Grouped(float64(s)*100, decimals) + " %" }
