package planner_test

import (
	"context"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// wanted is how many metres of each profile must have been made by the end of each day, beside stock, so that nothing is later than in p
// and so many metres of profile q are complete on day d.
func (s shed) wanted(p *planner.Plan, q int, metres float64, d int) (w [2][7]float64) {
	for i, code := range shedProfiles {
		due, most := 0.0, 0.0
		for t := range 7 {
			due += s.demand[i][t]
			late := 0.0
			for _, r := range p.Rack {
				if r.Profile == code && r.Bucket == t {
					late = float64(r.Late)
				}
			}
			most = max(most, due-late)
			w[i][t] = most - s.stock[i]
			if i == q && t >= d {
				w[i][t] += metres
			}
		}
	}
	return w
}

// fits reports whether what is wanted can be made with a changeover on the days whose bit is set. All hours of a day go to the die that is
// on; those of a day with a changeover are shared. What P0 has had of the shared hours by the end of a day may be anything in an interval:
// at least what P0 still wants, at most what P1 leaves it.
func (s shed) fits(pattern int, w [2][7]float64) bool {
	const tie = 1e-6 // hours
	on, own, shared := 0, [2]float64{}, 0.0
	low, high := 0.0, 0.0
	for d := range 7 {
		if pattern>>d&1 == 1 {
			on = 1 - on
			high += 24 - s.setup
			shared += 24 - s.setup
		} else {
			own[on] += 24
		}
		low = max(low, w[0][d]/s.rate[0]-own[0])
		high = min(high, shared-(w[1][d]/s.rate[1]-own[1]))
		if low > high+tie {
			return false
		}
	}
	return true
}

// TestPromiseIsTheEarliestOfAllSequences: the day promised is the first on which any sequence of dies over the week, of the 128 with one
// changeover a day at most, has the enquiry complete with nothing later than planned.
func TestPromiseIsTheEarliestOfAllSequences(t *testing.T) {
	draws(t, 6)
	rapid.Check(t, func(t *rapid.T) {
		s := drawShed(t)
		p := auditedFor(t, s.input(), exact())
		q, metres := rapid.IntRange(0, 1).Draw(t, "profile"), float64(50*rapid.IntRange(1, 120).Draw(t, "enquired"))+7
		first := 7
		for pattern := range 1 << 7 {
			for first > 0 && s.fits(pattern, s.wanted(p, q, metres, first-1)) {
				first--
			}
		}
		want := calendar.Day(0)
		if first < 7 {
			want = monday + calendar.Day(first)
		}
		got, err := planner.Promise(context.Background(), s.input(), exact(), p, shedProfiles[q], quantity.Length(metres))
		if err != nil {
			t.Fatal(err)
		}
		if got.Day != want {
			t.Fatalf("%.0f m of %s: promised for %v (%s: %s), the earliest of all sequences is %v: %+v", metres, shedProfiles[q], got.Day, got.Limit, got.Words, want, s)
		}
	})
}
