package csv

import (
	"bytes"
	"encoding/csv"
	"maps"
	"slices"
	"strings"
	"testing"

	"feedline/cmd/internal/report/reporttest"
	"feedline/cmd/internal/report/view"
)

func TestFiles(t *testing.T) {
	in, p := reporttest.Full()
	var b strings.Builder
	files := Files(in, p, Options{})
	for _, name := range slices.Sorted(maps.Keys(files)) {
		b.WriteString("-- " + name + "\n" + strings.ReplaceAll(strings.TrimPrefix(string(files[name]), mark), "\r\n", "\n"))
	}
	reporttest.Golden(t, "files.txt", b.String())
}

// TestInert: every file can be read back, is as wide as its heads, and has no cell that a spreadsheet would take for a formula,
// whatever names and figures the plan has.
func TestInert(t *testing.T) {
	check := func(name string, files map[string][]byte) {
		for file, data := range files {
			rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte(mark)))).ReadAll()
			if err != nil {
				t.Fatalf("%s %s: %v", name, file, err)
			}
			for _, r := range rows[1:] {
				for i, cell := range r {
					if s := strings.TrimSpace(cell); s != "" && strings.ContainsAny(s[:1], "=+@") || strings.ContainsAny(cell, "\r\n\x1b\x00") {
						t.Errorf("%s %s: cell %q", name, file, cell)
					}
					if strings.Contains(cell, "NaN") || strings.Contains(cell, "Inf") {
						t.Errorf("%s %s: %s is %q", name, file, rows[0][i], cell)
					}
				}
			}
		}
	}
	in, p := reporttest.Hostile()
	check("hostile", Files(in, p, Options{}))
	for _, x := range reporttest.OddFigures {
		in, p := reporttest.Odd(x)
		check("odd", Files(in, p, view.Options{}))
	}
}
