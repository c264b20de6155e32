package certify

import (
	"fmt"
	"math"
	"strings"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// Violation is the largest one of a kind.
type Violation struct {
	Size     float64 `json:"size"`     // in the row's or column's own unit
	Relative float64 `json:"relative"` // Size over max(1, |side|), or as the field says; the largest, perhaps elsewhere than Size
	Where    string  `json:"where"`    // row or column of the largest Relative; "" when there is none
}

// note takes a violation into account.
func (v *Violation) note(size, scale float64, where func() string) {
	if !(size > 0) && !math.IsNaN(size) {
		return
	}
	v.Size = math.Max(v.Size, size)
	if r := size / math.Max(1, math.Abs(scale)); r > v.Relative {
		v.Relative, v.Where = r, where()
	}
}

// Report is what Check found. All numbers are finite.
type Report struct {
	// Problems are the claims that don't hold, in words; empty for a sound answer.
	Problems []string `json:"problems"`

	HasX           bool      `json:"has_x"`
	Row            Violation `json:"row"`             // of rows
	Bound          Violation `json:"bound"`           // of column bounds
	Integer        Violation `json:"integer"`         // distance from whole numbers; Relative = Size
	Objective      float64   `json:"objective"`       // cᵀx + offset recomputed
	ObjectiveError float64   `json:"objective_error"` // relative difference from the objective claimed

	HasY         bool      `json:"has_y"`
	Dual         Violation `json:"dual"`          // wrong-signed duals and reduced costs at infinite sides; Relative to max(1, largest |cost|)
	ReducedError float64   `json:"reduced_error"` // largest |D − (c − Aᵀ·Y)| relative to the size of its terms
	Slackness    float64   `json:"slackness"`     // Σ |y|·(distance of row from its side) + Σ |d|·(same of column), relative to max(1, |objective|)
	HasBound     bool      `json:"has_bound"`
	ProvenBound  float64   `json:"proven_bound"` // on the optimum, from Y alone, in the model's own sense; rounded to the safe side
	BoundNote    string    `json:"bound_note"`   // what had to be done for the bound, or why there is none

	RayProves bool `json:"ray_proves"` // the ray proves Infeasible (exactly) or Unbounded (within rounding)
}

// OK tells whether every claim that can be checked holds.
func (r Report) OK() bool { return len(r.Problems) == 0 }

func (r *Report) problem(format string, args ...any) {
	r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
}

// String is the report in a few lines of text.
func (r Report) String() string {
	var b strings.Builder
	if r.HasX {
		fmt.Fprintf(&b, "violation   rows %.3g, bounds %.3g, whole numbers %.3g\n", r.Row.Size, r.Bound.Size, r.Integer.Size)
		fmt.Fprintf(&b, "objective   %.12g\n", r.Objective)
	}
	if r.HasY {
		fmt.Fprintf(&b, "duals       wrong sign %.3g, slackness %.3g\n", r.Dual.Size, r.Slackness)
		if r.HasBound {
			fmt.Fprintf(&b, "bound       %.12g\n", r.ProvenBound)
		}
		if r.BoundNote != "" {
			fmt.Fprintf(&b, "            %s\n", r.BoundNote)
		}
	}
	for _, p := range r.Problems {
		fmt.Fprintf(&b, "problem     %s\n", p)
	}
	return b.String()
}

// Check measures the claims of res against m: the solution's violations and objective, for a linear program the signs
// and definition of its duals, complementary slackness and the bound that follows from Y alone, and a ray.
// For a relaxation pass m.Relaxation(). Vectors of the wrong length or with values that are no
// numbers are reported as problems. Cost: some exact additions a nonzero; 0.1 s at 30,000 nonzeros.
func Check(m *model.Model, res solve.Result) Report {
	var r Report
	if bad := unusable(m); bad != "" {
		r.problem("the model has %s", bad)
		return r
	}
	if r.takes("x", res.X, m.NumVars(), res.Has) {
		r.checkPoint(m, res)
	}
	if r.takes("y", res.Y, m.NumRows(), false) {
		r.checkDuals(m, res)
	}
	r.checkVerdict(m, res)
	return r
}

// takes tells whether vector v can be checked; a wrong length or value is a problem, as is its absence when claimed.
func (r *Report) takes(name string, v []float64, n int, claimed bool) bool {
	if v == nil && !claimed {
		return false
	}
	if len(v) != n {
		r.problem("%s has %d entries, expected %d", name, len(v), n)
		return false
	}
	for i, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			r.problem("%s[%d] is %v, expected a finite number", name, i, x)
			return false
		}
	}
	return true
}

// unusable says what keeps a model from being computed with, "" if nothing does.
func unusable(m *model.Model) string {
	finite := func(v float64) bool { return math.Abs(v) < model.InfiniteFrom } // false for NaN
	for j, c := range m.Cost {
		if !finite(c) || math.IsNaN(m.Lower[j]) || math.IsNaN(m.Upper[j]) {
			return "a cost or bound that is no number at column " + m.NameOfVar(model.Var(j))
		}
	}
	for i := range m.RowLower {
		if math.IsNaN(m.RowLower[i]) || math.IsNaN(m.RowUpper[i]) {
			return "a side that is no number at row " + m.NameOfRow(model.Row(i))
		}
		_, coefs := m.RowTerms(model.Row(i))
		for _, v := range coefs {
			if !finite(v) {
				return "a coefficient that is no number in row " + m.NameOfRow(model.Row(i))
			}
		}
	}
	if !finite(m.Offset) {
		return "a constant that is no number"
	}
	return ""
}

// outside is how far v lies outside lo to up, and the side in question.
func outside(v, lo, up float64) (by, side float64) {
	switch {
	case v < low(lo):
		return lo - v, lo
	case v > high(up):
		return v - up, up
	}
	return 0, 0
}

func (r *Report) checkPoint(m *model.Model, res solve.Result) {
	r.HasX = true
	for i := range m.RowLower {
		s := activity(m, model.Row(i), res.X)
		by, side := outside(s.value(), m.RowLower[i], m.RowUpper[i])
		r.Row.note(by, side, func() string { return "row " + m.NameOfRow(model.Row(i)) })
	}
	var z sum
	z.add(m.Offset, 1)
	for j, x := range res.X {
		where := func() string { return "column " + m.NameOfVar(model.Var(j)) }
		by, side := outside(x, m.Lower[j], m.Upper[j])
		r.Bound.note(by, side, where)
		if m.Integer[j] {
			r.Integer.note(math.Abs(x-math.Round(x)), 1, where)
		}
		z.add(m.Cost[j], x)
	}
	r.Objective = z.value()
	if res.Has {
		r.ObjectiveError = scaled(r.Objective, res.Objective)
		r.judgePoint(res)
	}
}

func (r *Report) judgePoint(res solve.Result) {
	for _, v := range []Violation{r.Row, r.Bound} {
		if v.Relative > Feasibility {
			r.problem("%s is violated by %.3g relative to its side, allowed %.0e", v.Where, v.Relative, Feasibility)
		}
	}
	if r.Integer.Size > Integrality {
		r.problem("%s is %.3g away from a whole number, allowed %.0e", r.Integer.Where, r.Integer.Size, Integrality)
	}
	if !(r.ObjectiveError <= Agreement) {
		r.problem("the objective is %.12g, claimed %.12g", r.Objective, res.Objective)
	}
}

// checkVerdict holds the stop reason and the bound claimed against what was found.
func (r *Report) checkVerdict(m *model.Model, res solve.Result) {
	s := sense(m)
	if res.Has && s*(res.Bound-res.Objective) > Agreement*math.Max(1, math.Abs(res.Objective)) {
		r.problem("the bound %.12g is on the wrong side of the objective %.12g", res.Bound, res.Objective)
	}
	if r.HasX && r.HasBound && s*(r.ProvenBound-r.Objective) > Agreement*math.Max(1, math.Abs(r.Objective)) {
		r.problem("the duals prove that no point is better than %.12g, but x has %.12g", r.ProvenBound, r.Objective)
	}
	switch res.Stop {
	case solve.Optimal:
		if !res.Has {
			r.problem("optimal without a solution")
		} else if m.NumIntegers() == 0 {
			r.judgeOptimal(res)
		}
	case solve.Infeasible:
		r.checkInfeasible(m, res)
	case solve.Unbounded:
		r.checkUnbounded(m, res)
	}
}

// judgeOptimal asks an optimal linear program for its duals.
func (r *Report) judgeOptimal(res solve.Result) {
	if !r.HasY {
		if res.Y == nil {
			r.problem("a linear program claimed optimal has no duals to prove it")
		}
		return
	}
	if r.Dual.Relative > DualFeasibility {
		r.problem("%s has a dual or reduced cost of the wrong sign, %.3g relative to the costs, allowed %.0e",
			r.Dual.Where, r.Dual.Relative, DualFeasibility)
	}
	if !(r.Slackness <= Agreement) {
		r.problem("objective and duals are %.3g apart, relative; allowed %.0e", r.Slackness, Agreement)
	}
	if !(r.ReducedError <= Agreement) {
		r.problem("the reduced costs differ from c − Aᵀy by %.3g, allowed %.0e", r.ReducedError, Agreement)
	}
}
