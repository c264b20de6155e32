package model

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// WriteLP writes the model as text in the LP format of the common solvers, for reading by eye: an objective, rows
// as sums, bounds, whole columns. Names that the format can't hold are replaced. Rows bounded on both sides are written
// as one double inequality, which CBC reads and glpsol 5.0 does not. The error is an *InvalidError on a
// model that Validate refuses, or w's.
func (m *Model) WriteLP(w io.Writer) error {
	if err := m.validNumbers(); err != nil {
		return err
	}
	p := &lpWriter{m: m, out: bufio.NewWriter(w)}
	p.rows = writableNames(m.NumRows(), func(i int) string { return m.RowName[i] }, "R", longestFree, lpClean)
	p.vars = writableNames(m.NumVars(), func(j int) string { return m.VarName[j] }, "C", longestFree, lpClean)
	p.objective()
	p.constraints()
	p.bounds()
	p.whole()
	p.out.WriteString("End\n")
	return p.out.Flush()
}

type lpWriter struct {
	m          *Model
	out        *bufio.Writer
	rows, vars []string
	width      int // bytes in the current line
}

// lpSigns are the characters besides letters and digits that names may have.
const lpSigns = "!\"#$%&(),.;?@_'`{}~"

// lpWords are the names that the format reads as something else.
var lpWords = map[string]bool{"st": true, "s.t.": true, "bounds": true, "bound": true, "free": true, "inf": true,
	"infinity": true, "general": true, "generals": true, "gen": true, "integer": true, "integers": true, "int": true,
	"binary": true, "binaries": true, "bin": true, "end": true, "max": true, "min": true, "maximize": true,
	"minimize": true, "maximum": true, "minimum": true, "subject": true, "such": true, "semi": true, "semis": true, "sos": true}

// lpClean makes s a name of the LP format: other characters become _, and what begins like a number gets one in front.
func lpClean(s string) string {
	out := []byte(s)
	for i, b := range out {
		letter := b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' || b >= '0' && b <= '9'
		if !letter && strings.IndexByte(lpSigns, b) < 0 {
			out[i] = '_'
		}
	}
	s = string(out)
	if s != "" && strings.IndexByte("0123456789.eE", s[0]) >= 0 || lpWords[strings.ToLower(s)] {
		s = "_" + s
	}
	return s
}

// put writes a piece of a row, on a new line when the current one is full.
func (p *lpWriter) put(s string) {
	const lineWidth = 100
	if p.width > 0 && p.width+1+len(s) > lineWidth {
		p.out.WriteString("\n   ")
		p.width = 3
	}
	p.out.WriteString(" " + s)
	p.width += 1 + len(s)
}

func (p *lpWriter) endLine() {
	p.out.WriteString("\n")
	p.width = 0
}

func lpNumber(v float64) string {
	switch {
	case far(v) == Infinity:
		return "+inf"
	case far(v) == math.Inf(-1):
		return "-inf"
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// term writes sign, coefficient unless it is 1, and name.
func (p *lpWriter) term(v float64, name string) {
	sign := "+ "
	if math.Signbit(v) {
		sign, v = "- ", -v
	}
	if v != 1 {
		sign += lpNumber(v) + " "
	}
	p.put(sign + name)
}

// lpConstant writes v with its sign apart.
func lpConstant(v float64) string {
	if v < 0 {
		return "- " + lpNumber(-v)
	}
	return "+ " + lpNumber(v)
}

func (p *lpWriter) objective() {
	if name := strings.TrimSpace(mpsTitle(p.m.Name)); name != "" {
		fmt.Fprintf(p.out, "\\ %s\n", name)
	}
	sense := "Minimize"
	if p.m.Maximize {
		sense = "Maximize"
	}
	fmt.Fprintln(p.out, sense)
	p.put(unusedName("obj", p.rows) + ":")
	some := false
	for j, c := range p.m.Cost {
		if c != 0 {
			p.term(c, p.vars[j])
			some = true
		}
	}
	switch {
	case p.m.Offset != 0:
		p.put(lpConstant(p.m.Offset))
	case !some && len(p.vars) > 0:
		p.put("0 " + p.vars[0])
	}
	p.endLine()
}

func (p *lpWriter) constraints() {
	fmt.Fprintln(p.out, "Subject To")
	for i, name := range p.rows {
		lo, up := far(p.m.RowLower[i]), far(p.m.RowUpper[i])
		p.put(name + ":")
		vars, coefs := p.m.RowTerms(Row(i))
		two := lo != up && !math.IsInf(lo, 0) && !math.IsInf(up, 0)
		if two {
			p.put(lpNumber(lo) + " <=")
		}
		if len(vars) == 0 && len(p.vars) > 0 {
			p.put("0 " + p.vars[0])
		}
		for k, j := range vars {
			p.term(coefs[k], p.vars[j])
		}
		switch {
		case lo == up:
			p.put("= " + lpNumber(up))
		case two || !math.IsInf(up, 0):
			p.put("<= " + lpNumber(up))
		default:
			p.put(">= " + lpNumber(lo))
		}
		p.endLine()
	}
}

func (p *lpWriter) bounds() {
	fmt.Fprintln(p.out, "Bounds")
	for j, name := range p.vars {
		lo, up := far(p.m.Lower[j]), far(p.m.Upper[j])
		switch {
		case math.IsInf(lo, 0) && math.IsInf(up, 0):
			fmt.Fprintf(p.out, " %s free\n", name)
		case lo == up:
			fmt.Fprintf(p.out, " %s = %s\n", name, lpNumber(lo))
		case lo != 0 || !math.IsInf(up, 0):
			fmt.Fprintf(p.out, " %s <= %s <= %s\n", lpNumber(lo), name, lpNumber(up))
		}
	}
}

func (p *lpWriter) whole() {
	if p.m.NumIntegers() == 0 {
		return
	}
	fmt.Fprintln(p.out, "Generals")
	for j, whole := range p.m.Integer {
		if whole {
			p.put(p.vars[j])
		}
	}
	p.endLine()
}
