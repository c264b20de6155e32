package planner_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"feedline/lines"
	"feedline/planner"
)

// eachOrder calls f with every order of 0 … n−1.
func eachOrder(n int, f func([]int)) {
	var walk func(head []int)
	walk = func(head []int) {
		if len(head) == n {
			f(head)
			return
		}
		for i := range n {
			if !slices.Contains(head, i) {
				walk(append(slices.Clone(head), i))
			}
		}
	}
	walk(nil)
}

// along is the hours of an order.
func along(order []int, list []string, first, last string, ends bool, hours func(from, to string) float64) float64 {
	at, sum := first, 0.0
	for _, i := range order {
		sum += hours(at, list[i])
		at = list[i]
	}
	if ends && len(order) > 0 {
		sum += hours(at, last)
	}
	return sum
}

// TestSequenceIsTheBestOfAllOrders draws dies of a few families with unlike times there and back, and tries every order.
func TestSequenceIsTheBestOfAllOrders(t *testing.T) {
	draws(t, 60)
	rapid.Check(t, func(t *rapid.T) {
		families := []string{"A", "B", "C", "D", "E"}
		table := map[[2]string]float64{}
		for _, a := range append(families, "S", "Z") {
			for _, b := range append(families, "S", "Z") {
				table[[2]string{a, b}] = float64(rapid.IntRange(0, 12).Draw(t, a+b)) / 2
			}
		}
		list := rapid.SliceOfN(rapid.SampledFrom(families), 0, 7).Draw(t, "dies")
		ends := rapid.Bool().Draw(t, "ends")
		hours := func(from, to string) float64 { return table[[2]string{from, to}] }
		got := planner.Sequence(list, "S", "Z", ends, hours)
		if sorted := slices.Sorted(slices.Values(got)); len(got) != len(list) || len(slices.Compact(sorted)) != len(list) {
			t.Fatalf("%v is no order of %v", got, list)
		}
		least := math.Inf(1)
		eachOrder(len(list), func(o []int) { least = min(least, along(o, list, "S", "Z", ends, hours)) })
		if sum := along(got, list, "S", "Z", ends, hours); math.Abs(sum-least) > 1e-9 {
			t.Fatalf("%v of %v takes %.1f h, the best of all orders %.1f h", got, list, sum, least)
		}
	})
}

// TestSequenceOfLittle is the tour through six cities of Little, Murty, Sweeney and Karel, An algorithm for the traveling salesman
// problem (Operations Research 11, 1963), with its optimum of 63: matrix and tour from memory.
func TestSequenceOfLittle(t *testing.T) {
	cities := []string{"1", "2", "3", "4", "5", "6"}
	d := [6][6]float64{{0, 27, 43, 16, 30, 26}, {7, 0, 16, 1, 30, 25}, {20, 13, 0, 35, 5, 0}, {21, 16, 25, 0, 18, 18}, {12, 46, 27, 48, 0, 5}, {23, 5, 5, 9, 5, 0}}
	hours := func(from, to string) float64 { return d[from[0]-'1'][to[0]-'1'] }
	got := planner.Sequence(cities[1:], "1", "1", true, hours)
	if sum := along(got, cities[1:], "1", "1", true, hours); sum != 63 {
		t.Errorf("the tour %v takes %g, want 63", got, sum)
	}
}

// TestRunsAreInTheBestOrder holds each week of a plan with three families against all orders of its changeovers, from the die that is on
// at its start to the one at its end, and what each changeover is said to take against the table of the plant.
func TestRunsAreInTheBestOrder(t *testing.T) {
	in := workshop()
	in.Changeovers = []lines.Changeover{{From: "*", To: "*", Hours: 5, FitterHours: 4}, {From: "skirting", To: "skirting", Hours: 2}, {From: "slat", To: "skirting", Hours: 3.5}, {From: "skirting", To: "slat", Hours: 1.5}}
	in.Plant.FitterHours = 0
	p := audited(t, in, quick())
	family := map[string]string{}
	for _, pr := range in.Profiles {
		family[pr.Code] = pr.DieFamily
	}
	hours := func(from, to string) float64 {
		c, _ := lines.ChangeoverBetween(in.Changeovers, family[from], family[to])
		return float64(c.Hours)
	}
	changes := 0
	for _, ln := range in.Lines {
		die := ln.Mounted
		for _, u := range p.Lines {
			if u.Line != ln.Code {
				continue
			}
			var list []string
			told := 0.0
			for _, r := range p.Runs {
				if r.Line == u.Line && r.Bucket == u.Bucket && r.Changeover {
					list = append(list, r.Profile)
					told += float64(r.Takes)
				}
			}
			n := len(list)
			changes += n
			least := math.Inf(1)
			eachOrder(n, func(o []int) {
				if n == 0 || u.Mounted == "" || list[o[n-1]] == u.Mounted {
					least = min(least, along(o, list, die, "", false, hours))
				}
			})
			if math.Abs(told-least) > 1e-9 {
				t.Errorf("line %s, bucket %d: %v takes %.1f h, the best order %.1f h", u.Line, u.Bucket, list, told, least)
			}
			die = u.Mounted
		}
	}
	if changes == 0 {
		t.Error("no changeover in the plan: nothing was held against anything")
	}
}
