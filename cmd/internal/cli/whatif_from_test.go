package cli

import (
	"bytes"
	"testing"

	"feedline/inventory/quantity"
	"feedline/planner"
)

// TestAgainst: what the plan before had left to be found is told apart from what the what-if does, and the two add up.
func TestAgainst(t *testing.T) {
	for _, c := range []struct {
		was, is, missed float64
		late            int
		want            string
	}{
		{100000, 112345.4, 0, 0, "it costs 12 345 EUR more"},
		{100000, 99000, 0, 0, "it costs 1 000 EUR less"},
		{100000, 100000.2, 0, 0, "it costs the same"},
		{100000, 99000, 3000, 2, "it costs 1 000 EUR less; plan 7 done the same way would cost 3 000 EUR less, so that by itself the what-if costs 2 000 EUR more; 2 orders newly late"},
		{100000, 97000, 3000, 1, "it costs 3 000 EUR less; plan 7 done the same way would cost 3 000 EUR less, so that by itself the what-if costs the same; 1 order newly late"},
	} {
		was, is := &planner.Plan{Objective: quantity.Money(c.was), Currency: "EUR"}, &planner.Plan{Objective: quantity.Money(c.is), Currency: "EUR"}
		for i := range c.late {
			o := planner.OrderResult{Order: string(rune('A' + i)), Promise: 20, Due: 20}
			was.Orders = append(was.Orders, o)
			o.Promise, o.DaysLate = 23, 3
			is.Orders = append(is.Orders, o)
		}
		var talk bytes.Buffer
		a := &app{Env: Env{Err: &talk}}
		a.against(earlier{plan: was, id: 7, missed: quantity.Money(c.missed)}, is)
		if want := "feedline: note: against plan 7 " + c.want + "\n"; talk.String() != want {
			t.Errorf("%v: got %swant %s", c, talk.String(), want)
		}
	}
}
