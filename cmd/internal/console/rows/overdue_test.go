package rows_test

import (
	"strings"
	"testing"

	"feedline/cmd/internal/console/rows"
	"feedline/lines/calendar"
)

// A delivery past its day is overdue, on every screen; late is one whose day was put off.
func TestOverdueIsNotLate(t *testing.T) {
	in, _, f := facts()
	for i := range in.Deliveries {
		d := &in.Deliveries[i]
		d.Late = d.Code == "D-108"
		if d.ETA < calendar.DayOf(tuesday) {
			d.ETA = calendar.DayOf(tuesday)
		}
		if d.Code == "D-101" {
			d.ETA = calendar.DayOf(tuesday) - 1
		}
	}
	p := page(t, f, "feed", rows.Place{})
	var lead strings.Builder
	for _, l := range p.Lead {
		lead.WriteString(l.String() + " ")
	}
	if !strings.Contains(lead.String(), ", ! 1 overdue, ! 1 late") {
		t.Errorf("feed begins %q, want one overdue and one late in it", lead.String())
	}
	for code, want := range map[string]string{"D-101": "! overdue, ", "D-108": "! late, ", "D-102": ""} {
		if got := cell(t, table(t, p, "deliveries"), code, "status"); !strings.HasPrefix(got.Text, want) || want == "" && strings.HasPrefix(got.Text, "!") {
			t.Errorf("%s: status %q, want it to begin with %q", code, got.Text, want)
		}
	}
}
