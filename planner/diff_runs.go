package planner

import (
	"cmp"
	"maps"
	"slices"
	"sort"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// place is where and when metres of a profile are made: a line and a stretch of days between two cuts.
type place struct {
	profile, line string
	stretch       int
}

func inPlace(a, b place) int {
	return cmp.Or(cmp.Compare(a.profile, b.profile), cmp.Compare(a.stretch, b.stretch), cmp.Compare(a.line, b.line))
}

// runs compares what is made of each profile, and where and when, over the stretches between the cuts.
func (d *PlanDiff) runs(a, b *Plan, cuts []calendar.Day) {
	was, is := madeAt(a, cuts), madeAt(b, cuts)
	sum := map[string]*ProfileChange{}
	change := map[place]float64{}
	add := func(made map[place]float64, sign float64) {
		for _, k := range slices.SortedFunc(maps.Keys(made), inPlace) {
			m := made[k]
			if sum[k.profile] == nil {
				sum[k.profile] = &ProfileChange{Profile: k.profile}
			}
			change[k] += sign * m
			if sign < 0 {
				sum[k.profile].Was += quantity.Length(m)
			} else {
				sum[k.profile].Is += quantity.Length(m)
			}
		}
	}
	add(was, -1)
	add(is, 1)
	for _, c := range sum {
		if diff := c.Is - c.Was; diff >= diffMetres || -diff >= diffMetres {
			d.Profiles = append(d.Profiles, *c)
		}
	}
	slices.SortFunc(d.Profiles, func(x, y ProfileChange) int { return cmp.Compare(x.Profile, y.Profile) })
	d.Runs = moves(change, cuts)
}

// madeAt sums a plan's good metres by place.
func madeAt(p *Plan, cuts []calendar.Day) map[place]float64 {
	made := map[place]float64{}
	for _, r := range p.Runs {
		span := p.Buckets[r.Bucket].Span
		if i := sort.Search(len(cuts), func(i int) bool { return cuts[i] > span.From }) - 1; i >= 0 && i+1 < len(cuts) && span.To <= cuts[i+1] {
			made[place{r.Profile, r.Line, i}] += float64(r.Length)
		}
	}
	return made
}

// moves pairs, profile by profile, what is made less at one place with what is made more at another: on the same line first,
// then the nearest in time. What is left over is made no longer, or in addition.
func moves(change map[place]float64, cuts []calendar.Day) []RunChange {
	type part struct {
		place
		metres float64
	}
	less, more := map[string][]part{}, map[string][]part{}
	var profiles []string
	for k, m := range change {
		if m > -diffMetres && m < diffMetres {
			continue
		}
		if len(less[k.profile])+len(more[k.profile]) == 0 {
			profiles = append(profiles, k.profile)
		}
		if m < 0 {
			less[k.profile] = append(less[k.profile], part{k, -m})
		} else {
			more[k.profile] = append(more[k.profile], part{k, m})
		}
	}
	slices.Sort(profiles)
	inOrder := func(x, y part) int { return inPlace(x.place, y.place) }
	var list []RunChange
	for _, p := range profiles {
		slices.SortFunc(less[p], inOrder)
		slices.SortFunc(more[p], inOrder)
		for i := range less[p] {
			from := &less[p][i]
			near := make([]*part, 0, len(more[p]))
			for j := range more[p] {
				near = append(near, &more[p][j])
			}
			distance := func(x *part) int {
				n := 2 * max(x.stretch-from.stretch, from.stretch-x.stretch)
				if x.line != from.line {
					n++
				}
				return n
			}
			slices.SortStableFunc(near, func(x, y *part) int { return cmp.Compare(distance(x), distance(y)) })
			for _, to := range near {
				m := min(from.metres, to.metres)
				if m < diffMetres {
					continue
				}
				from.metres -= m
				to.metres -= m
				list = append(list, RunChange{p, from.line, to.line, cuts[from.stretch], cuts[to.stretch], quantity.Length(m)})
			}
			if from.metres >= diffMetres {
				list = append(list, RunChange{Profile: p, FromLine: from.line, From: cuts[from.stretch], Length: quantity.Length(from.metres)})
			}
		}
		for _, to := range more[p] {
			if to.metres >= diffMetres {
				list = append(list, RunChange{Profile: p, ToLine: to.line, To: cuts[to.stretch], Length: quantity.Length(to.metres)})
			}
		}
	}
	return list
}
