package model

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// outside is a solver that reads an MPS file and prints its optimum.
type outside struct {
	name string
	run  func(t *testing.T, mps string) string // what it prints
	at   *regexp.Regexp                        // finds the optimum in that
	// constant is the factor of the objective's constant: glpsol 5.0 adds the RHS entry of the objective
	// where CBC and HiGHS subtract it.
	constant float64
}

// outsideSolvers are the solvers found on this machine.
func outsideSolvers(t *testing.T) []outside {
	t.Helper()
	number := `(-?[0-9.]+(?:e[-+]?[0-9]+)?)`
	all := []struct {
		outside
		probe []string
	}{
		{outside{"glpsol", runGLPK, regexp.MustCompile(`Objective: +\S+ = ` + number), -1}, []string{"glpsol", "--version"}},
		{outside{"cbc", runCBC, regexp.MustCompile(`(?:Optimal - objective value|Objective value:) +` + number), 1}, []string{"cbc", "quit"}},
		{outside{"HiGHS", runHiGHS, regexp.MustCompile(`^` + number), 1}, []string{python(), "-c", "import scipy.optimize; scipy.optimize.milp"}},
	}
	var found []outside
	for _, s := range all {
		if err := exec.Command(s.probe[0], s.probe[1:]...).Run(); err != nil {
			if os.Getenv("FEEDLINE_CI") == "1" {
				t.Fatalf("%s is absent: %v", s.name, err)
			}
			t.Logf("%s is absent: not compared", s.name)
			continue
		}
		found = append(found, s.outside)
	}
	if len(found) == 0 {
		skip(t, "no outside solver: glpsol, cbc or SciPy's HiGHS")
	}
	return found
}

// python is the interpreter that has SciPy: the system's where there is one.
func python() string {
	if _, err := os.Stat("/usr/bin/python3"); err == nil {
		return "/usr/bin/python3"
	}
	return "python3"
}

func runGLPK(t *testing.T, mps string) string {
	out := filepath.Join(t.TempDir(), "solution.txt")
	if log, err := exec.Command("glpsol", "--freemps", mps, "--mipgap", "0", "-o", out).CombinedOutput(); err != nil {
		return string(log)
	}
	text, _ := os.ReadFile(out)
	return string(text)
}

func runCBC(t *testing.T, mps string) string {
	log, _ := exec.Command("cbc", mps, "ratio", "0", "solve", "quit").CombinedOutput()
	// The objective of a whole-number program is printed last.
	if i := strings.LastIndex(string(log), "Objective value:"); i >= 0 {
		return string(log[i:])
	}
	return string(log)
}

func runHiGHS(t *testing.T, mps string) string {
	log, _ := exec.Command(python(), filepath.Join("testdata", "solve_mps.py"), mps).CombinedOutput()
	return string(log)
}

// compare writes m, as a minimisation, and holds every outside solver's optimum against want.
func compare(t *testing.T, solvers []outside, m *Model, want float64) {
	t.Helper()
	mps := filepath.Join(t.TempDir(), "model.mps")
	f, err := os.Create(mps)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := m.WriteMPSWith(f, WriteOptions{Minimize: true}); err != nil {
		t.Fatal(err)
	}
	sign := 1.0
	if m.Maximize {
		sign = -1
	}
	for _, s := range solvers {
		text := s.run(t, mps)
		hit := s.at.FindStringSubmatch(text)
		if hit == nil {
			t.Errorf("%s: no optimum in\n%s", s.name, text)
			continue
		}
		got, err := strconv.ParseFloat(hit[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		got = sign*got + (1-s.constant)*m.Offset
		if math.Abs(got-want) > 2e-7*math.Max(1, math.Abs(want)) { // cbc and glpsol print 8 to 9 places
			t.Errorf("%s: optimum %v, want %v", s.name, got, want)
		}
	}
}

// A model that uses everything the format can say. By hand: x = −3 at its lower bound and y = −1 at its upper one cost
// 2·(−3) − (−1) = −5; the whole z ≥ 0 without upper limit gains 1 each up to the range's side 7.5, so z = 7; the free
// f is held by f − z ≥ −9.25 of the ranged row and gains −1 each below: f = −2.25; b is 0 or 1 and gains 4;
// k in [−5, −2] whole gains 3 each: k = −2 costs. Sum with the constant 100.
func mixture() (*Model, float64) {
	inf := math.Inf(1)
	m := &Model{Name: "mixture", Offset: 100}
	m.AddVar("x", -3, -1, 2)
	m.AddVar("y", -inf, -1, -1)
	z := m.AddInt("z", 0, inf, -1)
	f := m.AddVar("f", -inf, inf, 1)
	m.AddInt("b", 0, 1, -4)
	m.AddInt("k", -5, -2, -3)
	m.AddVar("fixed", -2.5, -2.5, 1)
	m.AddVar("idle", 0, inf, 0)
	m.AddRow("range", 2.5, 7.5, Term{z, 1})
	m.AddRow("below", -9.25, 0, Term{f, 1}, Term{z, -1})
	m.AddRow("equal", -1, -1, Term{1, 1})
	m.AddRow("loose", -inf, inf, Term{z, 1}, Term{f, 1})
	return m, 100 + -6 + 1 - 7 - 2.25 - 4 + 6 - 2.5
}

// Textbook models, written here and solved outside. Wyndor: Hillier and Lieberman, Introduction to Operations Research,
// optimum 36; Dakota: Winston, Operations Research, optimum 280 (both from memory, recomputed with glpsol, see the
// reference set's worked examples).
func TestOutsideSolversReadWrittenModels(t *testing.T) {
	solvers := outsideSolvers(t)
	inf := math.Inf(1)
	wyndor := &Model{Maximize: true}
	d, w := wyndor.AddVar("doors", 0, 4, 3), wyndor.AddVar("windows", 0, inf, 5)
	wyndor.AddRow("plant2", -inf, 12, Term{w, 2})
	wyndor.AddRow("plant3", -inf, 18, Term{d, 3}, Term{w, 2})
	compare(t, solvers, wyndor, 36)

	dakota := &Model{Maximize: true, Offset: -50}
	k, a, c := dakota.AddVar("desk", 0, inf, 60), dakota.AddVar("table", 0, 5, 30), dakota.AddVar("chair with a blank", 0, inf, 20)
	dakota.AddRow("", -inf, 48, Term{k, 8}, Term{a, 6}, Term{c, 1})
	dakota.AddRow("", -inf, 20, Term{k, 4}, Term{a, 2}, Term{c, 1.5})
	dakota.AddRow("a very long name of a row", -inf, 8, Term{k, 2}, Term{a, 1.5}, Term{c, 0.5})
	compare(t, solvers, dakota, 280-50)

	m, want := mixture()
	compare(t, solvers, m, want)
}

// Public models read and written by this package have their published optimum in every outside solver (optima and
// sources in index.tsv). They include ranges (boeing2), negative and free bounds (vtpbase, recipe, grow7), whole columns.
func TestOutsideSolversAgreeOnReferenceModels(t *testing.T) {
	solvers, dir := outsideSolvers(t), referenceDir(t)
	optima := readOptima(t, dir)
	files := []string{"netlib/boeing2", "miplib/p0033"}
	if os.Getenv("FEEDLINE_CI") == "1" || os.Getenv("FEEDLINE_LONG") == "1" {
		files = append(files, longList...)
	}
	for _, name := range files {
		want, ok := optima[name+".mps"]
		if !ok {
			t.Fatalf("%s has no optimum in index.tsv", name)
		}
		compare(t, solvers, readFile(t, filepath.Join(dir, filepath.FromSlash(name)+".mps")), want)
	}
}

// longList is compared in CI and with FEEDLINE_LONG=1.
var longList = []string{"netlib/afiro", "netlib/vtpbase", "netlib/recipe", "netlib/kb2", "netlib/sc50a",
	"miplib/gr4x6", "miplib/flugpl", "examples/food2", "examples/tariff", "examples/ww1958",
	"examples/redtomato_int", "examples/wwuc_cold_nominup", "examples/issue_highs2432", "examples/dakota", "lotsizing/rgn"}

// readOptima are the known optima of index.tsv by file.
func readOptima(t *testing.T, dir string) map[string]float64 {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	optima := map[string]float64{}
	for _, line := range strings.Split(string(text), "\n") {
		c := strings.Split(line, "\t")
		if len(c) > 5 {
			if v, err := strconv.ParseFloat(c[5], 64); err == nil {
				optima[c[0]] = v
			}
		}
	}
	return optima
}
