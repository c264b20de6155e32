package estimates

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/yield"
)

// believed is how far figures of a kind may be off what was entered before there are records, and how much single records
// scatter, as ratios to it. No published source: common practice is wide enough not to bind once there are a dozen records.
type believed struct{ sd, spread float64 }

var (
	believedYield = believed{0.02, 0.02}
	believedRate  = believed{0.10, 0.08}
	believedUp    = believed{0.08, 0.10}
	believedGood  = believed{0.02, 0.02}
	believedSetUp = believed{0.30, 0.40}
)

const (
	believedGroups  = 2 // groups that what is believed of their differences is worth
	believedRecords = 4 // records, likewise of their scatter
)

// pool estimates the ratio of actual to entered of each group: first of all groups of a family together, then of each, shrunk towards that.
func pool[K comparable](groups map[K]*series, family func(K) string, b believed) map[K]yield.Estimate {
	out := make(map[K]yield.Estimate, len(groups))
	byFamily := map[string][]*series{}
	for k, s := range groups {
		byFamily[family(k)] = append(byFamily[family(k)], s)
	}
	whole := map[string]yield.Estimate{}
	within := map[string]yield.Prior{}
	for f, list := range byFamily {
		slices.SortFunc(list, bySeries) // sums must not depend on the order of a map
		var all []yield.Record
		for _, s := range list {
			all = append(all, s.records...)
		}
		whole[f] = yield.EstimateRatio(yield.Prior{Yield: 1, SD: quantity.Share(b.sd), Spread: quantity.Share(b.spread)}, all)
		between, spread := apart(list, b)
		within[f] = yield.Prior{Yield: whole[f].Yield, SD: quantity.Share(between), Spread: quantity.Share(spread)}
	}
	for k, s := range groups {
		e := yield.EstimateRatio(within[family(k)], s.records)
		// What is shrunk towards is itself an estimate: so far as it counts, its doubt counts too.
		doubt := float64(1-e.Weight) * float64(whole[family(k)].SD)
		e.SD = quantity.Share(math.Hypot(float64(e.SD), doubt))
		out[k] = e
	}
	return out
}

func bySeries(a, b *series) int {
	if c := cmp.Compare(len(a.records), len(b.records)); c != 0 || len(a.records) == 0 {
		return c
	}
	return cmp.Or(cmp.Compare(a.codes[0], b.codes[0]), cmp.Compare(a.records[0].Out, b.records[0].Out))
}

// apart is how much groups differ among themselves and how much records scatter within them, as standard deviations, by moments:
// the variance of the groups' means less what their own scatter explains of it. Both are pooled with what is believed.
func apart(list []*series, b believed) (between, within float64) {
	var means []float64
	squares, free, noise := 0.0, 0.0, 0.0
	for _, s := range list {
		x := ratios(s.records)
		if len(x) < 2 {
			continue
		}
		m, sd := yield.Moments(x)
		means = append(means, m)
		squares += sd * sd * float64(len(x)-1)
		free += float64(len(x) - 1)
		noise += sd * sd / float64(len(x))
	}
	within = math.Sqrt((believedRecords*b.spread*b.spread + squares) / (believedRecords + free))
	if len(means) < 2 {
		return b.sd, within
	}
	_, sd := yield.Moments(means)
	found, n := max(0, sd*sd-noise/float64(len(means))), float64(len(means)-1)
	return math.Sqrt((believedGroups*b.sd*b.sd + n*found) / (believedGroups + n)), within
}

func ratios(list []yield.Record) []float64 {
	x := make([]float64, 0, len(list))
	for _, r := range list {
		x = append(x, r.Yield())
	}
	return x
}

// sorted is a map's keys in order.
func sorted[K comparable, V any](m map[K]V, key func(K) string) []K {
	return slices.SortedFunc(maps.Keys(m), func(a, b K) int { return cmp.Compare(key(a), key(b)) })
}

func (p pair) key() string { return p.a + "\x00" + p.b }

func (p pair) first() string { return p.a }
