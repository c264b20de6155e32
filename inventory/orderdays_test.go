package inventory

import (
	"testing"
	"time"

	"feedline/lines/calendar"
)

// TestOrderDays walks a lane that takes orders on Tuesdays and Thursdays of January 2027 (the 5th is a Tuesday).
func TestOrderDays(t *testing.T) {
	day := func(d int) calendar.Day { return calendar.Date(2027, time.January, d) }
	l := Lane{OrderDays: [7]bool{time.Tuesday: true, time.Thursday: true}, From: day(6), To: day(20)}
	for d, want := range map[int]bool{5: false, 6: false, 7: true, 8: false, 12: true, 14: true, 19: true, 21: false} {
		if got := l.TakesOrders(day(d)); got != want {
			t.Errorf("takes orders on %v: %v, want %v", day(d), got, want)
		}
	}
	for _, c := range []struct {
		from, to, want int // want 0: none
	}{{4, 11, 7}, {8, 11, 0}, {8, 13, 12}, {20, 27, 0}, {18, 25, 19}} {
		got, ok := l.FirstOrder(calendar.Span{From: day(c.from), To: day(c.to)})
		if ok != (c.want > 0) || ok && got != day(c.want) {
			t.Errorf("first order in [%d, %d): %v %v, want %d", c.from, c.to, got, ok, c.want)
		}
	}
	for at, want := range map[int]int{6: 0, 7: 7, 11: 7, 13: 12, 30: 19} {
		got, ok := l.LastOrder(day(at))
		if ok != (want > 0) || ok && got != day(want) {
			t.Errorf("last order by the %d: %v %v, want %d", at, got, ok, want)
		}
	}
	if d, ok := (Lane{}).LastOrder(day(9)); !ok || d != day(9) {
		t.Errorf("a lane without a calendar takes orders every day, not %v", d)
	}
}
