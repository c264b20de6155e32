package view

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Inert is a text that a spreadsheet takes for nothing but a text: one that begins like a formula gets an apostrophe before it,
// and control characters are left out.
func Inert(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == utf8.RuneError || r == '\ufffe' || r == '\uffff' {
			return -1
		}
		return r
	}, s)
	first, _ := utf8.DecodeRuneInString(strings.TrimSpace(s))
	if strings.ContainsRune("=+-@＝＋－＠", first) && s != "" {
		return "'" + s
	}
	return s
}
