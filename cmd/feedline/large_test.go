//go:build linux

package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// mostMemory is what a command may take for a file that is too large, bytes.
const mostMemory = 1 << 30

// largeWorkbook is a workbook with a sheet of a million rows.
func largeWorkbook(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z := zip.NewWriter(f)
	part := func(name string, write func(io.Writer)) {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		b := bufio.NewWriter(w)
		write(b)
		if err := b.Flush(); err != nil {
			t.Fatal(err)
		}
	}
	text := func(s string) func(io.Writer) { return func(w io.Writer) { io.WriteString(w, s) } }
	part("[Content_Types].xml", text(`<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`))
	part("_rels/.rels", text(`<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`))
	part("xl/workbook.xml", text(`<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="orders" sheetId="1" r:id="r1"/></sheets></workbook>`))
	part("xl/_rels/workbook.xml.rels", text(`<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`))
	part("xl/worksheets/sheet1.xml", func(w io.Writer) {
		io.WriteString(w, `<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`)
		for r := 1; r <= 1_000_000; r++ {
			fmt.Fprintf(w, `<row r="%d"><c r="A%d"><v>%d</v></c><c r="B%d"><v>1</v></c></row>`, r, r, r, r)
		}
		io.WriteString(w, `</sheetData></worksheet>`)
	})
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
}

// bomb is a workbook of 1 MB with a part that unpacks to 1 GB of blanks.
func bomb(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z := zip.NewWriter(f)
	w, err := z.Create("xl/worksheets/sheet1.xml")
	if err != nil {
		t.Fatal(err)
	}
	blank := bytes.Repeat([]byte{' '}, 1<<20)
	for range 1 << 10 {
		if _, err := w.Write(blank); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
}

// endless is a model in good order of 1 GB, of which the reader takes as much as it will.
type endless struct {
	rest  []byte
	n     int
	given int64
}

func (e *endless) Read(b []byte) (int, error) {
	if e.given >= 1<<30 {
		return 0, io.EOF
	}
	if e.n == 0 {
		e.rest = []byte("NAME m\nROWS\n N cost\n L r1\n L r2\nCOLUMNS\n")
	}
	for len(e.rest) < len(b) {
		e.n++
		e.rest = fmt.Appendf(e.rest, " c%d cost %d.25 r1 1.5\n c%d r2 %d.125\n", e.n, e.n%977, e.n, e.n%31)
	}
	n := copy(b, e.rest)
	e.rest, e.given = append(e.rest[:0], e.rest[n:]...), e.given+int64(n)
	return n, nil
}

// Files beyond all measure are refused in words, with little memory: a CSV file and models of 1 GB, a workbook of a million rows, one that
// unpacks to 1 GB.
func TestLargeFilesAreRefused(t *testing.T) {
	if testing.Short() {
		t.Skip("writes a workbook of a million rows")
	}
	dir := t.TempDir()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(dir, "feedline")
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"orders.csv", "model.mps"} { // sparse: it takes no room
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Truncate(filepath.Join(dir, name), 1<<30); err != nil {
			t.Fatal(err)
		}
	}
	largeWorkbook(t, filepath.Join(dir, "plant.xlsx"))
	bomb(t, filepath.Join(dir, "bomb.xlsx"))
	run := func(args ...string) (string, *os.ProcessState) {
		c := exec.Command(program, args...)
		c.Dir = dir
		c.Env = append(os.Environ(), "FEEDLINE_BOOK=plant.book", "NO_COLOR=1")
		var out bytes.Buffer
		c.Stdout, c.Stderr = &out, &out
		if args[len(args)-1] == "/dev/stdin" {
			c.Stdin = &endless{}
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		stop := time.AfterFunc(5*time.Minute, func() { _ = c.Process.Kill() }) // a hang, not a slow machine
		defer stop.Stop()
		_ = c.Wait() // its state says how it ended
		return out.String(), c.ProcessState
	}
	if out, state := run("init"); !state.Success() {
		t.Fatal(out)
	}
	for _, x := range []struct{ args, word string }{
		{"import orders.csv", "is larger than 64 MB"},
		{"import plant.xlsx", "has more than 50000 rows"},
		{"import bomb.xlsx", "unpacks to more than 256 MB"},
		{"solve model.mps", "model.mps"},
		{"solve /dev/stdin", "a file of more than 256 MB"},
	} {
		out, state := run(strings.Fields(x.args)...)
		memory := state.SysUsage().(*syscall.Rusage).Maxrss << 10
		if state.ExitCode() != 2 || !strings.Contains(out, x.word) || strings.Contains(out, "goroutine ") || memory > mostMemory {
			t.Errorf("%s: exit code %d, %d MB of memory, said %.500s", x.args, state.ExitCode(), memory>>20, out)
		}
		t.Logf("%s: %d MB of memory; %s", x.args, memory>>20, strings.SplitN(out, "\n", 2)[0])
	}
}
