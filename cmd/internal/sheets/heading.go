package sheets

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
)

// unit is the unit that Write and Template use for c: a metric or a US one.
func (c *column) unit(us bool) unit {
	sys := quantity.Metric
	if us {
		sys = quantity.US
	}
	switch {
	case c.base() == kindAmount:
		return unit{symbol: quantity.DefaultUnit(c.amount, sys).Symbol}
	case c.base() == kindNumber && len(c.labels) > 0:
		l := &c.labels[0]
		for i := range c.labels {
			if c.labels[i].system == sys {
				l = &c.labels[i]
				break
			}
		}
		return unit{symbol: l.symbol, label: l}
	}
	return unit{}
}

// headed is the heading with its unit: `load [kg]`.
func (t *table) headed(c *column, us bool) string {
	if u := c.unit(us); u.symbol != "" {
		return t.heading(c) + " [" + u.symbol + "]"
	}
	return t.heading(c)
}

// amountText is v as readAmount reads it, exactly.
func amountText(k quantity.Kind, v float64, u unit) string {
	if k == quantity.KindShare && v > 1 { // a bare number above 1 would be taken for a slip
		percent, _ := quantity.Lookup("%")
		return percent.Text(v)
	}
	q := quantity.DefaultUnit(k, quantity.Metric)
	if u.symbol != "" {
		var ok bool
		if q, ok = quantity.Lookup(u.symbol); !ok {
			panic("sheets: unit that quantity does not know")
		}
	}
	return q.Number(v)
}

// splitHeading takes `load [kg]` apart.
func splitHeading(s string) (name, symbol string, bracketed bool) {
	s = strings.TrimSpace(s)
	i := strings.IndexByte(s, '[')
	if i < 0 || !strings.HasSuffix(s, "]") {
		return s, "", false
	}
	return strings.TrimSpace(s[:i]), strings.TrimSpace(s[i+1 : len(s)-1]), true
}

// readUnit finds the unit that a heading of column c names.
func (t *table) readUnit(c *column, symbol string, bracketed bool, p place) (unit, *fault) {
	switch {
	case c.base() == kindAmount:
		return t.readAmountUnit(c, symbol, bracketed, p)
	case c.base() == kindNumber && len(c.labels) > 0:
		return c.readLabel(symbol, bracketed)
	case bracketed && symbol != "":
		return unit{}, &fault{reason: "has a unit where none belongs", remedy: fmt.Sprintf("write the heading as %q", t.heading(c))}
	}
	return unit{}, nil
}

func (t *table) readAmountUnit(c *column, symbol string, bracketed bool, p place) (unit, *fault) {
	bare := c.unit(false).symbol == ""
	if !bracketed || symbol == "" {
		if bare {
			return unit{}, nil
		}
		return unit{}, &fault{reason: "says no unit", allowed: t.unitChoices(c), remedy: fmt.Sprintf("write the heading as %q if it is in %s", t.headed(c, false), c.unit(false).symbol)}
	}
	if _, f := parseQuantity(c.amount, "1 "+symbol, "", c.currency(p)); f != nil {
		f.reason, f.allowed = strings.TrimPrefix(f.reason, "is wrong: "), t.unitChoices(c)
		f.reason = "has a wrong unit: " + f.reason
		return unit{}, f
	}
	return unit{symbol: symbol}, nil
}

// unitChoices lists the headings' units of a quantity.
func (t *table) unitChoices(c *column) string {
	var list []string
	for _, u := range quantity.Units {
		if u.Kind == c.amount && u.Symbol != "" {
			list = append(list, "["+u.Symbol+"]")
		}
	}
	if len(list) == 0 {
		return "no unit"
	}
	return strings.Join(list, ", ")
}

func (c *column) readLabel(symbol string, bracketed bool) (unit, *fault) {
	if !bracketed || symbol == "" {
		if len(c.labels) == 1 {
			return unit{c.labels[0].symbol, &c.labels[0]}, nil
		}
		return unit{}, &fault{reason: "says no unit", allowed: labelChoices(c.labels)}
	}
	for i := range c.labels {
		if squeezed(c.labels[i].symbol) == squeezed(symbol) {
			return unit{c.labels[i].symbol, &c.labels[i]}, nil
		}
	}
	return unit{}, &fault{reason: "has a wrong unit", allowed: labelChoices(c.labels)}
}

func labelChoices(list []label) string {
	var s []string
	for _, l := range list {
		s = append(s, "["+l.symbol+"]")
	}
	return strings.Join(s, ", ")
}

func squeezed(s string) string {
	return strings.NewReplacer(" ", "", "³", "3").Replace(strings.ToLower(s))
}

// allowed says what a cell of c may hold.
func (c *column) allowed(u unit) string {
	switch c.kind {
	case kindWord, kindWords, kindYesNo:
		return strings.Join(c.words, ", ")
	case kindDay, kindLastDay:
		return "a day, YYYY-MM-DD"
	case kindClock, kindEndClock:
		return "a time of day, HH:MM"
	case kindMoment:
		return "a time, YYYY-MM-DD HH:MM"
	case kindWeekdays:
		return "days such as mon-fri"
	case kindAmount, kindNumber, kindWhole, kindMeasured:
		return c.rangeText(u)
	case kindParts:
		return "codes with amounts, such as " + c.example
	}
	return "a text"
}

func (c *column) rangeText(u unit) string {
	what := "a number, "
	if c.kind == kindWhole {
		what = "a whole number, "
	}
	most := c.most
	if u.symbol == "%" {
		most *= 100
	}
	switch {
	case c.above && c.most > 0:
		return what + "more than 0, up to " + short(most)
	case c.above:
		return what + "more than 0"
	case c.most > 0:
		return what + "0 to " + short(most)
	}
	return what + "0 or more"
}

func short(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

// exampleText is the example of c with a heading of the given system, rounded as a person would write it.
func (t *table) exampleText(c *column, us bool) string {
	m, u := c.unit(false), c.unit(us)
	if c.example == "" || m.symbol == u.symbol || c.kind != kindAmount && c.kind != kindNumber {
		return c.example
	}
	var v float64
	var one float64
	if c.kind == kindAmount {
		v, _ = readAmount(c.amount, c.example, m, "")
		q, _ := quantity.Lookup(u.symbol)
		one = q.Factor
	} else {
		v, _ = readNumber(c.example, m)
		one, _ = u.label.ratio().Float64()
	}
	return short(rounded(v / one))
}

// rounded keeps three digits.
func rounded(x float64) float64 {
	if x == 0 {
		return 0
	}
	scale := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*scale) / scale
}

// nearHeading is advice for a heading that is not known.
func nearHeading(name string, known []string) string {
	if near, ok := planner.Nearest(name, known); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "there are: " + strings.Join(known, ", ")
}
