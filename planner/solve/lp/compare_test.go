//go:build unix

package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// spent is the processor time this process has used.
func spent() float64 {
	var u syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

// least is the smallest of n measurements.
func least(n int, measure func() float64) float64 {
	t := math.Inf(1)
	for range n {
		t = math.Min(t, measure())
	}
	return t
}

func oursSeconds(t *testing.T, m *model.Model) float64 {
	return least(5, func() float64 {
		before := spent()
		if r := Solve(context.Background(), m, solve.Options{}); r.Stop != solve.Optimal {
			t.Errorf("%s: %v", m.Name, r.Stop)
		}
		return spent() - before
	})
}

// glpsolSeconds is glpsol's processor time for reading and solving, less that for reading alone.
func glpsolSeconds(file string) float64 {
	used := func(args ...string) float64 {
		return least(3, func() float64 {
			c := exec.Command("glpsol", append(args, "--mps", file)...)
			_ = c.Run()
			return (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds()
		})
	}
	return used("--nomip") - used("--check")
}

var clpTime = regexp.MustCompile(` time ([0-9.]+)`)

// clpSeconds is the time that clp reports.
func clpSeconds(file string) float64 {
	return least(3, func() float64 {
		out, _ := exec.Command("clp", file, "-solve").Output()
		all := clpTime.FindAllStringSubmatch(string(out), -1)
		if len(all) == 0 {
			return math.NaN()
		}
		v, _ := strconv.ParseFloat(strings.TrimSuffix(all[len(all)-1][1], "."), 64)
		return v
	})
}

// TestAgainstOutsideSolvers measures processor time against glpsol and clp: the Netlib models, geometric mean of
// ratios, and plans of 5,000 and 10,000 rows. Only with FEEDLINE_COMPARE=1; times below a millisecond count as one.
func TestAgainstOutsideSolvers(t *testing.T) {
	if os.Getenv("FEEDLINE_COMPARE") == "" {
		t.Skip("set FEEDLINE_COMPARE=1 to measure")
	}
	dir := reference(t)
	files, _ := filepath.Glob(filepath.Join(dir, "netlib", "*.mps"))
	glpk, clp := 0.0, 0.0
	for _, f := range files {
		m := readMPS(t, f)
		a, b, c := math.Max(oursSeconds(t, m), 1e-3), math.Max(glpsolSeconds(f), 1e-3), math.Max(clpSeconds(f), 1e-3)
		t.Logf("%-14s %8.1f ms, glpsol %8.1f ms, clp %8.1f ms", filepath.Base(f), a*1e3, b*1e3, c*1e3)
		glpk += math.Log(a/b) / float64(len(files))
		clp += math.Log(a/c) / float64(len(files))
	}
	t.Logf("geometric mean of time ratios: glpsol %.2f, clp %.2f", math.Exp(glpk), math.Exp(clp))
	if math.Exp(glpk) > 1 || math.Exp(clp) > 1.5 {
		t.Error("slower than the limits 1.0 (glpsol) and 1.5 (clp)")
	}
	for _, size := range [][3]int{{10, 40, 38}, {12, 60, 52}} {
		comparePlan(t, lotSizing(1, size[0], size[1], size[2]))
	}
}

func comparePlan(t *testing.T, m *model.Model) {
	file := filepath.Join(t.TempDir(), "plan.mps")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.WriteMPSFixed(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	a, b, c := oursSeconds(t, m), glpsolSeconds(file), clpSeconds(file)
	t.Logf("%s, %d rows: %.1f ms, glpsol %.1f ms (%.3f), clp %.1f ms (%.2f)", m.Name, m.NumRows(), a*1e3, b*1e3, a/b, c*1e3, a/c)
	if a > b/10 || a > 3*c {
		t.Error("slower than a tenth of glpsol's time or three times clp's")
	}
	warm := warmSeconds(t, m)
	t.Logf("re-solve after one bound: median %.2f ms, 1/%.0f of the cold solve", warm*1e3, a/warm)
	if warm > a/20 {
		t.Error("slower than a twentieth of the cold solve")
	}
}

// warmSeconds is the median time of 100 re-solves, each after fixing one set-up.
func warmSeconds(t *testing.T, m *model.Model) float64 {
	s := NewSolver(m, solve.Options{})
	s.Solve(context.Background(), Limits{})
	r := rand.New(rand.NewPCG(2, 2))
	var times []float64
	for len(times) < 100 {
		j := model.Var(r.IntN(m.NumVars()))
		if !m.Integer[j] {
			continue
		}
		v := float64(r.IntN(2))
		s.SetBounds(j, v, v)
		start := time.Now()
		if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal {
			t.Fatal(stop)
		}
		times = append(times, time.Since(start).Seconds())
		s.SetBounds(j, 0, 1)
		s.Solve(context.Background(), Limits{})
	}
	slices.Sort(times)
	return times[50]
}
