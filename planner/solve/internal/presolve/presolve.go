// Package presolve makes a linear or mixed-integer program smaller before it is solved, and takes
// the answer back to the program it came from: primal values, row duals, reduced costs and the basis.
//
// Each reduction turns a program P into a smaller P' and leaves a step that turns an optimal
// primal-dual pair with a basis of P' into one of P. A reduction argues from what P states
// explicitly (bounds, rows, costs) and never from facts derived earlier and not written into P; that is what
// lets the steps be undone one by one, last first, without one pulling the ground from under another.
//
// Signs are those of the minimised program: y of a row is the reduced cost of its activity,
// d = c − Aᵀ·y that of a column; ≥ 0 at a lower bound, ≤ 0 at an upper one, 0 when basic.
//
// Sources of the reductions, from memory: Andersen and Andersen, "Presolving in linear programming",
// Mathematical Programming 71 (1995); Savelsbergh, "Preprocessing and probing techniques for mixed
// integer programming problems", ORSA Journal on Computing 6 (1994).
package presolve

import (
	"feedline/planner/model"
)

// Options choose what Run may do. The zero value reduces the linear relaxation.
type Options struct {
	MIP         bool    // keep integrality: only reductions that keep the best whole-number solution
	Feasibility float64 // violation that the solver will accept; 0 means DefaultFeasibility, less than 1e-9 is read as 1e-9
	Skip        Rules   // reductions not to use
}

// Outcome is what presolve has found out by itself.
type Outcome int8

// The outcomes.
const (
	Open       Outcome = iota // nothing decided: solve the reduced model
	Infeasible                // a row or column cannot be satisfied beyond the tolerance
	Unbounded                 // no finite optimum: unbounded if there is any feasible point at all
)

// String names the outcome in a word.
func (o Outcome) String() string {
	return [...]string{"open", "infeasible", "unbounded"}[o]
}

// Verdict is an outcome with its place. Infeasible and Unbounded are suspicions to be confirmed
// by solving the original program: they hold within tolerances, and carry no ray.
type Verdict struct {
	Outcome Outcome
	Row     model.Row // −1 if the reason is a column's
	Col     model.Var // −1 if the reason is a row's
	Reason  string
}

// Run reduces m, which it leaves alone. Without MIP the Integer marks are ignored and the reduced model has none.
// The reduced model has m's sense; its Offset makes both objectives equal. Unless the verdict is Open, Reduced is nil.
// The result depends on nothing but the arguments. Cost is near linear in the nonzeros.
func Run(m *model.Model, opt Options) (*Reduced, Verdict) {
	s := newState(m, opt)
	s.reduce()
	if s.verdict.Outcome != Open {
		return nil, s.verdict
	}
	return s.build(m), s.verdict
}

// reduce applies the cheap rules until none applies, then the dearer ones, and again while that pays.
func (s *state) reduce() {
	s.queueAll()
	s.drain()
	for round := 0; round < maxRounds && s.going(); round++ {
		before := s.size()
		s.parallelRows()
		s.parallelColumns()
		s.dualBounds()
		s.drain()
		s.substituteImplied()
		s.drain()
		if float64(before-s.size()) <= worthwhile*float64(before) {
			return
		}
	}
}

// size is what rounds compare: live rows, columns and nonzeros.
func (s *state) size() int { return s.liveRows + s.liveCols + s.count }

// going says that nothing is decided and work is left.
func (s *state) going() bool { return s.verdict.Outcome == Open && s.work > 0 }

// drain checks queued rows and columns until none is left.
func (s *state) drain() {
	for s.going() {
		if j, ok := s.colQueue.pop(); ok {
			s.checkColumn(j)
		} else if i, ok := s.rowQueue.pop(); ok {
			s.checkRow(i)
		} else {
			return
		}
	}
}

// checkRow tries the rules that look at one row.
func (s *state) checkRow(i int32) {
	if s.rowGone[i] {
		return
	}
	s.work -= int64(s.rowLen[i]) + 1
	switch {
	case s.rowLen[i] == 0:
		s.emptyRow(i)
		return
	case s.rowLen[i] == 1 && s.singletonRow(i):
		return
	case s.boundedRow(i):
		return
	case s.rowLen[i] == 2 && s.doubleton(i):
		return
	}
	if s.mip && s.going() {
		s.tightenRow(i)
	}
}

// checkColumn tries the rules that look at one column.
func (s *state) checkColumn(j int32) {
	if s.colGone[j] {
		return
	}
	s.work -= int64(s.colLen[j]) + 1
	switch {
	case s.fixedColumn(j), s.emptyColumn(j), s.unlockedColumn(j):
	case s.colLen[j] == 1:
		s.singletonColumn(j)
	}
}
