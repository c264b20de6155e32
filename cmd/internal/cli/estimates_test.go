package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
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
