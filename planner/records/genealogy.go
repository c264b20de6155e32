package records

import (
	"cmp"
	"slices"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// Genealogy is what became of a lot. Masses are of the lot's own material, by the rule of well-mixed pools; they add up to Net, what was
// received, or without a receipt what there was before the records.
type Genealogy struct {
	Lot       string
	Receipt   *Entry // nil if none is recorded
	Tests     []Entry
	Processes []Entry // runs that drew of it
	Net       quantity.Mass
	Yard      quantity.Mass // left
	Silo      quantity.Mass
	Regrind   quantity.Mass
	Rack      quantity.Mass
	Shipped   quantity.Mass
	Lost      quantity.Mass // steps and lines
	Counted   quantity.Mass // off, by counts; below 0 if they found more
	Into      []Made
	To        []Sent
}

// Made is what of a lot went into a profile by a line.
type Made struct {
	Profile, Line string
	Runs          int
	Mass          quantity.Mass   // of the lot
	Length        quantity.Length // of profile that it is in, all of it
}

// Sent is what of a lot left for an order.
type Sent struct {
	Order, Profile string
	Mass           quantity.Mass
}

// FollowLot follows a lot from its receipt to what left the plant in, which is as the entries have left it; they need their moves. False if nothing is
// recorded of it.
func FollowLot(in *planner.Input, list []Entry, lot string) (Genealogy, bool) {
	g := Genealogy{Lot: lot}
	found := g.own(in, list)
	made, sent := map[[2]string]*Made{}, map[[2]string]*Sent{}
	class := func(code string) int {
		if code == lot {
			return 0
		}
		return 1
	}
	pools := Trace(in, list, 2, class, -1, func(e Entry, m Move, part []float64) {
		if part[0] <= 0 {
			return
		}
		mass := quantity.Mass(part[0] / 1000)
		switch r := e.Record.(type) {
		case Run:
			if m.Account == InProfile {
				k := [2]string{r.Profile, r.Line}
				if made[k] == nil {
					made[k] = &Made{Profile: r.Profile, Line: r.Line}
				}
				made[k].Runs++
				made[k].Mass += mass
				made[k].Length += LengthOf(m.Millis)
			}
		case Shipment:
			k := [2]string{r.Order, r.Profile}
			if sent[k] == nil {
				sent[k] = &Sent{Order: r.Order, Profile: r.Profile}
			}
			sent[k].Mass += mass
		}
		switch m.Account {
		case Loss:
			g.Lost += mass
		case Outside:
			g.Shipped += mass
		case Difference:
			g.Counted += mass
		}
	})
	for _, p := range pools {
		mass := quantity.Mass(p.Mix[0] / 1000)
		switch p.Account {
		case InPellets:
			g.Silo += mass
		case InRegrind:
			g.Regrind += mass
		case InProfile:
			g.Rack += mass
		}
	}
	for _, m := range made {
		g.Into = append(g.Into, *m)
	}
	for _, s := range sent {
		g.To = append(g.To, *s)
	}
	slices.SortFunc(g.Into, func(a, b Made) int { return cmp.Or(cmp.Compare(a.Profile, b.Profile), cmp.Compare(a.Line, b.Line)) })
	slices.SortFunc(g.To, func(a, b Sent) int { return cmp.Or(cmp.Compare(a.Order, b.Order), cmp.Compare(a.Profile, b.Profile)) })
	return g, found
}

// own gathers the entries that name the lot and what is left of it. A lot without a receipt has what the book says, and had before what was
// taken of it since as well.
func (g *Genealogy) own(in *planner.Input, list []Entry) (found bool) {
	left := int64(0)
	for _, e := range InOrder(list) {
		switch r := e.Record.(type) {
		case Receipt:
			if r.Lot == g.Lot {
				g.Receipt, g.Net, found = &e, r.Net, true
			}
		case Test:
			if r.Lot == g.Lot {
				g.Tests, found = append(g.Tests, e), true
			}
		case Process:
			if slices.ContainsFunc(r.Lots, func(d Draw) bool { return d.Lot == g.Lot }) {
				g.Processes, found = append(g.Processes, e), true
			}
		}
		for _, m := range e.Moves {
			if m.Account == InLot && m.Code == g.Lot {
				left += m.Grams
				if e.Head.Kind == KindCount && m.Grams > 0 {
					g.Counted -= MassOf(m.Grams) // found more than there should be
				}
			}
		}
	}
	g.Yard = MassOf(left)
	if g.Receipt == nil {
		g.Yard = 0
		if i := slices.IndexFunc(in.Lots, func(l inventory.Lot) bool { return l.Code == g.Lot }); i >= 0 {
			g.Yard = in.Lots[i].Mass
		}
		g.Net = g.Yard - MassOf(left)
	}
	return found
}
