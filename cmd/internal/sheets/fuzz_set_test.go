package sheets

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
	"feedline/lines/calendar"
)

// FuzzSet: no what-if makes --set panic, and none changes the input that it is made from.
func FuzzSet(f *testing.F) {
	for _, x := range [][2]string{{"lines.L6.state", "running"}, {"rates.L1/SK80.melt", "140"}, {"orders.O-4101.length", "12 km"}, {"plant..crew", "1e999"},
		{"lines.L4.down_until", "2027-01-20"}, {"...", ""}, {"lines.L6", "x"}, {"shifts.early.start", "25:00"}, {"orders.\x00.due", "\xff"}} {
		f.Add(x[0], x[1])
	}
	day := calendar.Date(2027, 1, 4)
	base, same := demo.Input(day), demo.Input(day)
	n := 0
	f.Fuzz(func(t *testing.T, key, value string) {
		in, err := Set(base, key, value)
		if err == nil {
			in.Check(day)
		}
		if n++; n%64 == 0 || err == nil {
			if d := cmp.Diff(same.Orders, base.Orders); d != "" {
				t.Fatalf("%s=%s changed the input itself:\n%s", key, value, d)
			}
		}
	})
}
