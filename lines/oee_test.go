package lines

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
)

func TestOEE(t *testing.T) {
	for _, c := range []struct {
		source           string
		p                Performance
		a, e, q, index   float64
		relative, oeeRel float64
	}{
		{"circulated OEE worksheet: shift 480 min, breaks 2 × 15 + 30, down 47, ideal 60 a minute, 19 271 pieces, 423 rejects",
			Performance{420.0 / 60, 373.0 / 60, 60 * 60, 19271, 19271 - 423}, 0.8881, 0.8611, 0.9780, 0.7479, 1e-4, 1e-4},
		{"54-hour worksheet: planned 2 780 min, run 1 820, 1.041 a minute, 1 626 pieces, 8 rejects; it prints 55.90 % of rounded factors",
			Performance{2780.0 / 60, 1820.0 / 60, 1.041 * 60, 1626, 1618}, 0.6547, 0.8582, 0.9950, 0.5591, 1e-4, 1e-4},
		{"TPM: A Route to World-Class Performance, p. 127: planned 910 min, down 115 + 12, 203 cycles of 261; it prints 86.0 % and 77.7 % (cut off)",
			Performance{910.0 / 60, 783.0 / 60, 261 / (783.0 / 60), 203, 203}, 0.860, 0.7778, 1, 0.860 * 0.7778, 1e-3, 1e-3},
		{"web example: run 420 of 480 min, 1 a minute, 400 made, 380 good",
			Performance{8, 7, 60, 400, 380}, 0.875, 0.952, 0.950, 0.791667, 1e-3, 1e-6},
	} {
		got := c.p.Ratios()
		near(t, c.source+": availability", float64(got.Availability), c.a, c.relative, "")
		near(t, c.source+": effectiveness", float64(got.Effectiveness), c.e, c.relative, "")
		near(t, c.source+": quality", float64(got.Quality), c.q, c.relative, "")
		near(t, c.source+": index", float64(got.Index), c.index, c.oeeRel, "")
		if problems := c.p.Check(); len(problems) != 0 {
			t.Errorf("%s: %v", c.source, problems)
		}
	}
}

// OEE = good ÷ (ideal rate × planned busy time), whatever the parts.
func TestOEEIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Performance{PlannedBusy: quantity.Hours(rapid.Float64Range(1, 24).Draw(t, "planned")), IdealRate: rapid.Float64Range(1, 1e4).Draw(t, "ideal")}
		p.Production = p.PlannedBusy * quantity.Hours(rapid.Float64Range(0.01, 1).Draw(t, "run"))
		p.Produced = rapid.Float64Range(1, 1e5).Draw(t, "produced")
		p.Good = p.Produced * rapid.Float64Range(0, 1).Draw(t, "good")
		want := p.Good / (p.IdealRate * float64(p.PlannedBusy))
		if got := float64(p.Ratios().Index); math.Abs(got-want) > 1e-12*(want+1) {
			t.Fatalf("index %v, want %v", got, want)
		}
	})
}

func TestPerformanceCheck(t *testing.T) {
	if got := (Performance{}).Ratios(); got != (OEE{}) {
		t.Errorf("ratios of nothing: %+v, want zeros", got)
	}
	p := Performance{PlannedBusy: 8, Production: 9, IdealRate: 10, Produced: 100, Good: 101}
	got := p.Check()
	if len(got) != 3 || got[0].Field != "Production" || got[1].Field != "Good" || got[2].Field != "IdealRate" || !got[2].Warning {
		t.Errorf("problems %v, want Production, Good and a warning of IdealRate", got)
	}
}
