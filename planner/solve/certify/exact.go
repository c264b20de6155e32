package certify

import (
	"fmt"
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// ExactReport is what Exact found, without rounding except where a field says so. All numbers are finite.
type ExactReport struct {
	// Proven: the reason to stop is proven. Optimal: the point is feasible and the bound that the duals prove is within
	// Agreement of its objective. Infeasible: the ray or a pair of bounds proves it. Unbounded: the ray holds
	// exactly. Any other reason, and a search over whole numbers, has no such proof: false.
	Proven bool `json:"proven"`

	HasX           bool      `json:"has_x"`
	Feasible       bool      `json:"feasible"`        // every violation of the rounded point is within Feasibility
	Exactly        bool      `json:"exactly"`         // there is no violation at all
	Rounding       float64   `json:"rounding"`        // the largest change made to whole-number columns
	Row            Violation `json:"row"`             // of rows at the rounded point, rounded up
	ColumnBound    Violation `json:"column_bound"`    // of column bounds, rounded up
	Objective      float64   `json:"objective"`       // at the rounded point, to the nearest float64
	ObjectiveError float64   `json:"objective_error"` // relative difference from the objective claimed

	// Vertex: the basic solution of the answer's basis, solved for in rationals, is feasible without any violation. Objective is
	// then its, and Exactly holds.
	Vertex bool `json:"vertex"`

	HasBound bool    `json:"has_bound"`
	Bound    float64 `json:"bound"` // proven on the optimum by Y, rounded to the safe side
	Gap      float64 `json:"gap"`   // |Objective − Bound| over max(1, |Objective|), when both are there
	Words    string  `json:"words"` // the verdict in a sentence
}

// String is the verdict in a sentence.
func (r ExactReport) String() string { return r.Words }

// Exact checks res against m without rounding. Columns that have to be whole are rounded first, then rows, bounds
// and objective are evaluated exactly. The bound is that of the package comment; its only inputs are the model and
// Y (and the point, for the cut-off). Vectors that can't be used count as absent.
func Exact(m *model.Model, res solve.Result) ExactReport {
	var r ExactReport
	if bad := unusable(m); bad != "" {
		r.Words = "nothing is proven: the model has " + bad
		return r
	}
	var usable Report
	if res.Has && usable.takes("x", res.X, m.NumVars(), true) {
		r.point(m, res)
	}
	if usable.takes("y", res.Y, m.NumRows(), false) {
		r.bound(m, res)
	}
	if res.Stop == solve.Optimal && m.NumIntegers() == 0 && r.HasX && (!r.Exactly || !r.HasBound || r.Gap > 0) {
		r.vertex(m, res)
	}
	r.verdict(m, res)
	return r
}

// point evaluates the rounded point.
func (r *ExactReport) point(m *model.Model, res solve.Result) {
	r.HasX = true
	x := append([]float64(nil), res.X...)
	for j, whole := range m.Integer {
		if whole {
			x[j] = math.Round(x[j])
			r.Rounding = math.Max(r.Rounding, math.Abs(x[j]-res.X[j]))
		}
	}
	z := newExact()
	z.add(m.Offset, 1)
	for j, v := range x {
		z.add(m.Cost[j], v)
		s := newExact()
		s.add(v, 1)
		exactOutside(&r.ColumnBound, s, m.Lower[j], m.Upper[j], func() string { return "column " + m.NameOfVar(model.Var(j)) })
	}
	for i := range m.RowLower {
		s := newExact()
		vars, coefs := m.RowTerms(model.Row(i))
		for k, j := range vars {
			s.add(coefs[k], x[j])
		}
		exactOutside(&r.Row, s, m.RowLower[i], m.RowUpper[i], func() string { return "row " + m.NameOfRow(model.Row(i)) })
	}
	r.Objective = z.nearest()
	r.ObjectiveError = scaled(r.Objective, res.Objective)
	r.Exactly = r.Row.Size == 0 && r.ColumnBound.Size == 0
	r.Feasible = r.Row.Relative <= Feasibility && r.ColumnBound.Relative <= Feasibility && r.Rounding <= Integrality
}

// exactOutside notes by how much s lies outside lo to up; it uses s up.
func exactOutside(v *Violation, s *exact, lo, up float64, where func() string) {
	if lo = low(lo); !math.IsInf(lo, 0) {
		below := newExact()
		below.add(lo, 1)
		below.addScaled(s, -1)
		if below.sign() > 0 {
			v.note(below.ceil(), lo, where)
		}
	}
	if up = high(up); !math.IsInf(up, 0) {
		s.add(up, -1)
		if s.sign() > 0 {
			v.note(s.ceil(), up, where)
		}
	}
}

func (r *ExactReport) bound(m *model.Model, res solve.Result) {
	cutoff := math.Inf(1)
	if r.HasX {
		cutoff = cutoffAt(m, r.Objective)
	}
	p := proveModel(m, res.Y, cutoff)
	r.HasBound, r.Bound, r.Words = p.inSense(m)
	if r.HasBound && r.HasX {
		r.Gap = math.Abs(r.Objective-r.Bound) / math.Max(1, math.Abs(r.Objective))
	}
}

// vertex solves the answer's basis without rounding and takes over what that proves beyond the numbers in res.
func (r *ExactReport) vertex(m *model.Model, res solve.Result) {
	v := newVertex(m, res)
	if v == nil {
		return
	}
	if v.hasX {
		var bound, row Violation
		if v.outside(&bound, &row); bound.Size == 0 && row.Size == 0 {
			r.Vertex, r.Exactly, r.Feasible = true, true, true
			r.ColumnBound, r.Row = bound, row
			r.Objective, _ = v.objective().Float64()
			r.ObjectiveError = scaled(r.Objective, res.Objective)
		}
	}
	if v.hasY {
		if b, where, ok := v.bound(); ok && (!r.HasBound || sense(m)*(b-r.Bound) > 0) {
			r.HasBound, r.Bound, r.Words = true, b, "the basis solved in rationals"
		} else if !ok && !r.HasBound {
			r.Words = "no bound: in rationals too the dual of " + where + " has the wrong sign and nothing limits it"
		}
	}
	if r.HasBound {
		r.Gap = math.Abs(r.Objective-r.Bound) / math.Max(1, math.Abs(r.Objective))
	}
}

// verdict decides Proven and words it.
func (r *ExactReport) verdict(m *model.Model, res solve.Result) {
	note := r.Words
	switch res.Stop {
	case solve.Infeasible:
		r.infeasible(m, res)
	case solve.Unbounded:
		r.unbounded(m, res)
	default:
		r.solution(res, note)
	}
}

func (r *ExactReport) infeasible(m *model.Model, res solve.Result) {
	var usable Report
	where := contradiction(m)
	switch {
	case where != "":
		r.Proven, r.Words = true, "proven infeasible: the bounds of "+where+" contradict each other"
	case res.Ray == nil || !usable.takes("ray", res.Ray, m.NumRows(), true):
		r.Words = "not proven infeasible: there is no combination of rows to check"
	case Farkas(m, res.Ray):
		r.Proven, r.Words = true, "proven infeasible by a combination of rows, exactly"
	default:
		r.Words = "not proven infeasible: the combination of rows proves nothing"
	}
}

func (r *ExactReport) unbounded(m *model.Model, res solve.Result) {
	var usable Report
	if res.Ray == nil || !usable.takes("ray", res.Ray, m.NumVars(), true) {
		r.Words = "not proven unbounded: there is no direction to check"
		return
	}
	switch where := exactRayFault(m, res.Ray); {
	case where == "":
		r.Proven, r.Words = true, "proven unbounded from any feasible point, exactly"
	case rayFault(m, res.Ray, rayNoise) == "":
		r.Words = "unbounded within rounding, not exactly: see " + where
	default:
		r.Words = "not proven unbounded: the direction fails at " + where
	}
}

// exactRayFault is rayFault without rounding.
func exactRayFault(m *model.Model, ray []float64) string {
	gain := newExact()
	for j, v := range ray {
		if leaves(v, 0, m.Lower[j], m.Upper[j]) {
			return "column " + m.NameOfVar(model.Var(j))
		}
		gain.add(m.Cost[j], v)
	}
	for i := range m.RowLower {
		s := newExact()
		vars, coefs := m.RowTerms(model.Row(i))
		for k, j := range vars {
			s.add(coefs[k], ray[j])
		}
		if leaves(float64(s.sign()), 0, m.RowLower[i], m.RowUpper[i]) {
			return "row " + m.NameOfRow(model.Row(i))
		}
	}
	if sense(m)*float64(gain.sign()) >= 0 {
		return "the objective"
	}
	return ""
}

// solution words what is proven of a point and a bound.
func (r *ExactReport) solution(res solve.Result, note string) {
	point := "no solution to check"
	switch {
	case r.HasX && r.Exactly && r.Feasible:
		point = "the solution satisfies every row and bound exactly"
	case r.HasX && r.Feasible:
		point = fmt.Sprintf("the solution satisfies every row and bound within %.2g", math.Max(r.Row.Relative, r.ColumnBound.Relative))
	case r.HasX:
		point = fmt.Sprintf("the solution is not feasible: rows %.3g, bounds %.3g, rounding %.3g", r.Row.Size, r.ColumnBound.Size, r.Rounding)
	}
	bound := "the bound rests on the search and has no certificate"
	switch {
	case r.HasBound && r.HasX:
		bound = fmt.Sprintf("the duals prove the bound %.12g, %.2g from the objective", r.Bound, r.Gap)
	case r.HasBound:
		bound = fmt.Sprintf("the duals prove the bound %.12g", r.Bound)
	case note != "":
		bound = note
		note = ""
	}
	r.Words = point + "; " + bound
	if note != "" {
		r.Words += " (" + note + ")"
	}
	r.Proven = res.Stop == solve.Optimal && r.Feasible && r.HasBound && r.Gap <= Agreement && r.ObjectiveError <= Agreement
}
