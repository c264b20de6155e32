package planner

import (
	"cmp"
	"fmt"
	"slices"

	"feedline/lines/calendar"
)

// demand checks that no day of a profile is forecast twice.
func (c *checker) demand() {
	list := slices.Clone(c.in.Forecasts)
	slices.SortStableFunc(list, func(a, b Forecast) int { return cmp.Or(cmp.Compare(a.Profile, b.Profile), cmp.Compare(a.From, b.From)) })
	for i := 1; i < len(list); i++ {
		a, b := list[i-1], list[i]
		if a.Profile == b.Profile && a.From < b.From && b.From < a.To {
			c.add(Problem{Table: TableForecast, Key: forecastKey(b), Field: "first day", Value: b.From.String(),
				Allowed: fmt.Sprintf("after %s, the last day of the row before", a.To-1), Remedy: "forecasts of a profile may not overlap: they would count twice"})
		}
		if a.Profile == b.Profile && b.To < a.To { // the longer one reaches on to the next
			list[i] = a
		}
	}
}

// pins checks that pins can be kept beside one another and that the line can run what they ask for.
func (c *checker) pins() {
	can := map[string]bool{}
	for _, f := range c.in.Fits {
		can[fitKey(f)] = true
	}
	byLine := map[string][]Pin{}
	for _, p := range c.in.Pins {
		if p.Kind == PinRun && p.Profile != "" && !can[JoinKey(p.Line, p.Profile)] {
			c.add(Problem{Table: TablePins, Key: p.Code, Field: "profile", Value: quoted(p.Profile),
				Allowed: "a profile that " + p.Line + " has a rate for", Remedy: "enter it in rates or correct the pin"})
		}
		for _, q := range byLine[p.Line] {
			shared := calendar.Span{From: p.From, To: p.To}.Overlap(calendar.Span{From: q.From, To: q.To})
			if shared.Days() > 0 && contradict(p, q) {
				c.add(Problem{Table: TablePins, Key: p.Code, Field: "kind", Value: pinText(p),
					Allowed: fmt.Sprintf("what can be kept beside pin %s, %s, from %s to %s", q.Code, pinText(q), shared.From, shared.To-1),
					Remedy:  "change or take out one of the two"})
				break
			}
		}
		byLine[p.Line] = append(byLine[p.Line], p)
	}
}

// contradict reports whether two pins of a line can't both be kept on the same day.
func contradict(a, b Pin) bool {
	if a.Kind > b.Kind {
		a, b = b, a
	}
	switch {
	case a.Kind == PinRun && b.Kind == PinRun:
		return a.Profile != "" && b.Profile != "" && a.Profile != b.Profile
	case a.Kind == PinIdle && b.Kind == PinRun:
		return true
	case a.Kind == PinForbid && b.Kind == PinRun:
		return a.Profile == b.Profile
	}
	return false
}

func pinText(p Pin) string {
	if p.Profile == "" {
		return string(p.Kind)
	}
	return string(p.Kind) + " " + p.Profile
}
