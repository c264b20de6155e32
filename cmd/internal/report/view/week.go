package view

import (
	"feedline/lines/calendar"
	"feedline/planner"
)

// Week is an ISO week of a plan with its buckets [From, To).
type Week struct {
	Monday   calendar.Day
	From, To int
}

// Weeks are a plan's weeks in order.
func Weeks(p *planner.Plan) []Week {
	var list []Week
	for i, b := range p.Buckets {
		m := b.Span.From.Monday()
		if n := len(list); n > 0 && list[n-1].Monday == m {
			list[n-1].To = i + 1
			continue
		}
		list = append(list, Week{m, i, i + 1})
	}
	return list
}

// Has reports whether a bucket lies in the week.
func (w Week) Has(bucket int) bool { return w.From <= bucket && bucket < w.To }

// Label is the week's ISO number, "W49", "2027-W01".
func (w Week) Label() string { return w.Monday.WeekLabel() }

// Most is the most of counts by bucket within the week, 0 if there is none.
func (w Week) Most(counts []int) int {
	most := 0
	for t := w.From; t < w.To && t < len(counts); t++ {
		most = max(most, counts[t])
	}
	return most
}
