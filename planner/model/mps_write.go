package model

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// WriteOptions guide WriteMPSWith. The zero value is what WriteMPS does.
type WriteOptions struct {
	// Fixed keeps strictly to the columns of the fixed format: names longer than eight bytes are replaced by
	// generated ones and numbers are rounded to the twelve places of their field.
	Fixed bool
	// Minimize writes a maximisation as the minimisation of the negated objective, for readers that know no
	// OBJSENSE section (glpsol 5.0 and CBC 2.10 are such).
	Minimize bool
}

// longestFree is the length from which names are replaced in free MPS files; glpsol accepts 255.
const longestFree = 255

// infiniteMPS stands for an infinite right-hand side in files; every reader takes 1e20 and more as infinite.
const infiniteMPS = 1e30

// WriteMPS writes the model as an MPS file that ReadMPS reads back as the same model, with these exceptions: names
// that the format can't hold (empty, with blanks, repeated) are replaced, and the farther side of a row bounded on
// both sides may change in its last place, because the format holds its distance from the other side.
//
// Fields are blank-separated and begin in the columns of the fixed format as long as the names before them have
// at most eight bytes; numbers are the shortest that read back exactly, so they may run over the fixed field of twelve.
// Bounds of whole columns are always spelt out. The error is an *InvalidError on a model that Validate refuses, or w's.
func (m *Model) WriteMPS(w io.Writer) error { return m.WriteMPSWith(w, WriteOptions{}) }

// WriteMPSFixed writes strictly in the columns of the fixed format; see WriteOptions.Fixed.
func (m *Model) WriteMPSFixed(w io.Writer) error { return m.WriteMPSWith(w, WriteOptions{Fixed: true}) }

// WriteMPSWith is WriteMPS with options.
func (m *Model) WriteMPSWith(w io.Writer, opt WriteOptions) error {
	if err := m.validNumbers(); err != nil {
		return err
	}
	p := newMPSWriter(m, w, opt)
	p.head()
	p.columns()
	p.rightHandSides()
	p.ranges()
	p.bounds()
	p.out.WriteString("ENDATA\n")
	return p.out.Flush()
}

// mpsWriter holds what the sections of a file share.
type mpsWriter struct {
	m          *Model
	out        *bufio.Writer
	opt        WriteOptions
	sign       float64 // of the objective
	obj        string
	rows, vars []string
}

func newMPSWriter(m *Model, w io.Writer, opt WriteOptions) *mpsWriter {
	longest := longestFree
	if opt.Fixed {
		longest = 8
	}
	p := &mpsWriter{m: m, out: bufio.NewWriter(w), opt: opt, sign: 1}
	p.rows = writableNames(m.NumRows(), func(i int) string { return m.RowName[i] }, "R", longest, mpsClean)
	p.vars = writableNames(m.NumVars(), func(j int) string { return m.VarName[j] }, "C", longest, mpsClean)
	p.obj = unusedName("COST", p.rows)
	if m.Maximize && opt.Minimize {
		p.sign = -1
	}
	return p
}

// head writes NAME, OBJSENSE and ROWS.
func (p *mpsWriter) head() {
	name := modelName(strings.Fields(mpsTitle(p.m.Name)))
	fmt.Fprintln(p.out, strings.TrimRight("NAME          "+name, " "))
	if p.m.Maximize && !p.opt.Minimize {
		p.out.WriteString("OBJSENSE\n    MAX\n")
	}
	p.out.WriteString("ROWS\n")
	fmt.Fprintln(p.out, " N  "+p.obj)
	for i, name := range p.rows {
		fmt.Fprintf(p.out, " %c  %s\n", rowKind(p.m.RowLower[i], p.m.RowUpper[i]), name)
	}
}

// mpsTitle replaces control characters in a model's name by blanks.
func mpsTitle(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
}

// rowKind is the letter of a row. A row bounded on both sides has its right-hand side at the side nearer to zero,
// so that adding the range gives the farther side with the least rounding.
func rowKind(lo, up float64) byte {
	switch {
	case lo == up:
		return 'E'
	case far(lo) == math.Inf(-1) && far(up) != Infinity:
		return 'L'
	case far(up) == Infinity:
		return 'G'
	case math.Abs(up) < math.Abs(lo):
		return 'L'
	}
	return 'G'
}

// pair writes one line of a section: a name, another and a number.
func (p *mpsWriter) pair(first, second string, v float64) {
	p.out.WriteString("    ")
	p.field(first, 8)
	p.out.WriteString("  ")
	p.field(second, 8)
	p.out.WriteString("  ")
	n := p.number(v)
	p.field("", 12-len(n))
	p.out.WriteString(n)
	p.out.WriteByte('\n')
}

// field writes s and fills up with blanks to width bytes.
func (p *mpsWriter) field(s string, width int) {
	p.out.WriteString(s)
	for k := len(s); k < width; k++ {
		p.out.WriteByte(' ')
	}
}

// eight fills s up to eight bytes, which the columns of the fixed format count (fmt's widths count runes).
func eight(s string) string {
	return s + "        "[min(len(s), 8):]
}

func (p *mpsWriter) number(v float64) string {
	s := strconv.FormatFloat(v, 'g', -1, 64)
	for digits := 11; p.opt.Fixed && len(s) > 12; digits-- {
		s = strconv.FormatFloat(v, 'g', digits, 64)
	}
	return s
}

// columns writes every column, those without entries with a zero cost.
func (p *mpsWriter) columns() {
	m, a := p.m, p.m.Columns()
	p.out.WriteString("COLUMNS\n")
	whole := false
	for j, name := range p.vars {
		if m.Integer[j] != whole {
			whole = !whole
			p.marker(j, whole)
		}
		if m.Cost[j] != 0 || a.Start[j] == a.Start[j+1] {
			p.pair(name, p.obj, p.sign*m.Cost[j])
		}
		for k := a.Start[j]; k < a.Start[j+1]; k++ {
			p.pair(name, p.rows[a.Index[k]], a.Value[k])
		}
	}
	if whole {
		p.marker(len(p.vars), false)
	}
}

func (p *mpsWriter) marker(j int, opens bool) {
	word := "'INTEND'"
	if opens {
		word = "'INTORG'"
	}
	fmt.Fprintf(p.out, "    %-8s  'MARKER'                 %s\n", fmt.Sprintf("M%d", j), word)
}

func (p *mpsWriter) rightHandSides() {
	set := unusedName("RHS", p.rows)
	p.out.WriteString("RHS\n")
	if c := p.sign * p.m.Offset; c != 0 {
		p.pair(set, p.obj, -c)
	}
	for i, name := range p.rows {
		b := p.m.RowLower[i]
		if rowKind(b, p.m.RowUpper[i]) == 'L' {
			b = p.m.RowUpper[i]
		}
		if b = far(b); math.IsInf(b, 0) {
			b = math.Copysign(infiniteMPS, b)
		}
		if b != 0 {
			p.pair(set, name, b)
		}
	}
}

func (p *mpsWriter) ranges() {
	set, head := unusedName("RNG", p.rows), false
	for i, name := range p.rows {
		lo, up := far(p.m.RowLower[i]), far(p.m.RowUpper[i])
		if lo == up || math.IsInf(lo, 0) || math.IsInf(up, 0) {
			continue
		}
		if !head {
			p.out.WriteString("RANGES\n")
			head = true
		}
		p.pair(set, name, rangeFor(lo, up))
	}
}

// rangeFor is the range R that makes the far side of the row come out exactly where one of the three numbers next to
// up − lo does that.
func rangeFor(lo, up float64) float64 {
	r := up - lo
	kind := rowKind(lo, up)
	for _, t := range [...]float64{r, math.Nextafter(r, 0), math.Nextafter(r, Infinity)} {
		b := lo
		if kind == 'L' {
			b = up
		}
		if l, u := rowSides(kind, b, t, true); l == lo && u == up {
			return t
		}
	}
	return r
}

func (p *mpsWriter) bounds() {
	set, head := unusedName("BND", p.vars), false
	for j, name := range p.vars {
		lo, up := far(p.m.Lower[j]), far(p.m.Upper[j])
		for _, b := range boundLines(lo, up, p.m.Integer[j]) {
			if !head {
				p.out.WriteString("BOUNDS\n")
				head = true
			}
			if boundTakesNumber[b.kind] {
				fmt.Fprintf(p.out, " %s %s  %s  %12s\n", b.kind, eight(set), eight(name), p.number(b.at))
			} else {
				fmt.Fprintf(p.out, " %s %s  %s\n", b.kind, eight(set), name)
			}
		}
	}
}

// boundLine is a kind of bound and its number.
type boundLine struct {
	kind string
	at   float64
}

// boundLines are the lines that say lo ≤ x ≤ up. A lower bound comes first, so that a negative upper one is not
// taken to remove it; whole columns without upper limit say so with PL, because the default would be 1.
func boundLines(lo, up float64, whole bool) []boundLine {
	noLo, noUp := math.IsInf(lo, 0), math.IsInf(up, 0)
	switch {
	case noLo && noUp:
		return []boundLine{{kind: "FR"}}
	case lo == up:
		return []boundLine{{"FX", lo}}
	}
	var lines []boundLine
	switch {
	case noLo:
		lines = append(lines, boundLine{kind: "MI"})
	case lo != 0:
		lines = append(lines, boundLine{"LO", lo})
	}
	switch {
	case !noUp:
		lines = append(lines, boundLine{"UP", up})
	case whole:
		lines = append(lines, boundLine{kind: "PL"})
	}
	return lines
}
