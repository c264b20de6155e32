package sheets

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

func TestSet(t *testing.T) {
	for path, c := range map[string]struct {
		value string
		us    bool
		want  func(in *planner.Input)
	}{
		"lines.L4.state":          {"down", false, func(in *planner.Input) { in.Lines[3].State = lines.Down }},
		"deliveries.D-101.eta":    {"2027-01-20", false, func(in *planner.Input) { in.Deliveries[0].ETA = calendar.Date(2027, 1, 20) }},
		"plant.crew":              {"10", false, func(in *planner.Input) { in.Plant.Crew = 10 }},
		"lots.A-2207.mass":        {"12.5 t", false, func(in *planner.Input) { in.Lots[0].Mass = 12500 }},
		"lots.A-2211.mass":        {"100", true, func(in *planner.Input) { in.Lots[1].Mass = 100 * quantity.KgPerPound }},
		"rates.L1/AR50.haul_off":  {"6 m/min", false, func(in *planner.Input) { in.Fits[0].HaulOff = 6 }},
		"rates.L1 / AR50.quality": {"95 %", false, func(in *planner.Input) { in.Fits[0].Quality = 0.95 }},
		"lines.L1.startup hours":  {"90 min", false, func(in *planner.Input) { in.Lines[0].Startup.Hours = 1.5 }},
		"lines.L1.screw_diameter": {"3 in", false, func(in *planner.Input) { in.Lines[0].ScrewMM = 76.2 }},
		"closures.stocktaking.last_day": {"2027-04-21", false, func(in *planner.Input) {
			in.Calendar.Closures[1].Span.To = calendar.Date(2027, 4, 22)
		}},
	} {
		in, want := demo.Input(start), demo.Input(start)
		if c.us {
			in.Plant.Units, want.Plant.Units = quantity.US, quantity.US
		}
		c.want(want)
		got, err := Set(in, path, c.value)
		if err != nil {
			t.Errorf("%s=%s: %v", path, c.value, err)
			continue
		}
		if d := cmp.Diff(want, got, equal); d != "" {
			t.Errorf("%s=%s (-want +got):\n%s", path, c.value, d)
		}
	}
}

func TestSetRefuses(t *testing.T) {
	for _, c := range []struct{ path, value, want, hint string }{
		{"line.L4.state", "down", `line.L4.state = "down" names no table`, `did you mean "lines"?`},
		{"lines.L4.stat", "down", `lines.L4.stat = "down" names no column of lines`, `did you mean "state"?`},
		{"lines.L44.state", "down", `lines.L44.state = "down" names no row of lines`, `did you mean "L4"?`},
		{"lines.L4.state", "off", `lines.L4.state = "off" is not a word that is known here; allowed: running, ready, down, uncommissioned`, ""},
		{"lines.L4.code", "L9", `lines.L4.code = "L9" would rename the row`, "the key can't be set"},
		{"lots.A-2207.mass", "5 m", `lots.A-2207.mass = "5 m" is wrong: "m" is a unit of length; allowed: kg, t, g, lb, st`, ""},
		{"plant.crews", "5", `plant.crews = "5" names no column of plant`, `did you mean "crew"?`},
	} {
		in, err := Set(demo.Input(start), c.path, c.value)
		e, ok := err.(*SetError)
		if !ok || in != nil || e.Error() != c.want || e.Hint() != c.hint {
			t.Errorf("got  %v; %q\nwant %s; %q", err, e.Hint(), c.want, c.hint)
		}
	}
}
