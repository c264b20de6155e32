package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
	"feedline/lines/calendar"
	"feedline/planner"
)

// TestPlanAheadWaitsForNoLoadLonger: a plan that begins later than today knows no more of the loads on their way than one that begins
// today: they have not waited till its start.
func TestPlanAheadWaitsForNoLoadLonger(t *testing.T) {
	path := filepath.Join(t.TempDir(), "demo.book")
	run := func(args ...string) []byte {
		t.Helper()
		var out, talk bytes.Buffer
		env := Env{In: strings.NewReader(""), Out: &out, Err: &talk, Getenv: func(string) string { return "" }, Now: func() time.Time { return time.Date(2026, 11, 30, 6, 0, 0, 0, time.UTC) }}
		if code := Run(context.Background(), append(args, "--book", path, "--work", "1", "--weeks", "1", "--days", "1", "-q"), env); code != exitDone {
			t.Fatalf("feedline %s: exit code %d, %s", strings.Join(args, " "), code, talk.String())
		}
		return out.Bytes()
	}
	run("demo", "--start", "2026-11-30")
	estimated := func(start string) (list []map[string]any) {
		t.Helper()
		var doc struct {
			Estimates []map[string]any `json:"estimates"`
		}
		if err := json.Unmarshal(run("plan", "--json", "--start", start), &doc); err != nil {
			t.Fatal(err)
		}
		return doc.Estimates
	}
	now, ahead := estimated("2026-11-30"), estimated("2027-01-11")
	if len(now) == 0 || cmp.Diff(now, ahead) != "" {
		t.Errorf("%d estimates of a plan from today, from six weeks on they are otherwise (-today +ahead):\n%s", len(now), cmp.Diff(now, ahead))
	}
}

// TestSlowerIsSlowerThanCounted: a line that runs at 95 % does so of what plans count on, which records say, not of what was entered: of that,
// a line that is found to be at 93 % would run faster.
func TestSlowerIsSlowerThanCounted(t *testing.T) {
	path := filepath.Join(t.TempDir(), "demo.book")
	var talk bytes.Buffer
	run := func(args ...string) []byte {
		t.Helper()
		var out bytes.Buffer
		talk.Reset()
		env := Env{In: strings.NewReader(""), Out: &out, Err: &talk, Getenv: func(string) string { return "" }, Now: func() time.Time { return time.Date(2027, 1, 4, 6, 0, 0, 0, time.UTC) }}
		if code := Run(context.Background(), append(args, "--book", path), env); code != exitDone {
			t.Fatalf("feedline %s: exit code %d, %s", strings.Join(args, " "), code, talk.String())
		}
		return out.Bytes()
	}
	run("demo", "--start", "2027-01-04", "--work", "1", "--weeks", "1", "--days", "1")
	rates := map[string]float64{} // what is counted on as a share of what was entered, by profile
	var doc struct {
		Estimates []struct {
			Name           string `json:"name"`
			Entered, Value float64
		} `json:"estimates"`
	}
	if err := json.Unmarshal(run("plan", "--last", "--json"), &doc); err != nil {
		t.Fatal(err)
	}
	for _, e := range doc.Estimates {
		if profile, ok := strings.CutPrefix(e.Name, "rate L4 "); ok {
			rates[profile] = e.Value / e.Entered
		}
	}
	if len(rates) < 5 {
		t.Fatalf("estimates of rates on L4: %v", rates)
	}
	entered := map[string]float64{}
	for _, f := range demo.Input(calendar.Date(2027, 1, 4)).Fits {
		if f.Line == "L4" {
			entered[f.Profile] = float64(f.Melt)
		}
	}
	edits, err := planner.DecodeEdits(run("edits", "--if", "rate L4 95%", "--start", "2027-01-04"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range edits {
		profile := strings.TrimPrefix(e.Key, "L4 / ")
		melt, err := strconv.ParseFloat(strings.TrimSuffix(e.Cells["melt"], " kg/h"), 64)
		ratio := rates[profile]
		if ratio == 0 {
			ratio = 1
		}
		if want := 0.95 * ratio * entered[profile]; err != nil || math.Abs(melt-want) > 1e-6*want {
			t.Errorf("%s: %s, want 95 %% of %.6g kg/h", profile, e.Cells["melt"], ratio*entered[profile])
		}
	}
	run("plan", "--if", "rate L4 95%", "--start", "2027-01-04", "--work", "1", "--weeks", "1", "--days", "1")
	if said := talk.String(); strings.Contains(said, "moved since") || !strings.Contains(said, "against plan 1 it costs") {
		t.Errorf("what a what-if enters is told as an estimate that moved, or nothing of what it does:\n%s", said)
	}
}
