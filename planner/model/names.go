package model

import "strconv"

// NameOfVar is the column's name, or C and its 1-based number when it has none.
func (m *Model) NameOfVar(v Var) string {
	if s := m.VarName[v]; s != "" {
		return s
	}
	return "C" + strconv.Itoa(int(v)+1)
}

// NameOfRow is the row's name, or R and its 1-based number when it has none.
func (m *Model) NameOfRow(r Row) string {
	if s := m.RowName[r]; s != "" {
		return s
	}
	return "R" + strconv.Itoa(int(r)+1)
}

// VarByName finds the first column whose NameOfVar is name, in time linear in the columns: for many look-ups build a map.
func (m *Model) VarByName(name string) (Var, bool) {
	for j := range m.VarName {
		if m.NameOfVar(Var(j)) == name {
			return Var(j), true
		}
	}
	return 0, false
}

// RowByName finds the first row whose NameOfRow is name, in time linear in the rows.
func (m *Model) RowByName(name string) (Row, bool) {
	for i := range m.RowName {
		if m.NameOfRow(Row(i)) == name {
			return Row(i), true
		}
	}
	return 0, false
}
