package planner

import (
	"math"
	"slices"

	"feedline/inventory/quantity"
	"feedline/lines"
)

// The order of the campaigns of a line within a bucket. The model knows which die is on at its start and at its end and which come on
// between, not in what order. How long a changeover takes goes by the families of the two dies, so the order is a shortest path
// through all of them from the one to the other. It is found by dynamic programming over how many dies of each family are
// done and the family of the last one (Held and Karp, A dynamic programming approach to sequencing problems, 1962, with dies of a family taken as
// alike): exact, with Π (dies of a family + 1) × families states, a few hundred in a busy week.

// sequenceStates is the most states that are looked at: 12 dies of 12 families in one bucket. Beyond, the nearest die comes next.
const sequenceStates = 1 << 16

// change is what going from one die family to another takes; of two the one with fewer hours is less, then by money.
type change struct{ hours, money float64 }

func (c change) plus(d change) change { return change{c.hours + d.hours, c.money + d.money} }

// leastDifference, in hours, is what tells two orders apart; below it the money decides.
const leastDifference = 1e-9

func (c change) less(d change) bool {
	if math.Abs(c.hours-d.hours) > leastDifference {
		return c.hours < d.hours
	}
	return c.money < d.money-leastDifference
}

// changeBetween is what the change takes, nothing if the plant has no row for it.
func (f *facts) changeBetween(from, to string) change {
	c, ok := lines.ChangeoverBetween(f.in.Changeovers, from, to)
	if !ok {
		return change{}
	}
	return change{float64(c.Hours), float64(c.Cost) + float64(c.FitterHours)*float64(f.in.Plant.FitterCost)}
}

// orderOfDies orders the die families list so that going from the family first through all of them and then to last takes least; without
// one at the end ends is false. It returns indices of list. Of families that are alike the order stays.
func orderOfDies(list []string, first, last string, ends bool, between func(from, to string) change) []int {
	q := newSequencing(list, first, last, ends, between)
	if q.states > sequenceStates {
		return q.nearest()
	}
	return q.order(q.path())
}

// sequencing is a sequence being sought: families numbered, with how many dies each has.
type sequencing struct {
	families []string
	members  [][]int // indices of the list by family
	step     [][]change
	out, in  []change // from the first die, to the last one
	states   int
}

func newSequencing(list []string, first, last string, ends bool, between func(from, to string) change) *sequencing {
	q := &sequencing{states: 1}
	for i, family := range list {
		k := slices.Index(q.families, family)
		if k < 0 {
			k = len(q.families)
			q.families, q.members = append(q.families, family), append(q.members, nil)
		}
		q.members[k] = append(q.members[k], i)
	}
	for k, from := range q.families {
		q.states = min(q.states*(len(q.members[k])+1), sequenceStates+1)
		q.out = append(q.out, between(first, from))
		q.in = append(q.in, change{})
		if ends {
			q.in[k] = between(from, last)
		}
		var row []change
		for _, to := range q.families {
			row = append(row, between(from, to))
		}
		q.step = append(q.step, row)
	}
	q.states = min(q.states*max(1, len(q.families)), sequenceStates+1)
	return q
}

// reached is the best way to a state: what it takes and the family before.
type reached struct {
	cost   change
	before int // -1 = the first die
	known  bool
}

// path is the families in the order that takes least. A state is the dies done of each family, as digits of a number, and the last one's family.
func (q *sequencing) path() []int {
	n := len(q.families)
	place, whole := make([]int, n), 1
	for k := range n {
		place[k] = whole
		whole *= len(q.members[k]) + 1
	}
	best := make([][]reached, whole)
	for done := 1; done < whole; done++ { // less is done before in a state of a lower number
		best[done] = make([]reached, n)
		for k := range n {
			if done/place[k]%(len(q.members[k])+1) == 0 {
				continue
			}
			was := done - place[k]
			if was == 0 {
				best[done][k] = reached{q.out[k], -1, true}
				continue
			}
			for j := range n {
				if from := best[was][j]; from.known {
					if c := from.cost.plus(q.step[j][k]); !best[done][k].known || c.less(best[done][k].cost) {
						best[done][k] = reached{c, j, true}
					}
				}
			}
		}
	}
	done, last := whole-1, -1
	for k := range n {
		if done > 0 && best[done][k].known && (last < 0 || best[done][k].cost.plus(q.in[k]).less(best[done][last].cost.plus(q.in[last]))) {
			last = k
		}
	}
	var back []int
	for last >= 0 {
		back = append(back, last)
		done, last = done-place[last], best[done][last].before
	}
	slices.Reverse(back)
	return back
}

// order turns families into indices of the list.
func (q *sequencing) order(path []int) (list []int) {
	next := make([]int, len(q.families))
	for _, k := range path {
		list = append(list, q.members[k][next[k]])
		next[k]++
	}
	return list
}

// nearest takes the die that is reached soonest next.
func (q *sequencing) nearest() []int {
	left, path, at := make([]int, len(q.families)), []int(nil), -1
	for k := range left {
		left[k] = len(q.members[k])
	}
	for {
		best, least := -1, change{}
		for k := range left {
			c := change{}
			if at < 0 {
				c = q.out[k]
			} else {
				c = q.step[at][k]
			}
			if left[k] > 0 && (best < 0 || c.less(least)) {
				best, least = k, c
			}
		}
		if best < 0 {
			return q.order(path)
		}
		left[best]--
		path, at = append(path, best), best
	}
}

// inOrder puts the runs of line l in bucket t into the order that takes least: what was on the line first, what stays on it last. It sets what each
// changeover takes in that order.
func (f *formulation) inOrder(l, t int, runs []Run, rank map[string]int, x []float64) []Run {
	slices.SortStableFunc(runs, func(a, b Run) int { return rank[a.Profile] - rank[b.Profile] })
	family := func(profile string) string {
		if p, ok := f.profileAt[profile]; ok {
			return f.in.Profiles[p].DieFamily
		}
		return ""
	}
	from := slices.IndexFunc(runs, func(r Run) bool { return rank[r.Profile] >= 1 })
	if from < 0 {
		return runs
	}
	to := len(runs)
	ends := rank[runs[to-1].Profile] == 2
	if ends {
		to--
	}
	var list []string
	for _, r := range runs[from:to] {
		list = append(list, family(r.Profile))
	}
	start := family(f.dieBefore(l, t, x))
	ordered := slices.Clone(runs[:from])
	for _, i := range orderOfDies(list, start, family(runs[len(runs)-1].Profile), ends, f.changeBetween) {
		ordered = append(ordered, runs[from+i])
	}
	ordered = append(ordered, runs[to:]...)
	for i := from; i < len(ordered); i++ {
		r := &ordered[i]
		if r.Changeover {
			r.Takes = min(r.Setup, quantity.Hours(f.changeBetween(start, family(r.Profile)).hours))
		}
		start = family(r.Profile)
	}
	return ordered
}

// dieBefore is the profile whose die is on line l when bucket t begins, as the plan tells it: "" where a die was taken off and none put on.
func (f *formulation) dieBefore(l, t int, x []float64) string {
	for _, j := range f.fitsOf[l] {
		if f.mountedBefore(j, t).at(x) > 0.5 {
			return f.profileCode(j)
		}
	}
	if t == 0 {
		return f.in.Lines[l].Mounted // of a profile that the line does not run
	}
	return ""
}
