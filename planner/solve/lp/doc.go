// Package lp solves linear programs with a sparse bounded simplex method.
//
// # Letters
//
// A model of m rows and n columns is turned into
//
//	minimise  cᵀx   subject to  A·x + s = 0,  lo ≤ (x, s) ≤ up
//
// by giving each row i a logical variable s_i = −(A·x)_i with the negated row bounds; variable n+i is
// the logical of row i. A maximisation is negated. Rows and columns are scaled by powers of two, so that
// scaling and unscaling commit no rounding: A′ = R·A·C, x = C·x′, s′ = R·s. Inside the package everything
// is scaled; the methods of Solver speak the model's units.
//
//	B        the basis: m of the n+m columns of [A I]; position p of the basis belongs to row p (see lu)
//	head[p]  the variable basic in position p
//	xb, x    values of basic variables by position, of nonbasic ones by variable
//	y        row duals, Bᵀy = c_B
//	d        reduced costs, d = c − [A I]ᵀy: zero for basic variables
//	ρ        row r of B⁻¹ (r the leaving position), α_r = ρᵀ[A I] the pivot row
//	α_q      B⁻¹a_q, the pivot column (q the entering variable)
//	w        dual steepest edge weights, w_p = ‖e_pᵀB⁻¹‖²
//	θ        step lengths
//
// # Method
//
// The dual simplex method does the work. It keeps d of the right sign everywhere and moves from one
// basis to the next until no basic variable violates a bound: choose the position r whose violation is
// largest in relation to √w (Forrest and Goldfarb 1992); compute ρ and α_r; choose the entering variable
// by a ratio test that passes the breakpoints of boxed variables while the objective still improves and
// puts them on their other bound (the long step of Maros 2003), and that allows for a tolerance to find
// a large pivot among nearly equal ratios (Harris 1973); compute α_q and B⁻¹ρ and update everything.
//
// Costs are perturbed at a cold start, as ties among d = 0 are what makes the dual method stall. When
// the perturbed problem is solved the true costs come back, and the primal method clears what has
// become dual infeasible: seldom more than a few steps.
//
// A start that is not dual feasible goes through a first phase: the same method on the problem in which
// every variable without a finite bound on one side gets an artificial box of ±1 (free ones ±1000) and
// all others are fixed at zero; its optimum is zero exactly if the model has a dual feasible basis
// (Koberstein and Suhl 2007). What it leaves infeasible is made feasible by shifting costs, and the primal
// method on the true costs then decides about optimality and unboundedness.
//
// Verdicts are checked before they are given: an infeasible one by its Farkas row in the model's own
// coefficients, an unbounded one by its direction, an optimal one by its residuals. A verdict that cannot be
// checked is tried again from a fresh factorisation with stricter pivots, by the other method and
// from other costs, within a budget, and ends as solve.Numerical.
//
// Solve goes by way of package presolve: the smaller program is solved first, its optimal basis is taken
// back to the model, and the simplex methods finish there, seldom with any step left to do. So X, Y, D and rays
// always come from the model itself. A Solver does without presolve.
//
// Between calls a Solver remembers whether x and d belong to its basis and true costs (settled). Then a
// change of bounds costs one column solve, and a call that takes few iterations does nothing that
// is proportional to the size of the program but for one check of A·x + s = 0.
//
// Factors are renewed when the average cost of an iteration, the renewal included, stops falling.
//
// Work is counted in entries of vectors and matrices touched. It does not depend on the machine, so that
// limits on work give the same result everywhere.
package lp
