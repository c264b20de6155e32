package model

import (
	"fmt"
	"math"
)

// InvalidError says what makes a model unfit to be solved.
type InvalidError struct {
	Place  string // such as "column PS20" or "row stock, column PS20"
	Found  string
	Wanted string
}

// Error gives place, what was found and what would be allowed.
func (e *InvalidError) Error() string {
	return fmt.Sprintf("model: %s: %s, expected %s", e.Place, e.Found, e.Wanted)
}

// Validate checks lengths, that every number is one, that costs and coefficients are below InfiniteFrom, that bounds
// and row sides leave room, and that names are distinct. The error is an *InvalidError on the first breach.
func (m *Model) Validate() error {
	if err := m.validNumbers(); err != nil {
		return err
	}
	return m.validNames()
}

// validNumbers is Validate without the names, which writers replace where they have to.
func (m *Model) validNumbers() error {
	if err := m.validLengths(); err != nil {
		return err
	}
	if err := finite("objective constant", m.Offset); err != nil {
		return err
	}
	for j := range m.Cost {
		if err := m.validColumn(Var(j)); err != nil {
			return err
		}
	}
	for i := range m.RowLower {
		if err := m.validRow(Row(i)); err != nil {
			return err
		}
	}
	return nil
}

func (m *Model) validLengths() error {
	n, r := len(m.Cost), len(m.RowLower)
	if len(m.Lower) != n || len(m.Upper) != n || len(m.Integer) != n || len(m.VarName) != n {
		return &InvalidError{Place: "columns", Found: "slices of different lengths", Wanted: "columns added by AddVar only"}
	}
	starts := len(m.start) == r+1 || r == 0 && len(m.start) == 0
	if len(m.RowUpper) != r || len(m.RowName) != r || !starts {
		return &InvalidError{Place: "rows", Found: "slices of different lengths", Wanted: "rows added by AddRow only"}
	}
	return nil
}

func finite(place string, v float64) error {
	if math.IsNaN(v) || math.Abs(v) >= InfiniteFrom {
		return &InvalidError{Place: place, Found: fmt.Sprint(v), Wanted: "a number below 1e20 in magnitude"}
	}
	return nil
}

func (m *Model) validColumn(j Var) error {
	place := "column " + m.NameOfVar(j)
	if err := finite(place+", cost", m.Cost[j]); err != nil {
		return err
	}
	return room(place, m.Lower[j], m.Upper[j])
}

// room checks lo ≤ up, neither NaN, lo < +∞ and up > −∞.
func room(place string, lo, up float64) error {
	if math.IsNaN(lo) || math.IsNaN(up) || lo > up || lo >= InfiniteFrom || up <= -InfiniteFrom {
		return &InvalidError{Place: place, Found: fmt.Sprintf("bounds %v to %v", lo, up), Wanted: "a lower bound no higher than the upper one"}
	}
	return nil
}

func (m *Model) validRow(r Row) error {
	vars, coefs := m.RowTerms(r)
	for k, v := range coefs {
		if math.IsNaN(v) || math.Abs(v) >= InfiniteFrom {
			return finite("row "+m.NameOfRow(r)+", column "+m.NameOfVar(vars[k]), v)
		}
	}
	return room("row "+m.NameOfRow(r), m.RowLower[r], m.RowUpper[r])
}

func (m *Model) validNames() error {
	if name := repeatedName(m.VarName); name != "" {
		return &InvalidError{Place: "column " + name, Found: "the name twice", Wanted: "names that differ, or none"}
	}
	if name := repeatedName(m.RowName); name != "" {
		return &InvalidError{Place: "row " + name, Found: "the name twice", Wanted: "names that differ, or none"}
	}
	return nil
}

// repeatedName is a name that occurs twice, "" when none does.
func repeatedName(names []string) string {
	seen := make(map[string]struct{}, len(names))
	for _, s := range names {
		if _, dup := seen[s]; dup && s != "" {
			return s
		}
		seen[s] = struct{}{}
	}
	return ""
}
