package lp

import (
	"compress/gzip"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"
)

// moveSides changes the sides of some equality rows of m by a few per cent, and tells set of each.
func moveSides(r *rand.Rand, m *model.Model, set func(row model.Row, side float64)) {
	for i := range m.RowLower {
		if m.RowLower[i] == m.RowUpper[i] && m.RowLower[i] != 0 && r.IntN(2) == 0 {
			side := m.RowLower[i] * (0.95 + 0.1*r.Float64())
			m.RowLower[i], m.RowUpper[i] = side, side
			set(model.Row(i), side)
		}
	}
}

// TestExtract solves a plan for other right-hand sides in a part that misses some rows and columns that matter, takes the basis to the whole program
// and holds the optimum against that of a cold solve.
func TestExtract(t *testing.T) {
	ctx := context.Background()
	m := lotSizing(1, 4, 12, 30)
	first := NewSolver(m, solve.Options{})
	if stop := first.Solve(ctx, Limits{}); stop != solve.Optimal {
		t.Fatal(stop)
	}
	binds, moves := make([]bool, m.NumRows()), make([]bool, m.NumVars())
	first.Place().Mark(binds, moves)
	var rows []model.Row
	var cols []model.Var
	for i, is := range binds {
		if is || m.RowLower[i] == m.RowUpper[i] {
			rows = append(rows, model.Row(i))
		}
	}
	for j, is := range moves {
		if is || math.IsInf(m.Upper[j], 1) {
			cols = append(cols, model.Var(j))
		}
	}
	if len(rows) == m.NumRows() || len(cols) == m.NumVars() {
		t.Fatalf("nothing is left out: %d rows, %d columns", len(rows), len(cols))
	}
	x := NewSolver(m, solve.Options{}).Extract(rows, cols)
	part, whole := x.Solver(solve.Options{}), NewSolver(m, solve.Options{})
	at, ok := x.Part(first.Place())
	if !ok {
		t.Fatal("the place that the part was made from is not in it")
	}
	r := rand.New(rand.NewPCG(1, 2))
	inPart, after := int64(0), int64(0)
	for range 20 {
		moveSides(r, m, func(row model.Row, side float64) {
			whole.SetRowBounds(row, side, side)
			if to, ok := x.Row(row); ok {
				part.SetRowBounds(to, side, side)
			}
		})
		part.Return(at)
		n := part.Iterations()
		if stop := part.Solve(ctx, Limits{}); stop != solve.Optimal {
			t.Fatalf("the part: %s", stop)
		}
		inPart += part.Iterations() - n
		whole.Return(x.Whole(part.Place()))
		checkWeights(t, whole, x)
		n = whole.Iterations()
		if stop := whole.Solve(ctx, Limits{}); stop != solve.Optimal {
			t.Fatalf("the whole: %s", stop)
		}
		after += whole.Iterations() - n
		cold := Solve(ctx, m, solve.Options{})
		if d := math.Abs(cold.Objective - whole.Objective()); !(d <= 1e-7*math.Abs(cold.Objective)) {
			t.Errorf("objective %.9g, cold %.9g", whole.Objective(), cold.Objective)
		}
	}
	if after == 0 || inPart < after {
		t.Errorf("%d iterations in the part and %d after: the case must need both", inPart, after)
	}
	if _, ok := x.Part(whole.Place()); ok {
		t.Error("a place with rows or columns outside counts as in the part")
	}
}

// checkWeights holds the steepest edge weights of the part's rows against the norms of rows of B⁻¹, computed anew.
func checkWeights(t *testing.T, s *Solver, x *Extract) {
	t.Helper()
	s.ready()
	for p, v := range s.head {
		if int(v) >= s.n && x.rowTo[int(v)-s.n] < 0 {
			continue
		}
		s.btranRho(int32(p))
		if want := s.rho.Norm2(); s.w[p] > want*1.5+weightFloor || s.w[p] < want/1.5-weightFloor {
			t.Fatalf("weight %.6g of position %d, want %.6g", s.w[p], p, want)
		}
	}
	s.rho.Clear()
}

// TestFlipsEnd solves the program of a plant's week-by-week plan, very degenerate, on which the dual method and the repair of reduced costs took turns: each
// put boxed variables on the other side and found costs to shift again. Optimum by CLP 1.17.6 and glpsol 5.0: 2,018,410.053.
func TestFlipsEnd(t *testing.T) {
	f, err := os.Open("testdata/flips.mps.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	m, err := model.ReadMPS(z)
	if err != nil {
		t.Fatal(err)
	}
	s := NewSolver(m, solve.Options{})
	if stop := s.Solve(context.Background(), Limits{}); stop != solve.Optimal || math.Abs(s.Objective()-2018410.053) > 1e-3 {
		t.Errorf("without presolve: %s, objective %.3f, want 2018410.053", stop, s.Objective())
	}
	if r := Solve(context.Background(), m, solve.Options{}); r.Stop != solve.Optimal || math.Abs(r.Objective-2018410.053) > 1e-3 {
		t.Errorf("with presolve: %s, objective %.3f, want 2018410.053", r.Stop, r.Objective)
	}
}
