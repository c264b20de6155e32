package chart

import (
	"strings"
	"testing"

	"feedline/cmd/internal/report/reporttest"
	"feedline/inventory/quantity"
)

// TestFanWords holds what the figures say in words against the made-up bands: the widest is the last week's, and its margin's lower edge the least.
func TestFanWords(t *testing.T) {
	_, p := reporttest.Full()
	r := reporttest.Forecast(p)
	last := r.Weeks[len(r.Weeks)-1].Span.From.Monday().WeekLabel()
	list := Fans(r, quantity.Metric)
	if len(list) != 5 {
		t.Fatalf("%d figures, want 5", len(list))
	}
	for _, f := range list {
		if !strings.Contains(f.Desc, "Widest in "+last) || !strings.Contains(string(f.SVG), "<svg") {
			t.Errorf("%s: %q, want the widest in %s", f.ID, f.Desc, last)
		}
	}
	if Fans(nil, quantity.Metric) != nil {
		t.Error("figures without a forecast")
	}
}
