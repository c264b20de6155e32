package lp

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"feedline/planner/solve"
	"feedline/planner/solve/solvetest"
)

// TestNetlibPermuted solves the reference models with rows, columns and units changed at random, straight by the simplex
// methods; the optimum must not change. FEEDLINE_LONG=1 takes all models and more changes.
func TestNetlibPermuted(t *testing.T) {
	dir := reference(t)
	most, times := 1500, 1
	if os.Getenv("FEEDLINE_LONG") != "" {
		most, times = math.MaxInt, 4
	}
	for _, e := range index(t, dir) {
		if !strings.HasPrefix(e.file, "netlib") {
			continue
		}
		m := readMPS(t, filepath.Join(dir, e.file))
		if m.NumNonzeros() > most {
			continue
		}
		for k := 0; k < times; k++ {
			r := rand.New(rand.NewPCG(uint64(k), 61))
			w, money := solvetest.Permuted(r, m, 2)
			s := NewSolver(w, solve.Options{Seed: uint64(k)})
			res := solve.Result{Stop: s.Solve(context.Background(), Limits{})}
			s.fill(&res)
			if err := solvetest.Check(w, &res); err != nil {
				t.Errorf("%s, change %d: %v: %v", e.file, k, res.Stop, err)
			}
			want, err := strconv.ParseFloat(e.optimum, 64)
			if err != nil {
				if res.Stop.String() != e.optimum {
					t.Errorf("%s, change %d: %v, want %s", e.file, k, res.Stop, e.optimum)
				}
				continue
			}
			if z := res.Objective / money; res.Stop != solve.Optimal || math.Abs(z-want) > 1e-7*math.Max(1, math.Abs(want)) {
				t.Errorf("%s, change %d: %v %.12g, want %.12g", e.file, k, res.Stop, z, want)
			}
		}
	}
}
