package cli

import (
	"cmp"
	_ "embed"
	"fmt"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

// licenceTexts is the licences of all modules that feedline is made with: "=== module identifier" and the text, made by
// go test ./cmd/internal/cli -run TestLicences -licences.
//
//go:embed licences.txt
var licenceTexts string

// licence is the licence of a module.
type licence struct {
	Module, Version, Name, Text string
}

// readLicences takes licenceTexts apart.
func readLicences() map[string]licence {
	all := map[string]licence{}
	for _, part := range strings.Split("\n"+licenceTexts, "\n=== ")[1:] {
		head, text, _ := strings.Cut(part, "\n")
		module, name, _ := strings.Cut(head, " ")
		all[module] = licence{Module: module, Name: name, Text: text}
	}
	return all
}

// licencesOf lists the licences of modules, with the versions that they have.
func licencesOf(modules []*debug.Module) (list []licence) {
	known := readLicences()
	list = append(list, licence{Module: "Go, its standard library", Name: "BSD-3-Clause", Text: known["std"].Text})
	for _, m := range modules {
		l, ok := known[m.Path]
		if !ok {
			l = licence{Name: "unknown"}
		}
		l.Module, l.Version = m.Path, m.Version
		list = append(list, l)
	}
	slices.SortStableFunc(list[1:], func(a, b licence) int { return cmp.Compare(a.Module, b.Module) })
	return list
}

func (a *app) licences() *cobra.Command {
	var text bool
	c := &cobra.Command{
		Use:   "licences",
		Short: "List what feedline is made with, and under which licences",
		Args:  cobra.NoArgs,
	}
	c.Flags().BoolVar(&text, "text", false, "with the texts")
	c.RunE = func(*cobra.Command, []string) error {
		info, ok := debug.ReadBuildInfo()
		if !ok {
			info = &debug.BuildInfo{}
		}
		for _, l := range licencesOf(info.Deps) {
			if _, err := fmt.Fprintf(a.Out, "%-44s %-42s %s\n", l.Module, l.Version, l.Name); err != nil {
				return err
			}
			if text {
				if _, err := fmt.Fprintf(a.Out, "\n%s\n", l.Text); err != nil {
					return err
				}
			}
		}
		return nil
	}
	return c
}
