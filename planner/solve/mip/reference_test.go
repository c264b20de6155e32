package mip

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"feedline/planner/model"
)

// referenceFile finds a file of the reference data that stand beside the project, or skips.
func referenceFile(t testing.TB, name string) string {
	t.Helper()
	root := os.Getenv("FEEDLINE_REFERENCE")
	if root == "" {
		dir, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
				break
			}
			if dir = filepath.Dir(dir); dir == filepath.Dir(dir) {
				t.Fatal("no go.mod above the test's folder")
			}
		}
		root = filepath.Join(dir, "..", "shared", "reference", "data")
	}
	file := filepath.Join(root, filepath.FromSlash(name))
	if _, err := os.Stat(file); err != nil {
		if os.Getenv("FEEDLINE_CI") == "1" {
			t.Fatalf("reference data missing: %v", err)
		}
		t.Skipf("reference data not found: %v", err)
	}
	return file
}

// published returns the optimum that index.tsv gives for a file; false if it is unknown.
func published(t testing.TB, name string) (float64, bool) {
	t.Helper()
	f, err := os.Open(referenceFile(t, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for sc := bufio.NewScanner(f); sc.Scan(); {
		col := strings.Split(sc.Text(), "\t")
		if col[0] == name && len(col) > 5 {
			v, err := strconv.ParseFloat(col[5], 64)
			return v, err == nil
		}
	}
	t.Fatalf("%s is not in index.tsv", name)
	return 0, false
}

// near says whether a and b agree within tol relative to their size.
func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol*math.Max(1, math.Abs(b)) }

// load reads a model of the reference data.
func load(t testing.TB, name string) *model.Model {
	t.Helper()
	f, err := os.Open(referenceFile(t, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := model.ReadMPS(f)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
