package mip

// The tolerances of the search. Each decides one thing and is used for nothing else.
const (
	// feasibilityTol is the violation of a row or bound that a reported solution may have.
	feasibilityTol = 1e-6
	// roundingNoise widens feasibilityTol on rows whose terms are huge: the rounding error of
	// adding them up, relative to the sum of their magnitudes.
	roundingNoise = 1e-12
	// integralityTol is the distance from a whole number at which a relaxation's value counts as whole.
	// Every candidate is rounded and re-solved before it is believed.
	integralityTol = 1e-6
	// defaultGap is the relative gap at which a solve without Options.Gap counts as optimal.
	defaultGap = 1e-6
	// absoluteGap ends the search on models whose optimum is near zero, where a relative gap says nothing. Rows hold within
	// feasibilityTol and cuts are loosened by cutMargin, so that bounds can not be expected to meet values more closely.
	absoluteGap = 1e-6
	// pruneTol is the relative improvement that a node must still promise to be kept.
	pruneTol = 1e-9
	// boundTrust is the relative difference between a relaxation's value and the bound recomputed from
	// its multipliers that is put down to rounding.
	boundTrust = 1e-9
	// tightenTol is the least change, relative to a continuous column's range, that propagation records.
	tightenTol = 1e-3
	// roundTol is the slack given to a whole-number bound before it is rounded inwards.
	roundTol = 1e-6
	// hugeBound is the largest bound that propagation derives for a continuous column.
	hugeBound = 1e8
)
