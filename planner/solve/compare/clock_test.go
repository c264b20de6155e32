//go:build unix

package compare

import (
	"context"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/planner/model"
)

// wanted skips a measurement that was not asked for.
func wanted(t *testing.T) {
	t.Helper()
	if os.Getenv("FEEDLINE_COMPARE") == "" {
		t.Skip("set FEEDLINE_COMPARE=1 to measure")
	}
}

// spent is the processor time, in seconds, that this process has used.
func spent() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
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

// used runs a command and returns what it printed and its processor time in seconds.
func used(ctx context.Context, name string, args ...string) (string, float64) {
	c := exec.CommandContext(ctx, name, args...)
	out, _ := c.CombinedOutput()
	if c.ProcessState == nil {
		return string(out), math.NaN()
	}
	return string(out), (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds()
}

// cpuLimit is a context that ends when this process has used the given processor time from now on.
func cpuLimit(limit time.Duration) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(context.Background())
	end := spent() + limit.Seconds()
	go func() {
		for ctx.Err() == nil && spent() < end {
			time.Sleep(20 * time.Millisecond)
		}
		cancel()
	}()
	return ctx, cancel
}

// have skips when a program is not installed.
func have(t *testing.T, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("%s is not installed", name)
	}
}

// reference is the folder of public data sets that stands beside the project.
func reference(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("FEEDLINE_REFERENCE")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "..", "shared", "reference", "data")
	}
	if _, err := os.Stat(filepath.Join(dir, "index.tsv")); err != nil {
		t.Skipf("reference data not found: %v", err)
	}
	return dir
}

// published maps a file of the reference data to the optimum in its index; NaN where none is known.
func published(t *testing.T, dir string) map[string]float64 {
	b, err := os.ReadFile(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]float64{}
	for _, line := range strings.Split(string(b), "\n") {
		if f := strings.Split(line, "\t"); len(f) > 5 {
			v, err := strconv.ParseFloat(f[5], 64)
			if err != nil {
				v = math.NaN()
			}
			known[f[0]] = v
		}
	}
	return known
}

func readMPS(t *testing.T, path string) *model.Model {
	t.Helper()
	f, err := os.Open(path)
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

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol*math.Max(1, math.Abs(b)) }
