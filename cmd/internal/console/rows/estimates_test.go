package rows_test

import (
	"math"
	"strings"
	"testing"

	"feedline/cmd/internal/console/rows"
	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/cmd/internal/demo"
	"feedline/inventory"
	"feedline/lines"
	"feedline/planner"
	"feedline/planner/estimates"
)

// TestEstimatesAreShown: rates, an idle line's day and lead times are those that the plan is made with, marked, beside the entered ones;
// figures that no estimate replaces have no mark, and neither has one that was entered otherwise since.
func TestEstimatesAreShown(t *testing.T) {
	in := demo.Input(monday)
	p := rowstest.Plan(in, monday, tuesday)
	run := p.Runs[0]
	_, _, plain := facts()
	before := table(t, page(t, plain, "lines", rows.Place{}), "runs")
	was := cell(t, before, "0", "rate_m_a_day").Value.(float64)
	idleProfile := cell(t, table(t, page(t, plain, "supply", rows.Place{}), "idle"), "L6", "profile").Text
	wasIdle := cell(t, table(t, page(t, plain, "supply", rows.Place{}), "idle"), "L6", "good_m_a_day").Value.(float64)

	quality := func(line, profile string) float64 {
		for _, f := range in.Fits {
			if f.Line == line && f.Profile == profile {
				return float64(f.Quality)
			}
		}
		t.Fatalf("%s has no rate for %s", line, profile)
		return 0
	}
	lane := in.Lanes[0]
	lead := inventory.LeadTime{Distribution: inventory.Fixed, Mean: lane.LeadTime.Mean + 11}
	p.Estimates = []planner.Estimate{
		{Name: "quality " + run.Line + " " + run.Profile, Kind: string(estimates.Quality), A: run.Line, B: run.Profile, Entered: quality(run.Line, run.Profile), Value: quality(run.Line, run.Profile) * 0.9, Used: true},
		{Name: "quality L6 " + idleProfile, Kind: string(estimates.Quality), A: "L6", B: idleProfile, Entered: quality("L6", idleProfile), Value: quality("L6", idleProfile) * 1.01, Used: true},
		{Name: "yield PEL INW", Kind: string(estimates.Yield), A: "PEL", B: "INW", Entered: 0.965, Value: 0.93, Used: true},
		{Name: "lead time " + lane.Code, Kind: string(estimates.LeadTime), A: lane.Code, Entered: lane.LeadTime.Mean, Value: lead.Mean, LeadTime: lead, Used: true},
	}
	f := rows.New(in, p, nil, tuesday)
	runs := table(t, page(t, f, "lines", rows.Place{}), "runs")
	marked := 0
	for i, r := range p.Runs {
		x, entered, old := runs.Rows[i].Cells, runs.Rows[i].Cells[len(runs.Columns)-1], before.Rows[i].Cells
		at := len(x) - 6 // rate, see the columns
		if runs.Columns[at].Key != "rate_m_a_day" {
			t.Fatalf("column %d is %s", at, runs.Columns[at].Key)
		}
		now, then := x[at].Value.(float64), old[at].Value.(float64)
		want := then
		if r.Line == run.Line && r.Profile == run.Profile {
			want = 0.9 * then
			marked++
		}
		if math.Abs(now-want) > 1e-6*want || math.Abs(entered.Value.(float64)-then) > 1e-6*then {
			t.Errorf("run %d: rate %g m a day, entered %v; want %g and %g", i, now, entered.Value, want, then)
		}
		if mark := strings.HasPrefix(x[at].Text, "≈"); mark != (want != then) || (entered.Text != "") != mark {
			t.Errorf("run %d: %q beside %q, estimated: %v", i, x[at].Text, entered.Text, want != then)
		}
	}
	if marked == 0 || was == 0 {
		t.Error("no run has the estimated rate")
	}
	idle := table(t, page(t, f, "supply", rows.Place{}), "idle")
	if now := cell(t, idle, "L6", "good_m_a_day"); cell(t, idle, "L6", "profile").Text != idleProfile || !strings.HasPrefix(now.Text, "≈") || math.Abs(now.Value.(float64)-1.01*wasIdle) > 1e-6*wasIdle {
		t.Errorf("L6 makes %q a day, want ≈ 1.01 × %g", now.Text, wasIdle)
	}
	if got := cell(t, idle, "L6", "entered_m_a_day").Value.(float64); math.Abs(got-wasIdle) > 1e-6*wasIdle {
		t.Errorf("L6 entered %g m a day, want %g", got, wasIdle)
	}
	if got := cell(t, idle, "L6", "feed_t_a_day").Text; !strings.HasPrefix(got, "≈") {
		t.Errorf("L6 eats %q a day, which follows from an estimate", got)
	}
	for _, step := range in.Steps {
		if got := f.StepYield(step, "INW"); step.Code == "PEL" && got != "≈93.0 %" || step.Code == "CRU" && got != "98.5 %" {
			t.Errorf("yield of %s: %q", step.Code, got)
		}
	}
	lanes := table(t, page(t, f, "feed", rows.Place{}), "lanes")
	for _, r := range lanes.Rows {
		x, own := cell(t, lanes, r.Key, "lead_time_d"), cell(t, lanes, r.Key, "entered_lead_time_d")
		if mark := strings.HasPrefix(x.Text, "≈"); mark != (r.Cells[0].Text == lane.Code) {
			t.Errorf("lane %s: lead time %q, entered %q", r.Key, x.Text, own.Text)
		} else if mark && (x.Value != lead.Mean || own.Value != lane.LeadTime.Quantile(float64(in.Plant.ServiceLevel))) {
			t.Errorf("lane %s: lead time %v, entered %v", r.Key, x.Value, own.Value)
		}
	}
	if !strings.Contains(idle.Title, "≈ from records") || !strings.Contains(lanes.Title, "≈ from records") {
		t.Errorf("titles %q, %q do not say what the mark means", idle.Title, lanes.Title)
	}

	other := demo.Input(monday) // the rate is another one in a what-if: the estimate is not put in its place
	for i := range other.Fits {
		if x := &other.Fits[i]; x.Line == "L6" && x.Profile == idleProfile {
			*x = lines.Fit{Line: x.Line, Profile: x.Profile, Melt: x.Melt, HaulOff: x.HaulOff, Strands: x.Strands, Availability: x.Availability, Quality: 0.99 * x.Quality}
		}
	}
	idle = table(t, page(t, rows.New(other, p, nil, tuesday), "supply", rows.Place{}), "idle")
	if now := cell(t, idle, "L6", "good_m_a_day"); strings.HasPrefix(now.Text, "≈") {
		t.Errorf("a rate of a what-if is shown as %q", now.Text)
	}
}
