package book

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// FuzzStoredPlan: no text in the place of a stored plan makes the reader panic, and a plan that is read is written so that it reads
// the same.
func FuzzStoredPlan(f *testing.F) {
	for n := range 3 {
		s, err := encodePlan(plans().Example(n))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(s)
	}
	f.Add(`{"schema":"feedline.plan/1","plan":{"Gap":"NaN","Buckets":[{}],"Runs":[null]}}`)
	f.Add(`{"schema":"feedline.plan/1","plan":null}`)
	f.Fuzz(func(t *testing.T, s string) {
		p, err := decodePlan(s)
		if err != nil || p == nil {
			return
		}
		again, err := encodePlan(p)
		if err != nil {
			t.Skip("a time beyond what JSON holds")
		}
		q, err := decodePlan(again)
		if err != nil {
			t.Fatalf("a plan that was read and written can't be read: %v", err)
		}
		if d := cmp.Diff(p, q, cmpopts.EquateNaNs(), cmpopts.EquateEmpty()); d != "" {
			t.Errorf("read (-), written and read again (+):\n%s", d)
		}
	})
}
