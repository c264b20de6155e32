package planner

import "context"

// HeldCost is the cost of in's best plan with the whole numbers of p; for tests. ok is false if there is none.
func HeldCost(in *Input, opt Options, p *Plan) (cost float64, ok bool) {
	f, err := prepare(in, opt)
	if err != nil {
		return 0, false
	}
	r := f.holding(context.Background(), f.wholeOf(p))
	return r.Objective, r.Has
}
