package lp

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"feedline/planner/model"
)

// readMPS reads the plain MPS files of the reference set.
func readMPS(t testing.TB, file string) *model.Model {
	t.Helper()
	fh, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer fh.Close()
	sc := bufio.NewScanner(fh)
	section := ""
	type row struct {
		kind   string
		lo, up float64
		terms  []model.Term
		rhs    float64
	}
	var rows []*row
	rowOf := map[string]int{}
	obj := ""
	m := &model.Model{}
	colOf := map[string]model.Var{}
	integer := false
	num := func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v }
	for sc.Scan() {
		line := sc.Text()
		if line == "" || line[0] == '*' {
			continue
		}
		f := strings.Fields(line)
		if line[0] != ' ' {
			section = f[0]
			if section == "OBJSENSE" && len(f) > 1 {
				m.Maximize = strings.HasPrefix(f[1], "MAX")
			}
			continue
		}
		switch section {
		case "OBJSENSE":
			m.Maximize = strings.HasPrefix(f[0], "MAX")
		case "ROWS":
			if f[0] == "N" {
				if obj == "" {
					obj = f[1]
				} else {
					rowOf[f[1]] = -1
				}
				continue
			}
			rowOf[f[1]] = len(rows)
			rows = append(rows, &row{kind: f[0]})
		case "COLUMNS":
			if len(f) >= 3 && f[1] == "'MARKER'" {
				integer = f[2] == "'INTORG'"
				continue
			}
			j, ok := colOf[f[0]]
			if !ok {
				j = m.AddVar(f[0], 0, math.Inf(1), 0)
				m.Integer[j] = integer
				colOf[f[0]] = j
			}
			for k := 1; k+1 < len(f); k += 2 {
				v := num(f[k+1])
				if f[k] == obj {
					m.Cost[j] = v
				} else if i := rowOf[f[k]]; i >= 0 {
					rows[i].terms = append(rows[i].terms, model.Term{Var: j, Coef: v})
				}
			}
		case "RHS", "RANGES":
			if len(f)%2 == 1 {
				f = f[1:]
			}
			for k := 0; k+1 < len(f); k += 2 {
				v := num(f[k+1])
				if f[k] == obj {
					m.Offset = -v
					continue
				}
				i := rowOf[f[k]]
				if i < 0 {
					continue
				}
				r := rows[i]
				if section == "RHS" {
					r.rhs = v
				} else {
					r.lo, r.up = -1, v // marked: range
				}
			}
		case "BOUNDS":
			if len(f) == 3 && f[0] != "FR" && f[0] != "MI" && f[0] != "PL" && f[0] != "BV" {
				f = []string{f[0], "", f[1], f[2]}
			} else if len(f) == 2 {
				f = []string{f[0], "", f[1]}
			}
			j := colOf[f[2]]
			v := 0.0
			if len(f) > 3 {
				v = num(f[3])
			}
			switch f[0] {
			case "UP", "UI":
				m.Upper[j] = v
				if v < 0 && m.Lower[j] == 0 {
					m.Lower[j] = math.Inf(-1)
				}
			case "LO", "LI":
				m.Lower[j] = v
			case "FX":
				m.Lower[j], m.Upper[j] = v, v
			case "FR":
				m.Lower[j], m.Upper[j] = math.Inf(-1), math.Inf(1)
			case "MI":
				m.Lower[j] = math.Inf(-1)
			case "PL":
				m.Upper[j] = math.Inf(1)
			case "BV":
				m.Lower[j], m.Upper[j] = 0, 1
			}
		}
	}
	for _, r := range rows {
		lo, up := r.rhs, r.rhs
		switch {
		case r.lo == -1 && r.kind == "L":
			lo = r.rhs - math.Abs(r.up)
		case r.lo == -1 && r.kind == "G":
			up = r.rhs + math.Abs(r.up)
		case r.lo == -1 && r.up >= 0:
			up = r.rhs + r.up
		case r.lo == -1:
			lo = r.rhs + r.up
		case r.kind == "L":
			lo = math.Inf(-1)
		case r.kind == "G":
			up = math.Inf(1)
		}
		m.AddRow("", lo, up, r.terms...)
	}
	return m
}
