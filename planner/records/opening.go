package records

import (
	"feedline/inventory"
	"feedline/planner"
)

// opening is the grams that silos, regrind and racks held before the first entry: what the book holds now less what the entries that stand moved
// there, and at least what they took out before they had put it in. Profiles weigh what their metre weighs.
func opening(in *planner.Input, list []Entry) map[moveKey]int64 {
	level, millis, lowest := map[moveKey]int64{}, map[moveKey]int64{}, map[moveKey]int64{}
	for _, e := range InOrder(list) {
		for _, m := range e.Moves {
			if !pooled(m.Account) {
				continue
			}
			k := moveKey{m.Account, m.Code}
			level[k] += m.Grams
			millis[k] += m.Millis
			lowest[k] = min(lowest[k], level[k])
		}
	}
	out := map[moveKey]int64{}
	for k, low := range lowest {
		out[k] = -low
	}
	perMetre := map[string]float64{}
	for _, p := range in.Profiles {
		perMetre[p.Code] = float64(p.PerMetre)
	}
	for _, s := range in.Stock {
		k, was := moveKey{InPellets, s.Code}, int64(0)
		switch s.Kind {
		case inventory.ProfileStock:
			k.account = InProfile
			was = int64((float64(s.Length)*1000 - float64(millis[k])) * perMetre[s.Code])
		case inventory.RegrindStock:
			k.account = InRegrind
			was = Grams(s.Mass) - level[k]
		default:
			was = Grams(s.Mass) - level[k]
		}
		out[k] = max(out[k], was)
	}
	return out
}

// pooled is whether an account is a pool that is taken to be well mixed.
func pooled(a Account) bool { return a == InPellets || a == InRegrind || a == InProfile }
