package model

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
)

// scanner walks an MPS text line by line and splits lines into fields.
type scanner struct {
	text  []byte
	fixed bool
	line  int      // number of the current line, 1-based
	cur   []byte   // current line without its end
	f     [][]byte // fields of the current data line
}

// next moves to the next line that is neither blank nor a comment; false at the end of the text.
func (s *scanner) next() bool {
	for len(s.text) > 0 {
		s.line++
		k := bytes.IndexByte(s.text, '\n')
		if k < 0 {
			s.cur, s.text = s.text, nil
		} else {
			s.cur, s.text = s.text[:k], s.text[k+1:]
		}
		s.cur = bytes.TrimRight(s.cur, " \t\r\x00\x1a") // 0x1a ends text files of old systems
		if len(s.cur) > 0 && s.cur[0] != '*' && len(bytes.TrimLeft(s.cur, " \t")) > 0 {
			return true
		}
	}
	return false
}

// header tells whether the current line starts a section: something stands in its first column.
func (s *scanner) header() bool { return s.cur[0] != ' ' && s.cur[0] != '\t' }

// fail is a ReadError at the current line.
func (s *scanner) fail(place, found, wanted string) *ReadError {
	return &ReadError{Line: s.line, Place: place, Found: found, Wanted: wanted}
}

// quote shows a field in an error, cut to a readable length.
func quote(b []byte) string {
	const most = 40
	if len(b) > most {
		return fmt.Sprintf("%q…", b[:most])
	}
	return fmt.Sprintf("%q", b)
}

// split cuts the current data line into s.f. In the free format those are the blank-separated words, at most six
// or one more to be told from six; in the fixed format always six, the absent ones empty.
func (s *scanner) split() *ReadError {
	s.f = s.f[:0]
	if s.fixed {
		return s.splitFixed()
	}
	rest := s.cur
	for len(s.f) < 7 {
		rest = bytes.TrimLeft(rest, " \t")
		if len(rest) == 0 {
			break
		}
		k := bytes.IndexAny(rest, " \t")
		if k < 0 {
			k = len(rest)
		}
		s.f = append(s.f, rest[:k])
		rest = rest[k:]
	}
	return nil
}

// fixedFields are the first and the last-plus-one column, 0-based, of the six fields.
var fixedFields = [6][2]int{{1, 3}, {4, 12}, {14, 22}, {24, 36}, {39, 47}, {49, 61}}

// splitFixed cuts by column. A line may end early; what stands between the fields must be blank, so that a free file
// is not cut to pieces that happen to be names.
func (s *scanner) splitFixed() *ReadError {
	at := 0
	for i, span := range fixedFields {
		if i >= 2 && (i == 2 || i == 4) && span[0] < len(s.cur) && s.cur[span[0]] == '$' {
			break // the rest is a comment
		}
		if gap := s.columns(at, span[0]); len(bytes.TrimSpace(gap)) > 0 {
			return s.fail("", fmt.Sprintf("%s in the columns %d-%d", quote(bytes.TrimSpace(gap)), at+1, span[0]),
				"blanks between the fields of the fixed format")
		}
		s.f = append(s.f, bytes.TrimSpace(s.columns(span[0], span[1])))
		at = span[1]
	}
	for len(s.f) < 6 {
		s.f = append(s.f, nil)
	}
	return nil
}

func (s *scanner) columns(a, b int) []byte { return s.cur[min(a, len(s.cur)):min(b, len(s.cur))] }

// uncomment drops the free-format fields from the first that starts with $ at or after position from,
// where a name is due every second field.
func (s *scanner) uncomment(from int) {
	for i := from; i < len(s.f); i++ {
		if len(s.f[i]) > 0 && s.f[i][0] == '$' {
			s.f = s.f[:i]
			return
		}
	}
}

// number reads a field as a decimal number; Fortran's D exponents count as E. Infinite when its magnitude reaches
// InfiniteFrom and infinite is allowed; otherwise such a number, as anything else, is an error.
func (s *scanner) number(place string, b []byte, infinite bool) (float64, *ReadError) {
	v, ok := parseNumber(b)
	if !ok {
		found := quote(b)
		if len(b) == 0 {
			found = "no number"
		}
		return 0, s.fail(place, found, "a number")
	}
	if math.Abs(v) < InfiniteFrom {
		return v, nil
	}
	if !infinite {
		return 0, s.fail(place, quote(b), "a number below 1e20 in magnitude")
	}
	return math.Inf(int(math.Copysign(1, v))), nil
}

// parseNumber reads decimal notation and the words inf and infinity; no hexadecimal, no NaN, no underscores.
func parseNumber(b []byte) (float64, bool) {
	var buf [64]byte
	if len(b) == 0 || len(b) > 512 {
		return 0, false
	}
	t := append(buf[:0], b...)
	for i, c := range t {
		switch {
		case c == 'd' || c == 'D':
			t[i] = 'e'
		case c == '_' || c == 'x' || c == 'X' || c == 'p' || c == 'P' || c == 'a' || c == 'A':
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(t), 64)
	if err != nil && !math.IsInf(v, 0) { // an overflow is an infinite value and an error
		return 0, false
	}
	return v, true
}
