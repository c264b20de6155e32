package quantity

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// splitNumber takes a number off the front of s and gives it as a plain decimal literal, and the text behind it
// with its spaces joined. See the Parse functions for what is allowed.
func splitNumber(s string) (digits, rest string, perr *ParseError) {
	t := strings.TrimSpace(s)
	body, tail := scanNumber(t)
	rest = strings.Join(strings.Fields(tail), " ")
	if !strings.ContainsFunc(body, isDigit) {
		return "", "", &ParseError{Reason: notNumber(t), Hint: "write a number such as 12.5"}
	}
	plain, perr := ungroup(body)
	if perr != nil {
		if perr.Hint != "" && rest != "" && strings.HasPrefix(perr.Hint, "write ") && !strings.Contains(perr.Hint, " or ") {
			perr.Hint += " " + rest
		}
		return "", "", perr
	}
	return plain, rest, nil
}

func notNumber(t string) string {
	if t == "" {
		return "empty"
	}
	return "not a number"
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

// scanNumber cuts t behind the longest prefix that looks like a number: sign, digits with points, commas and
// single spaces between digits, exponent.
func scanNumber(t string) (body, tail string) {
	i := 0
	if strings.HasPrefix(t, "\u2212") { // the minus sign of type-set tables
		t = "-" + t[len("\u2212"):]
	}
	if i < len(t) && (t[i] == '-' || t[i] == '+') {
		i++
	}
	for i < len(t) {
		r, size := utf8.DecodeRuneInString(t[i:])
		next, _ := utf8.DecodeRuneInString(t[i+size:])
		switch {
		case isDigit(r), r == '.', r == ',', r == '_', r == '\'', r == '’':
		case unicode.IsSpace(r) && isDigit(next):
		default:
			return scanExponent(t, i)
		}
		i += size
	}
	return t, ""
}

// scanExponent extends a number that ends at i by an exponent, if digits follow the e.
func scanExponent(t string, i int) (body, tail string) {
	j := i
	if j < len(t) && (t[j] == 'e' || t[j] == 'E') {
		j++
		if j < len(t) && (t[j] == '-' || t[j] == '+') {
			j++
		}
		k := j
		for k < len(t) && isDigit(rune(t[k])) {
			k++
		}
		if k > j {
			return t[:k], t[k:]
		}
	}
	return t[:i], t[i:]
}

// ungroup removes thousands separators from a scanned number, or says why it can't.
func ungroup(body string) (string, *ParseError) {
	body = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		return r
	}, body)
	mantissa, exponent := body, ""
	if i := strings.IndexAny(body, "eE"); i >= 0 {
		mantissa, exponent = body[:i], body[i:]
	}
	if i := strings.IndexAny(mantissa, "_'’"); i >= 0 {
		return "", &ParseError{Reason: "separator that is not understood", Hint: "group thousands by spaces or not at all"}
	}
	whole, fraction, point := strings.Cut(mantissa, ".")
	switch {
	case strings.Contains(fraction, ","), strings.Contains(fraction, "."):
		return "", &ParseError{Reason: "points as thousands separators",
			Hint: "write " + pointForComma(mantissa)}
	case strings.Contains(fraction, " "):
		return "", &ParseError{Reason: "space behind the decimal point", Hint: "group only the digits before the point"}
	case strings.Contains(whole, ","):
		plain, perr := ungroupCommas(whole, point)
		if perr != nil {
			return "", perr
		}
		whole = plain
	case strings.Contains(whole, " "):
		if !grouped(whole, " ") {
			return "", &ParseError{Reason: "space within the number", Hint: "group thousands by threes or not at all"}
		}
		whole = strings.ReplaceAll(whole, " ", "")
	}
	if point {
		return whole + "." + fraction + exponent, nil
	}
	return whole + exponent, nil
}

// ungroupCommas accepts commas before the point that can only be thousands separators.
func ungroupCommas(whole string, point bool) (string, *ParseError) {
	plain := strings.ReplaceAll(whole, ",", "")
	if grouped(whole, ",") && (point || strings.Count(whole, ",") > 1) {
		return plain, nil
	}
	decimal := strings.Replace(strings.ReplaceAll(whole, " ", ""), ",", ".", 1)
	if grouped(whole, ",") {
		return "", &ParseError{Reason: "comma that can be a decimal sign or a thousands separator",
			Hint: "write " + plain + " or " + decimal}
	}
	if strings.Count(whole, ",") > 1 || point {
		return "", &ParseError{Reason: "commas that are not between groups of three digits",
			Hint: "group thousands by threes or not at all"}
	}
	return "", &ParseError{Reason: "decimal comma", Hint: "write " + decimal}
}

// grouped reports whether s is one to three digits, the first not 0, and then groups of three set off by sep.
func grouped(s, sep string) bool {
	groups := strings.Split(strings.TrimLeft(s, "+-"), sep)
	if n := len(groups[0]); n < 1 || n > 3 || groups[0][0] == '0' {
		return false
	}
	for i, g := range groups {
		if strings.ContainsFunc(g, func(r rune) bool { return !isDigit(r) }) || i > 0 && len(g) != 3 {
			return false
		}
	}
	return true
}

// pointForComma rewrites a number with points for thousands, 1.234,5, to the form that is read, 1234.5.
func pointForComma(s string) string {
	return strings.Replace(strings.ReplaceAll(strings.ReplaceAll(s, ".", ""), " ", ""), ",", ".", 1)
}
