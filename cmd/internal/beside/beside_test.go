package beside

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv("FEEDLINE_BESIDE_CHILD"); dir != "" {
		f, err := Create(filepath.Join(dir, "plant.book"))
		if err != nil {
			os.Exit(1)
		}
		if _, err := Mkdir(dir); err != nil {
			os.Exit(1)
		}
		_, _ = os.Stdout.WriteString(f.Name() + "\n")
		time.Sleep(time.Hour)
	}
	os.Exit(m.Run())
}

// TestSweep: what a killed process left is taken out; what a process that lives is at work on, and files of others, stay.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), "FEEDLINE_BESIDE_CHILD="+dir)
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	line := make([]byte, 1)
	if _, err := out.Read(line); err != nil {
		t.Fatal(err)
	}
	mine, err := Create(filepath.Join(dir, "other"))
	if err != nil {
		t.Fatal(err)
	}
	mine.Close()
	for _, name := range []string{".feedline-0123456789ab-1-x.tmp", ".feedline-old.tmp", ".feedline-new.tmp", "feedline.tmp", ".feedline-sheet.csv"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	long := time.Now().Add(-2 * Age)
	if err := os.Chtimes(filepath.Join(dir, ".feedline-old.tmp"), long, long); err != nil {
		t.Fatal(err)
	}
	if gone := Sweep(dir, time.Now()); !slices.Equal(gone, []string{".feedline-old.tmp"}) {
		t.Errorf("while the process lives %q are taken out, want the one of two days ago", gone)
	}
	if err := c.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = c.Wait() // it was killed
	if gone := Sweep(dir, time.Now()); len(gone) != 2 || !strings.HasPrefix(gone[0], Prefix+system()) || gone[0] == filepath.Base(mine.Name()) {
		t.Errorf("after the kill %q are taken out, want the process's file and folder", gone)
	}
	if list, _ := os.ReadDir(dir); len(list) != 5 {
		t.Errorf("%d files are left, want 5: %v", len(list), list)
	}
}

func TestWrite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x")
	for _, private := range []bool{false, true} {
		if err := Write(path, []byte("text"), private); err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if open := info.Mode().Perm()&0o044 != 0; open == private {
			t.Errorf("private %v: mode %v", private, info.Mode())
		}
	}
	if list, _ := os.ReadDir(filepath.Dir(path)); len(list) != 1 {
		t.Errorf("%v is left beside", list)
	}
}
