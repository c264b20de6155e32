package sheets

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"time"

	"feedline/cmd/internal/demo"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

var start = calendar.Date(2027, 1, 4)

// equal compares inputs; zones by name, instants as instants.
var equal = cmp.Options{
	cmpopts.EquateEmpty(),
	cmp.Comparer(func(a, b *time.Location) bool { return a == b || a != nil && b != nil && a.String() == b.String() }),
	cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) }),
}

func TestExportIsTheInput(t *testing.T) {
	in := demo.Input(start)
	for _, sys := range []quantity.System{quantity.Metric, quantity.US} {
		for _, name := range []string{"folder", "book.xlsx"} {
			dst := filepath.Join(t.TempDir(), name)
			if err := Write(dst, in, WriteOptions{Units: sys}); err != nil {
				t.Fatal(err)
			}
			for _, base := range []*planner.Input{nil, in} {
				got, sum, err := Read(dst, base, ReadOptions{Today: start})
				if err != nil {
					t.Fatalf("%s, units %v: %v", name, sys, err)
				}
				if d := cmp.Diff(in, got, equal); d != "" {
					t.Errorf("%s, units %v: the input is not what was written (-want +got):\n%s", name, sys, d)
				}
				t.Log(sum, sum.Notes)
			}
		}
	}
	_ = os.Remove
}
