package mip

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"

	"feedline/planner/model"
	"feedline/planner/solve"

	"pgregory.net/rapid"
)

// TestPublished solves small public models and compares with the optima in reference/data/index.tsv, which names
// each one's source. The default gap of 1e-6 is asked for.
func TestPublished(t *testing.T) {
	for _, name := range []string{
		"examples/issue_highs2432", "examples/tariff", "examples/food2", "examples/wwuc_cold_minup",
		"examples/wwuc_cold_nominup", "examples/redtomato_int", "examples/ww1958",
		"miplib/p0033", "miplib/flugpl", "miplib/gr4x6", "miplib/khb05250", "miplib/misc06",
		"lotsizing/rgn", "lotsizing/set1al", "lotsizing/trig_X11117A",
	} {
		t.Run(name, func(t *testing.T) {
			m := load(t, name+".mps")
			want, _ := published(t, name+".mps")
			r := Solve(context.Background(), m, Options{})
			if r.Stop != solve.Optimal || !r.Has {
				t.Fatalf("stopped with %v, has %v", r.Stop, r.Has)
			}
			if !near(r.Objective, want, 2e-6) {
				t.Errorf("objective %.10g, published %.10g", r.Objective, want)
			}
			checkResult(t, m, r)
		})
	}
}

// checkResult checks what every result must fulfil.
func checkResult(t interface{ Errorf(string, ...any) }, m *model.Model, r solve.Result) {
	if !r.Has {
		return
	}
	if v := Violation(m, r.X); v > 1e-6 {
		t.Errorf("violation %g", v)
	}
	if z := m.Objective(r.X); z != r.Objective {
		t.Errorf("objective %v, of the point %v", r.Objective, z)
	}
	if worse := r.Bound - r.Objective; !m.Maximize && worse > 0 || m.Maximize && worse < 0 {
		t.Errorf("bound %v is beyond the objective %v", r.Bound, r.Objective)
	}
}

// randomModel draws a model with up to 5 whole-number columns of few values and up to 3 continuous ones, coefficients small.
func randomModel(t *rapid.T) *model.Model {
	m := &model.Model{Maximize: rapid.Bool().Draw(t, "maximize"), Offset: float64(rapid.IntRange(-3, 3).Draw(t, "offset"))}
	ints, conts := rapid.IntRange(1, 5).Draw(t, "ints"), rapid.IntRange(0, 3).Draw(t, "conts")
	for range ints {
		lo := rapid.IntRange(-3, 2).Draw(t, "lo")
		m.AddInt("", float64(lo), float64(lo+rapid.IntRange(0, 3).Draw(t, "width")), float64(rapid.IntRange(-9, 9).Draw(t, "cost")))
	}
	for range conts {
		lo := float64(rapid.IntRange(-3, 2).Draw(t, "lo"))
		m.AddVar("", lo, lo+float64(rapid.IntRange(0, 20).Draw(t, "width"))/2, float64(rapid.IntRange(-9, 9).Draw(t, "cost")))
	}
	for range rapid.IntRange(1, 5).Draw(t, "rows") {
		var terms []model.Term
		for j := range ints + conts {
			if c := rapid.IntRange(-6, 6).Draw(t, "coef"); c != 0 && rapid.Bool().Draw(t, "in") {
				terms = append(terms, model.Term{Var: model.Var(j), Coef: float64(c)})
			}
		}
		lo, up := math.Inf(-1), math.Inf(1)
		side := float64(rapid.IntRange(-12, 12).Draw(t, "side"))
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			lo = side
		case 1:
			up = side
		case 2:
			lo, up = side, side
		default:
			lo, up = side, side+float64(rapid.IntRange(0, 6).Draw(t, "range"))
		}
		m.AddRow("", lo, up, terms...)
	}
	return m
}

// TestBruteForce compares with the enumeration of all whole-number values, the continuous columns solved by the
// simplex method for each.
func TestBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := randomModel(t)
		best, has := enumerate(m)
		r := Solve(context.Background(), m, Options{Options: solve.Options{Workers: 1}})
		if r.Has != has {
			t.Fatalf("has %v, enumeration says %v (stop %v)", r.Has, has, r.Stop)
		}
		if !has {
			if r.Stop != solve.Infeasible {
				t.Fatalf("stop %v", r.Stop)
			}
			return
		}
		if r.Stop != solve.Optimal || !near(r.Objective, best, 2e-6) {
			t.Fatalf("%v with %.10g (bound %.10g), enumeration says %.10g", r.Stop, r.Objective, r.Bound, best)
		}
		checkResult(t, m, r)
	})
}

// enumerate is the optimum over all whole-number values.
func enumerate(m *model.Model) (float64, bool) {
	s := newSearch(m, Options{})
	best, has := 0.0, false
	x := make([]float64, m.NumVars())
	var walk func(j int)
	walk = func(j int) {
		for j < len(x) && !m.Integer[j] {
			j++
		}
		if j == len(x) {
			if inc, what := s.fixAndSolve(context.Background(), x, &s.work); what == accepted {
				z := m.Objective(inc.x)
				if !has || (m.Maximize && z > best) || (!m.Maximize && z < best) {
					best, has = z, true
				}
			}
			return
		}
		for v := m.Lower[j]; v <= m.Upper[j]; v++ {
			x[j] = v
			walk(j + 1)
		}
	}
	walk(0)
	return best, has
}

// TestTenRuns runs the same work limit ten times, with one worker and with two in turn, and compares all that a result holds
// but the clock, byte by byte.
func TestTenRuns(t *testing.T) {
	for name, work := range map[string]int64{"miplib/bell5": 5_000_000, "miplib/stein27": 5_000_000, "miplib/flugpl": 0, "miplib/p0282": 0} {
		m := load(t, name+".mps")
		var first []byte
		for run := range 10 {
			r := Solve(context.Background(), m, Options{Options: solve.Options{Work: work, Gap: 1e-4, Workers: 1 + run%2}})
			r.Elapsed = 0
			got := []byte(fmt.Sprintf("%#v", r))
			if run == 0 {
				first = got
			} else if !bytes.Equal(got, first) {
				t.Fatalf("%s: run %d differs: %s\nfirst: %s", name, run, got, first)
			}
			if r.Nodes < 5 {
				t.Fatalf("%s: %d nodes are too few to tell", name, r.Nodes)
			}
		}
	}
}

// countdown is a context that ends at the n-th look at it: a cancellation at a moment that can be repeated.
type countdown struct {
	context.Context
	left atomic.Int64
	done chan struct{}
	once sync.Once
}

func newCountdown(n int64) *countdown {
	c := &countdown{Context: context.Background(), done: make(chan struct{})}
	c.left.Store(n)
	return c
}

func (c *countdown) Done() <-chan struct{} { return c.done }

func (c *countdown) Err() error {
	if c.left.Add(-1) < 0 {
		c.once.Do(func() { close(c.done) })
		return context.Canceled
	}
	return nil
}

// TestCancelledAnywhere ends searches at random moments: what is returned must hold, and the same model solves afterwards.
func TestCancelledAnywhere(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	cut := 0
	for _, name := range []string{"miplib/vpm2", "lotsizing/trig_F1", "miplib/p0282"} {
		m := load(t, name+".mps")
		want, _ := published(t, name+".mps")
		for range 12 {
			s := newSearch(m, Options{Options: solve.Options{Gap: 1e-4, Workers: 1}})
			ctx := newCountdown(int64(math.Exp(8 * r.Float64())))
			s.run(ctx)
			got := s.result(ctx)
			checkResult(t, m, got)
			if got.Bound > want*(1+1e-9) || got.Has && got.Objective < want*(1-2e-6) {
				t.Errorf("%s: objective %v, bound %v, published %v", name, got.Objective, got.Bound, want)
			}
			switch got.Stop {
			case solve.Cancelled:
				cut++
			case solve.Optimal, solve.GapReached:
			default:
				t.Errorf("%s: stop %v", name, got.Stop)
			}
		}
	}
	if cut < 12 {
		t.Errorf("only %d searches were cut short", cut)
	}
}

// TestCancelled stops at once with what it holds.
func TestCancelled(t *testing.T) {
	m := load(t, "lotsizing/trig_G53.mps")
	ctx, cancel := context.WithCancel(context.Background())
	opts := Options{}
	opts.Progress = func(p solve.Progress) {
		if p.Has {
			cancel()
		}
	}
	r := Solve(ctx, m, opts)
	if r.Stop != solve.Cancelled || !r.Has || math.IsInf(r.Bound, 0) || r.Bound > 74634*(1+1e-9) {
		t.Errorf("stop %v, has %v, bound %v", r.Stop, r.Has, r.Bound)
	}
	checkResult(t, m, r)
}

// TestUnbounded covers a model that improves without end.
func TestUnbounded(t *testing.T) {
	m := &model.Model{}
	x, y := m.AddInt("x", 0, math.Inf(1), -1), m.AddVar("y", 0, math.Inf(1), 0)
	m.AddRow("", 0, math.Inf(1), model.Term{Var: x, Coef: -1}, model.Term{Var: y, Coef: 1})
	r := Solve(context.Background(), m, Options{})
	if r.Stop != solve.Unbounded || r.Ray == nil {
		t.Errorf("stop %v, ray %v", r.Stop, r.Ray)
	}
}
