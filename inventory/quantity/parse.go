package quantity

import (
	"fmt"
	"math/big"
	"strings"
)

// ParseError is a text that is no amount of the kind that was asked for.
type ParseError struct {
	Value  string // as given
	Kind   Kind
	Reason string // what is wrong with it
	Units  string // the units that are allowed, "" if they are not what is wrong
	Hint   string // what to write instead
}

// Error is one line: kind, value, what is wrong, what is allowed, what to write.
func (e *ParseError) Error() string {
	s := fmt.Sprintf("%s %q: %s", e.Kind, e.Value, e.Reason)
	if e.Units != "" {
		s += "; allowed: " + e.Units
	}
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// The Parse functions read a number and a unit, with or without a space between: "12.5 t", "900lb", "1 200 kg".
// Without a unit it is the default one of sys. The point is the decimal sign. Thousands may be grouped by
// spaces of any width; commas group them only where nothing else can be meant, as in 1,234,567 or 1,234.50:
// a lone comma, as in 12,5 or 12,500, is refused. An exponent (1.2e3) is read; NaN, infinity and
// what is too large for the type are refused. Conversion is exact: the result is the stored value nearest to what is written.
// All errors are of type *ParseError. Signs are read; whether a negative amount makes sense is for the Check methods.

// ParseMass reads kg, t, g, lb or short ton (st); bare numbers are kg or lb. "ton" is refused.
func ParseMass(s string, sys System) (Mass, error) { return parse[Mass](s, KindMass, sys, "") }

// ParseLength reads m, km, mm, ft or in; bare numbers are m or ft.
func ParseLength(s string, sys System) (Length, error) { return parse[Length](s, KindLength, sys, "") }

// ParseVolume reads m³ (m3), L, ft³ (ft3) or US gal; bare numbers are m³ or ft³.
func ParseVolume(s string, sys System) (Volume, error) { return parse[Volume](s, KindVolume, sys, "") }

// ParseHours reads h, min or d (24 h); bare numbers are hours.
func ParseHours(s string) (Hours, error) { return parse[Hours](s, KindHours, Metric, "") }

// ParseMassRate reads kg/h, t/h or lb/h; bare numbers are kg/h or lb/h.
func ParseMassRate(s string, sys System) (MassRate, error) {
	return parse[MassRate](s, KindMassRate, sys, "")
}

// ParseSpeed reads m/min or ft/min; bare numbers are m/min or ft/min.
func ParseSpeed(s string, sys System) (Speed, error) { return parse[Speed](s, KindSpeed, sys, "") }

// ParseLinearDensity reads kg/m, g/m or lb/ft; bare numbers are kg/m or lb/ft.
func ParseLinearDensity(s string, sys System) (LinearDensity, error) {
	return parse[LinearDensity](s, KindLinearDensity, sys, "")
}

// ParseDensity reads kg/m³ (kg/m3), g/cm³ or lb/ft³; bare numbers are kg/m³ or lb/ft³.
func ParseDensity(s string, sys System) (Density, error) {
	return parse[Density](s, KindDensity, sys, "")
}

// ParseMoney reads an amount; a currency behind it must be the given one.
func ParseMoney(s, currency string) (Money, error) {
	return parse[Money](s, KindMoney, Metric, currency)
}

// ParseMassPrice reads a price per kg, t, lb or short ton such as "0.85 EUR/kg", "0.85 /kg" or "0.85";
// bare numbers are per kg or per lb, and a currency must be the given one.
func ParseMassPrice(s string, sys System, currency string) (MassPrice, error) {
	return parse[MassPrice](s, KindMassPrice, sys, currency)
}

// ParseLengthPrice reads a price per m, km or ft; see ParseMassPrice.
func ParseLengthPrice(s string, sys System, currency string) (LengthPrice, error) {
	return parse[LengthPrice](s, KindLengthPrice, sys, currency)
}

// ParseHourPrice reads a price per hour; see ParseMassPrice.
func ParseHourPrice(s, currency string) (HourPrice, error) {
	return parse[HourPrice](s, KindHourPrice, Metric, currency)
}

// ParseShare reads a percentage with its sign, "85 %", or a bare fraction from −1 to 1, "0.85". A bare number
// outside, such as 85, is refused, for it is most likely a percentage whose sign was left out.
func ParseShare(s string) (Share, error) {
	v, err := parse[Share](s, KindShare, Metric, "")
	if err == nil && (v > 1 || v < -1) && !strings.ContainsAny(s, "%pP") {
		t := strings.TrimSpace(s)
		return 0, &ParseError{Value: s, Kind: KindShare, Reason: "fraction outside of -1 to 1",
			Hint: fmt.Sprintf("write %s %% for a percentage", t)}
	}
	return v, err
}

func parse[T ~float64](s string, k Kind, sys System, currency string) (T, error) {
	digits, rest, perr := splitNumber(s)
	if perr == nil {
		var u Unit
		if u, perr = unitNamed(rest, k, sys, currency); perr == nil {
			var v float64
			if v, perr = u.read(digits); perr == nil {
				return T(v), nil
			}
		}
	}
	perr.Value, perr.Kind = s, k
	return 0, perr
}

// unitNamed finds the unit of kind k that the text behind a number names.
func unitNamed(text string, k Kind, sys System, currency string) (Unit, *ParseError) {
	name, perr := dropCurrency(text, k, currency)
	if perr != nil {
		return Unit{}, perr
	}
	if name == "" {
		return DefaultUnit(k, sys), nil
	}
	u, ok := Lookup(name)
	switch {
	case ok && u.Kind == k:
		return u, nil
	case ambiguousTon(name):
		return Unit{}, &ParseError{Reason: fmt.Sprintf("%q can be a tonne or a short ton", name), Units: symbols(k, sys),
			Hint: "write t for 1000 kg or short ton for 2000 lb"}
	case ok:
		return Unit{}, &ParseError{Reason: fmt.Sprintf("%q is a unit of %s", name, u.Kind), Units: symbols(k, sys)}
	}
	return Unit{}, &ParseError{Reason: fmt.Sprintf("unknown unit %q", name), Units: symbols(k, sys)}
}

func ambiguousTon(name string) bool {
	n := strings.TrimSuffix(strings.ToLower(strings.TrimPrefix(name, "/")), "/h")
	return n == "ton" || n == "tons" || name == "T"
}

// dropCurrency takes the currency off a price or an amount of money: what is left is a unit's symbol.
func dropCurrency(text string, k Kind, currency string) (string, *ParseError) {
	if k != KindMoney && k != KindMassPrice && k != KindLengthPrice && k != KindHourPrice {
		return text, nil
	}
	money, per := text, ""
	if i := strings.IndexByte(text, '/'); i >= 0 {
		money, per = strings.TrimSpace(text[:i]), "/"+strings.TrimSpace(text[i+1:])
	}
	if money == "" || strings.EqualFold(money, currency) {
		return per, nil
	}
	if currency == "" {
		return "", &ParseError{Reason: fmt.Sprintf("%q where a bare number belongs", money), Hint: "leave the currency out"}
	}
	return "", &ParseError{Reason: fmt.Sprintf("%q is not the currency of this amount", money),
		Hint: fmt.Sprintf("give it in %s", currency)}
}

// read converts a decimal literal to the stored value nearest to it.
func (u Unit) read(digits string) (float64, *ParseError) {
	size, ok := new(big.Float).SetPrec(64).SetString(digits)
	if !ok || len(digits) > maxDigits {
		return 0, &ParseError{Reason: "not a number"}
	}
	switch e := size.MantExp(nil); {
	case size.IsInf() || e > maxExponent:
		return 0, &ParseError{Reason: "beyond the range of amounts", Hint: "is the exponent right?"}
	case e < minExponent:
		return 0, nil
	}
	x, ok := new(big.Rat).SetString(digits)
	if !ok {
		return 0, &ParseError{Reason: "not a number"}
	}
	x.Mul(x, rat(u.num)).Quo(x, rat(u.den))
	v, _ := x.Float64()
	return v, nil
}

const (
	maxDigits   = 400   // longest number that is read; no stored value is written with more
	maxExponent = 100   // largest power of two that is read, about 1e30: no plant has more of anything
	minExponent = -1200 // smaller than any stored value but 0
)
