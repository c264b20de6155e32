package model

import (
	"bytes"
	"fmt"
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// content is what two models have to share to be the same program.
type content struct {
	Name               string
	Maximize           bool
	Offset             float64
	Cost, Lower, Upper []float64
	Integer            []bool
	VarName, RowName   []string
	RowLower, RowUpper []float64
	Columns            Columns
}

func contentOf(m *Model) content {
	c := content{m.Name, m.Maximize, m.Offset, m.Cost, m.Lower, m.Upper, m.Integer, m.VarName, m.RowName, m.RowLower, m.RowUpper, m.Columns()}
	return c
}

// reread writes m and reads the text back.
func reread(t interface{ Fatalf(string, ...any) }, m *Model, opt WriteOptions) *Model {
	var b bytes.Buffer
	if err := m.WriteMPSWith(&b, opt); err != nil {
		t.Fatalf("writing: %v", err)
	}
	text := b.String()
	got, err := ReadMPS(&b)
	if err != nil {
		t.Fatalf("reading back: %v\n%s", err, text)
	}
	return got
}

// differ describes how two models differ, "" when they are the same. The far side of a ranged row may differ in the
// last place, as WriteMPS documents.
func differ(a, b *Model) string {
	x, y := contentOf(a), contentOf(b)
	if len(x.RowLower) == len(y.RowLower) {
		for i := range x.RowLower {
			if x.RowLower[i] != x.RowUpper[i] {
				x.RowLower[i] = within(x.RowLower[i], y.RowLower[i])
				x.RowUpper[i] = within(x.RowUpper[i], y.RowUpper[i])
			}
		}
	}
	if reflect.DeepEqual(x, y) {
		return ""
	}
	return cmp.Diff(x, y)
}

// within is b when a is b or next to it, else a.
func within(a, b float64) float64 {
	if math.Nextafter(a, b) == b {
		return b
	}
	return a
}

// Every public file is written and read back as the same program.
func TestReferenceRoundTrip(t *testing.T) {
	dir := referenceDir(t)
	for _, f := range readIndex(t, dir) {
		m := readFile(t, filepath.Join(dir, filepath.FromSlash(f.file)))
		if d := differ(m, reread(t, m, WriteOptions{})); d != "" {
			t.Errorf("%s: %s", f.file, d[:min(len(d), 2000)])
		}
	}
}

// anyModel draws a valid model with all kinds of bounds and rows, and names that the format holds.
func anyModel(t *rapid.T) *Model {
	number := rapid.OneOf(
		rapid.Float64Range(-1e6, 1e6), rapid.Float64Range(-1e-6, 1e-6),
		rapid.Map(rapid.IntRange(-9, 9), func(i int) float64 { return float64(i) }), rapid.Float64Range(-1e15, 1e15))
	sides := rapid.Custom(func(t *rapid.T) [2]float64 {
		a, b := number.Draw(t, "a"), number.Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		switch rapid.IntRange(0, 4).Draw(t, "kind") {
		case 0:
			a = math.Inf(-1)
		case 1:
			b = math.Inf(1)
		case 2:
			a, b = math.Inf(-1), math.Inf(1)
		case 3:
			b = a
		}
		return [2]float64{a, b}
	})
	name := rapid.StringMatching(`[A-Za-z0-9_.\[\],äß:-]{1,12}`)
	m := &Model{Name: rapid.SampledFrom([]string{"", "plan", "a b", "FREE"}).Draw(t, "name"), Maximize: rapid.Bool().Draw(t, "max"), Offset: number.Draw(t, "offset")}
	for j, s := range rapid.SliceOfNDistinct(name, 1, 8, rapid.ID).Draw(t, "vars") {
		b := sides.Draw(t, "bounds")
		m.AddVar(s, b[0], b[1], number.Draw(t, "cost"))
		m.Integer[j] = rapid.Bool().Draw(t, "whole")
	}
	for _, s := range rapid.SliceOfNDistinct(name, 0, 8, rapid.ID).Draw(t, "rows") {
		b := sides.Draw(t, "sides")
		var terms []Term
		for j := range m.Cost {
			if rapid.Bool().Draw(t, "has") {
				terms = append(terms, Term{Var(j), number.Draw(t, "coef")})
			}
		}
		m.AddRow(s, b[0], b[1], terms...)
	}
	return m
}

func TestRoundTripProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyModel(t)
		if d := differ(m, reread(t, m, WriteOptions{})); d != "" {
			t.Fatalf("%s", d)
		}
	})
}

// A maximisation written as a minimisation has the negated objective and all else alike.
func TestWriteAsMinimisation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyModel(t)
		m.Maximize = true
		got := reread(t, m, WriteOptions{Minimize: true})
		m.Maximize = false
		m.Offset = 0 - m.Offset
		for j := range m.Cost {
			m.Cost[j] = -m.Cost[j]
		}
		if d := differ(m, got); d != "" {
			t.Fatalf("%s", d)
		}
	})
}

// A strictly fixed file has no field outside its columns, reads in the fixed format, keeps the program up to the
// rounding of a twelve-place number, and a second pass changes nothing.
func TestFixedFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyModel(t)
		var b bytes.Buffer
		if err := m.WriteMPSFixed(&b); err != nil {
			t.Fatalf("%v", err)
		}
		first := b.String()
		for _, line := range strings.Split(first, "\n") {
			if len(line) > 61 {
				t.Fatalf("a line of %d columns: %q", len(line), line)
			}
		}
		got, err := ReadMPSWith(&b, ReadOptions{Format: FixedFormat})
		if err != nil {
			t.Fatalf("%v\n%s", err, first)
		}
		for j, c := range m.Cost {
			if math.Abs(got.Cost[j]-c) > 1e-4*math.Abs(c) { // −1.2345e-100 keeps five digits
				t.Fatalf("cost %v became %v", c, got.Cost[j])
			}
		}
		if got.NumRows() != m.NumRows() || got.NumVars() != m.NumVars() || got.NumNonzeros() != m.NumNonzeros() {
			t.Fatalf("size %d×%d, %d became %d×%d, %d", m.NumRows(), m.NumVars(), m.NumNonzeros(), got.NumRows(), got.NumVars(), got.NumNonzeros())
		}
	})
}

// Names that no MPS file can hold are replaced by others that are all different; the rest keep theirs.
func TestAwkwardNames(t *testing.T) {
	m := &Model{}
	names := []string{"", "C1", "a b", "a_b", "a b", "$x", "'MARKER'", "*y", strings.Repeat("long", 100), "tab\there", "RHS", "plain"}
	for _, s := range names {
		m.AddVar(s, 0, 1, 1)
	}
	for _, s := range []string{"COST", "", "RHS", "a b", "a b"} {
		m.AddRow(s, 0, 1, Term{0, 1})
	}
	for _, opt := range []WriteOptions{{}, {Fixed: true}} {
		got := reread(t, m, opt)
		if got.NumVars() != len(names) || got.NumRows() != 5 || got.Validate() != nil {
			t.Errorf("%+v: %d columns, %d rows, %v", opt, got.NumVars(), got.NumRows(), got.Validate())
		}
		kept := fmt.Sprint(got.VarName[1], got.VarName[3], got.VarName[10], got.VarName[11], got.RowName[0], got.RowName[2])
		if kept != fmt.Sprint("C1", "a_b", "RHS", "plain", "COST", "RHS") {
			t.Errorf("%+v: names %q, rows %q", opt, got.VarName, got.RowName)
		}
	}
}

// FuzzReadMPS: no text makes the reader panic, and what it reads is written and read back as the same program.
func FuzzReadMPS(f *testing.F) {
	f.Add("NAME n\nROWS\n N z\n L r\n E q\nCOLUMNS\n x z 1 r 1\n m 'MARKER' 'INTORG'\n y r 2 q 3\n m 'MARKER' 'INTEND'\nRHS\n R r 4 q 5\nRANGES\n R r 2\n R q -3\nBOUNDS\n UP B x -4\n BV B y\nENDATA\n")
	f.Add("NAME          f\nROWS\n N  MY COST\n L  ROW 1\nCOLUMNS\n    COL A     MY COST            1.0   ROW 1              2.0\nRHS\n    RHS       ROW 1              1.0\nBOUNDS\n UP BND       COL A              8.0\nENDATA\n")
	f.Add("OBJSENSE MAX\nROWS\n N z\nCOLUMNS\n x z 1e5\nENDATA")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ReadMPS(strings.NewReader(text))
		if err != nil || m.validNumbers() != nil {
			return
		}
		got := reread(t, m, WriteOptions{})
		m.Name, got.Name = "", "" // blanks in it are not kept
		if len(strings.Join(m.VarName, ""))+len(strings.Join(m.RowName, "")) > 0 {
			for j, s := range m.VarName {
				if mpsClean(s) != s || len(s) > longestFree {
					m.VarName[j], got.VarName[j] = "", ""
				}
			}
			for i, s := range m.RowName {
				if mpsClean(s) != s || len(s) > longestFree {
					m.RowName[i], got.RowName[i] = "", ""
				}
			}
		}
		if d := differ(m, got); d != "" {
			t.Fatal(d)
		}
	})
}
