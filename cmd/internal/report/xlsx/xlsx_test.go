package xlsx

import (
	"bytes"
	stdcsv "encoding/csv"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"feedline/cmd/internal/report/reporttest"
	"feedline/cmd/internal/report/view"
	"feedline/planner"
)

func write(t *testing.T, in *planner.Input, p *planner.Plan) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in, p, Options{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func reopen(t *testing.T, data []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// TestSheets: a sheet for each view, headings in place and frozen, printed on a page's width with the headings on each.
func TestSheets(t *testing.T) {
	in, p := reporttest.Full()
	f := reopen(t, write(t, in, p))
	titles := map[string]string{}
	for _, d := range f.GetDefinedName() {
		titles[d.Scope] = d.RefersTo
	}
	for _, v := range view.All(in, p, Options{}) {
		rows, err := f.GetRows(v.Name)
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range v.Columns {
			if got := rows[headRow-1][i]; got != c.Heading() {
				t.Errorf("%s: heading %d is %q, want %q", v.Name, i, got, c.Heading())
			}
		}
		if len(rows) != headRow+len(v.Rows) {
			t.Errorf("%s: %d rows, want %d", v.Name, len(rows), headRow+len(v.Rows))
		}
		if panes, err := f.GetPanes(v.Name); err != nil || !panes.Freeze || panes.YSplit != headRow {
			t.Errorf("%s: panes %+v, %v", v.Name, panes, err)
		}
		layout, err1 := f.GetPageLayout(v.Name)
		props, err2 := f.GetSheetProps(v.Name)
		if err1 != nil || err2 != nil || *layout.Orientation != "landscape" || *layout.FitToWidth != 1 || !*props.FitToPage {
			t.Errorf("%s: layout %+v, %v, %v", v.Name, layout, err1, err2)
		}
		if !strings.HasSuffix(titles[v.Name], "!$4:$4") {
			t.Errorf("%s: repeats %q", v.Name, titles[v.Name])
		}
		tables, err := f.GetTables(v.Name)
		if err != nil || len(tables) != min(1, len(v.Rows)) {
			t.Errorf("%s: %d tables (%v), want one where there are rows", v.Name, len(tables), err)
		}
	}
}

// TestInert: no cell with a name is a formula, and none begins like one.
func TestInert(t *testing.T) {
	in, p := reporttest.Hostile()
	f := reopen(t, write(t, in, p))
	for _, name := range f.GetSheetList() {
		rows, err := f.GetRows(name)
		if err != nil {
			t.Fatal(err)
		}
		for r, row := range rows {
			for c, text := range row {
				at := cellName(c+1, r+1)
				formula, err := f.GetCellFormula(name, at)
				if err != nil {
					t.Fatal(err)
				}
				if strings.Contains(formula, "HYPERLINK") || strings.Contains(formula, "@") {
					t.Errorf("%s!%s: formula %s", name, at, formula)
				}
				kind, err := f.GetCellType(name, at)
				texts := kind == excelize.CellTypeInlineString || kind == excelize.CellTypeSharedString
				if err == nil && texts && formula == "" && strings.ContainsAny(text[:min(1, len(text))], "=+@") {
					t.Errorf("%s!%s: %q begins like a formula", name, at, text)
				}
			}
		}
	}
}

func TestOddFigures(t *testing.T) {
	for _, x := range reporttest.OddFigures {
		in, p := reporttest.Odd(x)
		reopen(t, write(t, in, p))
	}
	reopen(t, write(t, &planner.Input{}, &planner.Plan{}))
}

// TestFormulas has another program, Gnumeric's ssconvert, compute every formula anew, and compares what it finds with the plan.
func TestFormulas(t *testing.T) {
	if _, err := exec.LookPath("ssconvert"); err != nil {
		if os.Getenv("FEEDLINE_CI") == "1" {
			t.Fatal("gnumeric is not installed")
		}
		t.Skip("gnumeric is not installed")
	}
	in, p := reporttest.Full()
	dir := t.TempDir()
	stale := staled(t, write(t, in, p))
	book := filepath.Join(dir, "book.xlsx")
	if err := os.WriteFile(book, stale, 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("ssconvert", "--recalc", "-O", "separator=; format=raw quoting-mode=always", "-S", "-T", "Gnumeric_stf:stf_assistant", book, filepath.Join(dir, "%n.csv"))
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	compared := 0
	for i, v := range view.All(in, p, Options{}) {
		text, err := os.ReadFile(filepath.Join(dir, strconv.Itoa(i+1)+".csv"))
		if err != nil {
			t.Fatalf("%s: %v", v.Name, err)
		}
		r := stdcsv.NewReader(bytes.NewReader(text))
		r.Comma, r.FieldsPerRecord, r.LazyQuotes = ';', -1, true
		rows, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for y, row := range v.Rows {
			for x, c := range row {
				if v.Columns[x].Kind != view.Number || formula(v, y, x) == "" {
					continue
				}
				compared++
				compare(t, v.Name+" "+v.Columns[x].Head, rows[headRow+y][x], c.Number, c.None)
			}
		}
		for x, c := range v.Columns {
			if c.Sum && len(v.Rows) > 0 {
				sum := 0.0
				for _, row := range v.Rows {
					if !row[x].None {
						sum += row[x].Number
					}
				}
				compared++
				compare(t, v.Name+" total "+c.Head, rows[totalRow-1][x], sum, false)
			}
		}
	}
	if compared < 100 {
		t.Errorf("only %d formulas compared", compared)
	}
	t.Logf("%d formulas compared", compared)
}

func compare(t *testing.T, what, got string, want float64, none bool) {
	t.Helper()
	if none {
		if got != "" {
			t.Errorf("%s: %q, want nothing", what, got)
		}
		return
	}
	x, err := strconv.ParseFloat(got, 64)
	if err != nil || math.Abs(x-want) > 1e-6*max(1, math.Abs(want)) {
		t.Errorf("%s: %q, want %v", what, got, want)
	}
}

// staled is the workbook with 999 as the stored result of every formula that has a number, so that a reader which does not compute is found out.
func staled(t *testing.T, data []byte) []byte {
	t.Helper()
	f := reopen(t, data)
	for _, name := range f.GetSheetList() {
		rows, err := f.GetRows(name)
		if err != nil {
			t.Fatal(err)
		}
		for r, row := range rows {
			for c := range row {
				at := cellName(c+1, r+1)
				formula, err := f.GetCellFormula(name, at)
				if err != nil || formula == "" {
					continue
				}
				if err := f.SetCellFloat(name, at, 999, -1, 64); err != nil {
					t.Fatal(err)
				}
				if err := f.SetCellFormula(name, at, formula); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
