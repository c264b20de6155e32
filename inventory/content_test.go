package inventory

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory/quantity"
)

// ISO 14021:2016, 7.8: only pre- and post-consumer material counts; regrind generated in a process and reclaimed within it
// does not. 820 kg post-consumer, 100 kg pre-consumer, 30 kg own regrind and 50 kg of additives in 1 000 kg.
func TestRecycledContent(t *testing.T) {
	got := RecycledContent([]Part{{PostConsumer, 820}, {PreConsumer, 100}, {InHouse, 30}, {VirginSource, 50}})
	near(t, "post-consumer", float64(got.PostConsumer), 0.82, 1e-15, "")
	near(t, "pre-consumer", float64(got.PreConsumer), 0.10, 1e-15, "")
	near(t, "recycled", float64(got.Recycled), 0.92, 1e-15, "")
	if got := RecycledContent(nil); got != (Content{}) {
		t.Errorf("content of nothing: %+v", got)
	}
}

// Content is a share, does not rise with own regrind, and does not depend on how a part is split.
func TestRecycledContentProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var parts, split []Part
		for range rapid.IntRange(1, 8).Draw(t, "parts") {
			p := Part{rapid.SampledFrom([]Source{PostConsumer, PreConsumer, VirginSource, InHouse}).Draw(t, "source"),
				quantity.Mass(rapid.Float64Range(1, 1000).Draw(t, "kg"))}
			parts = append(parts, p)
			split = append(split, Part{p.Source, p.Mass / 4}, Part{p.Source, 3 * p.Mass / 4})
		}
		c, s := RecycledContent(parts), RecycledContent(split)
		if c.Recycled < 0 || c.Recycled > 1+1e-12 || math.Abs(float64(c.PostConsumer+c.PreConsumer-c.Recycled)) > 1e-12 {
			t.Fatalf("content %+v", c)
		}
		if math.Abs(float64(c.Recycled-s.Recycled)) > 1e-12 {
			t.Fatalf("content %v, of split parts %v", c.Recycled, s.Recycled)
		}
		if more := RecycledContent(append(parts, Part{InHouse, 50})); more.Recycled > c.Recycled {
			t.Fatalf("regrind lifts the content from %v to %v", c.Recycled, more.Recycled)
		}
	})
}

// Regulation (EU) 2024/2555: 75 mg/kg in articles, 100 mg/kg in insulation for buildings.
func TestHBCDDGate(t *testing.T) {
	for _, c := range []struct {
		mgPerKg float64
		use     Use
		hold    bool
	}{
		{80, Moulding, true}, {80, Insulation, false}, {75, Moulding, false}, {75.1, Moulding, true}, {100, Insulation, false},
		{101, Insulation, true}, {0, Moulding, false}, {math.NaN(), Moulding, true}, {-1, Moulding, true},
	} {
		got := ScreenHBCDD(Lot{Code: "L"}, c.mgPerKg, c.use)
		if got.Hold != c.hold || got.Hold != (got.Reason != "") {
			t.Errorf("%v mg/kg for %s: hold %v (%s), want %v", c.mgPerKg, c.use, got.Hold, got.Reason, c.hold)
		}
	}
	held := Lot{Code: "L", Hold: true, Reason: "wet"}
	if got := ScreenHBCDD(held, 5, Moulding); got != held {
		t.Errorf("a screen changes a lot held as wet: %+v", got)
	}
	if got := ScreenHBCDD(held, 80, Moulding); got.Reason != "wet; HBCDD 80 mg/kg, limit 75 mg/kg for moulding" {
		t.Errorf("lot held twice: %+v, want both reasons", got)
	}
}

func TestAvailableMass(t *testing.T) {
	lots := []Lot{{Material: "a", Mass: 5}, {Material: "a", Mass: 7, Hold: true}, {Material: "b", Mass: 11}, {Material: "a", Mass: 2}}
	if got := AvailableMass(lots, "a"); got != 7 {
		t.Errorf("%v kg available, want 7 kg: a lot on hold does not count", float64(got))
	}
}

// NFPA 13: rules for Group A plastics above 5 ft; IFC chapter 32: 6 ft for high hazards, 12 ft for all.
func TestStorageFlags(t *testing.T) {
	for feet, want := range map[float64]int{4.9: 0, 5: 0, 5.5: 1, 7: 2, 13: 3} {
		if got := StorageFlags(quantity.Feet(feet)); len(got) != want {
			t.Errorf("%v ft of foam: %d flags, want %d", feet, len(got), want)
		}
	}
	if got := StorageFlags(quantity.Feet(5.5))[0].Source; got != "NFPA 13" {
		t.Errorf("first flag is of %s, want NFPA 13", got)
	}
}
