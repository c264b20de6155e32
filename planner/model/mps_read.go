package model

import (
	"bytes"
	"math"
	"strings"
)

// The kinds of ROWS.
const (
	dropped   = -2 // index of an N row that is not the objective
	objective = -1 // index of the objective row
)

// mpsReader builds a model from the lines of an MPS text. Nonzeros are gathered column by column.
type mpsReader struct {
	scanner
	m       *Model
	section string
	objName string // set by OBJNAME, else by the first N row
	hasObj  bool

	rows map[string]int32 // index, or one of dropped and objective
	cols map[string]Var

	kind       []byte // L, G or E by row
	rhs, span  []float64
	hasSpan    []bool
	rhsLine    []int32 // line of the entry, 0 for none
	objRHSLine int32
	colRow     []Row // entries in file order, that is column by column
	colValue   []float64
	colStart   []int
	entryOf    []int32 // by row: column + 1 of its latest entry, to see repeats
	costOf     Var     // column + 1 of the latest objective entry
	droppedOf  map[string]Var
	integer    bool // between INTORG and INTEND
	loSet      []bool
	upSet      []bool
	anyBound   []bool
	sets       map[string]string // first set's name by section
}

// parseMPS reads text in one format.
func parseMPS(text []byte, fixed bool) (*Model, *ReadError) {
	p := &mpsReader{
		scanner: scanner{text: text, fixed: fixed},
		m:       &Model{},
		rows:    map[string]int32{}, cols: map[string]Var{},
		droppedOf: map[string]Var{}, sets: map[string]string{},
	}
	for p.next() {
		if p.header() {
			end, err := p.startSection()
			if err != nil {
				return nil, err
			}
			if end {
				return p.finish()
			}
			continue
		}
		if err := p.data(); err != nil {
			return nil, err
		}
	}
	if p.section == "" {
		return nil, &ReadError{Found: "no section", Wanted: "an MPS file with NAME, ROWS, COLUMNS and ENDATA"}
	}
	return nil, p.fail("section "+p.section, "the end of the file", "ENDATA: the file may be cut off")
}

// unsupported names sections whose meaning a linear model can't carry.
var unsupported = map[string]string{
	"SOS": "special ordered sets", "SOS1": "special ordered sets", "SOS2": "special ordered sets", "SETS": "special ordered sets",
	"QUADOBJ": "a quadratic objective", "QMATRIX": "a quadratic objective", "QSECTION": "a quadratic objective",
	"QCMATRIX": "quadratic rows", "CSECTION": "cones", "INDICATORS": "indicator rows", "GENCONS": "general constraints",
	"PWLOBJ": "a piecewise linear objective", "LAZYCONS": "lazy rows", "USERCUTS": "user cuts", "SCENARIOS": "scenarios",
}

// startSection reads a section's header line; end is true at ENDATA.
func (p *mpsReader) startSection() (end bool, err *ReadError) {
	words := strings.Fields(string(p.cur[:min(len(p.cur), 1024)]))
	if len(words) == 0 { // white space other than blanks and tabs
		return false, p.fail("", quote(p.cur), "a section or a data line")
	}
	name := strings.ToUpper(words[0])
	if what := unsupported[name]; what != "" {
		return false, p.fail("section "+name, what, "a linear or mixed-integer linear program")
	}
	was := p.section
	p.section = name
	switch name {
	case "NAME":
		p.m.Name = modelName(words[1:])
	case "ROWS":
		if was == "ROWS" || len(p.rows) > 0 {
			return false, p.fail("section ROWS", "the section a second time", "one ROWS section")
		}
	case "COLUMNS":
		if p.m.NumVars() > 0 {
			return false, p.fail("section COLUMNS", "the section a second time", "one COLUMNS section")
		}
	case "OBJSENSE":
		if len(words) > 1 {
			return false, p.sense(words[1])
		}
	case "OBJNAME":
		if len(words) > 1 {
			return false, p.nameObjective(words[1])
		}
	case "RHS", "RANGES", "BOUNDS":
	case "ENDATA":
		return true, nil
	default:
		return false, p.fail("", "section "+quote([]byte(words[0])),
			"NAME, OBJSENSE, ROWS, COLUMNS, RHS, RANGES, BOUNDS or ENDATA")
	}
	return false, nil
}

// modelName joins the words after NAME; a closing FREE is a mark of the format that some writers add.
func modelName(words []string) string {
	if len(words) > 1 && words[len(words)-1] == "FREE" {
		words = words[:len(words)-1]
	}
	return strings.Join(words, " ")
}

func (p *mpsReader) sense(word string) *ReadError {
	switch strings.ToUpper(word) {
	case "MAX", "MAXIMIZE", "MAXIMISE":
		p.m.Maximize = true
	case "MIN", "MINIMIZE", "MINIMISE":
		p.m.Maximize = false
	default:
		return p.fail("section OBJSENSE", quote([]byte(word)), "MAX or MIN")
	}
	return nil
}

func (p *mpsReader) nameObjective(name string) *ReadError {
	if len(p.rows) > 0 {
		return p.fail("section OBJNAME", "the section after ROWS", "OBJNAME before ROWS")
	}
	p.objName = name
	return nil
}

// data reads a line of the current section.
func (p *mpsReader) data() *ReadError {
	switch p.section {
	case "OBJSENSE":
		return p.sense(string(bytes.TrimSpace(p.cur)))
	case "OBJNAME":
		return p.nameObjective(string(bytes.TrimSpace(p.cur)))
	case "":
		return p.fail("", "data before the first section", "NAME or ROWS")
	case "NAME":
		return p.fail("section NAME", "a data line", "ROWS")
	}
	if err := p.split(); err != nil {
		return err
	}
	switch p.section {
	case "ROWS":
		return p.row()
	case "COLUMNS":
		return p.column()
	case "BOUNDS":
		return p.bound()
	}
	return p.side()
}

// row reads a line of ROWS: kind and name.
func (p *mpsReader) row() *ReadError {
	if !p.fixed {
		p.uncomment(2)
	}
	if !p.fixed && len(p.f) != 2 {
		return p.fail("section ROWS", quote(p.cur), "two fields: N, L, G or E and a name without blanks")
	}
	if p.fixed && len(p.f[2])+len(p.f[3])+len(p.f[4])+len(p.f[5]) > 0 || len(p.f[1]) == 0 {
		return p.fail("section ROWS", quote(p.cur), "N, L, G or E in columns 2-3 and a name in columns 5-12")
	}
	if _, dup := p.rows[string(p.f[1])]; dup {
		return p.fail("section ROWS", "the row "+quote(p.f[1])+" a second time", "each row once")
	}
	name := string(p.f[1])
	if len(p.f[0]) != 1 || !strings.Contains("NLGEnlge", string(p.f[0])) {
		return p.fail("row "+quote(p.f[1]), "kind "+quote(p.f[0]), "N, L, G or E")
	}
	kind := p.f[0][0] &^ 0x20 // upper case
	if kind == 'N' {
		p.rows[name] = p.freeRow(name)
		return nil
	}
	p.rows[name] = int32(len(p.kind))
	p.kind = append(p.kind, kind)
	p.m.RowName = append(p.m.RowName, name)
	p.rhs = append(p.rhs, 0)
	p.span = append(p.span, 0)
	p.hasSpan = append(p.hasSpan, false)
	p.rhsLine = append(p.rhsLine, 0)
	p.entryOf = append(p.entryOf, 0)
	return nil
}

// freeRow tells whether an N row is the objective.
func (p *mpsReader) freeRow(name string) int32 {
	if p.hasObj || p.objName != "" && name != p.objName {
		return dropped
	}
	p.hasObj = true
	return objective
}

// column reads a line of COLUMNS: a name and one or two pairs of row and coefficient, or a marker.
func (p *mpsReader) column() *ReadError {
	f := p.f
	if p.fixed {
		if len(f[0]) > 0 {
			return p.fail("section COLUMNS", quote(f[0])+" in columns 2-3", "blanks")
		}
		f = f[1:]
		for len(f) > 3 && len(f[len(f)-2]) == 0 && len(f[len(f)-1]) == 0 {
			f = f[:len(f)-2]
		}
	}
	if len(f) >= 3 && string(f[1]) == "'MARKER'" {
		return p.marker(f[2:])
	}
	if !p.fixed {
		p.uncomment(1)
		f = p.f
	}
	if len(f) != 3 && len(f) != 5 || len(f[0]) == 0 {
		return p.fail("section COLUMNS", quote(p.cur), "a column, and one or two pairs of row and number")
	}
	j, err := p.columnOf(f[0])
	if err != nil {
		return err
	}
	for k := 1; k < len(f); k += 2 {
		if err := p.entry(j, f[k], f[k+1]); err != nil {
			return err
		}
	}
	return nil
}

// marker opens or closes a group of whole-number columns.
func (p *mpsReader) marker(f [][]byte) *ReadError {
	for _, w := range f {
		switch string(w) {
		case "'INTORG'":
			p.integer = true
			return nil
		case "'INTEND'":
			p.integer = false
			return nil
		case "'SOSORG'", "'SOSEND'":
			return p.fail("section COLUMNS", "a special ordered set", "a linear or mixed-integer linear program")
		}
	}
	return p.fail("section COLUMNS", "marker "+quote(p.cur), "'INTORG' or 'INTEND'")
}

// columnOf is the column of that name, appended when it is new. A column's lines must stand together.
func (p *mpsReader) columnOf(name []byte) (Var, *ReadError) {
	last := Var(p.m.NumVars() - 1)
	if last >= 0 && p.m.VarName[last] == string(name) {
		return last, nil
	}
	if _, ok := p.cols[string(name)]; ok {
		return 0, p.fail("column "+quote(name), "its lines in two places", "the lines of a column together")
	}
	j := p.m.AddVar(string(name), 0, Infinity, 0)
	p.m.Integer[j] = p.integer
	p.cols[p.m.VarName[j]] = j
	p.colStart = append(p.colStart, len(p.colRow))
	p.loSet = append(p.loSet, false)
	p.upSet = append(p.upSet, false)
	p.anyBound = append(p.anyBound, false)
	return j, nil
}

// entry adds a coefficient of column j.
func (p *mpsReader) entry(j Var, row, value []byte) *ReadError {
	i, ok := p.rows[string(row)]
	if !ok {
		return p.unknownRow(row)
	}
	v, err := p.number("", value, false)
	if err != nil {
		err.Place = p.entryPlace(j, row)
		return err
	}
	if p.repeated(j, i, row) {
		return p.fail(p.entryPlace(j, row), "a second coefficient", "one coefficient for each row of a column")
	}
	switch {
	case i == objective:
		p.m.Cost[j] = v
	case i >= 0 && v != 0:
		p.colRow = append(p.colRow, Row(i))
		p.colValue = append(p.colValue, v)
	}
	return nil
}

func (p *mpsReader) entryPlace(j Var, row []byte) string {
	return "column " + p.m.VarName[j] + ", row " + string(row)
}

// repeated tells whether column j already has an entry in the row, and notes that it has one now.
func (p *mpsReader) repeated(j Var, i int32, row []byte) (again bool) {
	switch {
	case i == objective:
		again, p.costOf = p.costOf == j+1, j+1
	case i == dropped:
		again = p.droppedOf[string(row)] == j+1
		p.droppedOf[string(row)] = j + 1
	default:
		again, p.entryOf[i] = p.entryOf[i] == int32(j)+1, int32(j)+1
	}
	return again
}

func (p *mpsReader) unknownRow(row []byte) *ReadError {
	return p.fail("section "+p.section, "row "+quote(row), "a row declared in ROWS")
}

// finish closes the model: sides of the rows, default bounds of whole columns, the matrix row by row.
func (p *mpsReader) finish() (*Model, *ReadError) {
	m := p.m
	if p.objName != "" && !p.hasObj {
		return nil, p.fail("section OBJNAME", "objective "+p.objName, "an N row of that name in ROWS")
	}
	for i, k := range p.kind {
		lo, up := rowSides(k, p.rhs[i], p.span[i], p.hasSpan[i])
		m.RowLower = append(m.RowLower, lo)
		m.RowUpper = append(m.RowUpper, up)
	}
	for j, whole := range m.Integer {
		if whole && !p.anyBound[j] {
			m.Upper[j] = 1
		}
	}
	p.fillRows()
	return m, nil
}

// rowSides are the sides of a row of kind L, G or E with right-hand side b and range r.
func rowSides(kind byte, b, r float64, ranged bool) (lo, up float64) {
	lo, up = b, b
	switch {
	case kind == 'L':
		lo = math.Inf(-1)
		if ranged {
			lo = far(b - math.Abs(r))
		}
	case kind == 'G':
		up = Infinity
		if ranged {
			up = far(b + math.Abs(r))
		}
	case ranged && r >= 0:
		up = far(b + r)
	case ranged:
		lo = far(b + r)
	}
	return lo, up
}

// far makes a magnitude from InfiniteFrom infinite; ∞ − ∞ stays the NaN that Validate reports.
func far(v float64) float64 {
	if math.Abs(v) >= InfiniteFrom {
		return math.Inf(int(math.Copysign(1, v)))
	}
	return v
}

// fillRows turns the entries, gathered column by column, into rows with ascending columns.
func (p *mpsReader) fillRows() {
	m, n := p.m, len(p.kind)
	m.start = make([]int, n+1)
	for _, i := range p.colRow {
		m.start[i+1]++
	}
	for i := 0; i < n; i++ {
		m.start[i+1] += m.start[i]
	}
	m.index = make([]Var, len(p.colRow))
	m.value = make([]float64, len(p.colRow))
	next := append([]int(nil), m.start[:n]...)
	p.colStart = append(p.colStart, len(p.colRow))
	for j := 0; j < m.NumVars(); j++ {
		for k := p.colStart[j]; k < p.colStart[j+1]; k++ {
			i := p.colRow[k]
			m.index[next[i]], m.value[next[i]] = Var(j), p.colValue[k]
			next[i]++
		}
	}
}
