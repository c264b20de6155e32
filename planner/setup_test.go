package planner_test

import (
	"testing"

	"feedline/lines"
	"feedline/planner"
	"feedline/planner/benchplant"
)

// TestLineWorthSettingUpIs has bench plant S with one of its three lines still to be set up within a week, for next to nothing: the plan sets it
// up and costs little more than with the line ready; where that costs more than it can bring, it does not, and says what the line would bring.
func TestLineWorthSettingUpIs(t *testing.T) {
	in, opt := benchplant.Input(benchplant.S, 1), benchplant.Options()
	opt.Work, opt.Brief = 200_000_000, true
	in.Lines[1].State, in.Lines[1].Mounted = lines.Ready, ""
	ready := audited(t, in, opt)
	in.Lines[1].State = lines.Uncommissioned
	in.Lines[1].Commissioning = lines.Commissioning{Earliest: planner.StartDay(in, opt), Days: 7, Cost: 1000}
	cheap := audited(t, in, opt)
	if !runs(cheap, in.Lines[1].Code) || cheap.Objective > 1.1*ready.Objective {
		t.Errorf("a line set up for 1000 EUR runs: %t; the plan costs %.0f, with the line ready %.0f", runs(cheap, in.Lines[1].Code), float64(cheap.Objective), float64(ready.Objective))
	}
	in.Lines[1].Commissioning.Cost = 5_000_000
	opt.Brief = false
	dear := audited(t, in, opt)
	if runs(dear, in.Lines[1].Code) {
		t.Errorf("a line set up for 5 million runs; the plan costs %.0f, with the line ready %.0f", float64(dear.Objective), float64(ready.Objective))
	}
	// What the line is said to bring is what the plan with it costs less.
	for _, v := range dear.LineValues {
		if v.Line == in.Lines[1].Code {
			told, brings := float64(v.Gain)+5_000_000, float64(dear.Objective)-float64(cheap.Objective)+1000
			if v.Do != planner.CommissionLine || told < 0.8*brings || told > 1.2*brings {
				t.Errorf("%s %s is said to bring %.0f EUR beside its cost, and brings %.0f", v.Do, v.Line, told, brings)
			}
			return
		}
	}
	t.Error("not told what the line would bring:", dear.Missing)
}

// runs reports whether a plan runs a line at any time.
func runs(p *planner.Plan, line string) bool {
	for _, r := range p.Runs {
		if r.Line == line {
			return true
		}
	}
	return false
}
