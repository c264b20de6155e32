package cli

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var licencesUpdate = flag.Bool("licences", false, "write licences.txt anew, from the modules that are linked in")

// linked is the modules that feedline is linked from on any of the systems that it is built for, by path, with their folders.
func linked(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, system := range []string{"linux", "windows", "darwin"} {
		c := exec.Command("go", "list", "-deps", "-f", `{{with .Module}}{"path": {{printf "%q" .Path}}, "dir": {{printf "%q" .Dir}}}{{end}}`, "feedline/cmd/feedline")
		c.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		out, err := c.Output()
		if err != nil {
			t.Fatalf("go list: %v", err)
		}
		for line := range strings.Lines(string(out)) {
			var m struct{ Path, Dir string }
			if json.Unmarshal([]byte(line), &m) == nil && m.Path != "" && m.Path != "feedline" {
				all[m.Path] = m.Dir
			}
		}
	}
	return all
}

// termsOf tells a licence by its words; "" if it is none of those that feedline may be made with.
func termsOf(text string) string {
	has := func(words ...string) bool {
		flat := strings.Join(strings.Fields(text), " ")
		return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(flat, w) })
	}
	switch {
	case has("Apache License", "Version 2.0"):
		return "Apache-2.0"
	case has("SIL OPEN FONT LICENSE Version 1.1"):
		return "OFL-1.1"
	case has("Boost Software License"):
		return "BSL-1.0"
	case has("Permission is hereby granted, free of charge"):
		return "MIT"
	case has("Redistributions of source code", "Neither the name"), has("Redistributions of source code", "The name of the author may not"):
		return "BSD-3-Clause"
	case has("Redistributions of source code"):
		return "BSD-2-Clause"
	case has("Permission to use, copy, modify, and/or distribute"):
		return "ISC"
	case has("The FreeType License", "your choice of exactly one"):
		return "FTL" // or the GPL, version 2 or later, which is not chosen
	case has("Creative Commons Attribution 4.0"):
		return "CC-BY-4.0"
	case has("Mozilla Public License", "2.0"):
		return "MPL-2.0"
	}
	return ""
}

// licenceFiles is the texts of a module's licences, its own first: of its folder, and of those where it keeps other people's; of
// licences that one may choose between, the one that feedline has chosen.
func licenceFiles(t *testing.T, dir string) (texts []string) {
	t.Helper()
	var paths []string
	for _, d := range []string{".", "licenses", "THIRD_PARTY_LICENSES"} {
		list, err := os.ReadDir(filepath.Join(dir, d))
		if err != nil && d == "." {
			t.Fatal(err)
		}
		for _, e := range list {
			name := strings.ToUpper(e.Name())
			if !e.IsDir() && name != "GPL.TXT" && (d != "." || strings.HasPrefix(name, "LICEN") || strings.HasPrefix(name, "COPYING")) {
				paths = append(paths, filepath.Join(dir, d, e.Name()))
			}
		}
	}
	own := func(p string) int { return len(filepath.Base(p)) + 1000*strings.Count(p, string(filepath.Separator)) }
	slices.SortStableFunc(paths, func(a, b string) int { return own(a) - own(b) })
	for _, p := range paths {
		text, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, strings.TrimSpace(strings.ReplaceAll(string(text), "\r\n", "\n")))
	}
	if len(texts) == 0 {
		t.Fatalf("%s has no licence", dir)
	}
	return texts
}

// namesOf is the terms of texts, its own first.
func namesOf(texts []string) string {
	var names []string
	for _, text := range texts {
		if n := termsOf(text); n != "" && !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return strings.Join(names, ", ")
}

// Every module that is linked in has its licence in licences.txt, word for word, and it is one of those that allow it.
func TestLicences(t *testing.T) {
	modules := linked(t)
	if len(modules) < 10 {
		t.Fatalf("only %d modules", len(modules))
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	modules["std"] = strings.TrimSpace(string(root))
	var paths []string
	for p := range modules {
		paths = append(paths, p)
	}
	slices.Sort(paths)
	var b strings.Builder
	for _, p := range paths {
		texts := licenceFiles(t, modules[p])
		if termsOf(texts[0]) == "" {
			t.Errorf("%s has a licence that is not known:\n%.300s", p, texts[0])
		}
		fmt.Fprintf(&b, "=== %s %s\n%s\n", p, namesOf(texts), strings.Join(texts, "\n\n"))
	}
	if *licencesUpdate {
		if err := os.WriteFile("licences.txt", []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if b.String() != licenceTexts {
		known := readLicences()
		for _, p := range paths {
			if known[p].Name == "" {
				t.Errorf("%s is not in licences.txt", p)
			}
		}
		t.Error("licences.txt is not that of the modules linked in: go test ./cmd/internal/cli -run TestLicences -licences")
	}
}
