package presolve

// For the tests that need the linear solver, which imports this package.
var (
	CheckOptimal = checkOptimal
	Applied      = applied
	Violation    = violation
)
