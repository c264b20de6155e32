package lp

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"feedline/planner/solve"
	"feedline/planner/solve/solvetest"
)

// reference finds the folder of public data sets that stands beside the project.
func reference(t testing.TB) string {
	t.Helper()
	if d := os.Getenv("FEEDLINE_REFERENCE"); d != "" {
		return d
	}
	for dir := ".."; len(dir) < 60; dir = filepath.Join(dir, "..") {
		d := filepath.Join(dir, "shared", "reference", "data")
		if _, err := os.Stat(d); err == nil {
			return d
		}
	}
	if os.Getenv("FEEDLINE_CI") == "1" {
		t.Fatal("the reference data are absent")
	}
	t.Skip("the reference data are absent")
	return ""
}

// indexed is one line of the reference set's index.
type indexed struct {
	file    string
	optimum string // of the model, or "infeasible", "unbounded"
	relaxed string // optimum of the relaxation of a mixed-integer model
	whole   int    // number of integer columns
}

func index(t testing.TB, dir string) []indexed {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	var out []indexed
	for _, line := range strings.Split(strings.TrimSpace(string(b)), "\n")[1:] {
		f := strings.Split(line, "\t")
		whole, _ := strconv.Atoi(f[4])
		out = append(out, indexed{f[0], f[5], f[7], whole})
	}
	return out
}

func TestNetlib(t *testing.T) {
	dir := reference(t)
	for _, e := range index(t, dir) {
		want := e.optimum
		if e.whole > 0 {
			want = e.relaxed
		}
		if want == "" {
			continue
		}
		t.Run(e.file, func(t *testing.T) {
			m := readMPS(t, filepath.Join(dir, e.file))
			r := Solve(context.Background(), m, solve.Options{})
			if err := solvetest.Check(m, &r); err != nil {
				t.Errorf("certificate: %v", err)
			}
			t.Logf("%v objective %.10g want %s, %d iterations, %v", r.Stop, r.Objective, want, r.Iterations, r.Elapsed)
			switch want {
			case "infeasible":
				if r.Stop != solve.Infeasible {
					t.Fatalf("stopped %v, want infeasible", r.Stop)
				}
				return
			case "unbounded":
				if r.Stop != solve.Unbounded {
					t.Fatalf("stopped %v, want unbounded", r.Stop)
				}
				return
			}
			z, err := strconv.ParseFloat(want, 64)
			if err != nil {
				t.Skip(want)
			}
			if r.Stop != solve.Optimal {
				t.Fatalf("stopped %v, want optimal", r.Stop)
			}
			if math.Abs(r.Objective-z) > 1e-7*math.Max(1, math.Abs(z)) {
				t.Fatalf("objective %.12g, want %.12g", r.Objective, z)
			}
		})
	}
}
