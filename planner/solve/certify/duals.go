package certify

import (
	"fmt"
	"math"
	"strings"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// checkDuals measures Y and D and takes the bound from Y.
func (r *Report) checkDuals(m *model.Model, res solve.Result) {
	r.HasY = true
	s, d := sense(m), reduced(m, res.Y)
	scale := 1.0
	for _, c := range m.Cost {
		scale = math.Max(scale, math.Abs(c))
	}
	var slack sum
	side := func(v, lo, up, at float64, has bool, where func() string) {
		to := low(lo)
		if v < 0 {
			to = high(up)
		}
		switch {
		case v == 0:
		case math.IsInf(to, 0):
			r.Dual.note(math.Abs(v), scale, where)
		case has:
			slack.add(math.Abs(v), math.Abs(at-to))
		}
	}
	for i, y := range res.Y {
		at := 0.0
		if r.HasX {
			a := activity(m, model.Row(i), res.X)
			at = a.value()
		}
		side(s*y, m.RowLower[i], m.RowUpper[i], at, r.HasX, func() string { return "row " + m.NameOfRow(model.Row(i)) })
	}
	for j := range d {
		at := 0.0
		if r.HasX {
			at = res.X[j]
		}
		side(s*d[j].value(), m.Lower[j], m.Upper[j], at, r.HasX, func() string { return "column " + m.NameOfVar(model.Var(j)) })
	}
	r.Slackness = slack.value() / math.Max(1, math.Abs(r.Objective))
	if r.takes("d", res.D, m.NumVars(), false) {
		for j, v := range res.D {
			r.ReducedError = math.Max(r.ReducedError, math.Abs(v-d[j].value())/math.Max(1, d[j].size))
		}
	}
	p := proveModel(m, res.Y, r.cutoff(m))
	r.HasBound, r.ProvenBound, r.BoundNote = p.inSense(m)
}

// cutoffMargin is how much worse than the point in hand, relatively, the K of the package comment is.
const cutoffMargin = 1e-2

// cutoff is the K for the minimised objective without its constant; +Inf without a point.
func (r *Report) cutoff(m *model.Model) float64 {
	if !r.HasX {
		return math.Inf(1)
	}
	return cutoffAt(m, r.Objective)
}

func cutoffAt(m *model.Model, objective float64) float64 {
	z := sense(m) * (objective - m.Offset)
	return z + cutoffMargin*math.Max(1, math.Abs(z))
}

// proveModel is prove for m's objective and duals in m's own sense.
func proveModel(m *model.Model, y []float64, cutoff float64) proof {
	s := sense(m)
	cost, yy := make([]float64, len(m.Cost)), make([]float64, len(y))
	for j, c := range m.Cost {
		cost[j] = s * c
	}
	for i, v := range y {
		yy[i] = s * v
	}
	return prove(m, cost, s*m.Offset, yy, cutoff)
}

// inSense is the bound in m's own sense, and a note.
func (p proof) inSense(m *model.Model) (has bool, bound float64, note string) {
	if math.IsInf(p.lower, 0) {
		if p.blocked < 0 {
			return false, 0, "no bound: the sum overflows"
		}
		return false, 0, "no bound: the reduced cost of column " + m.NameOfVar(p.blocked) + " has the wrong sign and nothing limits that column"
	}
	var notes []string
	if p.dropped > 0 {
		notes = append(notes, fmt.Sprintf("duals of the wrong sign up to %.3g set to zero", p.dropped))
	}
	if p.shifted > 0 {
		notes = append(notes, fmt.Sprintf("%d duals shifted", p.shifted))
	}
	if p.leaned > 0 {
		notes = append(notes, fmt.Sprintf("%d columns limited by what the rows imply", p.leaned))
	}
	return true, sense(m) * p.lower, strings.Join(notes, ", ")
}

// Bound is the bound on m's optimum, wholeness ignored, that the duals y prove, in m's own sense, computed without rounding
// and rounded to the safe side. False without one.
func Bound(m *model.Model, y []float64) (float64, bool) {
	if len(y) != m.NumRows() {
		return 0, false
	}
	has, b, _ := proveModel(m, y, math.Inf(1)).inSense(m)
	return b, has
}
