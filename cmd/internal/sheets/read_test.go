package sheets

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// wantOrder is what each of the files of TestKindsOfCSV says.
var wantOrder = planner.Order{Code: "O-1", Customer: "Bäckström & Fils \"Déco\"\nDépôt 3", Profile: "SK80", Length: 1500.5,
	Due: calendar.Date(2027, 2, 1), Priority: 2}

const plainOrder = "code,customer,profile,length [m],due,priority\n" +
	"O-1,\"Bäckström & Fils \"\"Déco\"\"\nDépôt 3\",SK80,1500.5,2027-02-01,2\n"

func latin1(s string) string {
	var b []byte
	for _, r := range s {
		b = append(b, byte(r))
	}
	return string(b)
}

func utf16le(s string) string {
	b := []byte{0xFF, 0xFE}
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return string(b)
}

func TestKindsOfCSV(t *testing.T) {
	semicolons := strings.ReplaceAll(plainOrder, ",", ";")
	tabs := strings.ReplaceAll(plainOrder, ",", "\t")
	crlf := strings.ReplaceAll(plainOrder, "\n", "\r\n")
	for name, text := range map[string]string{
		"plain":                      plainOrder,
		"byte order mark":            "\uFEFF" + plainOrder,
		"semicolons":                 semicolons,
		"tabs":                       tabs,
		"CRLF":                       crlf,
		"lone CR":                    strings.ReplaceAll(plainOrder, "\n", "\r"),
		"separator named":            "sep=;\n" + semicolons,
		"separator named, CRLF":      "sep=;\r\n" + strings.ReplaceAll(semicolons, "\n", "\r\n"),
		"Latin-1":                    latin1(plainOrder),
		"UTF-16":                     utf16le(tabs),
		"no line end at the end":     strings.TrimSuffix(plainOrder, "\n"),
		"remarks and blank lines":    "# orders, for; now\n\n" + plainOrder + "\n# O-2,x,y\n,,,,,\n",
		"remark column":              strings.Replace(strings.Replace(plainOrder, "priority", "priority,# mine", 1), ",2\n", ",2,call them\n", 1),
		"headings in other words":    strings.Replace(strings.Replace(plainOrder, "code", "CODE", 1), "length [m]", "Length [Metres]", 1),
		"feet":                       strings.Replace(strings.Replace(plainOrder, "[m]", "[in]", 1), "1500.5", "59074.80314960629921259842519685", 1),
		"columns in another order":   "profile,code,length [m],due,priority,customer\nSK80,O-1,1500.5,2027-02-01,2,\"Bäckström & Fils \"\"Déco\"\"\nDépôt 3\"\n",
		"separators at the row ends": strings.ReplaceAll(strings.ReplaceAll(plainOrder, "priority\n", "priority,,\n"), ",2\n", ",2,,,\n"),
		"number with an apostrophe":  strings.Replace(plainOrder, "1500.5", "'1500.5", 1),
		"grouped thousands":          strings.Replace(plainOrder, "1500.5", "1 500.5", 1),
	} {
		t.Run(name, func(t *testing.T) {
			in, sum, err := Read(only(t, map[string]string{"orders.csv": text}), demo.Input(start), ReadOptions{Today: start})
			if err != nil {
				t.Fatal(err)
			}
			got := in.Orders[len(in.Orders)-1]
			if name == "feet" { // inches of the same length, to the last bit or two of a metre
				if d := got.Length - wantOrder.Length; d < -1e-12 || d > 1e-12 {
					t.Errorf("length %v m, want %v m", got.Length, wantOrder.Length)
				}
				got.Length = wantOrder.Length
			}
			if d := cmp.Diff(wantOrder, got); d != "" {
				t.Errorf("(-want +got):\n%s", d)
			}
			if note := "orders.csv is not UTF-8; it was read as Windows-1252 (Latin-1)"; slices.Contains(sum.Notes, note) != (name == "Latin-1") {
				t.Errorf("notes %q", sum.Notes)
			}
		})
	}
}

func TestMissingSheets(t *testing.T) {
	_, _, err := Read(only(t, map[string]string{"orders.csv": plainOrder}), nil, ReadOptions{})
	want := ": lacks sheets that the book does not have yet: grades, lines, materials, plant, profiles, rates, recipes, shifts; fill in those of feedline template"
	var e *Error
	if !errors.As(err, &e) || len(e.Cells) != 1 || !strings.HasSuffix(err.Error(), want) {
		t.Errorf("got %v\nwant %s", err, want)
	}
	if _, _, err := Read(t.TempDir(), nil, ReadOptions{}); err == nil || !strings.Contains(err.Error(), "has no CSV files") {
		t.Errorf("an empty folder: %v", err)
	}
	if _, _, err := Read(filepath.Join(t.TempDir(), "not there"), nil, ReadOptions{}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing folder: %v", err)
	}
	if _, _, err := Read("old.xls", nil, ReadOptions{}); err == nil || err.Error() != "old.xls: is not a workbook that can be read; save it as .xlsx" {
		t.Errorf("an old workbook: %v", err)
	}
}

func TestTemplateHasNoRowsYet(t *testing.T) {
	for _, name := range []string{"blank", "blank.xlsx"} {
		dst := filepath.Join(t.TempDir(), name)
		if err := Template(dst, WriteOptions{Units: quantity.US}); err != nil {
			t.Fatal(err)
		}
		_, _, err := Read(dst, nil, ReadOptions{})
		var e *Error
		if !errors.As(err, &e) {
			t.Fatal(err)
		}
		var missing []string
		for _, c := range e.Cells {
			if c.Reason != "is blank" && c.Reason != "has no rows" {
				t.Errorf("%s: unexpected: %v", name, c)
			}
			missing = append(missing, strings.TrimSuffix(strings.TrimPrefix(c.Place(), "blank.xlsx, sheet "), ".csv"))
		}
		want := []string{"plant.csv, row 3, column B (name)", "plant.csv, row 4, column B (currency)", "plant.csv, row 5, column B (zone)",
			"materials", "grades", "recipes", "profiles", "lines", "rates", "shifts"}
		if name != "blank" {
			want[0], want[1], want[2] = "plant, cell B3 (name)", "plant, cell B4 (currency)", "plant, cell B5 (zone)"
		}
		if d := cmp.Diff(want, missing); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
		base := demo.Input(start) // on a full book, a template without its blank plant changes nothing
		if name == "blank" {
			os.Remove(filepath.Join(dst, "plant.csv"))
			in, sum, err := Read(dst, base, ReadOptions{Today: start})
			if err != nil || sum.String() != "nothing changes" || !cmp.Equal(in, base, equal) {
				t.Errorf("summary %v, error %v", sum, err)
			}
		}
	}
}

// TestExamplesAreRead takes the # off the examples of the template in either system of units.
func TestExamplesAreRead(t *testing.T) {
	for units, sys := range systems {
		dir := filepath.Join(t.TempDir(), "sheets")
		if err := Template(dir, WriteOptions{Units: sys}); err != nil {
			t.Fatal(err)
		}
		for i := range tables {
			tb := &tables[i]
			data, err := os.ReadFile(filepath.Join(dir, tb.name+".csv"))
			if err != nil {
				t.Fatal(err)
			}
			lines := strings.Split(strings.TrimSpace(string(data)), "\n")
			if !tb.sideways {
				lines[len(lines)-1] = strings.TrimPrefix(strings.TrimPrefix(lines[len(lines)-1], "# "), `"# `)
			}
			g, _, bad := readCSV(tb.name+".csv", []byte(strings.Join(lines, "\n")))
			if bad != nil {
				t.Fatal(bad)
			}
			var list badList
			d := decode(tb, g, place{}, &list)
			switch {
			case tb.sideways: // the three that are needed are blank
				if len(list.cells) != 3 {
					t.Errorf("%s %s: %v", units, tb.name, list.cells)
				}
			case !list.none() || len(d.rows) != 1:
				t.Errorf("%s %s: %d rows, %v", units, tb.name, len(d.rows), list.cells)
			}
		}
	}
}

func TestUpdateByKey(t *testing.T) {
	base := demo.Input(start)
	dir := only(t, map[string]string{
		"orders.csv": "code,length [m],priority\nO-4101,700,\nO-4103,750,3\n",
		"lots.csv":   "code,material,mass [t]\nA-2207,INW,1.5\nnew,INW,2\n",
	})
	in, sum, err := Read(dir, base, ReadOptions{Today: start})
	if err != nil {
		t.Fatal(err)
	}
	want := demo.Input(start)
	for i := range want.Orders {
		switch want.Orders[i].Code {
		case "O-4101":
			want.Orders[i].Length, want.Orders[i].Priority = 700, 1 // a blank priority is 1
		case "O-4103":
			want.Orders[i].Length, want.Orders[i].Priority = 750, 3
		}
	}
	want.Lots[0].Mass = 1500
	fresh := want.Lots[0]
	fresh.Code, fresh.Mass, fresh.Supplier, fresh.Received = "new", 2000, "", 0
	want.Lots = append(want.Lots, fresh)
	if d := cmp.Diff(want, in, equal); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if d := cmp.Diff(demo.Input(start), base, equal); d != "" {
		t.Errorf("the base was changed:\n%s", d)
	}
	if got, want := sum.String(), "lots: 1 new, 1 changed; orders: 2 changed"; got != want {
		t.Errorf("summary %q, want %q", got, want)
	}
}

func TestReplaceTakesRowsOut(t *testing.T) {
	base := demo.Input(start)
	dir := only(t, map[string]string{"orders.csv": "code,length [m]\nO-4103,750\nO-4101,700\n"})
	in, sum, err := Read(dir, base, ReadOptions{Today: start, Replace: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(in.Orders) != 2 || in.Orders[0].Code != "O-4103" || in.Orders[1].Profile != base.Orders[0].Profile {
		t.Errorf("orders %+v", in.Orders)
	}
	if len(in.Lots) != len(base.Lots) {
		t.Errorf("%d lots, want %d: there is no sheet for them", len(in.Lots), len(base.Lots))
	}
	if got, want := sum.String(), "orders: 2 changed, 78 taken out"; got != want {
		t.Errorf("summary %q, want %q", got, want)
	}
	dir = only(t, map[string]string{"profiles.csv": "code\nSK80\n"})
	_, _, err = Read(dir, base, ReadOptions{Today: start, Replace: true})
	if err == nil || !strings.Contains(err.Error(), `the book, lines L2 (mounted): "PK110" is wrong; allowed: the code of a profile in profiles`) {
		t.Errorf("taking profiles out from under orders: %v", err)
	}
}

// TestManyBadCells looks at the limit of the list.
func TestManyBadCells(t *testing.T) {
	var b strings.Builder
	b.WriteString("code,length [m]\n")
	for i := range 120 {
		fmt.Fprintf(&b, "O-%d,none\n", i)
	}
	_, _, err := Read(only(t, map[string]string{"orders.csv": b.String()}), demo.Input(start), ReadOptions{})
	var e *Error
	if !errors.As(err, &e) || len(e.Cells) != 50 || e.More != 70 {
		t.Fatalf("%v", err)
	}
	if s := err.Error(); !strings.Contains(s, ": 120 cells or rows are wrong\n") || !strings.HasSuffix(s, "\n  and 70 more") {
		t.Errorf("%s", s)
	}
}

// TestOldFaultsDoNotBlock imports orders into a book that has a fault of its own.
func TestOldFaultsDoNotBlock(t *testing.T) {
	base := demo.Input(start)
	base.Lots[0].Material = "gone"
	in, sum, err := Read(only(t, map[string]string{"orders.csv": plainOrder}), base, ReadOptions{Today: start})
	if err != nil || len(in.Orders) != len(base.Orders)+1 {
		t.Fatal(err)
	}
	want := `the book has a fault already: lots A-2207: material "gone": allowed the code of a material in materials`
	if len(sum.Notes) == 0 || !strings.HasPrefix(sum.Notes[0], want) {
		t.Errorf("notes %q", sum.Notes)
	}
}

func TestFolderOddities(t *testing.T) {
	base := demo.Input(start)
	dir := only(t, map[string]string{"Orders.CSV": plainOrder, "notes.txt": "x", ".hidden.csv": "x", "~lock.csv": "x"})
	in, sum, err := Read(dir, base, ReadOptions{Today: start})
	if err != nil || len(in.Orders) != len(base.Orders)+1 {
		t.Fatal(err)
	}
	if d := cmp.Diff([]string{"notes.txt is no CSV file and was passed over"}, sum.Notes); d != "" {
		t.Error(d)
	}
	if _, err := os.Stat(filepath.Join(dir, "orders.csv")); errors.Is(err, fs.ErrNotExist) { // names differ by case here
		os.WriteFile(filepath.Join(dir, "orders.csv"), []byte(plainOrder), 0o644)
		_, _, err = Read(dir, base, ReadOptions{Today: start})
		if err == nil || err.Error() != "orders.csv: is a second sheet of orders, beside Orders.CSV; leave one of them out" {
			t.Errorf("two sheets of a table: %v", err)
		}
	}
	one := filepath.Join(dir, "Orders.CSV")
	if in, _, err := Read(one, base, ReadOptions{Today: start}); err != nil || len(in.Orders) != len(base.Orders)+1 {
		t.Errorf("a single file: %v", err)
	}
}

func TestLinksOutOfTheFolder(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "secret.csv")
	os.WriteFile(secret, []byte(plainOrder), 0o644)
	dir := t.TempDir()
	if err := os.Symlink(secret, filepath.Join(dir, "orders.csv")); err != nil {
		t.Skip("no symbolic links here")
	}
	if _, _, err := Read(dir, demo.Input(start), ReadOptions{Today: start}); err == nil || !strings.Contains(err.Error(), "escapes") {
		t.Errorf("a link out of the folder was followed: %v", err)
	}
}

func TestTooManyRows(t *testing.T) {
	var b strings.Builder
	b.WriteString("code,length [m]\n")
	for i := range mostRows + 2 {
		fmt.Fprintf(&b, "O-%d,1\n", i)
	}
	_, _, err := Read(only(t, map[string]string{"orders.csv": b.String()}), demo.Input(start), ReadOptions{})
	if want := "orders.csv, row 50001: has more than 50000 rows; split the sheet"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}
