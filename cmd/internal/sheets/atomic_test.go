package sheets

import (
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"feedline/cmd/internal/demo"
	"feedline/inventory/quantity"
)

func TestWriteRefusesToOverwrite(t *testing.T) {
	in := demo.Input(start)
	for _, name := range []string{"sheets", "book.xlsx"} {
		dst := filepath.Join(t.TempDir(), name)
		if err := Write(dst, in, WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		err := Write(dst, in, WriteOptions{})
		var e *ExistsError
		if !errors.As(err, &e) || !errors.Is(err, fs.ErrExist) {
			t.Errorf("%s: %v", name, err)
		}
		if err := Write(dst, in, WriteOptions{Force: true, Units: quantity.US}); err != nil {
			t.Errorf("%s with force: %v", name, err)
		}
		if got, err := os.ReadDir(filepath.Dir(dst)); err != nil || len(got) != 1 {
			t.Errorf("%s: left beside it: %v %v", name, got, err)
		}
	}
}

func TestWriteLeavesOtherFilesAlone(t *testing.T) {
	dir := t.TempDir()
	mine := filepath.Join(dir, "notes.txt")
	os.WriteFile(mine, []byte("mine"), 0o644)
	if err := Write(dir, demo.Input(start), WriteOptions{Force: true}); err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(mine); err != nil || string(b) != "mine" {
		t.Errorf("%q, %v", b, err)
	}
	if err := Write(filepath.Join(dir, "x.csv"), demo.Input(start), WriteOptions{}); err == nil {
		t.Error("a lone .csv was written")
	}
	if err := Write(filepath.Join(dir, "no", "such", "folder"), demo.Input(start), WriteOptions{}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a folder in a folder that is not there: %v", err)
	}
}

// TestKilledWrite kills processes that overwrite sheets again and again. What they leave must be whole at any moment.
func TestKilledWrite(t *testing.T) {
	if dst := os.Getenv("FEEDLINE_TEST_WRITE"); dst != "" {
		for in := demo.Input(start); ; {
			if err := Write(dst, in, WriteOptions{Force: true}); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, name := range []string{"sheets", "book.xlsx"} {
		dst := filepath.Join(t.TempDir(), name)
		if err := Write(dst, demo.Input(start), WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		for i := range 8 {
			cmd := exec.Command(os.Args[0], "-test.run=^TestKilledWrite$")
			cmd.Env = append(os.Environ(), "FEEDLINE_TEST_WRITE="+dst)
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			time.Sleep(time.Duration(40+17*i) * time.Millisecond) // wherever it happens to be
			cmd.Process.Kill()
			cmd.Wait()
			if _, _, err := Read(dst, nil, ReadOptions{Today: start}); err != nil {
				t.Fatalf("%s after a kill: %v", name, err)
			}
		}
		left, _ := os.ReadDir(filepath.Dir(dst))
		for _, e := range left {
			if e.Name() != name && !strings.HasPrefix(e.Name(), ".feedline-") {
				t.Errorf("left behind: %s", e.Name())
			}
		}
	}
}
