// Package model holds a linear or mixed-integer program: variables with bounds,
// costs and integrality, and ranged linear rows. It knows no solver and no plant.
//
// A model in the letters used throughout planner/solve:
//
//	minimise (or maximise)  cᵀx + offset
//	subject to              rowLower ≤ A·x ≤ rowUpper
//	                        lower ≤ x ≤ upper
//	                        x_j whole for the columns marked Integer
//
// Infinite bounds are math.Inf(±1); a finite magnitude of 1e20 or more is read as infinite.
package model

import "math"

// Infinity is the bound that limits nothing.
var Infinity = math.Inf(1)

// InfiniteFrom is the magnitude from which a finite bound counts as infinite (the usual MPS convention).
const InfiniteFrom = 1e20

// Var is a column's index, 0-based in the order of AddVar.
type Var int32

// Row is a row's index, 0-based in the order of AddRow.
type Row int32

// Term is one nonzero of a row: coefficient times variable.
type Term struct {
	Var  Var
	Coef float64
}

// Model is a linear or mixed-integer program. The zero value is an empty minimisation.
// The column slices all have NumVars entries and the row slices NumRows entries;
// callers may change bounds, costs and integrality in place and must not change their lengths.
type Model struct {
	Name     string
	Maximize bool
	Offset   float64 // constant added to the objective

	// Columns.
	Cost         []float64
	Lower, Upper []float64
	Integer      []bool
	VarName      []string // "" stands for the generated name, see NameOfVar

	// Rows.
	RowLower, RowUpper []float64
	RowName            []string // "" stands for the generated name, see NameOfRow

	// The nonzeros row by row: row i is Index/Value[Start[i]:Start[i+1]].
	start []int
	index []Var
	value []float64

	where []int // by column, see lookUp
}

// NumVars is the number of columns.
func (m *Model) NumVars() int { return len(m.Cost) }

// NumRows is the number of rows, the objective not counted.
func (m *Model) NumRows() int { return len(m.RowLower) }

// NumNonzeros is the number of stored coefficients of the rows.
func (m *Model) NumNonzeros() int { return len(m.index) }

// NumIntegers counts the columns marked Integer.
func (m *Model) NumIntegers() int {
	n := 0
	for _, b := range m.Integer {
		if b {
			n++
		}
	}
	return n
}

// AddVar appends a continuous column with lower ≤ x ≤ upper and the given cost.
func (m *Model) AddVar(name string, lower, upper, cost float64) Var {
	m.Cost = append(m.Cost, cost)
	m.Lower = append(m.Lower, lower)
	m.Upper = append(m.Upper, upper)
	m.Integer = append(m.Integer, false)
	m.VarName = append(m.VarName, name)
	return Var(len(m.Cost) - 1)
}

// AddInt appends a whole-number column with lower ≤ x ≤ upper and the given cost.
func (m *Model) AddInt(name string, lower, upper, cost float64) Var {
	v := m.AddVar(name, lower, upper, cost)
	m.Integer[v] = true
	return v
}

// AddRow appends lower ≤ Σ terms ≤ upper. Terms on the same variable are added up,
// exact zeros dropped; the terms are copied. It panics on a variable that the model does not have.
// Cost O(terms), plus O(columns) once for the first long row.
func (m *Model) AddRow(name string, lower, upper float64, terms ...Term) Row {
	if len(m.start) == 0 {
		m.start = append(m.start, 0)
	}
	from := len(m.index)
	find := m.scan
	if len(terms) > shortRow {
		find = m.lookUp
	}
	for _, t := range terms {
		if t.Var < 0 || int(t.Var) >= len(m.Cost) {
			panic("model: row refers to a variable that the model does not have")
		}
		if k := find(from, t.Var); k >= 0 {
			m.value[k] += t.Coef
			continue
		}
		m.index = append(m.index, t.Var)
		m.value = append(m.value, t.Coef)
	}
	m.dropZeros(from)
	m.start = append(m.start, len(m.index))
	m.RowLower = append(m.RowLower, lower)
	m.RowUpper = append(m.RowUpper, upper)
	m.RowName = append(m.RowName, name)
	return Row(len(m.RowLower) - 1)
}

// shortRow is the number of terms up to which a scan finds repeated variables faster than a table.
const shortRow = 24

// scan is the position of v in the row that starts at from and is being added, -1 when it is not there.
func (m *Model) scan(from int, v Var) int {
	for k := from; k < len(m.index); k++ {
		if m.index[k] == v {
			return k
		}
	}
	return -1
}

// lookUp is scan by a table: where[v] is the position at which v was last added. It needs no clearing,
// because a position counts only if it lies in the current row and still holds v; absent, v is noted as the next.
func (m *Model) lookUp(from int, v Var) int {
	if len(m.where) < len(m.Cost) {
		m.where = append(m.where, make([]int, len(m.Cost)-len(m.where))...)
	}
	if k := m.where[v]; k >= from && k < len(m.index) && m.index[k] == v {
		return k
	}
	m.where[v] = len(m.index)
	return -1
}

func (m *Model) dropZeros(from int) {
	to := from
	for k := from; k < len(m.index); k++ {
		if m.value[k] != 0 {
			m.index[to], m.value[to] = m.index[k], m.value[k]
			to++
		}
	}
	m.index, m.value = m.index[:to], m.value[:to]
}

// RowTerms returns row r's variables and coefficients. The slices alias the model: read only.
func (m *Model) RowTerms(r Row) ([]Var, []float64) {
	a, b := m.start[r], m.start[r+1]
	return m.index[a:b], m.value[a:b]
}

// Columns is a matrix held column by column: column j has its rows and values in
// Index/Value[Start[j]:Start[j+1]], rows ascending.
type Columns struct {
	Start []int
	Index []Row
	Value []float64
}

// Columns returns the row coefficients column by column, newly allocated; cost O(rows + columns + nonzeros).
func (m *Model) Columns() Columns {
	n := m.NumVars()
	c := Columns{
		Start: make([]int, n+1),
		Index: make([]Row, len(m.index)),
		Value: make([]float64, len(m.index)),
	}
	for _, j := range m.index {
		c.Start[j+1]++
	}
	for j := 0; j < n; j++ {
		c.Start[j+1] += c.Start[j]
	}
	next := append([]int(nil), c.Start[:n]...)
	for r := range m.RowLower {
		vars, coefs := m.RowTerms(Row(r))
		for k, j := range vars {
			c.Index[next[j]], c.Value[next[j]] = Row(r), coefs[k]
			next[j]++
		}
	}
	return c
}

// Objective is cᵀx + offset in the model's own sense; x has NumVars entries.
func (m *Model) Objective(x []float64) float64 {
	z := m.Offset
	for j, c := range m.Cost {
		z += c * x[j]
	}
	return z
}

// Clone returns a deep copy.
func (m *Model) Clone() *Model {
	c := *m
	c.where = nil
	c.Cost = append([]float64(nil), m.Cost...)
	c.Lower = append([]float64(nil), m.Lower...)
	c.Upper = append([]float64(nil), m.Upper...)
	c.Integer = append([]bool(nil), m.Integer...)
	c.VarName = append([]string(nil), m.VarName...)
	c.RowLower = append([]float64(nil), m.RowLower...)
	c.RowUpper = append([]float64(nil), m.RowUpper...)
	c.RowName = append([]string(nil), m.RowName...)
	c.start = append([]int(nil), m.start...)
	c.index = append([]Var(nil), m.index...)
	c.value = append([]float64(nil), m.value...)
	return &c
}

// Relaxation is a copy with no column marked Integer.
func (m *Model) Relaxation() *Model {
	c := m.Clone()
	clear(c.Integer)
	return c
}
