package sheets

import (
	"errors"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"feedline/inventory/quantity"
)

// unit is what the numbers of a column are in.
type unit struct {
	symbol string
	label  *label // of a kindNumber column; nil for a pure number
}

// fault says what is wrong with a text.
type fault struct{ reason, allowed, remedy string }

// numeric is a text that holds a number and nothing else, well formed or not.
var numeric = regexp.MustCompile(`^[-+−]?[\d.,\s_'’]*\d[\d.,\s_'’]*([eE][-+]?\d+)?$`)

// readAmount reads a number of a quantity in unit u, to the stored value nearest to it. currency may stand before the unit of a price.
func readAmount(k quantity.Kind, number string, u unit, currency string) (float64, *fault) {
	number = strings.TrimSpace(number)
	if k == quantity.KindShare {
		if n, ok := strings.CutSuffix(number, "%"); ok {
			number, u.symbol = strings.TrimSpace(n), "%"
		}
	}
	if !numeric.MatchString(number) {
		return 0, notNumeric(number)
	}
	return parseQuantity(k, strings.TrimSpace(number+" "+u.symbol), u.symbol, currency)
}

// eitherPoint refuses 40.000 and 40,000 in a sheet of a country whose decimal sign is the comma: it may well be forty thousand.
func eitherPoint(s string) *fault {
	parts := groupOrDecimals.FindStringSubmatch(s)
	if parts == nil {
		return nil
	}
	sign := "point"
	if parts[2] == "," {
		sign = "comma"
	}
	decimals := strings.TrimRight(parts[3], "0")
	if decimals == "" || len(decimals) == len(parts[3]) {
		decimals += "0" // what is proposed must not be refused again
	}
	return &fault{reason: "is wrong: " + sign + " that can be a decimal sign or a thousands separator", remedy: "write " + parts[1] + parts[3] + " or " + parts[1] + "." + decimals}
}

// groupOrDecimals is a number with one sign and three digits behind it that may be a thousand or a fraction.
var groupOrDecimals = regexp.MustCompile(`^([-+−]?[1-9]\d{0,2})([.,])(\d{3})$`)

func notNumeric(s string) *fault {
	f := &fault{reason: "is not a number", remedy: "write a number such as 12.5"}
	if s != "" && (s[0] >= '0' && s[0] <= '9') {
		f.remedy = "write the number alone: its unit belongs in the heading"
	}
	return f
}

func parseQuantity(k quantity.Kind, s, symbol, currency string) (float64, *fault) {
	v, err := quantityOf(k, s, currency)
	if err == nil {
		return v, nil
	}
	var p *quantity.ParseError
	if !errors.As(err, &p) {
		return 0, &fault{reason: err.Error()}
	}
	hint := p.Hint
	if symbol != "" {
		hint = strings.ReplaceAll(hint+" ", " "+symbol+" ", " ")
	}
	return 0, &fault{reason: "is wrong: " + p.Reason, allowed: p.Units, remedy: strings.TrimSpace(hint)}
}

// quantityOf parses a number with its unit behind it.
func quantityOf(k quantity.Kind, s, currency string) (float64, error) {
	const sys = quantity.Metric // the unit is written, so that it makes no difference
	switch k {
	case quantity.KindMass:
		return plain(quantity.ParseMass(s, sys))
	case quantity.KindLength:
		return plain(quantity.ParseLength(s, sys))
	case quantity.KindVolume:
		return plain(quantity.ParseVolume(s, sys))
	case quantity.KindHours:
		return plain(quantity.ParseHours(s))
	case quantity.KindMassRate:
		return plain(quantity.ParseMassRate(s, sys))
	case quantity.KindSpeed:
		return plain(quantity.ParseSpeed(s, sys))
	case quantity.KindLinearDensity:
		return plain(quantity.ParseLinearDensity(s, sys))
	case quantity.KindDensity:
		return plain(quantity.ParseDensity(s, sys))
	case quantity.KindMoney:
		return plain(quantity.ParseMoney(s, currency))
	case quantity.KindMassPrice:
		return plain(quantity.ParseMassPrice(s, sys, currency))
	case quantity.KindLengthPrice:
		return plain(quantity.ParseLengthPrice(s, sys, currency))
	case quantity.KindHourPrice:
		return plain(quantity.ParseHourPrice(s, currency))
	case quantity.KindShare:
		return plain(quantity.ParseShare(s))
	}
	panic("sheets: kind of quantity without a parser")
}

func plain[T ~float64](v T, err error) (float64, error) { return float64(v), err }

// readNumber reads a number of a label's unit, to the stored value nearest to it.
func readNumber(number string, u unit) (float64, *fault) {
	if !numeric.MatchString(strings.TrimSpace(number)) {
		return 0, notNumeric(strings.TrimSpace(number))
	}
	v, f := parseQuantity(quantity.KindMoney, number, "", "")
	if f != nil || u.label == nil || u.label.num == u.label.den {
		return v, f
	}
	x, ok := new(big.Rat).SetString(strings.Join(strings.FieldsFunc(number, func(r rune) bool { return r == ',' || r == ' ' || r == '\u00a0' }), ""))
	if !ok { // grouped in some rarer way: rounding twice does no harm then
		x = new(big.Rat).SetFloat64(v)
	}
	v, _ = x.Mul(x, u.label.ratio()).Float64()
	return v, nil
}

// ratio is the exact number of stored units in one of l.
func (l *label) ratio() *big.Rat {
	n, ok1 := new(big.Rat).SetString(l.num)
	d, ok2 := new(big.Rat).SetString(l.den)
	if !ok1 || !ok2 {
		panic("sheets: bad literal in the table of labels")
	}
	return n.Quo(n, d)
}

// numberText is the shortest number that readNumber reads as v: of 15 digits, or as many more as are needed.
func numberText(v float64, u unit) string {
	if u.label == nil || u.label.num == u.label.den {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	x := new(big.Rat).SetFloat64(v)
	wide := new(big.Float).SetPrec(160).SetRat(x.Quo(x, u.label.ratio()))
	for digits := 15; ; digits++ {
		s := wide.Text('g', digits)
		short, _, _ := big.ParseFloat(s, 10, 160, big.ToNearestEven)
		s = short.Text('f', -1) // the same digits without an exponent
		if back, f := readNumber(s, u); f != nil || back == v {
			return s
		}
	}
}
