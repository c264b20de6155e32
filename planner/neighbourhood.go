package planner

import (
	"math"

	"feedline/planner/model"
)

// area is a part of a plan that is decided anew while the rest is held: whole numbers in the buckets [from, to) of some lines and profiles,
// and all amounts in those buckets and in reach buckets after them.
type area struct {
	from, to int
	reach    int
	lines    []bool // nil = all
	profiles []bool // nil = all; otherwise lines are not switched on or off
	loads    bool   // loads of these buckets too
	held     bool   // no whole numbers of lines at all

}

// spot says what a column is about; -1 for what it is not bound to.
type spot struct {
	line, profile, bucket int
	load                  bool
}

var nowhere = spot{-1, -1, -1, false}

// spots tells the place of each column. Columns that only measure others (below target, overfull, a pin not kept) are nowhere.
func (f *formulation) spots() []spot {
	list := make([]spot, f.m.NumVars())
	for i := range list {
		list[i] = nowhere
	}
	put := func(refs []ref, line, profile int, load bool) {
		for t, r := range refs {
			if r.is && list[r.v] == nowhere { // a bucket without hours shows the column of the one before
				list[r.v] = spot{line, profile, t, load}
			}
		}
	}
	for j, ft := range f.fits {
		for _, refs := range [][]ref{f.run[j], f.changed[j], f.carried[j], f.mounted[j]} {
			put(refs, ft.line, ft.profile, false)
		}
	}
	for l := range f.in.Lines {
		for _, refs := range append([][]ref{f.on[l], f.started[l], f.commissioned[l]}, f.startScrap[l]...) {
			put(refs, l, -1, false)
		}
	}
	for p := range f.in.Profiles {
		for _, refs := range append([][]ref{f.rack[p]}, f.late[p]...) {
			put(refs, -1, p, false)
		}
	}
	for _, grid := range [][][]ref{f.draw, f.yard, f.pellets, f.own, f.fed, f.short} {
		for _, refs := range grid {
			put(refs, -1, -1, false)
		}
	}
	for s := range f.in.Lanes {
		put(f.loads[s], -1, -1, true)
		put(f.placed[s], -1, -1, true)
	}
	return list
}

// frees reports whether the area frees a column at s.
func (a *area) frees(s spot, whole bool) bool {
	if s.bucket < a.from {
		return false
	}
	if !whole {
		return s.bucket < a.to+a.reach
	}
	switch {
	case s.bucket >= a.to:
		return false
	case s.load:
		return a.loads
	case a.held:
		return false
	case s.profile < 0:
		return a.profiles == nil && (a.lines == nil || a.lines[s.line])
	}
	return (a.lines == nil || a.lines[s.line]) && (a.profiles == nil || a.profiles[s.profile])
}

// layout is the model by columns, for cutting small models out of it.
type layout struct {
	m       *model.Model
	spots   []spot
	columns model.Columns
}

func newLayout(f *formulation) *layout {
	return &layout{m: f.m, spots: f.spots(), columns: f.m.Columns()}
}

// cutout is a small model with its place in the whole.
type cutout struct {
	m    *model.Model
	vars []model.Var // of the whole, by column of m
	rows []int32     // of the whole, ascending
}

// cut makes the model of an area, all else held at x. Its objective is the whole plan's. What x leaves free by less than it should, being
// rounded, is left to it: x is always a solution.
func (y *layout) cut(a *area, x []float64) *cutout {
	c := &cutout{m: &model.Model{Name: "area"}}
	place := make([]int32, y.m.NumVars()) // 1 + column in c.m
	touched := make([]bool, y.m.NumRows())
	free := func(v model.Var) {
		place[v] = int32(len(c.vars)) + 1
		c.vars = append(c.vars, v)
		for _, i := range y.columns.Index[y.columns.Start[v]:y.columns.Start[v+1]] {
			touched[i] = true
		}
	}
	for j, s := range y.spots {
		if a.frees(s, y.m.Integer[j]) {
			free(model.Var(j))
		}
	}
	for i := range touched { // what only measures the columns that are free
		if !touched[i] {
			continue
		}
		vars, _ := y.m.RowTerms(model.Row(i))
		for _, v := range vars {
			if place[v] == 0 && y.spots[v] == nowhere {
				free(v)
			}
		}
	}
	c.m.Offset = y.m.Offset
	for j, cost := range y.m.Cost {
		if place[j] == 0 {
			c.m.Offset += cost * x[j]
		}
	}
	for _, v := range c.vars {
		w := c.m.AddVar("", min(y.m.Lower[v], x[v]), max(y.m.Upper[v], x[v]), y.m.Cost[v])
		c.m.Integer[w] = y.m.Integer[v]
	}
	for i := range touched {
		if touched[i] {
			c.addRow(y.m, i, place, x)
		}
	}
	return c
}

// addRow adds row i of m with its held part taken off the sides.
func (c *cutout) addRow(m *model.Model, i int, place []int32, x []float64) {
	vars, coefs := m.RowTerms(model.Row(i))
	terms := make([]model.Term, 0, len(vars))
	held, free := 0.0, 0.0
	for k, v := range vars {
		if place[v] == 0 {
			held += coefs[k] * x[v]
			continue
		}
		free += coefs[k] * x[v]
		terms = append(terms, model.Term{Var: model.Var(place[v] - 1), Coef: coefs[k]})
	}
	lower, upper := m.RowLower[i]-held, m.RowUpper[i]-held
	if math.IsInf(lower, -1) && math.IsInf(upper, 1) || len(terms) == 0 {
		return
	}
	c.m.AddRow("", min(lower, free), max(upper, free), terms...)
	c.rows = append(c.rows, int32(i))
}

// write puts a solution of the cutout into the whole plan x.
func (c *cutout) write(small, x []float64) {
	for k, v := range c.vars {
		x[v] = small[k]
	}
}

// apart reports whether no row is in both: then changes in one leave the other as it is.
func (c *cutout) apart(d *cutout) bool {
	for i, k := 0, 0; i < len(c.rows) && k < len(d.rows); {
		switch {
		case c.rows[i] < d.rows[k]:
			i++
		case c.rows[i] > d.rows[k]:
			k++
		default:
			return false
		}
	}
	return true
}
