package presolve

import (
	"math"

	"feedline/planner/model"
)

// Reduced is a smaller program and the way back.
type Reduced struct {
	Model   *model.Model
	Cols    []model.Var   // reduced column → original column
	Rows    []model.Row   // reduced row → original row
	Applied [numRules]int // how often each rule was used

	original *model.Model
	steps    []step
}

// build lays out what is left. The reduced columns and rows keep the original order and names.
func (s *state) build(m *model.Model) *Reduced {
	r := &Reduced{original: m, steps: s.steps, Applied: s.counts}
	w := &model.Model{Name: m.Name, Maximize: m.Maximize, Offset: s.offset}
	sign := 1.0
	if m.Maximize {
		sign = -1
		w.Offset = -s.offset
	}
	to := make([]model.Var, len(s.cost))
	for j := range s.cost {
		if !s.colGone[j] {
			to[j] = w.AddVar(m.VarName[j], s.lower[j], s.upper[j], sign*s.cost[j])
			w.Integer[to[j]] = s.whole[j]
			r.Cols = append(r.Cols, model.Var(j))
		}
	}
	var terms []model.Term
	for i := range s.rlo {
		if s.rowGone[i] {
			continue
		}
		terms = terms[:0]
		for e := s.rowHead[i]; e != none; e = s.ent[e].rowNext {
			terms = append(terms, model.Term{Var: to[s.ent[e].col], Coef: s.ent[e].val})
		}
		w.AddRow(m.RowName[i], s.rlo[i], s.rup[i], terms...)
		r.Rows = append(r.Rows, model.Row(i))
	}
	r.Model = w
	return r
}

// Postsolve takes a point of the reduced model to the original one; the argument is left alone. Without Y only X is
// mapped, which is all that a mixed-integer reduction allows: there the duals of a tightened model mean nothing
// for the original. Without Cols and Rows the statuses are guessed from values and duals and not returned.
//
// If the point is optimal so is the result, with the same objective, D = c − Aᵀ·Y in the original
// coefficients, and a basis that fits. From a basis that is not optimal comes a basis nonetheless.
func (r *Reduced) Postsolve(q Point) Point {
	m := r.original
	p := &point{x: make([]float64, m.NumVars())}
	for k, j := range r.Cols {
		p.x[j] = q.X[k]
	}
	sign := 1.0
	if m.Maximize {
		sign = -1
	}
	if q.Y != nil {
		r.spreadDuals(p, q, sign)
	}
	for k := len(r.steps) - 1; k >= 0; k-- {
		r.steps[k].undo(p)
	}
	if p.y == nil {
		return Point{X: p.x}
	}
	for i := range p.y {
		p.y[i] *= sign
	}
	out := Point{X: p.x, Y: p.y, D: prices(m, p.y)}
	if q.Cols != nil {
		out.Cols, out.Rows = p.cols, p.rows
	}
	return out
}

// spreadDuals writes the reduced duals and statuses, of the minimised program, to their original places.
func (r *Reduced) spreadDuals(p *point, q Point, sign float64) {
	p.y, p.d = make([]float64, r.original.NumRows()), make([]float64, r.original.NumVars())
	p.rows, p.cols = make([]Status, len(p.y)), make([]Status, len(p.d))
	for k, j := range r.Cols {
		p.d[j] = sign * q.D[k]
		if q.Cols != nil {
			p.cols[j] = q.Cols[k]
		} else {
			p.cols[j] = guess(q.X[k], p.d[j], r.Model.Lower[k], r.Model.Upper[k])
		}
	}
	for k, i := range r.Rows {
		p.y[i] = sign * q.Y[k]
		if q.Rows != nil {
			p.rows[i] = q.Rows[k]
			continue
		}
		p.rows[i] = guess(activityAt(r.Model, k, q.X), p.y[i], r.Model.RowLower[k], r.Model.RowUpper[k])
	}
}

// prices is c − Aᵀ·y.
func prices(m *model.Model, y []float64) []float64 {
	d := append([]float64(nil), m.Cost...)
	for i, v := range y {
		if v == 0 {
			continue
		}
		vars, coefs := m.RowTerms(model.Row(i))
		for k, j := range vars {
			d[j] -= coefs[k] * v
		}
	}
	return d
}

// MapSolution takes a point of the original model down to the reduced one. It says whether the
// result satisfies the reduced model within a small tolerance: presolve keeps an optimum, not every point.
func (r *Reduced) MapSolution(x []float64) ([]float64, bool) {
	full := append([]float64(nil), x...)
	for _, st := range r.steps {
		if t, ok := st.(interface{ down([]float64) }); ok {
			t.down(full)
		}
	}
	out := make([]float64, len(r.Cols))
	for k, j := range r.Cols {
		out[k] = full[j]
	}
	return out, r.satisfies(out)
}

func (r *Reduced) satisfies(x []float64) bool {
	w := r.Model
	for k, v := range x {
		tol := mapTol * scale(v)
		if v < w.Lower[k]-tol || v > w.Upper[k]+tol || w.Integer[k] && math.Abs(v-math.Round(v)) > mapTol {
			return false
		}
	}
	for i := range w.RowLower {
		v := activityAt(w, i, x)
		if v < w.RowLower[i]-mapTol*scale(w.RowLower[i]) || v > w.RowUpper[i]+mapTol*scale(w.RowUpper[i]) {
			return false
		}
	}
	return true
}

// activityAt is row i's sum at x.
func activityAt(m *model.Model, i int, x []float64) float64 {
	t := 0.0
	vars, coefs := m.RowTerms(model.Row(i))
	for k, j := range vars {
		t += coefs[k] * x[j]
	}
	return t
}
