package solvetest

import (
	"math"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// Case is a small model with its known answer.
type Case struct {
	Name  string
	Model *model.Model
	Stop  solve.Stop
	Best  float64 // objective if Optimal
}

var inf = math.Inf(1)

// build makes a model from columns (lower, upper, cost) and rows (lower, upper, coefficients of all columns).
func build(maximize bool, cols [][3]float64, rows ...[]float64) *model.Model {
	m := &model.Model{Maximize: maximize}
	for _, c := range cols {
		m.AddVar("", c[0], c[1], c[2])
	}
	for _, r := range rows {
		var terms []model.Term
		for j, a := range r[2:] {
			terms = append(terms, model.Term{Var: model.Var(j), Coef: a})
		}
		m.AddRow("", r[0], r[1], terms...)
	}
	return m
}

// plus is n columns x ≥ 0 with the given costs.
func plus(costs ...float64) [][3]float64 {
	var c [][3]float64
	for _, v := range costs {
		c = append(c, [3]float64{0, inf, v})
	}
	return c
}

// Cases are linear programs that have broken simplex codes: statuses, every kind of bound, nothing at all, ties
// and cycles, wide ranges of numbers.
func Cases() []Case {
	all := append(statusCases(), boundCases()...)
	return append(all, classicCases()...)
}

func statusCases() []Case {
	offset := build(false, nil)
	offset.Offset = 7
	return []Case{
		{"nothing", &model.Model{}, solve.Optimal, 0},
		{"only an offset", offset, solve.Optimal, 7},
		{"no rows", build(false, [][3]float64{{1, 3, 2}, {1, 3, -2}, {-5, 5, 0}}), solve.Optimal, -4},
		{"no rows, unbounded", build(false, [][3]float64{{0, inf, -1}}), solve.Unbounded, 0},
		{"no rows, free and costless", build(false, [][3]float64{{-inf, inf, 0}}), solve.Optimal, 0},
		{"no columns, rows hold", build(false, nil, []float64{-1, 1}, []float64{0, 0}), solve.Optimal, 0},
		{"no columns, a row fails", build(false, nil, []float64{1, 2}), solve.Infeasible, 0},
		{"an empty row fails", build(false, plus(1, 1), []float64{1, inf, 0, 0}), solve.Infeasible, 0},
		{"an empty row and column", build(false, plus(1, 1), []float64{-1, 1, 0, 0}, []float64{2, inf, 1, 0}), solve.Optimal, 2},
		{"an empty column, unbounded", build(false, plus(1, -1), []float64{2, inf, 1, 0}), solve.Unbounded, 0},
		{"crossed column bounds", build(false, [][3]float64{{2, 1, 1}}, []float64{0, 5, 1}), solve.Infeasible, 0},
		{"crossed row bounds", build(false, plus(1), []float64{3, 2, 1}), solve.Infeasible, 0},
		{"infeasible pair", build(false, plus(1, 1), []float64{4, inf, 1, 1}, []float64{-inf, 3, 1, 1}), solve.Infeasible, 0},
		{"infeasible by bounds", build(false, [][3]float64{{0, 1, 1}, {0, 1, 1}}, []float64{3, inf, 1, 1}), solve.Infeasible, 0},
		{"infeasible equations", build(false, [][3]float64{{-inf, inf, 1}, {-inf, inf, 1}}, []float64{1, 1, 1, 2}, []float64{3, 3, 2, 4}), solve.Infeasible, 0},
		{"infeasible and dual infeasible", build(false, plus(-1, -1), []float64{1, inf, 1, -1}, []float64{1, inf, -1, 1}), solve.Infeasible, 0},
		{"unbounded", build(true, plus(1, 1), []float64{-inf, 2, 1, -1}), solve.Unbounded, 0},
		{"unbounded along a slanted ray", build(false, plus(-1, -2, 0), []float64{-inf, 4, 1, -1, 0}, []float64{-inf, 6, -2, 1, 1}), solve.Unbounded, 0},
		{"unbounded free", build(false, [][3]float64{{-inf, inf, 1}, {0, inf, 1}}, []float64{-inf, 5, 1, 1}), solve.Unbounded, 0},
		{"nearly unbounded", build(false, plus(-1, 1), []float64{-inf, 1, 1, -1.000001}), solve.Unbounded, 0},
		{"not quite unbounded", build(false, plus(-1, 1), []float64{-inf, 1, 1, -0.999999}), solve.Optimal, -1},
	}
}

func boundCases() []Case {
	return []Case{
		{"upper bounds only", build(true, [][3]float64{{-inf, 4, 1}, {-inf, 3, 2}}, []float64{-inf, 5, 1, 1}), solve.Optimal, 8},
		{"free", build(false, [][3]float64{{-inf, inf, 1}, {-inf, inf, 2}}, []float64{3, inf, 1, 1}, []float64{-1, inf, 0, 1}), solve.Optimal, 2},
		{"fixed", build(false, [][3]float64{{2, 2, 3}, {0, inf, 1}}, []float64{5, inf, 1, 1}), solve.Optimal, 9},
		{"negative bounds", build(false, [][3]float64{{-9, -3, 1}, {-5, -1, -1}}, []float64{-8, inf, 1, 1}), solve.Optimal, -6},
		{"ranged row", build(true, plus(1, 1), []float64{2, 6, 1, 2}, []float64{-inf, 4, 1, 0}), solve.Optimal, 5},
		{"ranged row at its lower side", build(false, plus(1, 1), []float64{2, 6, 1, 2}), solve.Optimal, 1},
		{"free row", build(false, plus(1, 1), []float64{-inf, inf, 1, 5}, []float64{2, inf, 1, 1}), solve.Optimal, 2},
		{"large bounds read as infinite", build(true, [][3]float64{{-1e30, 1e30, 1}}, []float64{-1e25, 3, 1}), solve.Optimal, 3},
		{"boxed only", build(false, [][3]float64{{0, 1, -3}, {0, 1, -2}, {0, 1, -1}}, []float64{-inf, 2, 1, 1, 1}), solve.Optimal, -5},
		{"many flips", build(false, [][3]float64{{0, 1, -6}, {0, 1, -5}, {0, 1, -4}, {0, 1, -3}, {0, 1, -2}}, []float64{-inf, 1.5, 1, 1, 1, 1, 1}), solve.Optimal, -8.5},
		{"repeated equation", build(false, plus(1, 2), []float64{3, 3, 1, 1}, []float64{6, 6, 2, 2}, []float64{3, 3, 1, 1}), solve.Optimal, 3},
		{"redundant rows", build(false, plus(1, 1), []float64{2, inf, 1, 1}, []float64{1, inf, 1, 1}, []float64{-5, inf, 1, 0}, []float64{4, inf, 2, 2}), solve.Optimal, 2},
		{"all zero costs", build(false, plus(0, 0), []float64{2, 2, 1, 1}), solve.Optimal, 0},
		{"empty interior", build(false, plus(1, 1), []float64{0, 0, 1, -1}, []float64{2, 2, 1, 1}), solve.Optimal, 2},
	}
}

// classicCases are from memory unless said; see each.
func classicCases() []Case {
	return []Case{
		// E. M. L. Beale, "Cycling in the dual simplex algorithm", Naval Research Logistics Quarterly 2 (1955).
		{"Beale's cycle", build(false, plus(-0.75, 150, -0.02, 6),
			[]float64{-inf, 0, 0.25, -60, -0.04, 9}, []float64{-inf, 0, 0.5, -90, -0.02, 3}, []float64{-inf, 1, 0, 0, 1, 0}), solve.Optimal, -0.05},
		// V. Chvátal, Linear Programming (1983), p. 31.
		{"Chvátal's cycle", build(true, plus(10, -57, -9, -24),
			[]float64{-inf, 0, 0.5, -5.5, -2.5, 9}, []float64{-inf, 0, 0.5, -1.5, -0.5, 1}, []float64{-inf, 1, 1, 0, 0, 0}), solve.Optimal, 1},
		// K. T. Marshall, J. W. Suurballe, "A note on cycling in the simplex method" (1969).
		{"Marshall and Suurballe's cycle", build(false, plus(-0.4, -0.4, 1.8),
			[]float64{-inf, 0, 0.6, -6.4, 4.8}, []float64{-inf, 0, 0.2, -1.8, 0.6}, []float64{-inf, 1, 0, 1, 0}, []float64{-inf, 1, 1, 0, 0}), solve.Optimal, -0.8},
		{"Klee and Minty, 3", kleeMinty(3), solve.Optimal, 10000},
		{"Klee and Minty, 8", kleeMinty(8), solve.Optimal, 1e14},
		// Hillier and Lieberman, Introduction to Operations Research: Wyndor Glass.
		{"Wyndor", build(true, plus(3, 5), []float64{-inf, 4, 1, 0}, []float64{-inf, 12, 0, 2}, []float64{-inf, 18, 3, 2}), solve.Optimal, 36},
		// Winston, Operations Research: Dakota Furniture.
		{"Dakota", build(true, plus(60, 30, 20), []float64{-inf, 48, 8, 6, 1}, []float64{-inf, 20, 4, 2, 1.5}, []float64{-inf, 8, 2, 1.5, 0.5}), solve.Optimal, 280},
		{"badly scaled", build(false, plus(1e6, 1e-4, 1), []float64{1e4, inf, 1e6, 1e-2, 0}, []float64{1e-3, inf, 0, 1e-6, 1e-3}), solve.Optimal, 100},
		{"degenerate vertex", build(true, plus(2, 3, 1), []float64{-inf, 0, 1, -1, 0}, []float64{-inf, 0, -1, 1, 0}, []float64{-inf, 0, 1, 0, -1}, []float64{-inf, 6, 1, 1, 1}), solve.Optimal, 12},
	}
}

// kleeMinty is the cube of V. Klee and G. J. Minty (1972) in the form of Chvátal, p. 47: maximise Σ 10^(n−j)·x_j subject to
// 2·Σ_{j<i} 10^(i−j)·x_j + x_i ≤ 100^(i−1). The optimum is 100^(n−1).
func kleeMinty(n int) *model.Model {
	m := &model.Model{Maximize: true}
	for j := 1; j <= n; j++ {
		m.AddVar("", 0, inf, math.Pow(10, float64(n-j)))
	}
	for i := 1; i <= n; i++ {
		var terms []model.Term
		for j := 1; j < i; j++ {
			terms = append(terms, model.Term{Var: model.Var(j - 1), Coef: 2 * math.Pow(10, float64(i-j))})
		}
		terms = append(terms, model.Term{Var: model.Var(i - 1), Coef: 1})
		m.AddRow("", -inf, math.Pow(100, float64(i-1)), terms...)
	}
	return m
}
