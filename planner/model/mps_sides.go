package model

import (
	"fmt"
	"math"
	"strings"
)

// side reads a line of RHS or RANGES: an optional set name and one or two pairs of row and number.
func (p *mpsReader) side() *ReadError {
	set, pairs, err := p.setAndPairs()
	if err != nil || !p.firstSet(set) {
		return err
	}
	for k := 0; k < len(pairs); k += 2 {
		i, ok := p.rows[string(pairs[k])]
		if !ok {
			return p.unknownRow(pairs[k])
		}
		place := "section " + p.section + ", row " + string(pairs[k])
		if p.section == "RHS" {
			err = p.rightHandSide(place, i, pairs[k+1])
		} else {
			err = p.rangeOf(place, i, pairs[k+1])
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// setAndPairs splits the current line of RHS or RANGES.
func (p *mpsReader) setAndPairs() (set string, pairs [][]byte, err *ReadError) {
	f := p.f
	if p.fixed {
		if len(f[0]) > 0 {
			return "", nil, p.fail("section "+p.section, quote(f[0])+" in columns 2-3", "blanks")
		}
		set, pairs = string(f[1]), f[2:4]
		if len(f[4])+len(f[5]) > 0 {
			pairs = f[2:6]
		}
		return set, pairs, nil
	}
	p.uncomment(1)
	switch f = p.f; len(f) {
	case 3, 5:
		return string(f[0]), f[1:], nil
	case 2, 4:
		return "", f, nil
	}
	return "", nil, p.fail("section "+p.section, quote(p.cur), "a set name and one or two pairs of row and number")
}

// firstSet tells whether set is the first that the current section has met.
func (p *mpsReader) firstSet(set string) bool {
	first, ok := p.sets[p.section]
	if !ok {
		p.sets[p.section] = set
		return true
	}
	return first == set
}

func (p *mpsReader) rightHandSide(place string, i int32, field []byte) *ReadError {
	v, err := p.number(place, field, i >= 0)
	if err != nil || i == dropped {
		return err
	}
	line := &p.objRHSLine
	if i >= 0 {
		line = &p.rhsLine[i]
	}
	if *line > 0 {
		return p.fail(place, "a second right-hand side", "one right-hand side for each row")
	}
	*line = int32(p.line)
	if i == objective {
		p.m.Offset = 0 - v // not −0
		return nil
	}
	p.rhs[i] = v
	return nil
}

func (p *mpsReader) rangeOf(place string, i int32, field []byte) *ReadError {
	v, err := p.number(place, field, true)
	if err != nil || i < 0 {
		return err
	}
	if p.hasSpan[i] {
		return p.fail(place, "a second range", "one range for each row")
	}
	p.span[i], p.hasSpan[i] = v, true
	return nil
}

// bound reads a line of BOUNDS: kind, optional set name, column and, for most kinds, a number.
func (p *mpsReader) bound() *ReadError {
	if len(p.f) == 0 || len(p.f[0]) == 0 {
		return p.fail("section BOUNDS", quote(p.cur), "a kind of bound first")
	}
	kind := strings.ToUpper(string(p.f[0][:min(len(p.f[0]), 8)]))
	takes, ok := boundTakesNumber[kind]
	if kind == "SC" || kind == "SI" || kind == "SN" {
		return p.fail("section BOUNDS", "the semi-continuous bound "+kind, "a linear or mixed-integer linear program: UP, LO, FX, FR, MI, PL, BV, LI or UI")
	}
	if !ok {
		return p.fail("section BOUNDS", "kind "+quote(p.f[0]), "UP, LO, FX, FR, MI, PL, BV, LI or UI")
	}
	set, name, field, err := p.boundFields(takes)
	if err != nil || !p.firstSet(set) {
		return err
	}
	j, ok := p.cols[string(name)]
	if !ok {
		return p.fail("section BOUNDS", "column "+quote(name), "a column of COLUMNS")
	}
	v := 0.0
	if takes {
		if v, err = p.number("bound "+kind+" of column "+string(name), field, true); err != nil {
			return err
		}
	}
	return p.setBound(j, kind, v)
}

var boundTakesNumber = map[string]bool{
	"UP": true, "LO": true, "FX": true, "UI": true, "LI": true,
	"FR": false, "MI": false, "PL": false, "BV": false,
}

// boundFields splits the current line of BOUNDS after its kind. Where the set's name may be missing, the count of
// fields decides for kinds with a number and the columns' names for the others (which may carry a number in vain).
func (p *mpsReader) boundFields(takes bool) (set string, name, field []byte, err *ReadError) {
	if p.fixed {
		return string(p.f[1]), p.f[2], p.f[3], nil
	}
	p.uncomment(2)
	f := p.f[1:]
	switch {
	case len(f) == 3:
		return string(f[0]), f[1], f[2], nil
	case len(f) == 2 && takes:
		return "", f[0], f[1], nil
	case len(f) == 1 && !takes:
		return "", f[0], nil, nil
	case len(f) == 2:
		if _, ok := p.cols[string(f[1])]; !ok {
			if _, ok := p.cols[string(f[0])]; ok {
				return "", f[0], f[1], nil
			}
		}
		return string(f[0]), f[1], nil, nil
	}
	return "", nil, nil, p.fail("section BOUNDS", quote(p.cur), "a kind, a set name, a column and, for most kinds, a number")
}

// setBound applies a bound to column j; a second bound on the same side is an error.
func (p *mpsReader) setBound(j Var, kind string, v float64) *ReadError {
	m := p.m
	lower := kind != "UP" && kind != "UI" && kind != "PL"
	upper := kind != "LO" && kind != "LI" && kind != "MI"
	if lower && p.loSet[j] || upper && p.upSet[j] {
		return p.fail("bound "+kind+" of column "+m.VarName[j], "a second bound on the same side", "one lower and one upper bound for each column")
	}
	p.loSet[j] = p.loSet[j] || lower
	p.upSet[j] = p.upSet[j] || upper
	p.anyBound[j] = true
	switch kind {
	case "UP", "UI":
		m.Upper[j] = v
		if v < 0 && !p.loSet[j] {
			m.Lower[j] = math.Inf(-1)
		}
	case "LO", "LI":
		m.Lower[j] = v
	case "FX":
		m.Lower[j], m.Upper[j] = v, v
	case "FR":
		m.Lower[j], m.Upper[j] = math.Inf(-1), Infinity
	case "MI":
		m.Lower[j] = math.Inf(-1)
	case "PL":
		m.Upper[j] = Infinity
	case "BV":
		m.Lower[j], m.Upper[j] = 0, 1
	}
	if kind == "BV" || kind == "LI" || kind == "UI" {
		m.Integer[j] = true
	}
	if lo, up := m.Lower[j], m.Upper[j]; lo > up {
		return p.fail("bound "+kind+" of column "+m.VarName[j], fmt.Sprintf("bounds %v to %v", lo, up), "a lower bound no higher than the upper one")
	}
	return nil
}
