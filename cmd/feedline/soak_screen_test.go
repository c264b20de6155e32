//go:build linux

package main

import (
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// glass is what a terminal of 80 × 24 shows: as much of a terminal as the console makes use of. It knows cursor addressing and
// erasing, and passes everything else over.
type glass struct {
	mu   sync.Mutex
	cell [24][80]rune
	x, y int
	rest []byte // the beginning of something whose end has not come yet
}

// Write shows what was written.
func (g *glass) Write(b []byte) (int, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	s := append(g.rest, b...)
	for len(s) > 0 {
		n := g.step(s)
		if n == 0 {
			break
		}
		s = s[n:]
	}
	g.rest = append([]byte{}, s...)
	return len(b), nil
}

// step takes one character or sequence and returns its length, 0 if it is not whole.
func (g *glass) step(s []byte) int {
	switch c := s[0]; {
	case c == 0x1b:
		return g.escape(s)
	case c == '\r':
		g.x = 0
	case c == '\n':
		g.y = min(g.y+1, 23)
	case c == '\b':
		g.x = max(g.x-1, 0)
	case c < ' ':
	default:
		if !utf8.FullRune(s) {
			return 0
		}
		r, n := utf8.DecodeRune(s)
		if g.x < 80 {
			g.cell[g.y][g.x] = r
			g.x++
		}
		return n
	}
	return 1
}

// escape takes a sequence.
func (g *glass) escape(s []byte) int {
	if len(s) < 2 {
		return 0
	}
	switch s[1] {
	case '[':
		for i := 2; i < len(s); i++ {
			if s[i] >= 0x40 && s[i] <= 0x7e {
				g.control(string(s[2:i]), s[i])
				return i + 1
			}
		}
		return 0
	case ']', 'P': // to BEL or ESC \
		for i := 2; i < len(s); i++ {
			if s[i] == 0x07 {
				return i + 1
			}
			if s[i] == 0x1b && i+1 < len(s) {
				return i + 2
			}
		}
		return 0
	case '(', ')':
		if len(s) < 3 {
			return 0
		}
		return 3
	}
	return 2
}

// control does what moves the cursor or erases.
func (g *glass) control(args string, what byte) {
	var n []int
	for _, a := range strings.Split(args, ";") {
		v, _ := strconv.Atoi(a)
		n = append(n, v)
	}
	switch what {
	case 'H', 'f':
		n = append(n, 0)
		g.y, g.x = min(max(n[0], 1), 24)-1, min(max(n[1], 1), 80)-1
	case 'J':
		g.cell = [24][80]rune{}
	case 'K':
		for x := g.x; x < 80; x++ {
			g.cell[g.y][x] = 0
		}
	case 'C':
		g.x = min(g.x+max(n[0], 1), 79)
	}
}

// text is what is shown, its blanks run together.
func (g *glass) text() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	var b strings.Builder
	for _, row := range g.cell {
		for _, r := range row {
			if r == 0 {
				r = ' '
			}
			b.WriteRune(r)
		}
		b.WriteByte(' ')
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
