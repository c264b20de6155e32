package model

import (
	"fmt"
	"strings"
)

// writableNames are the names of n things in the order given, cleaned by clean so that a format can hold them and told
// apart by a number where cleaning or repetition makes two alike. A name that needs no change keeps its spelling.
func writableNames(n int, name func(int) string, letter string, longest int, clean func(string) string) []string {
	out := make([]string, n)
	used := make(map[string]bool, n)
	for i := range out {
		s := name(i)
		if s != "" && len(s) <= longest && clean(s) == s && !used[s] {
			out[i], used[s] = s, true
		}
	}
	for i := range out {
		if out[i] == "" {
			out[i] = freshName(clean(name(i)), letter, i+1, longest, used)
		}
	}
	return out
}

// freshName is an unused name close to s: s itself, s with the number, or letter and number.
func freshName(s, letter string, number, longest int, used map[string]bool) string {
	tries := []string{s, fmt.Sprintf("%s_%d", s, number), fmt.Sprintf("%s%d", letter, number)}
	if s == "" {
		tries = tries[2:]
	}
	for _, t := range tries {
		if len(t) <= longest && !used[t] {
			used[t] = true
			return t
		}
	}
	for k := 1; ; k++ {
		t := fmt.Sprintf("%s%d_%d", letter, number, k)
		if len(t) > longest { // cut the letter's part: eight places hold any 32-bit index in base 36
			t = letter + strings.ToUpper(shortNumber(number, k))
		}
		if !used[t] {
			used[t] = true
			return t
		}
	}
}

// shortNumber writes number and k in base 36, at most seven places for what a fixed file can hold.
func shortNumber(number, k int) string {
	const digits = "0123456789abcdefghijklmnopqrstuvwxyz"
	v := uint64(number)*37 + uint64(k)
	s := ""
	for ; v > 0; v /= 36 {
		s = string(digits[v%36]) + s
	}
	return s
}

// mpsClean makes s fit a free MPS field: no blanks or control characters, no comment sign in front, not the marker's word.
func mpsClean(s string) string {
	bad := func(b byte) bool { return b <= ' ' || b == 0x7f }
	out := []byte(s)
	for i, b := range out {
		if bad(b) {
			out[i] = '_'
		}
	}
	if len(out) > 0 && (out[0] == '$' || s == "'MARKER'") {
		out[0] = '_'
	}
	return string(out)
}

// unusedName is the first of base, base1, base2, … that none of the lists has.
func unusedName(base string, lists ...[]string) string {
	used := map[string]bool{}
	for _, l := range lists {
		for _, s := range l {
			if strings.HasPrefix(s, base) {
				used[s] = true
			}
		}
	}
	s := base
	for k := 1; used[s]; k++ {
		s = fmt.Sprint(base, k)
	}
	return s
}
