package presolve

import "math"

// DefaultFeasibility is the violation of a row or bound below which nothing is called infeasible:
// the tolerance of the linear solver, so that presolve never rejects what the solver would accept.
const DefaultFeasibility = 1e-7

const (
	// leastFeasibility is the smallest tolerance Run works with; below it rounding errors decide.
	leastFeasibility = 1e-9
	// redundantTol is the relative violation that dropping a row or bound as redundant may allow.
	redundantTol = 1e-9
	// roundTol is the slack given to a whole number's bound before it is rounded inwards.
	roundTol = 1e-6
	// wholeTol decides whether a ratio of coefficients is a whole number.
	wholeTol = 1e-9
	// zeroCost is the cost below which no direction counts as unbounded.
	zeroCost = 1e-9
	// strictDual is the least distance of a reduced cost or row dual from zero, relative to the terms it
	// is made of, at which its sign is used.
	strictDual = 1e-9
	// sumNoise is the rounding error of a sum relative to its terms' magnitudes.
	sumNoise = 1e-15
	// cancelTol is the relative size at which a difference of two coefficients counts as zero.
	cancelTol = 1e-13
	// parallelTol is the relative difference that coefficients of parallel rows or columns may have.
	parallelTol = 1e-13
	// pivotRatio is the least magnitude of a pivot relative to its row in a substitution. It limits how
	// much the violations of the other columns' bounds are magnified in the column substituted.
	pivotRatio = 1e-2
	// pivotLeast is the least magnitude of a pivot through which a row limits or sets a column,
	// for rows are satisfied up to an absolute tolerance.
	pivotLeast = 1e-2
	// growthLimit is the largest multiple of a row that is added to another.
	growthLimit = 1e3
	// singletonLeast is the least magnitude of a coefficient that turns a row into a bound.
	singletonLeast = 1e-6
	// tightenGain is the part of a continuous column's range that tightening must take off to be recorded.
	tightenGain = 0.1
	// tightenLargest is the largest bound that tightening gives a continuous column.
	tightenLargest = 1e7
	// coefGain is the least relative change of a coefficient that is made.
	coefGain = 1e-6
	// coefLeast is the least magnitude, relative to the row's other coefficients, to which one is reduced.
	coefLeast = 1e-5
	// mapTol is the violation up to which a point taken down counts as a point of the reduced model.
	mapTol = 1e-6
)

const (
	maxRounds = 12 // of the dearer rules
	// worthwhile is the part of the model that a round must remove to be followed by another.
	worthwhile = 0.002
	// workFactor limits the work, in nonzeros looked at, to this multiple of the model's size.
	workFactor = 100
	// maxColumn is the longest column that an implied-free substitution removes.
	maxColumn = 4
	// maxFill is how many nonzeros one substitution may add on balance.
	maxFill = 4
	// maxTightenings limits the times one column's bound is tightened by rows, which could go on for ever.
	maxTightenings = 8
	// maxUnlocked is the most rows removed together with one column that can satisfy them all.
	maxUnlocked = 64
)

var inf = math.Inf(1)

// scale is the magnitude that relative tolerances refer to: at least 1, infinities ignored.
func scale(v ...float64) float64 {
	t := 1.0
	for _, x := range v {
		if a := math.Abs(x); a > t && a < inf {
			t = a
		}
	}
	return t
}

// isWhole says whether v is a whole number within wholeTol.
func isWhole(v float64) bool { return math.Abs(v-math.Round(v)) <= wholeTol*scale(v) }

// plus is a+b, exactly zero where they cancel up to rounding.
func plus(a, b float64) float64 {
	t := a + b
	if math.Abs(t) <= cancelTol*math.Abs(b) && math.Abs(t) < inf && math.Abs(b) < inf {
		return 0
	}
	return t
}
