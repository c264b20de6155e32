package sheets

import (
	"bytes"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
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

// TestKilledWrite kills processes that overwrite files again and again, most of the time in the midst of it. What they
// leave must be whole at any moment.
func TestKilledWrite(t *testing.T) {
	if dst := os.Getenv("FEEDLINE_TEST_WRITE"); dst != "" {
		overwriteForever(t, dst)
	}
	if testing.Short() {
		t.Skip("starts and kills processes")
	}
	for _, name := range []string{"sheets", "book.xlsx"} {
		dst := filepath.Join(t.TempDir(), name)
		for range 6 {
			cmd := exec.Command(os.Args[0], "-test.run=^TestKilledWrite$")
			cmd.Env = append(os.Environ(), "FEEDLINE_TEST_WRITE="+dst)
			out, err := cmd.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			out.Read(make([]byte, 1)) // the third round has begun
			time.Sleep(time.Duration(rand.IntN(20)) * time.Millisecond)
			cmd.Process.Kill()
			cmd.Wait()
			intact(t, dst)
		}
		left, _ := os.ReadDir(filepath.Dir(dst))
		for _, e := range left {
			if e.Name() != name && inTheWay(e) {
				t.Errorf("left behind: %s", e.Name())
			}
		}
	}
}

const writtenBytes = 1 << 20

func overwriteForever(t *testing.T, dst string) {
	for i := 0; ; i++ {
		data := bytes.Repeat([]byte{byte('a' + i%26)}, writtenBytes)
		if i == 2 {
			os.Stdout.WriteString(".")
		}
		var err error
		if filepath.Ext(dst) == ".xlsx" {
			err = PutFile(dst, data, true)
		} else {
			err = PutFolder(dst, map[string][]byte{"one.csv": data, "two.csv": data}, true)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// intact asks for files of full length that hold one letter over and over: those of one write.
func intact(t *testing.T, dst string) {
	files := []string{dst}
	if filepath.Ext(dst) != ".xlsx" {
		files = []string{filepath.Join(dst, "one.csv"), filepath.Join(dst, "two.csv")}
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil || len(data) != writtenBytes || !bytes.Equal(data, bytes.Repeat(data[:1], writtenBytes)) {
			t.Errorf("%s after a kill: %d bytes, want %d of one letter; %v", f, len(data), writtenBytes, err)
		}
	}
}
