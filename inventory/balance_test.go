package inventory

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

func TestBalanceRefuses(t *testing.T) {
	var b Balance
	day := calendar.Date(2026, 11, 25)
	if err := b.Apply(Movement{day, "lot 1", 100.0004, ""}); err != nil {
		t.Fatal(err)
	}
	var over *OverdrawnError
	err := b.Apply(Movement{day, "lot 1", -100.001, ""})
	if !errors.As(err, &over) || over.Have != 100_000 || b.Level("lot 1") != 100_000 {
		t.Errorf("a gram too much: %v; level %v g", err, b.Level("lot 1"))
	}
	if want := "lot 1 on 2026-11-25: 100.001 kg to be taken, 100.000 kg there; count the stock and correct the booking or the level"; err.Error() != want {
		t.Errorf("error %q\n want %q", err, want)
	}
	for _, m := range []float64{math.NaN(), math.Inf(1), 1e18} {
		if err := b.Apply(Movement{day, "lot 1", quantity.Mass(m), ""}); err == nil {
			t.Errorf("%v kg booked", m)
		}
	}
	if err := b.Apply(Movement{day, "lot 1", -100, ""}); err != nil || b.Level("lot 1") != 0 {
		t.Errorf("the rest: %v; level %v g", err, b.Level("lot 1"))
	}
	if got, err := Replay([]Movement{{day + 1, "x", -1, ""}, {day, "x", 1, ""}}); err != nil || got.Level("x") != 0 {
		t.Errorf("replay does not go by days: %v", err)
	}
}

// Σ in − Σ out to the gram, whatever the order of decimals; never negative.

func TestBalanceIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b Balance
		want := map[string]int64{}
		for range rapid.IntRange(0, 60).Draw(t, "bookings") {
			g := rapid.Int64Range(-5_000_000, 5_000_000).Draw(t, "grams")
			item := rapid.SampledFrom([]string{"a", "b", "c"}).Draw(t, "item")
			err := b.Apply(Movement{Item: item, Mass: quantity.Mass(float64(g) / 1000)})
			if refused := want[item]+g < 0; refused != (err != nil) {
				t.Fatalf("%d g on %d g: %v", g, want[item], err)
			}
			if err == nil {
				want[item] += g
			}
		}
		for _, item := range []string{"a", "b", "c"} {
			if got := b.Level(item); int64(got) != want[item] || got < 0 {
				t.Fatalf("%s holds %d g, want %d g", item, got, want[item])
			}
			if again, err := GramsOf(b.Level(item).Mass()); err != nil || again != b.Level(item) {
				t.Fatalf("%v g as kilograms and back is %v g", b.Level(item), again)
			}
		}
	})
}
