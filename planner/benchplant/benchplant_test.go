package benchplant_test

import (
	"reflect"
	"slices"
	"testing"

	"feedline/lines"
	"feedline/planner"
	"feedline/planner/benchplant"
)

func TestSameForASeed(t *testing.T) {
	a, b, c := benchplant.Input(benchplant.S, 1), benchplant.Input(benchplant.S, 1), benchplant.Input(benchplant.S, 2)
	if !reflect.DeepEqual(a, b) {
		t.Error("two plants of a seed differ")
	}
	if reflect.DeepEqual(a.Orders, c.Orders) {
		t.Error("two seeds give the same orders")
	}
}

// TestPlantsPassTheCheck plans nothing: each plant is accepted, has a model of the size its name says, and every profile can be made.
func TestPlantsPassTheCheck(t *testing.T) {
	for _, size := range slices.Concat(benchplant.Sizes, []benchplant.Size{{Name: "least", Weeks: 8}, {Name: "one line", Lines: 1, Profiles: 3, Weeks: 13}}) {
		for seed := range uint64(5) {
			in := benchplant.Input(size, seed)
			for _, p := range in.Check(benchplant.Start) {
				t.Errorf("%s %d: %s", size.Name, seed, p)
			}
			if len(in.Lines) != max(1, size.Lines) || len(in.Profiles) != max(1, size.Profiles) {
				t.Errorf("%s %d: %d lines, %d profiles, want %d and %d", size.Name, seed, len(in.Lines), len(in.Profiles), size.Lines, size.Profiles)
			}
			for _, p := range in.Profiles {
				if !slices.ContainsFunc(in.Fits, func(f lines.Fit) bool { return f.Profile == p.Code }) {
					t.Errorf("%s %d: no line runs %s", size.Name, seed, p.Code)
				}
			}
		}
	}
}

// TestLoad works out, from the input alone, the hours that a week's usual sales take on each line, split by what the lines can do, and
// expects what the package says of the load once the changeovers, up to a third of it, are taken off.
func TestLoad(t *testing.T) {
	for _, size := range benchplant.Sizes {
		for seed := range uint64(5) {
			in := benchplant.Input(size, seed)
			if share := runShare(in, size); share < 0.5 || share > 0.95 {
				t.Errorf("%s %d: runs take %.2f of the crewed hours", size.Name, seed, share)
			} else {
				t.Logf("%s %d: %.2f of the crewed hours, %d orders, %d fits", size.Name, seed, share, len(in.Orders), len(in.Fits))
			}
		}
	}
}

// runShare is the forecast's running hours against the hours of the shifts.
func runShare(in *planner.Input, size benchplant.Size) float64 {
	hours := 0.0
	for _, fc := range in.Forecasts {
		together := 0.0
		for _, f := range in.Fits {
			if f.Profile == fc.Profile {
				p := in.Profiles[slices.IndexFunc(in.Profiles, func(p lines.Profile) bool { return p.Code == f.Profile })]
				together += lines.Rate(p, f).GoodMetresPerHour
			}
		}
		n := 0.0
		for _, f := range in.Fits {
			if f.Profile == fc.Profile {
				n++
			}
		}
		hours += float64(fc.Length) / together * n
	}
	return hours / (128 * float64(size.Weeks) * float64(size.Lines))
}
