package report

import (
	"bytes"
	"strings"
	"testing"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// TestActualsWithoutRecords: days in which nothing is recorded are not told as days in which nothing was made.
func TestActualsWithoutRecords(t *testing.T) {
	said := func(made quantity.Length) bool {
		var b bytes.Buffer
		a := records.Actuals{Span: calendar.Span{From: 20000, To: 20003}, Gaps: []records.Gap{{Line: "L1", Profile: "SK80", Planned: 900, Made: made}}}
		if err := Actuals(&b, &planner.Input{}, a, "plan 1", false, Options{}); err != nil {
			t.Fatal(err)
		}
		return strings.Contains(b.String(), "! No run is recorded in these days")
	}
	if !said(0) || said(850) {
		t.Errorf("no run recorded is said of none %t, of some %t; want it of none alone", said(0), said(850))
	}
}
