package presolve_test

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
	"feedline/planner/solve/internal/presolve"
	"feedline/planner/solve/lp"
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

// sample is one line of the reference set's index.
type sample struct {
	file             string
	optimum, relaxed string // of the model; of a whole-number model's relaxation
	whole, nonzeros  int
}

// linear is the known optimum of the relaxation, or "".
func (s sample) linear() string {
	if s.whole > 0 {
		return s.relaxed
	}
	return s.optimum
}

func samples(t testing.TB, dir string) []sample {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	var out []sample
	for _, line := range strings.Split(strings.TrimSpace(string(b)), "\n")[1:] {
		f := strings.Split(line, "\t")
		nonzeros, _ := strconv.Atoi(f[3])
		whole, _ := strconv.Atoi(f[4])
		out = append(out, sample{f[0], f[5], f[7], whole, nonzeros})
	}
	return out
}

// readModel reads an MPS file of the reference set.
func readModel(t testing.TB, file string) *model.Model {
	t.Helper()
	f, err := os.Open(file)
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

// quick are the sizes that the everyday run of the tests takes; FEEDLINE_ALL=1 takes all.
const quick = 9000

func skipLarge(t *testing.T, s sample) {
	if s.nonzeros > quick && os.Getenv("FEEDLINE_ALL") == "" {
		t.Skip("large: set FEEDLINE_ALL=1")
	}
}

// solveLinear solves the relaxation of m as given and returns its point.
func solveLinear(m *model.Model) (solve.Stop, float64, presolve.Point, int64) {
	s := lp.NewSolver(m, solve.Options{})
	stop := s.Solve(context.Background(), lp.Limits{})
	if stop != solve.Optimal {
		return stop, 0, presolve.Point{}, s.Iterations()
	}
	b := s.Basis()
	return stop, s.Objective(), presolve.Point{X: s.X(), Y: s.Y(), D: s.D(), Cols: statuses(b.Cols), Rows: statuses(b.Rows)}, s.Iterations()
}

func statuses(in []lp.Status) []presolve.Status {
	to := map[lp.Status]presolve.Status{lp.AtLower: presolve.AtLower, lp.AtUpper: presolve.AtUpper, lp.Basic: presolve.Basic, lp.Free: presolve.Free}
	out := make([]presolve.Status, len(in))
	for k, s := range in {
		out[k] = to[s]
	}
	return out
}

// restart solves m from p's basis and returns the objective and the iterations that took.
func restart(m *model.Model, p presolve.Point) (solve.Stop, float64, int64) {
	to := map[presolve.Status]lp.Status{presolve.AtLower: lp.AtLower, presolve.AtUpper: lp.AtUpper, presolve.Basic: lp.Basic, presolve.Free: lp.Free}
	b := lp.Basis{Cols: make([]lp.Status, len(p.Cols)), Rows: make([]lp.Status, len(p.Rows))}
	for k, st := range p.Cols {
		b.Cols[k] = to[st]
	}
	for k, st := range p.Rows {
		b.Rows[k] = to[st]
	}
	s := lp.NewSolver(m, solve.Options{})
	s.SetBasis(b)
	stop := s.Solve(context.Background(), lp.Limits{})
	return stop, s.Objective(), s.Iterations()
}

// TestReferenceRelaxations: for each model of the reference set the reduced relaxation's optimum, taken back, has the
// published objective (see index.tsv), is certified optimal by the original's rows, and its basis needs no pivot or hardly any.
func TestReferenceRelaxations(t *testing.T) {
	dir := reference(t)
	for _, s := range samples(t, dir) {
		if s.linear() == "" {
			continue
		}
		t.Run(s.file, func(t *testing.T) {
			skipLarge(t, s)
			checkReference(t, s, readModel(t, filepath.Join(dir, s.file)))
		})
	}
}

func checkReference(t *testing.T, s sample, m *model.Model) {
	start := time.Now()
	r, v := presolve.Run(m, presolve.Options{})
	spent := time.Since(start)
	want, err := strconv.ParseFloat(s.linear(), 64)
	if v.Outcome != presolve.Open {
		t.Logf("%v in %v", v, spent)
		if err == nil || s.linear() == "infeasible" && v.Outcome != presolve.Infeasible {
			t.Fatalf("presolve says %v, want %s", v, s.linear())
		}
		return
	}
	t.Logf("%d×%d/%d → %d×%d/%d in %v: %s", m.NumRows(), m.NumVars(), m.NumNonzeros(),
		r.Model.NumRows(), r.Model.NumVars(), r.Model.NumNonzeros(), spent, presolve.Applied(r))
	start = time.Now()
	stop, z, q, iterations := solveLinear(r.Model)
	t.Logf("solved in %v, %d iterations", time.Since(start), iterations)
	if err != nil {
		if stop == solve.Optimal {
			t.Fatalf("reduced model is optimal, want %s", s.linear())
		}
		return
	}
	if stop != solve.Optimal {
		t.Fatalf("reduced model ends %v", stop)
	}
	if math.Abs(z-want) > 1e-6*math.Max(1, math.Abs(want)) {
		t.Errorf("reduced optimum %.12g, want %.12g", z, want)
	}
	p := r.Postsolve(q)
	if err := presolve.CheckOptimal(m, p, 1e-6); err != nil {
		t.Errorf("taken back: %v", err)
	}
	stop, z, iterations = restart(m, p)
	if stop != solve.Optimal || math.Abs(z-want) > 1e-6*math.Max(1, math.Abs(want)) {
		t.Errorf("restarted from the basis taken back: %v, %.12g, want %.12g", stop, z, want)
	}
	if iterations > int64(3+m.NumRows()/100) {
		t.Errorf("the basis taken back needs %d more iterations", iterations)
	}
}
