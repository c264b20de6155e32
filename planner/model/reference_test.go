package model

import (
	"bufio"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// skip ends the test with a word, or fails it in CI, where everything has to be present.
func skip(t *testing.T, why string) {
	t.Helper()
	if os.Getenv("FEEDLINE_CI") == "1" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// referenceDir is the folder of the public data sets: $FEEDLINE_REFERENCE, or shared/reference/data beside the project.
func referenceDir(t *testing.T) string {
	t.Helper()
	if dir := os.Getenv("FEEDLINE_REFERENCE"); dir != "" {
		return dir
	}
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		data := filepath.Join(dir, "shared", "reference", "data")
		if _, err := os.Stat(filepath.Join(data, "index.tsv")); err == nil {
			return data
		}
		up := filepath.Dir(dir)
		if up == dir {
			skip(t, "the reference data set is absent")
		}
		dir = up
	}
}

// indexed is a line of index.tsv.
type indexed struct {
	file                        string
	rows, cols, nonzeros, whole int
}

func readIndex(t *testing.T, dir string) []indexed {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var list []indexed
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		c := strings.Split(sc.Text(), "\t")
		if c[0] == "file" {
			continue
		}
		n := [4]int{}
		for i := range n {
			if n[i], err = strconv.Atoi(c[1+i]); err != nil {
				t.Fatalf("index.tsv: %q: %v", sc.Text(), err)
			}
		}
		list = append(list, indexed{c[0], n[0], n[1], n[2], n[3]})
	}
	return list
}

func readFile(t *testing.T, path string) *Model {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := ReadMPS(f)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return m
}

// Every public file has the size that the set's index states (sources per file in index.tsv: Netlib, MIPLIB 2, 3 and
// 2017, CSPLib 058, Trigeiro et al.; counts verified there with glpsol, CBC and HiGHS).
func TestReferenceSizes(t *testing.T) {
	dir := referenceDir(t)
	list := readIndex(t, dir)
	if len(list) < 100 {
		t.Fatalf("index.tsv lists %d files, more than 100 expected", len(list))
	}
	for _, want := range list {
		m := readFile(t, filepath.Join(dir, filepath.FromSlash(want.file)))
		got := indexed{want.file, m.NumRows(), m.NumVars(), m.NumNonzeros(), m.NumIntegers()}
		if got != want {
			t.Errorf("%s: rows, columns, nonzeros, integers %v, want %v", want.file, got, want)
		}
		if err := m.Validate(); err != nil {
			t.Errorf("%s: %v", want.file, err)
		}
	}
}
