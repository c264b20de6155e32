package model

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
)

// parse reads an MPS text that has to be sound.
func parse(t *testing.T, text string) *Model {
	t.Helper()
	m, err := ReadMPS(strings.NewReader(text))
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	return m
}

// The sign rules of RANGES: IBM MPSX/370 manual's table as repeated in the lp_solve and GLPK reference manuals (from memory).
func TestRanges(t *testing.T) {
	text := "NAME r\nROWS\n N z\n L l\n G g\n E ep\n E em\n E e0\nCOLUMNS\n x z 1 l 1\n x g 1 ep 1\n x em 1 e0 1\n" +
		"RHS\n RHS l 10 g 10\n RHS ep 10 em 10\n RHS e0 10\nRANGES\n R l -4 g -4\n R ep 4 em -4\n R e0 0\nENDATA\n"
	m := parse(t, text)
	want := [][2]float64{{6, 10}, {10, 14}, {10, 14}, {6, 10}, {10, 10}}
	for i, w := range want {
		if got := [2]float64{m.RowLower[i], m.RowUpper[i]}; got != w {
			t.Errorf("row %s: %v, want %v", m.RowName[i], got, w)
		}
	}
}

// Every kind of bound, in markers and outside; the defaults of whole columns as glpsol 5.0, CBC 2.10.8 and HiGHS read them.
func TestBounds(t *testing.T) {
	inf := math.Inf(1)
	cases := []struct {
		bound  string
		inside bool
		lo, up float64
		whole  bool
	}{
		{"", false, 0, inf, false},
		{" UP B x 4", false, 0, 4, false},
		{" UP B x -4", false, -inf, -4, false},
		{" UP B x 0", false, 0, 0, false},
		{" LO B x -9\n UP B x -4", false, -9, -4, false},
		{" UP B x -4\n LO B x -9", false, -9, -4, false},
		{" LO B x 2", false, 2, inf, false},
		{" FX B x 2", false, 2, 2, false},
		{" FX B x -2", false, -2, -2, false},
		{" FR B x", false, -inf, inf, false},
		{" MI B x", false, -inf, inf, false},
		{" MI B x\n UP B x 3", false, -inf, 3, false},
		{" PL B x", false, 0, inf, false},
		{" BV B x", false, 0, 1, true},
		{" LI B x 2", false, 2, inf, true},
		{" UI B x 7", false, 0, 7, true},
		{" UP B x 1e30", false, 0, inf, false},
		{" LO B x -1e20", false, -inf, inf, false},
		{" UP B x Inf", false, 0, inf, false},
		{"", true, 0, 1, true},
		{" UP B x 9", true, 0, 9, true},
		{" UP B x -3", true, -inf, -3, true},
		{" LO B x -2", true, -2, inf, true},
		{" PL B x", true, 0, inf, true},
		{" FR B x", true, -inf, inf, true},
		// Names of sets missing, numbers in vain, several sets.
		{" UP x 4", false, 0, 4, false},
		{" FR x", false, -inf, inf, false},
		{" FR B x 0", false, -inf, inf, false},
		{" FR x 0", false, -inf, inf, false},
		{" UP B x 4\n UP OTHER x 5", false, 0, 4, false},
	}
	for _, c := range cases {
		text := "NAME b\nROWS\n N z\n L r\nCOLUMNS\n"
		column := " x z 1 r 1\n"
		if c.inside {
			column = " M 'MARKER' 'INTORG'\n" + column + " M 'MARKER' 'INTEND'\n"
		}
		text += column + " y z 1 r 1\nRHS\nBOUNDS\n" + c.bound + "\nENDATA\n"
		m := parse(t, text)
		if m.Lower[0] != c.lo || m.Upper[0] != c.up || m.Integer[0] != c.whole {
			t.Errorf("%q inside=%v: [%v, %v] whole=%v, want [%v, %v] %v",
				c.bound, c.inside, m.Lower[0], m.Upper[0], m.Integer[0], c.lo, c.up, c.whole)
		}
	}
}

func TestObjectiveRules(t *testing.T) {
	body := "ROWS\n N z\n N other\n L r\nCOLUMNS\n x z 3 other 7\n x r 1\nRHS\n RHS z -2.5 r 4\n RHS other 9\n TWO r 5\nENDATA\n"
	for head, max := range map[string]bool{
		"": false, "OBJSENSE\n MAX\n": true, "OBJSENSE\n    MAXIMIZE\n": true, "OBJSENSE MAX\n": true,
		"OBJSENSE\n MIN\n": false, "OBJSENSE MINIMIZE\n": false, "objsense max\n": true,
	} {
		m := parse(t, "NAME two words\n"+head+body)
		if m.Maximize != max || m.Cost[0] != 3 || m.Offset != 2.5 || m.NumRows() != 1 || m.RowUpper[0] != 4 || m.Name != "two words" {
			t.Errorf("%q: %+v", head, m)
		}
	}
	m := parse(t, "NAME n\nOBJNAME\n other\n"+body)
	if m.Cost[0] != 7 || m.Offset != -9 {
		t.Errorf("OBJNAME: cost %v constant %v, want 7 and -9", m.Cost[0], m.Offset)
	}
}

// Names with blanks, as in Netlib's forplan, make a file fixed; the columns are those of the MPSX format.
func TestFixedNamesWithBlanks(t *testing.T) {
	text := "NAME          blanks\r\nROWS\r\n N  MY COST\r\n L  ROW 1\r\n G  ROW 2\r\n" +
		"COLUMNS\r\n    COL A     MY COST            1.0   ROW 1              2.0\r\n    COL A     ROW 2              3.0\r\n" +
		"    COL B     ROW 1              4.0   $ a comment\r\n    M1        'MARKER'                 'INTORG'\r\n" +
		"    COL C     ROW 1              5.0\r\n    M2        'MARKER'                 'INTEND'\r\n" +
		"RHS\r\n    MY RHS    ROW 1             10.0   ROW 2              1.0\r\n" +
		"BOUNDS\r\n UP MY BND    COL A              8.0\r\n FR MY BND    COL B\r\nENDATA\r\n"
	m := parse(t, text)
	got := fmt.Sprint(m.VarName, m.RowName, m.Upper[:2], m.Lower[1], m.Integer, m.RowUpper[0], m.RowLower[1], m.NumNonzeros())
	want := "[COL A COL B COL C] [ROW 1 ROW 2] [8 +Inf] -Inf [false false true] 10 1 4"
	if got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	if _, err := ReadMPSWith(strings.NewReader(text), ReadOptions{Format: FreeFormat}); err == nil {
		t.Error("names with blanks read as free format")
	}
}

func TestCommentsAndLooseEnds(t *testing.T) {
	text := "* a comment\n\nNAME\nROWS\n\tN\tz\n L r $ said twice\n\nCOLUMNS\n x z 1d1 r -.5\n* more\n y r 0\n y z +2.E0 $ price\nRHS\n r 4\nENDATA\nrubbish after the end\n"
	m := parse(t, text)
	if m.Cost[0] != 10 || m.Cost[1] != 2 || m.NumNonzeros() != 1 || m.RowUpper[0] != 4 {
		t.Errorf("%+v", m)
	}
	long := "NAME n\nROWS\n N z\n L r\nCOLUMNS\n x z 1 r 1" + strings.Repeat(" ", 1<<20) + "\nENDATA\n"
	if parse(t, long).NumNonzeros() != 1 {
		t.Error("a line of a megabyte lost its entry")
	}
}

func TestReadErrors(t *testing.T) {
	head := "NAME n\nROWS\n N z\n L r\nCOLUMNS\n x z 1 r 1\n"
	cases := []struct {
		text string
		line int
		says string
	}{
		{"", 0, "no section"},
		{" x 1\n", 1, "before the first section"},
		{"NAME n\nROWZ\n", 2, "ROWZ"},
		{"NAME n\nROWS\n N z\n Q r\n", 4, `"Q"`},
		{"NAME n\nROWS\n N z\n L r\n G r\n", 5, "a second time"},
		{"NAME n\nROWS\n N z\nCOLUMNS\n x q 1\n", 5, `row "q"`},
		{"NAME n\nROWS\n N z\nCOLUMNS\n x z one\n", 5, `"one"`},
		{"NAME n\nROWS\n N z\nCOLUMNS\n x z nan\n", 5, `"nan"`},
		{"NAME n\nROWS\n N z\nCOLUMNS\n x z 0x1p3\n", 5, `"0x1p3"`},
		{"NAME n\nROWS\n N z\nCOLUMNS\n x z 1e999\n", 5, `"1e999"`},
		{"NAME n\nROWS\n N z\nCOLUMNS\n x z 1e25\n", 5, "1e20"},
		{head + " x r 2\n", 7, "a second coefficient"},
		{head + " x z 2\n", 7, "a second coefficient"},
		{head + " y r 2\n x r 3\n", 8, "two places"},
		{head + " m 'MARKER' 'SOSORG'\n", 7, "special ordered set"},
		{head + "RHS\n R r 1\n R r 2\nENDATA\n", 9, "a second right-hand side"},
		{head + "RHS\n R q 1\nENDATA\n", 8, `row "q"`},
		{head + "RANGES\n R r 1\n R r 2\nENDATA\n", 9, "a second range"},
		{head + "BOUNDS\n UP B x 1\n UP B x 2\nENDATA\n", 9, "a second bound"},
		{head + "BOUNDS\n UP B w 1\nENDATA\n", 8, `column "w"`},
		{head + "BOUNDS\n LO B x 3\n UP B x 2\nENDATA\n", 9, "bounds 3 to 2"},
		{head + "BOUNDS\n UP B x 2\n LO B x 3\nENDATA\n", 9, "bounds 3 to 2"},
		{head + "BOUNDS\n LO B x 0\n UP B x -4\nENDATA\n", 9, "bounds 0 to -4"},
		{head + "BOUNDS\n UP B x\nENDATA\n", 8, `column "B"`},
		{head + "BOUNDS\n SC B x 5\nENDATA\n", 8, "semi-continuous"},
		{head + "BOUNDS\n ZZ B x 5\nENDATA\n", 8, `"ZZ"`},
		{head + "QUADOBJ\n x x 5\nENDATA\n", 7, "quadratic"},
		{head + "RHS\n R r 1\n", 8, "ENDATA"},
		{"NAME n\nOBJSENSE\n UPWARDS\n", 3, "UPWARDS"},
	}
	for _, c := range cases {
		_, err := ReadMPS(strings.NewReader(c.text))
		var e *ReadError
		if !errors.As(err, &e) {
			t.Errorf("%q: error %v, want a *ReadError", c.text, err)
			continue
		}
		if e.Line != c.line || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v (line %d), want line %d and %q", c.text, err, e.Line, c.line, c.says)
		}
	}
	_, err := ReadMPSWith(strings.NewReader(head+"ENDATA\n"), ReadOptions{MaxBytes: 20})
	var e *ReadError
	if !errors.As(err, &e) || !strings.Contains(err.Error(), "20 bytes") {
		t.Errorf("over the limit: %v", err)
	}
}

func TestValidate(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	spoil := map[string]func(*Model){
		"objective constant": func(m *Model) { m.Offset = nan },
		"column a, cost":     func(m *Model) { m.Cost[0] = inf },
		"column a: bounds":   func(m *Model) { m.Lower[0] = 3; m.Upper[0] = 2 },
		"column b: bounds":   func(m *Model) { m.Upper[1] = nan },
		"row r, column b":    func(m *Model) { m.value[1] = -inf },
		"row r: bounds":      func(m *Model) { m.RowLower[0] = 1e20 },
		"row r2: bounds":     func(m *Model) { m.RowUpper[1] = -inf },
		"column a: the name": func(m *Model) { m.VarName[1] = "a" },
		"row r: the name":    func(m *Model) { m.RowName[1] = "r" },
		"columns: slices":    func(m *Model) { m.Cost = m.Cost[:1]; m.Lower = m.Lower[:2] },
		"rows: slices":       func(m *Model) { m.RowUpper = m.RowUpper[:1] },
	}
	for place, do := range spoil {
		m := &Model{}
		a, b := m.AddVar("a", 0, 2, 1), m.AddVar("b", 0, 1, 1)
		m.AddRow("r", 0, 2, Term{a, 1}, Term{b, 1})
		m.AddRow("r2", 0, 2, Term{a, 1}, Term{b, 1})
		if err := m.Validate(); err != nil {
			t.Fatal(err)
		}
		do(m)
		err := m.Validate()
		var e *InvalidError
		if !errors.As(err, &e) || !strings.Contains(err.Error(), place) {
			t.Errorf("%s: got %v", place, err)
		}
	}
}

func TestNames(t *testing.T) {
	m := &Model{}
	m.AddVar("", 0, 1, 0)
	m.AddVar("flow", 0, 1, 0)
	m.AddRow("", 0, 1)
	v, ok := m.VarByName("flow")
	_, none := m.RowByName("nothing")
	if m.NameOfVar(0) != "C1" || m.NameOfRow(0) != "R1" || v != 1 || !ok || none {
		t.Errorf("%q %q %d %v %v", m.NameOfVar(0), m.NameOfRow(0), v, ok, none)
	}
}

// A row of 100,000 terms in falling order, each variable twice, adds up right; a quadratic scan would not end here.
func TestLongRow(t *testing.T) {
	const n = 100_000
	m := &Model{}
	for j := 0; j < n; j++ {
		m.AddVar("", 0, 1, 0)
	}
	var terms []Term
	for j := n - 1; j >= 0; j-- {
		terms = append(terms, Term{Var(j), 1}, Term{Var((j * 7) % n), 2})
	}
	terms = append(terms, Term{5, -3})
	for range 2 {
		r := m.AddRow("", 0, 1, terms...)
		vars, coefs := m.RowTerms(r)
		if len(vars) != n-1 {
			t.Fatalf("%d terms, want %d: one cancels", len(vars), n-1)
		}
		for k := range vars {
			if coefs[k] != 3 || vars[k] == 5 {
				t.Fatalf("column %d has %v, want 3", vars[k], coefs[k])
			}
		}
	}
}

func TestWriteLP(t *testing.T) {
	m := &Model{Name: "small", Maximize: true, Offset: 5}
	x, y := m.AddVar("x[1]", 0, 4, 3), m.AddInt("2y", 0, math.Inf(1), -1.5)
	m.AddVar("free", math.Inf(-1), math.Inf(1), 0)
	m.AddRow("both", -1, 2, Term{x, 1}, Term{y, -1})
	m.AddRow("", 3, 3, Term{y, 2})
	var b bytes.Buffer
	if err := m.WriteLP(&b); err != nil {
		t.Fatal(err)
	}
	want := "\\ small\nMaximize\n obj: + 3 x_1_ - 1.5 _2y + 5\nSubject To\n both: -1 <= + x_1_ - _2y <= 2\n R2: + 2 _2y = 3\n" +
		"Bounds\n 0 <= x_1_ <= 4\n _free free\nGenerals\n _2y\nEnd\n"
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}
