package quantity

import "strings"

// Problem is something wrong or doubtful about one field of a record. Where a record comes from
// (file, row, column) is for the caller to add.
type Problem struct {
	Field   string // Go name of the field in its struct; "" if the record as a whole is meant
	Value   string // as given, with its unit
	Allowed string // what would be right
	Remedy  string // what to do; "" if Allowed says it
	Warning bool   // unusual but possible: a plan can be made
}

// String is one line such as `Yield 1.2: allowed 0 to 1; write 95 % as 0.95`.
func (p Problem) String() string {
	var b strings.Builder
	if p.Field != "" {
		b.WriteString(p.Field)
		b.WriteByte(' ')
	}
	b.WriteString(p.Value)
	if p.Allowed != "" {
		b.WriteString(": allowed ")
		b.WriteString(p.Allowed)
	}
	if p.Remedy != "" {
		b.WriteString("; ")
		b.WriteString(p.Remedy)
	}
	return b.String()
}

// Faults counts the problems that are no mere warnings.
func Faults(list []Problem) int {
	n := 0
	for _, p := range list {
		if !p.Warning {
			n++
		}
	}
	return n
}
