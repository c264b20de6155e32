package sheets

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// risky reports whether a spreadsheet, or Read, would take a text for something else: a formula, a comment row or
// padding. Write puts an apostrophe before such a text and Read takes it off, only there.
func risky(s string) bool {
	if s == "" {
		return false
	}
	if s[0] == '\'' {
		return risky(s[1:])
	}
	first, _ := utf8.DecodeRuneInString(s)
	return strings.ContainsRune("=+-@＝＋－＠#", first) || strings.TrimSpace(s) != s
}

// guarded is s as it is written.
func guarded(s string) string {
	if risky(s) {
		return "'" + s
	}
	return s
}

// unguarded is the text that was written as s, with line ends made alike and padding taken off.
func unguarded(s string) string {
	s = strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
	if strings.HasPrefix(s, "'") && risky(s[1:]) {
		return s[1:]
	}
	return strings.TrimSpace(s)
}

// control finds a character that has no place in a text.
func control(s string) bool {
	return strings.ContainsFunc(s, func(r rune) bool {
		return r != '\n' && r != '\t' && unicode.IsControl(r) || r == '\ufffe' || r == '\uffff' || r == unicode.ReplacementChar
	})
}
