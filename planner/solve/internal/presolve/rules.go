package presolve

// Rule names one reduction.
type Rule uint8

// The reductions; those from TightenBounds on are used on mixed-integer programs only.
const (
	EmptyRow        Rule = iota // a row without coefficients
	SingletonRow                // a row with one column becomes bounds of that column
	RedundantRow                // the columns' bounds satisfy a row
	ForcingRow                  // the columns' bounds leave a row one point
	FixedColumn                 // a column with equal bounds
	EmptyColumn                 // a column in no row goes to its cheaper bound
	LockedOneWay                // a column that no row hinders from going to its cheaper bound
	UnlockedColumn              // a costless column without bound in a direction that satisfies all its rows
	SlackColumn                 // a column in one row becomes a range of that row
	FreeColumn                  // a column whose bounds cannot bind is substituted out of its only row
	ImpliedColumn               // the same in several rows, by way of an equation
	DoubletonRow                // an equation of two columns removes one of them
	ParallelRow                 // a multiple of another row
	ParallelColumn              // a multiple of another column
	DominatedColumn             // bounds on the row duals give a reduced cost its sign
	TightRow                    // bounds on the row duals make an inequality an equation
	TightenBounds               // rows limit a column
	TightenCoef                 // a coefficient larger than its row ever needs
	CommonDivisor               // a row of whole numbers with a common divisor
	numRules
)

var ruleWords = [numRules]string{"empty row", "singleton row", "redundant row", "forcing row", "fixed column",
	"empty column", "column locked one way", "unlocked column", "slack column", "free column", "implied free column",
	"doubleton row", "parallel row", "parallel column", "dominated column", "tight row", "tightened bounds",
	"tightened coefficient", "common divisor"}

// String names the rule in words.
func (r Rule) String() string { return ruleWords[r] }

// Rules is a set of rules.
type Rules uint32

// RuleSet makes a set of rules.
func RuleSet(rules ...Rule) Rules {
	var s Rules
	for _, r := range rules {
		s |= 1 << r
	}
	return s
}

// Has says whether r is in the set.
func (s Rules) Has(r Rule) bool { return s&(1<<r) != 0 }
