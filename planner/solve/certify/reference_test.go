package certify

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/lp"
)

// skip ends the test with a word, or fails it in CI, where everything has to be present.
func skip(t *testing.T, why string) {
	t.Helper()
	if os.Getenv("FEEDLINE_CI") == "1" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// referenceDir is the folder of the public data sets: $FEEDLINE_REFERENCE, or shared/reference/data beside the project.
func referenceDir(t *testing.T) string {
	t.Helper()
	if dir := os.Getenv("FEEDLINE_REFERENCE"); dir != "" {
		return dir
	}
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		data := filepath.Join(dir, "shared", "reference", "data")
		if _, err := os.Stat(filepath.Join(data, "index.tsv")); err == nil {
			return data
		}
		up := filepath.Dir(dir)
		if up == dir {
			skip(t, "the reference data set is absent")
		}
		dir = up
	}
}

// optima are the known optima of the linear programs in index.tsv, by file.
func optima(t *testing.T, dir string) map[string]float64 {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]float64{}
	for _, line := range strings.Split(string(text), "\n") {
		c := strings.Split(line, "\t")
		if len(c) > 5 && c[4] == "0" {
			if v, err := strconv.ParseFloat(c[5], 64); err == nil {
				known[c[0]] = v
			}
		}
	}
	return known
}

func read(t *testing.T, path string) *model.Model {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := model.ReadMPS(f)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return m
}

// The bound proven from this project's duals never passes the optimum that HiGHS, glpsol and CBC agree on (index.tsv),
// and its certificates prove the optimum or say which column blocks them. Netlib; FEEDLINE_LONG=1 takes all of it.
func TestNetlib(t *testing.T) {
	dir := referenceDir(t)
	known := optima(t, dir)
	long := os.Getenv("FEEDLINE_LONG") == "1"
	short := map[string]bool{"netlib/afiro.mps": true, "netlib/adlittle.mps": true, "netlib/kb2.mps": true, "netlib/share2b.mps": true,
		"netlib/recipe.mps": true, "netlib/sc105.mps": true, "netlib/stocfor1.mps": true, "netlib/israel.mps": true,
		"netlib/share1b.mps": true, "netlib/brandy.mps": true, "netlib/stair.mps": true, "netlib/finnis.mps": true}
	seen := 0
	for file, want := range known {
		if !long && !short[file] {
			continue
		}
		seen++
		m := read(t, filepath.Join(dir, filepath.FromSlash(file)))
		res := lp.Solve(context.Background(), m, solve.Options{Time: time.Minute})
		if res.Stop != solve.Optimal {
			t.Errorf("%s: stopped with %s", file, res.Stop)
			continue
		}
		begin := time.Now()
		r := Check(m, res)
		took := time.Since(begin)
		e := Exact(m, res)
		if !r.OK() {
			t.Errorf("%s: %v", file, r.Problems)
		}
		if r.HasBound && sense(m)*(r.ProvenBound-want) > 1e-8*math.Max(1, math.Abs(want)) { // index.tsv prints 12 places
			t.Errorf("%s: the bound %v passes the optimum %v", file, r.ProvenBound, want)
		}
		if short[file] && !e.Proven {
			t.Errorf("%s: %s", file, e.Words)
		}
		t.Logf("%-24s proven=%v %v %s", file, e.Proven, took.Round(time.Millisecond), e.Words)
	}
	if seen < len(short) {
		t.Errorf("%d models of index.tsv checked, at least %d expected", seen, len(short))
	}
}
