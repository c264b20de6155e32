package planner_test

import (
	"testing"
	"time"
)

// TestOrdersOnTheLanesDays plans with a lane that takes orders on Wednesdays: every load is ordered on one, the audit agrees, and
// the order-by date is one.
func TestOrdersOnTheLanesDays(t *testing.T) {
	in := workshop()
	in.Deliveries = nil // so that loads must be ordered
	in.Lanes[0].OrderDays[time.Wednesday] = true
	p := audited(t, in, brief())
	ordered := 0
	for _, x := range p.Purchases {
		if x.Lane == "road" {
			ordered++
			if x.OrderBy.Weekday() != time.Wednesday {
				t.Errorf("loads on road ordered on %v, a %v", x.OrderBy, x.OrderBy.Weekday())
			}
		}
	}
	if ordered == 0 {
		t.Error("nothing is ordered on road: the test shows nothing")
	}
	for _, x := range p.OrderBy {
		if x.Lane == "road" && x.By.Weekday() != time.Wednesday {
			t.Errorf("order-by date %v is a %v", x.By, x.By.Weekday())
		}
	}
}
