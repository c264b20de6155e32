package planner

import "feedline/planner/model"

// HeldModel is the planning model of in with its whole numbers held at p's set-ups, starts and loads: what the samples of a forecast would be
// solved with had it not been made smaller. For measurements. Errors as for NewReplan.
func HeldModel(in *Input, p *Plan) (*model.Model, error) {
	fa, err := factsOf(in, p)
	if err != nil {
		return nil, err
	}
	h := &heldPlan{plan: p, f: &formulation{facts: fa, m: &model.Model{}, committedOnly: true}, fixed: newFixedCosts(len(fa.buckets))}
	if err := h.read(); err != nil {
		return nil, err
	}
	f := formulate(fa)
	hold := func(refs, at [][]ref) {
		for i := range refs {
			for t, x := range refs[i] {
				if x.is && f.m.Integer[x.v] {
					f.m.Lower[x.v], f.m.Upper[x.v] = at[i][t].value, at[i][t].value
				}
			}
		}
	}
	hold(f.changed, h.f.changed)
	hold(f.mounted, h.f.mounted)
	hold(f.on, h.f.on)
	hold(f.started, h.f.started)
	loads := f.grid(len(f.in.Lanes))
	for _, b := range h.bought {
		loads[b.lane][b.ordered].value += float64(b.purchase.Loads)
	}
	hold(f.loads, loads)
	return f.m, nil
}
