package certify

import (
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// checkInfeasible looks for a proof that no point exists: bounds that contradict each other, or the ray.
func (r *Report) checkInfeasible(m *model.Model, res solve.Result) {
	if res.Has {
		r.problem("infeasible with a solution")
	}
	if contradiction(m) != "" {
		r.RayProves = true
		return
	}
	if res.Ray == nil {
		if m.NumIntegers() == 0 {
			r.problem("a linear program claimed infeasible has no ray to prove it")
		}
		return
	}
	if !r.takes("ray", res.Ray, m.NumRows(), true) {
		return
	}
	if r.RayProves = Farkas(m, res.Ray); !r.RayProves {
		r.problem("the ray does not prove that no point exists")
	}
}

// contradiction names bounds or sides that leave no room, "" if there are none.
func contradiction(m *model.Model) string {
	for j := range m.Lower {
		if low(m.Lower[j]) > high(m.Upper[j]) {
			return "column " + m.NameOfVar(model.Var(j))
		}
	}
	for i := range m.RowLower {
		if low(m.RowLower[i]) > high(m.RowUpper[i]) {
			return "row " + m.NameOfRow(model.Row(i))
		}
	}
	return ""
}

// Farkas tells whether y, one entry a row, proves that m has no feasible point even when wholeness is ignored: the least
// value that the row sides allow yᵀ(A·x) exceeds the largest that the column bounds allow. Computed without
// rounding. Signs are those of the minimised model: positive on lower sides, negative on upper sides.
func Farkas(m *model.Model, y []float64) bool {
	p := prove(m, make([]float64, m.NumVars()), 0, y, math.Inf(1))
	return p.positive && p.lower >= 0
}

// checkUnbounded checks the direction in which the objective improves for ever.
func (r *Report) checkUnbounded(m *model.Model, res solve.Result) {
	if !r.takes("ray", res.Ray, m.NumVars(), m.NumIntegers() == 0) {
		return
	}
	if where := rayFault(m, res.Ray, rayNoise); where != "" {
		r.problem("the ray does not stay feasible or does not improve: %s", where)
		return
	}
	r.RayProves = true
}

// rayFault names what keeps x + t·ray from being feasible and better for every t ≥ 0, given a feasible x; "" for nothing.
// A sum counts as zero up to noise times the magnitudes of its terms.
func rayFault(m *model.Model, ray []float64, noise float64) string {
	largest := 0.0
	for _, v := range ray {
		largest = math.Max(largest, math.Abs(v))
	}
	for j, v := range ray {
		if leaves(v, noise*largest, m.Lower[j], m.Upper[j]) {
			return "column " + m.NameOfVar(model.Var(j))
		}
	}
	for i := range m.RowLower {
		s := activity(m, model.Row(i), ray)
		if leaves(s.value(), noise*math.Max(s.size, largest), m.RowLower[i], m.RowUpper[i]) {
			return "row " + m.NameOfRow(model.Row(i))
		}
	}
	var gain sum
	for j, c := range m.Cost {
		gain.add(c, ray[j])
	}
	if !(sense(m)*gain.value() < -noise*gain.size) || gain.value() == 0 {
		return "the objective"
	}
	return ""
}

// leaves tells whether moving at rate v runs into a finite side.
func leaves(v, zero, lo, up float64) bool {
	return v > zero && !math.IsInf(high(up), 0) || v < -zero && !math.IsInf(low(lo), 0)
}
