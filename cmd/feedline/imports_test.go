package main

import (
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The project's names without the module's. A name with /... behind stands for all that lies below it.
var (
	domain = []string{"lines", "lines/calendar", "inventory", "inventory/quantity", "yield"}
	leaves = []string{"lines/calendar", "inventory/quantity"}
	solver = []string{"planner/model", "planner/solve", "planner/solve/internal/..."}
	// shell is what the packages around the command line see: the planner and what lies below, and of the solver its words.
	shell = slices.Concat(domain, []string{"planner", "planner/audit", "planner/estimates", "planner/forecast", "planner/model", "planner/records", "planner/solve"})
)

// mayImport is which of the project's packages each may import. It is the import table of DEVELOPERS.md.
var mayImport = map[string][]string{
	"lines/calendar":     nil,
	"inventory/quantity": nil,
	"planner/model":      nil,
	"lines":              leaves,
	"inventory":          leaves,
	"yield":              leaves,

	"planner/solve":              {"planner/model"},
	"planner/solve/internal/...": solver,
	"planner/solve/certify":      solver,
	"planner/solve/peer":         solver,
	"planner/solve/solvetest":    solver,
	"planner/solve/lp":           solver,
	"planner/solve/compare":      {},
	"planner/solve/mip":          slices.Concat(solver, []string{"planner/solve/lp", "planner/solve/certify"}),

	"planner":            slices.Concat(domain, []string{"planner/model", "planner/solve", "planner/solve/lp", "planner/solve/mip"}),
	"planner/audit":      slices.Concat(domain, []string{"planner"}),
	"planner/benchplant": slices.Concat(domain, []string{"planner"}),
	"planner/forecast":   slices.Concat(domain, []string{"planner", "planner/model", "planner/solve", "planner/solve/lp", "planner/solve/mip"}),
	"planner/records":    slices.Concat(domain, []string{"planner"}),
	"planner/estimates":  slices.Concat(domain, []string{"planner", "planner/records"}),

	"cmd/internal/beside":                nil,
	"cmd/internal/book":                  slices.Concat(shell, []string{"cmd/internal/beside"}),
	"cmd/internal/demo":                  shell,
	"cmd/internal/sheets":                slices.Concat(shell, []string{"cmd/internal/beside"}),
	"cmd/internal/report":                slices.Concat(shell, []string{"cmd/internal/report/view"}),
	"cmd/internal/console":               slices.Concat(shell, []string{"cmd/internal/console/rows"}),
	"cmd/internal/console/rows":          shell,
	"cmd/internal/console/rows/rowstest": shell,
	"cmd/internal/watch":                 slices.Concat(shell, []string{"cmd/internal/beside", "cmd/internal/book", "cmd/internal/watch/alert", "cmd/internal/watch/notify"}),
	"cmd/internal/watch/alert":           shell,
	"cmd/internal/watch/notify":          nil,
	"cmd/internal/cli":                   {"..."},

	"cmd/internal/report/view":       shell,
	"cmd/internal/report/reporttest": slices.Concat(shell, []string{"planner/benchplant"}),
	"cmd/internal/report/chart":      slices.Concat(shell, []string{"cmd/internal/report/view"}),
	"cmd/internal/report/csv":        slices.Concat(shell, []string{"cmd/internal/report/view"}),
	"cmd/internal/report/ics":        slices.Concat(shell, []string{"cmd/internal/report/view"}),
	"cmd/internal/report/xlsx":       slices.Concat(shell, []string{"cmd/internal/report/view"}),
	"cmd/internal/report/html":       slices.Concat(shell, []string{"cmd/internal/report/view", "cmd/internal/report/chart"}),
	"cmd/internal/report/linesheet":  slices.Concat(shell, []string{"cmd/internal/report/view", "cmd/internal/report/html"}),

	"cmd/feedline": {"cmd/internal/cli"},
}

// testsMayImport is what tests of a package may import beside that, and beside the package itself.
var testsMayImport = map[string][]string{
	"planner":                         {"planner/audit", "planner/benchplant", "planner/solve/peer"},
	"planner/audit":                   {"planner/solve"},
	"planner/solve/certify":           {"planner/solve/lp"},
	"planner/solve/compare":           {"planner/model", "planner/solve", "planner/solve/lp", "planner/solve/mip", "planner/solve/peer", "planner/solve/solvetest"},
	"planner/solve/internal/presolve": {"planner/solve/lp"},
	"planner/solve/lp":                {"planner/solve/certify", "planner/solve/peer", "planner/solve/solvetest"},
	"planner/solve/mip":               {"planner/solve/certify", "planner/solve/peer", "planner/solve/solvetest"},
	"planner/solve/solvetest":         {"planner/solve/lp", "planner/solve/mip"},
	"planner/forecast":                {"planner/audit", "planner/benchplant", "planner/solve/peer", "cmd/internal/demo"},
	"cmd/internal/report":             {"cmd/internal/demo", "cmd/internal/report/reporttest"},
	"cmd/internal/report/view":        {"cmd/internal/demo", "cmd/internal/report/reporttest"},
	"cmd/internal/report/chart":       {"cmd/internal/report/reporttest"},
	"cmd/internal/report/csv":         {"cmd/internal/report/reporttest"},
	"cmd/internal/report/html":        {"cmd/internal/demo", "cmd/internal/report/reporttest"},
	"cmd/internal/report/ics":         {"cmd/internal/report/reporttest"},
	"cmd/internal/report/linesheet":   {"cmd/internal/report/reporttest"},
	"cmd/internal/report/xlsx":        {"cmd/internal/report/csv", "cmd/internal/report/reporttest"},
	"cmd/internal/sheets":             {"cmd/internal/demo"},
	"cmd/internal/book":               {"cmd/internal/demo"},
	"cmd/internal/watch":              {"cmd/internal/demo"},
	"cmd/internal/console":            {"cmd/internal/console/rows/rowstest", "cmd/internal/demo", "cmd/internal/sheets", "planner/benchplant"},
	"cmd/internal/console/rows":       {"cmd/internal/console/rows/rowstest", "cmd/internal/demo"},
}

// oneHome is the packages that may import a module of others', one for each technology; "tests" stands for all tests.
var oneHome = map[string][]string{
	"modernc.org/sqlite":              {"cmd/internal/book"},
	"github.com/pressly/goose":        {"cmd/internal/book"},
	"github.com/xuri/excelize":        {"cmd/internal/sheets", "cmd/internal/report/xlsx"},
	"github.com/spf13/cobra":          {"cmd/internal/cli"},
	"github.com/spf13/pflag":          {"cmd/internal/cli"},
	"golang.org/x/term":               {"cmd/internal/cli", "cmd/internal/console"},
	"github.com/gdamore/tcell":        {"cmd/internal/console"},
	"github.com/rivo/tview":           {"cmd/internal/console"},
	"github.com/rivo/uniseg":          {"cmd/internal/console", "cmd/internal/console/rows"},
	"github.com/creack/pty":           {"tests"},
	"github.com/robfig/cron":          {"cmd/internal/watch"},
	"github.com/gofrs/flock":          {"cmd/internal/watch"},
	"github.com/BurntSushi/toml":      {"cmd/internal/watch"},
	"github.com/wneessen/go-mail":     {"cmd/internal/watch/notify"},
	"github.com/emersion":             {"tests"},
	"gonum.org/v1/plot":               {"cmd/internal/report/chart"},
	"github.com/arran4/golang-ical":   {"cmd/internal/report/ics"},
	"github.com/emersion/go-ical":     {"tests"},
	"golang.org/x/net":                {"tests"},
	"gonum.org/v1/gonum":              {"inventory", "yield", "planner/audit", "planner/forecast", "tests"},
	"pgregory.net/rapid":              {"tests"},
	"github.com/google/go-cmp":        {"tests"},
	"github.com/rogpeppe/go-internal": {"tests"},
}

// edge is one import of a file.
type edge struct {
	from   string // the importing package's folder
	to     string // the import path
	test   bool
	inFile string
}

const module = "feedline/"

// complaint is what is wrong with an edge, "" if nothing.
func (e edge) complaint() string {
	if own, ok := strings.CutPrefix(e.to, module); ok {
		return e.ownComplaint(own)
	}
	for name, homes := range oneHome {
		if !covers(name+"/...", e.to) || slices.Contains(homes, e.from) || e.test && slices.Contains(homes, "tests") {
			continue
		}
		return fmt.Sprintf("%s imports %s (%s), which only %s may", e.from, e.to, e.inFile, strings.Join(homes, ", "))
	}
	return ""
}

func (e edge) ownComplaint(to string) string {
	may, known := lookUp(mayImport, e.from)
	if !known {
		return fmt.Sprintf("%s (%s) is not in the table of imports: enter it, and in DEVELOPERS.md", e.from, e.inFile)
	}
	if e.test {
		more, _ := lookUp(testsMayImport, e.from)
		may = slices.Concat(may, more, []string{e.from})
	}
	if slices.ContainsFunc(may, func(name string) bool { return covers(name, to) }) {
		return ""
	}
	return fmt.Sprintf("%s imports %s (%s); it may import: %s", e.from, to, e.inFile, orNothing(may))
}

func orNothing(list []string) string {
	if len(list) == 0 {
		return "none of ours"
	}
	return strings.Join(list, ", ")
}

// lookUp finds the entry of a folder or of one above it that is named with /... behind.
func lookUp(table map[string][]string, folder string) ([]string, bool) {
	if list, ok := table[folder]; ok {
		return list, true
	}
	for name, list := range table {
		if strings.HasSuffix(name, "...") && covers(name, folder) {
			return list, true
		}
	}
	return nil, false
}

// covers reports whether a name of the tables stands for a package.
func covers(name, pkg string) bool {
	above, all := strings.CutSuffix(name, "...")
	return name == pkg || all && (strings.HasPrefix(pkg, above) || pkg+"/" == above)
}

// root is the project's folder.
func root(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs(".")
	if err != nil {
		t.Fatal(err)
	}
	for ; ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		if dir == filepath.Dir(dir) {
			t.Fatal("no go.mod in this folder or above")
		}
	}
}

// edges is every import of every Go file of the project.
func edges(t *testing.T, root string) []edge {
	t.Helper()
	var all []edge
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		hidden := strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata"
		if d.IsDir() && hidden && name != root {
			return filepath.SkipDir
		}
		if d.IsDir() || path.Ext(d.Name()) != ".go" {
			return nil
		}
		more, err := importsOf(root, name)
		all = append(all, more...)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func importsOf(root, name string) ([]edge, error) {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, name, nil, parser.ImportsOnly)
	if err != nil {
		return nil, err
	}
	rel, err := filepath.Rel(root, name)
	if err != nil {
		return nil, err
	}
	rel = filepath.ToSlash(rel)
	var list []edge
	for _, i := range f.Imports {
		to, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			return nil, err
		}
		place := fmt.Sprintf("%s:%d", rel, set.Position(i.Pos()).Line)
		list = append(list, edge{path.Dir(rel), to, strings.HasSuffix(rel, "_test.go"), place})
	}
	return list, nil
}

// Imports point one way.
func TestImports(t *testing.T) {
	all := edges(t, root(t))
	if len(all) < 100 {
		t.Fatalf("only %d imports found", len(all))
	}
	for _, e := range all {
		if c := e.complaint(); c != "" {
			t.Error(c)
		}
	}
}

func TestImportTableRefuses(t *testing.T) {
	for _, e := range []edge{
		{"planner/solve/lp", "feedline/lines", false, "x.go:1"},
		{"planner/solve/internal/lu", "feedline/inventory", true, "x_test.go:1"},
		{"planner/audit", "feedline/planner/model", false, "x.go:1"},
		{"planner/audit", "feedline/planner/solve/lp", true, "x_test.go:1"},
		{"lines", "feedline/inventory", false, "x.go:1"},
		{"inventory/quantity", "feedline/lines/calendar", false, "x.go:1"},
		{"planner", "feedline/cmd/internal/book", true, "x_test.go:1"},
		{"cmd/internal/console", "feedline/cmd/internal/book", false, "x.go:1"},
		{"cmd/internal/sheets", "feedline/cmd/internal/demo", false, "x.go:1"},
		{"cmd/internal/else", "feedline/planner", false, "x.go:1"},
		{"planner", "modernc.org/sqlite/lib", false, "x.go:1"},
		{"cmd/internal/book", "pgregory.net/rapid", false, "x.go:1"},
	} {
		if c := e.complaint(); !strings.Contains(c, e.from) || !strings.Contains(c, e.inFile) {
			t.Errorf("%s imports %s: complaint %q names no edge", e.from, e.to, c)
		}
	}
	for _, e := range []edge{
		{"planner/solve/mip", "feedline/planner/solve/lp", false, "x.go:1"},
		{"cmd/internal/cli", "feedline/planner/solve/lp", false, "x.go:1"},
		{"cmd/internal/book", "modernc.org/sqlite", false, "x.go:1"},
		{"planner/audit", "feedline/planner/audit", true, "x_test.go:1"},
		{"planner", "encoding/json", false, "x.go:1"},
	} {
		if c := e.complaint(); c != "" {
			t.Error(c)
		}
	}
}

// topLevel is all that may stand in the project's folder, beside names that begin with a point and what .gitignore names.
var topLevel = []string{"cmd", "planner", "lines", "inventory", "yield", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md"}

func TestTopLevelNames(t *testing.T) {
	dir := root(t)
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, ".gitignore"))
	if err != nil {
		t.Fatal(err)
	}
	ignored := strings.Fields(string(text))
	for _, e := range list {
		made := slices.ContainsFunc(ignored, func(p string) bool {
			match, err := path.Match(strings.TrimPrefix(p, "/"), e.Name())
			return err == nil && match
		})
		if strings.HasPrefix(e.Name(), ".") || made && path.Ext(e.Name()) != ".go" {
			continue
		}
		if !slices.Contains(topLevel, e.Name()) {
			t.Errorf("%s stands in the project's folder; there belong: %s", e.Name(), strings.Join(topLevel, ", "))
		}
	}
}

// noPackage is names that say nothing of what a package is about.
var noPackage = []string{"util", "utils", "common", "helper", "helpers", "types", "models", "misc", "shared", "base"}

func TestPackageNames(t *testing.T) {
	for _, e := range edges(t, root(t)) {
		if slices.Contains(noPackage, path.Base(e.from)) {
			t.Errorf("package %s (%s): name it for what it is about", e.from, e.inFile)
		}
	}
}
