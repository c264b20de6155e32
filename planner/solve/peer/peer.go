// Package peer runs general-purpose solvers that are installed on the machine on a model of ours, to compare with:
// GLPK's glpsol, CBC, and HiGHS as SciPy has it. None of them is needed to plan.
package peer

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"

	"feedline/planner/model"
)

// Options limit a peer. The zero value solves to optimality.
type Options struct {
	Relax bool          // leave whole numbers aside
	Time  time.Duration // 0 = no limit
	Gap   float64       // relative
}

// Answer is what a peer printed. Missing numbers are NaN.
type Answer struct {
	Optimal   bool
	Objective float64
	Bound     float64
	Elapsed   time.Duration // of the whole process, reading included
	Log       string
}

// Solver is a peer found on this machine.
type Solver struct {
	Name string
	run  func(ctx context.Context, mps string, opt Options) (Answer, error)
}

// Names are the peers that are known.
var Names = []string{"glpsol", "cbc", "highs"}

// Find returns the peer of that name, or an error that says how to get it.
func Find(name string) (Solver, error) {
	known := map[string]struct {
		probe []string
		run   func(context.Context, string, Options) (Answer, error)
		get   string
	}{
		"glpsol": {[]string{"glpsol", "--version"}, glpsol, "glpk-utils"},
		"cbc":    {[]string{"cbc", "quit"}, cbc, "coinor-cbc"},
		"highs":  {[]string{python(), "-c", "from scipy.optimize import milp"}, highs, "python3-scipy"},
	}
	k, ok := known[name]
	if !ok {
		return Solver{}, fmt.Errorf("no solver %q is known, allowed: %s", name, strings.Join(Names, ", "))
	}
	if err := exec.Command(k.probe[0], k.probe[1:]...).Run(); err != nil {
		return Solver{}, fmt.Errorf("%s is not installed here; Debian has it in the package %s", name, k.get)
	}
	return Solver{name, k.run}, nil
}

// Solve writes m to a temporary file and lets the peer solve it. Objective and bound are in m's own sense.
func (s Solver) Solve(ctx context.Context, m *model.Model, opt Options) (Answer, error) {
	dir, err := os.MkdirTemp("", "peer")
	if err != nil {
		return Answer{}, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "model.mps")
	f, err := os.Create(path)
	if err != nil {
		return Answer{}, err
	}
	if err := m.WriteMPS(f); err != nil {
		f.Close()
		return Answer{}, err
	}
	if err := f.Close(); err != nil {
		return Answer{}, err
	}
	began := time.Now()
	a, err := s.run(ctx, path, opt)
	a.Elapsed = time.Since(began)
	return a, err
}

// python is the interpreter that has SciPy: the system's where there is one.
func python() string {
	if _, err := os.Stat("/usr/bin/python3"); err == nil {
		return "/usr/bin/python3"
	}
	return "python3"
}

// find returns the first group of the last match of pattern in text as a number, NaN if there is none.
func find(pattern, text string) float64 {
	hits := regexp.MustCompile(pattern).FindAllStringSubmatch(text, -1)
	if len(hits) == 0 {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(hits[len(hits)-1][1], 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

const number = `([-+]?[0-9.]+(?:e[-+]?[0-9]+)?)`

func glpsol(ctx context.Context, mps string, opt Options) (Answer, error) {
	out := mps + ".out"
	args := []string{"--freemps", mps, "-o", out}
	if opt.Relax {
		args = append(args, "--nomip")
	} else {
		args = append(args, "--mipgap", fmt.Sprint(opt.Gap))
	}
	if opt.Time > 0 {
		args = append(args, "--tmlim", fmt.Sprint(int(math.Ceil(opt.Time.Seconds()))))
	}
	log, err := exec.CommandContext(ctx, "glpsol", args...).CombinedOutput()
	a := Answer{Objective: math.NaN(), Bound: math.NaN(), Log: string(log)}
	if err != nil {
		return a, fmt.Errorf("glpsol: %w: %s", err, lastLine(log))
	}
	text, err := os.ReadFile(out)
	if err != nil {
		return a, fmt.Errorf("glpsol printed no solution: %s", lastLine(log))
	}
	a.Objective, a.Optimal = glpkSolution(string(text))
	if a.Optimal {
		a.Bound = a.Objective
	}
	return a, nil
}

// glpkSolution reads the head of a solution that glpsol wrote. Without one it writes an objective of 0, which is none: NaN.
func glpkSolution(text string) (objective float64, optimal bool) {
	status := ""
	if hit := regexp.MustCompile(`(?m)^Status: +(.*?) *$`).FindStringSubmatch(text); hit != nil {
		status = hit[1]
	}
	switch status {
	case "OPTIMAL", "INTEGER OPTIMAL":
		optimal = true
	case "FEASIBLE", "INTEGER NON-OPTIMAL":
	default:
		return math.NaN(), false
	}
	return find(`(?m)^Objective: .*= `+number, text), optimal
}

func cbc(ctx context.Context, mps string, opt Options) (Answer, error) {
	args := []string{mps, "threads", "1"}
	if opt.Time > 0 {
		args = append(args, "timemode", "elapsed", "seconds", fmt.Sprint(opt.Time.Seconds()))
	}
	if opt.Relax {
		args = append(args, "initialSolve", "quit")
	} else {
		args = append(args, "ratioGap", fmt.Sprint(opt.Gap), "solve", "quit")
	}
	log, err := exec.CommandContext(ctx, "cbc", args...).CombinedOutput()
	text := string(log)
	a := Answer{Objective: math.NaN(), Bound: math.NaN(), Log: text}
	if err != nil {
		return a, fmt.Errorf("cbc: %w: %s", err, lastLine(log))
	}
	if strings.Contains(text, "errors on input") {
		return a, fmt.Errorf("cbc could not read the model: %s", lastLine(log))
	}
	if opt.Relax {
		a.Objective = find(`Optimal (?:- )?objective (?:value )?`+number, text)
		a.Bound, a.Optimal = a.Objective, !math.IsNaN(a.Objective)
		return a, nil
	}
	a.Objective = find(`Objective value: +`+number, text)
	a.Bound = find(`Lower bound: +`+number, text)
	if strings.Contains(text, "Optimal solution found") {
		a.Optimal = true
		if math.IsNaN(a.Bound) {
			a.Bound = a.Objective
		}
	}
	return a, nil
}

//go:embed highs.py
var script []byte

func highs(ctx context.Context, mps string, opt Options) (Answer, error) {
	relax := "0"
	if opt.Relax {
		relax = "1"
	}
	py := mps + ".py"
	if err := os.WriteFile(py, script, 0o600); err != nil {
		return Answer{}, err
	}
	log, err := exec.CommandContext(ctx, python(), py, mps, relax, fmt.Sprint(opt.Time.Seconds()), fmt.Sprint(opt.Gap)).CombinedOutput()
	a := Answer{Objective: math.NaN(), Bound: math.NaN(), Log: string(log)}
	if err != nil {
		return a, fmt.Errorf("highs: %w: %s", err, lastLine(log))
	}
	var said struct {
		Optimal          bool
		Objective, Bound *float64
	}
	if err := json.Unmarshal([]byte(lastLine(log)), &said); err != nil {
		return a, fmt.Errorf("highs: %w: %s", err, lastLine(log))
	}
	a.Optimal = said.Optimal
	if said.Objective != nil {
		a.Objective = *said.Objective
	}
	if said.Bound != nil {
		a.Bound = *said.Bound
	}
	return a, nil
}

func lastLine(log []byte) string {
	lines := strings.Split(strings.TrimSpace(string(log)), "\n")
	return lines[len(lines)-1]
}
