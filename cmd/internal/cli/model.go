package cli

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"feedline/planner"
)

// writeModel writes the planning model as free MPS.
func (a *app) writeModel(in *planner.Input, opt planner.Options, fl planFlags) error {
	m, err := planner.Model(in, opt)
	if err != nil {
		return err
	}
	if fl.mps == "-" {
		return m.WriteMPS(a.Out)
	}
	if err := writeFile(fl.mps, fl.force, m.WriteMPS); err != nil {
		return err
	}
	a.say("wrote %s", fl.mps)
	return nil
}

// writeFile writes a file whole or not at all: beside its place, synced, then renamed. It overwrites only with force.
func writeFile(path string, force bool, write func(io.Writer) error) error {
	if _, err := os.Stat(path); err == nil && !force {
		return badInput{fmt.Errorf("%s exists already", path), "choose another name or add --force"}
	}
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // of no effect once renamed
	w := bufio.NewWriter(f)
	for _, step := range []func() error{func() error { return write(w) }, w.Flush, f.Sync, f.Close} {
		if err := step(); err != nil {
			f.Close()
			return err
		}
	}
	if err := os.Chmod(f.Name(), 0o644); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
