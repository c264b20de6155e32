// Package solve holds the words that all solvers share: why a solver stopped, what it holds,
// how good that is and how it reports progress. It knows models (planner/model), and no plant.
package solve

import (
	"math"
	"time"
)

// Stop says why a solver stopped. It says nothing of what it holds: see Result.
type Stop int

// The reasons to stop.
const (
	NotRun         Stop = iota
	Optimal             // the answer is proven optimal within the tolerances
	Infeasible          // no point satisfies the rows and bounds; Result.Ray certifies it for an LP
	Unbounded           // the objective improves without end along Result.Ray
	GapReached          // the proven gap fell to Options.Gap
	TimeLimit           // Options.Time ran out
	WorkLimit           // Options.Work ran out
	Cancelled           // the context was cancelled
	Numerical           // the arithmetic could not be trusted any further
	ObjectiveLimit      // the objective passed a cut-off that makes the rest pointless
)

var stopWords = [...]string{"not run", "optimal", "infeasible", "unbounded", "gap reached", "time limit",
	"work limit", "cancelled", "numerical trouble", "objective limit"}

// String names the reason in words for reports.
func (s Stop) String() string {
	if s < 0 || int(s) >= len(stopWords) {
		return "unknown"
	}
	return stopWords[s]
}

// Options limit a solve. The zero value runs to optimality.
type Options struct {
	Time     time.Duration  // wall-clock limit; 0 means none. Results then depend on the machine.
	Work     int64          // limit in deterministic work units (see each solver); 0 means none
	Gap      float64        // stop at this relative gap between objective and bound; 0 means the solver's tolerance
	Workers  int            // goroutines to use; 0 means all cores. The result must not depend on it.
	Seed     uint64         // for tie-breaking and perturbation
	Progress func(Progress) // called now and then from one goroutine at a time; may be nil
}

// Progress is a snapshot while a solver runs, in the model's own sense of optimisation.
type Progress struct {
	Phase      string // such as "presolve", "relaxation", "search"
	Elapsed    time.Duration
	Has        bool    // whether a solution is held
	Objective  float64 // of the solution held
	Bound      float64 // proven bound on the optimum; ±Inf while there is none
	Nodes      int64
	Iterations int64
}

// Result is what a solver holds when it stops. Vectors are in the original model's order and units.
type Result struct {
	Stop      Stop
	Has       bool      // X holds a solution that satisfies the model within the tolerances
	X         []float64 // column values, len NumVars; nil unless Has
	Objective float64   // of X, in the model's own sense; meaningless unless Has
	Bound     float64   // proven bound on the optimum (below it when minimising, above when maximising)

	// For linear programs that end Optimal. Signs are those of the minimised model
	// (a maximisation is negated first and the values negated back): Y[i] is the change of the
	// objective per unit of row i's binding side, D[j] that per unit of column j.
	Y []float64 // row duals, len NumRows
	D []float64 // reduced costs, len NumVars: D = c − Aᵀ·Y

	// Basic are the variables of the optimal basis of a linear program that ends Optimal, ascending, NumRows of them: j for
	// column j, NumVars+i for the activity of row i. Checks of the answer can solve for them without rounding.
	Basic []int

	// Ray certifies Infeasible (len NumRows, a Farkas combination of rows) or Unbounded
	// (len NumVars, a direction); nil otherwise.
	Ray []float64

	Iterations int64
	Nodes      int64
	Work       int64 // deterministic work units spent
	Elapsed    time.Duration
}

// Gap is |objective − bound| ÷ max(|objective|, 1e-10): 0 when both agree, +Inf without a solution or a bound.
func (r *Result) Gap() float64 { return Gap(r.Has, r.Objective, r.Bound) }

// Gap is the relative gap |objective − bound| ÷ max(|objective|, 1e-10); +Inf when has is false or bound is infinite.
func Gap(has bool, objective, bound float64) float64 {
	if !has || math.IsInf(bound, 0) || math.IsNaN(bound) {
		return math.Inf(1)
	}
	return math.Abs(objective-bound) / math.Max(math.Abs(objective), 1e-10)
}
