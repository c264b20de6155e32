package cli

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"
)

// TestReadmePlantIsTested holds the plant that README.md has its reader type against the one that the walk-through imports.
func TestReadmePlantIsTested(t *testing.T) {
	readme, err := os.ReadFile("../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	typed := map[string]string{}
	for _, m := range regexp.MustCompile("(?m)^\\| `(\\w+\\.csv)` \\| (.*) \\|$").FindAllStringSubmatch(string(readme), -1) {
		for _, line := range regexp.MustCompile("`([^`]*)`").FindAllStringSubmatch(m[2], -1) {
			typed["works/"+m[1]] += line[1] + "\n"
		}
	}
	script, err := txtar.ParseFile("../../../testdata/script/walkthrough.txt")
	if err != nil {
		t.Fatal(err)
	}
	tested := map[string]string{}
	for _, f := range script.Files {
		tested[f.Name] = string(f.Data)
	}
	if len(typed) == 0 {
		t.Fatal("README.md has no table of files")
	}
	if d := cmp.Diff(typed, tested); d != "" {
		t.Errorf("README.md and the walk-through differ (-README +script):\n%s", d)
	}
	for _, flag := range regexp.MustCompile("`(--[a-z-]+)").FindAllStringSubmatch(string(readme), -1) {
		if !hasFlag(flag[1]) {
			t.Errorf("README.md speaks of %s, which no command has", flag[1])
		}
	}
}

func hasFlag(name string) bool {
	root := (&app{}).root()
	for _, c := range append(root.Commands(), root) {
		if c.Flags().Lookup(strings.TrimPrefix(name, "--")) != nil || c.PersistentFlags().Lookup(strings.TrimPrefix(name, "--")) != nil {
			return true
		}
	}
	return false
}

// TestHelpFitsATerminal: the prose of every command's help is at most 80 columns wide.
func TestHelpFitsATerminal(t *testing.T) {
	root := (&app{}).root()
	for _, c := range append(root.Commands(), root) {
		for _, line := range strings.Split(c.Short+"\n"+c.Long+"\n"+c.Example, "\n") {
			if len(line) > 80 {
				t.Errorf("%s: %d columns: %s", c.Name(), len(line), line)
			}
		}
	}
}
