package lp

import (
	"os"
	"testing"

	"feedline/planner/model"
)

func readMPS(t testing.TB, file string) *model.Model {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := model.ReadMPS(f)
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return m
}
