package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"github.com/spf13/cobra"

	"feedline/planner/model"
	"feedline/planner/solve"
	"feedline/planner/solve/certify"
	"feedline/planner/solve/lp"
	"feedline/planner/solve/mip"
)

// solveSchema names the JSON that solve prints; fields are only ever added to it.
const solveSchema = "feedline.solve/1"

type solveFlags struct {
	json, relax, certify, solution bool
	time                           time.Duration
	work                           int64
	gap                            string
}

func (a *app) solve() *cobra.Command {
	var fl solveFlags
	c := &cobra.Command{
		Use:   "solve MODEL.mps",
		Short: "Solve any linear or mixed-integer model in MPS format",
		Long: `solve reads a model in free or fixed MPS format (- reads stdin), solves it with
the built-in solver and prints why it stopped, what it holds and how good that
is. --certify checks the answer again in exact rational arithmetic.`,
		Example: "  feedline solve plan.mps --time 60s --gap 1%\n  feedline plan --mps - | feedline solve - --relax",
		Args:    cobra.ExactArgs(1),
		RunE:    func(c *cobra.Command, args []string) error { return a.runSolve(c.Context(), c, args[0], fl) },
	}
	f := c.Flags()
	f.BoolVar(&fl.json, "json", false, "print the result as JSON, schema "+solveSchema)
	f.BoolVar(&fl.relax, "relax", false, "leave whole numbers aside: the linear relaxation")
	f.BoolVar(&fl.certify, "certify", false, "check bound and solution in exact arithmetic")
	f.BoolVar(&fl.solution, "solution", false, "print the columns that are not zero")
	f.DurationVar(&fl.time, "time", 0, "longest search (default no limit)")
	f.Int64Var(&fl.work, "work", 0, "limit in work units, for a result that does not depend on the machine")
	f.StringVar(&fl.gap, "gap", "0.01%", "stop once proven this close to the best")
	return c
}

func (a *app) runSolve(ctx context.Context, c *cobra.Command, path string, fl solveFlags) error {
	gap, err := parseGap(fl.gap)
	if err != nil {
		return usage(c, err)
	}
	if fl.time < 0 || fl.work < 0 {
		return usage(c, errors.New("--time and --work must not be negative"))
	}
	m, err := a.readModel(path)
	if err != nil {
		return err
	}
	if fl.relax {
		m = m.Relaxation()
	}
	show, clearLine := a.progress()
	opt := solve.Options{Time: fl.time, Work: fl.work, Gap: gap, Progress: show}
	var res solve.Result
	if m.NumIntegers() == 0 {
		res = lp.Solve(ctx, m, opt)
	} else {
		res = mip.Solve(ctx, m, mip.Options{Options: opt})
	}
	clearLine()
	return a.printSolve(ctx, m, res, fl)
}

// readModel reads and validates the MPS model at path, or on stdin for "-".
func (a *app) readModel(path string) (*model.Model, error) {
	in := io.NopCloser(a.In)
	if path != "-" {
		if info, err := os.Stat(path); err == nil && info.IsDir() {
			return nil, badInput{fmt.Errorf("%s is a folder", path), "name an MPS file in it"}
		}
		f, err := os.Open(path)
		if err != nil {
			return nil, err
		}
		in = f
	}
	defer in.Close()
	m, err := model.ReadMPSWith(in, model.ReadOptions{MaxBytes: mostModel})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if err := m.Validate(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return m, nil
}

// solveReport is the document that solve prints as JSON. Null stands for a value that there is none of.
type solveReport struct {
	Schema      string              `json:"schema"`
	Name        string              `json:"name"`
	Maximize    bool                `json:"maximize"`
	Rows        int                 `json:"rows"`
	Columns     int                 `json:"columns"`
	Nonzeros    int                 `json:"nonzeros"`
	Integers    int                 `json:"integers"`
	Stop        string              `json:"stop"`
	HasSolution bool                `json:"has_solution"`
	Objective   *float64            `json:"objective"`
	Bound       *float64            `json:"bound"`
	Gap         *float64            `json:"gap"`
	Iterations  int64               `json:"iterations"`
	Nodes       int64               `json:"nodes"`
	Work        int64               `json:"work"`
	Seconds     float64             `json:"seconds"`
	Residuals   residuals           `json:"residuals"`
	Recomputed  *float64            `json:"recomputed_bound"`   // from the duals and the model alone, to the safe side; null without duals
	Problems    []string            `json:"problems,omitempty"` // what the check of the answer found wrong
	Exact       *exactReport        `json:"exact,omitempty"`
	Solution    map[string]*float64 `json:"solution,omitempty"`
}

// residuals are the largest violations of the original model.
type residuals struct {
	Row     *float64 `json:"row"`
	Bound   *float64 `json:"bound"`
	Integer *float64 `json:"integer"`
	Dual    *float64 `json:"dual"` // wrong-signed duals and reduced costs; null where there are none
}

// exactReport is what --certify found.
type exactReport struct {
	Proven   bool     `json:"proven"`
	Bound    *float64 `json:"bound"`
	Feasible bool     `json:"feasible"`
	Exactly  bool     `json:"exactly"`  // the solution violates nothing at all, its continuous columns solved for in rationals
	BoundOf  string   `json:"bound_of"` // what the search's bound rests on: "exact proof" or "floating-point branch and bound"
	Nodes    int      `json:"nodes"`    // of the tree of the exact proof, 0 for linear programs
	Words    string   `json:"words"`
}

// certifyNodes is the size of the tree by which --certify proves a bound over whole numbers.
const certifyNodes = 5000

// finite is x, or nil for what JSON can't hold.
func finite(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}

func newSolveReport(m *model.Model, res solve.Result) solveReport {
	r := solveReport{Schema: solveSchema, Name: m.Name, Maximize: m.Maximize, Rows: m.NumRows(), Columns: m.NumVars(), Nonzeros: m.NumNonzeros(), Integers: m.NumIntegers(),
		Stop: res.Stop.String(), HasSolution: res.Has, Bound: finite(res.Bound), Gap: finite(res.Gap()), Iterations: res.Iterations, Nodes: res.Nodes, Work: res.Work, Seconds: res.Elapsed.Seconds()}
	if res.Has {
		r.Objective = finite(res.Objective)
	}
	if res.Stop == solve.Infeasible { // what was proven on the way bounds nothing
		r.Bound, r.Gap = nil, nil
	}
	return r
}

// newExactReport checks res exactly: a linear program by its duals and basis, one over whole numbers by a tree of its own.
func newExactReport(ctx context.Context, m *model.Model, res solve.Result) *exactReport {
	var e exactReport
	if m.NumIntegers() == 0 {
		c := certify.Exact(m, res)
		e = exactReport{Proven: c.Proven, Feasible: c.Feasible, Exactly: c.Exactly, Words: c.Words}
		if c.HasBound {
			e.Bound = finite(c.Bound)
		}
	} else {
		c := mip.Certify(ctx, m, res, certifyNodes)
		e = exactReport{Proven: c.Proven, Feasible: c.Feasible, Exactly: c.Exactly, Nodes: c.Nodes, Words: c.Words}
		if c.HasBound {
			e.Bound = finite(c.Bound)
		}
	}
	switch {
	case e.Proven:
		e.BoundOf = "exact proof"
	case m.NumIntegers() == 0:
		e.BoundOf = "floating-point simplex"
	default:
		e.BoundOf = "floating-point branch and bound"
	}
	return &e
}

// addChecks adds the residuals of the answer against the model and, if asked, what exact arithmetic proves of it.
func (r *solveReport) addChecks(ctx context.Context, m *model.Model, res solve.Result, exact bool) {
	if res.Has {
		c := certify.Check(m, res)
		r.Residuals = residuals{finite(c.Row.Size), finite(c.Bound.Size), finite(c.Integer.Size), nil}
		if c.HasY {
			r.Residuals.Dual = finite(c.Dual.Size)
		}
		if c.HasBound {
			r.Recomputed = finite(c.ProvenBound)
		}
		r.Problems = c.Problems
	}
	if exact {
		r.Exact = newExactReport(ctx, m, res)
	}
}

func (r solveReport) print(w io.Writer) {
	number := func(x *float64) string {
		if x == nil {
			return "none"
		}
		return fmt.Sprintf("%.10g", *x)
	}
	fmt.Fprintf(w, "model       %s: %d rows, %d columns, %d nonzeros, %d integers\n", r.Name, r.Rows, r.Columns, r.Nonzeros, r.Integers)
	fmt.Fprintf(w, "stopped     %s\nobjective   %s\nbound       %s\n", r.Stop, number(r.Objective), number(r.Bound))
	if r.Gap != nil {
		fmt.Fprintf(w, "gap         %.4f %%\n", 100**r.Gap)
	}
	fmt.Fprintf(w, "iterations  %d\nnodes       %d\nseconds     %.3f\n", r.Iterations, r.Nodes, r.Seconds)
	if r.HasSolution {
		fmt.Fprintf(w, "violation   rows %s, bounds %s, whole numbers %s\n", number(r.Residuals.Row), number(r.Residuals.Bound), number(r.Residuals.Integer))
	}
	if r.Residuals.Dual != nil {
		fmt.Fprintf(w, "duals       violation %s, bound recomputed from them %s\n", number(r.Residuals.Dual), number(r.Recomputed))
	}
	if r.Exact != nil {
		fmt.Fprintf(w, "certified   %s\nbound from  %s\nexact       %s\n", number(r.Exact.Bound), r.Exact.BoundOf, r.Exact.Words)
	}
	for _, p := range r.Problems {
		fmt.Fprintf(w, "problem     %s\n", p)
	}
}

func (a *app) printSolve(ctx context.Context, m *model.Model, res solve.Result, fl solveFlags) error {
	r := newSolveReport(m, res)
	r.addChecks(ctx, m, res, fl.certify)
	if fl.solution && res.Has {
		r.Solution = map[string]*float64{}
		for j, x := range res.X {
			if x != 0 {
				r.Solution[m.NameOfVar(model.Var(j))] = finite(x)
			}
		}
	}
	if fl.json {
		enc := json.NewEncoder(a.Out)
		enc.SetIndent("", "  ")
		return enc.Encode(r)
	}
	r.print(a.Out)
	if fl.solution && res.Has {
		for j, x := range res.X {
			if x != 0 {
				fmt.Fprintf(a.Out, "%-24s %.10g\n", m.NameOfVar(model.Var(j)), x)
			}
		}
	}
	return nil
}

// mostModel is the largest model that is read, bytes: reading takes some three times as much memory.
const mostModel = 256 << 20
