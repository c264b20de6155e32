package lines

import "feedline/inventory/quantity"

// StopKind is how a stop counts.
type StopKind string

// The kinds. A planned stop, such as a lack of orders or a drill, is no busy time; set-ups and stops are.
const (
	Stop        StopKind = "stop"
	SetUp       StopKind = "set-up"
	PlannedStop StopKind = "planned"
)

// Reason is a code of the plant's own for why a line stood.
type Reason struct {
	Code string
	Name string
	Kind StopKind
}

// Check says what is wrong about a reason.
func (r Reason) Check() []quantity.Problem {
	var c quantity.Checks
	c.Named("Code", r.Code)
	c.OneOf("Kind", string(r.Kind), string(Stop), string(SetUp), string(PlannedStop))
	return c.Problems()
}
