package main

import (
	"errors"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"feedline": main})
}

// TestScripts runs the command-line scripts of testdata/script.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/script",
		RequireExplicitExec: true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
		Setup: func(e *testscript.Env) error {
			e.Setenv("NO_COLOR", "1")
			e.Setenv("USER", "scheduler")
			e.Setenv("LANG", "C.UTF-8")
			return nil
		},
	})
}

// exits runs a program and asserts its exit code: exits CODE PROGRAM ARG… Its output is for stdout and stderr to match.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM [ARG…]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("%s ended with exit code %d, want %d", args[1], got, want)
	}
}
