package sheets

import (
	"archive/zip"
	"bytes"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
	"feedline/lines/calendar"
	"feedline/planner"
)

// FuzzCSV reads any bytes as a sheet of any table. What is accepted is written and read again, in CSV and in a workbook,
// in either system of units, and must not have changed.
func FuzzCSV(f *testing.F) {
	in := demo.Input(start)
	for i := range tables {
		f.Add(uint8(i), false, tables[i].page(in, false).csv())
		f.Add(uint8(i), true, tables[i].blank(true).csv())
	}
	for _, s := range []string{plainOrder, latin1(plainOrder), utf16le(plainOrder), "sep=;\ncode;customer\nx;'=1\n", "code,customer\rx,y\r",
		"code,note\nx,\"'#\r\n y\"\n"} {
		f.Add(uint8(18), false, []byte(s))
	}
	f.Fuzz(func(t *testing.T, n uint8, us bool, data []byte) {
		tb := &tables[int(n)%len(tables)]
		g, _, bad := readCSV(tb.name+".csv", data)
		if bad != nil {
			return
		}
		roundTrip(t, tb, g, us)
	})
}

// roundTrip decodes a sheet and, if nothing is wrong with it, holds it against itself written and read again.
func roundTrip(t *testing.T, tb *table, g *grid, us bool) {
	p := place{cal: calendar.Calendar{Zone: demo.Input(start).Calendar.Zone}, currency: "EUR"}
	in := &planner.Input{Calendar: p.cal}
	var bad badList
	decode(tb, g, p, &bad).merge(in, false, p, &bad)
	for _, b := range bad.cells {
		_ = b.String()
	}
	if !bad.none() {
		return
	}
	page := tb.page(in, us)
	for _, again := range []*grid{throughCSV(t, page), throughXLSX(t, page)} {
		out := &planner.Input{Calendar: p.cal}
		decode(tb, again, p, &bad).merge(out, false, p, &bad)
		if !bad.none() {
			t.Fatalf("what was accepted is refused once written: %v", bad.cells)
		}
		if d := cmp.Diff(in, out, equal); d != "" {
			t.Fatalf("changed on the way (-want +got):\n%s", d)
		}
	}
}

// FuzzXLSX reads any sheet in XML, and any bytes at all, as a workbook.
func FuzzXLSX(f *testing.F) {
	in := demo.Input(start)
	for i := range tables {
		data, err := workbook([]page{tables[i].page(in, false)})
		if err != nil {
			f.Fatal(err)
		}
		f.Add(part(f, data, "xl/worksheets/sheet1.xml"), uint8(i))
	}
	for _, s := range []string{
		`<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>code</t></is></c></row><row r="2"><c r="A2" t="e"><v>#REF!</v></c></row></sheetData></worksheet>`,
		`<worksheet><sheetData><row r="9"><c r="A9"><f>1</f></c></row><row r="2"><c r="B2" t="b"><v>1</v></c></row></sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells></worksheet>`,
		`<worksheet><sheetData><row r="1"><c r="ZZZ1" t="s"><v>99</v></c></row></sheetData></worksheet>`,
		`<worksheet><sheetData><row r="1"><c r="A1" t="str"><f t="shared" si="0" ref="A1:A2">1</f><v>code</v></c></row></sheetData></worksheet>`,
	} {
		f.Add([]byte(s), uint8(18))
	}
	f.Add([]byte("PK\x03\x04"), uint8(255))
	f.Fuzz(func(t *testing.T, sheet []byte, n uint8) {
		data := sheet
		if int(n) < len(tables) {
			data = withPart(t, shells()[n], "xl/worksheets/sheet1.xml", sheet)
		}
		u, err := unpack("fuzz.xlsx", data)
		if err != nil {
			return
		}
		for _, g := range u.grids {
			if tb, ok := tableNamed(g.sheet); ok && len(u.bad) == 0 {
				roundTrip(t, tb, g, n%2 == 0)
			}
		}
	})
}

// shells is a workbook for each table, with nothing in it.
var shells = sync.OnceValue(func() [][]byte {
	var list [][]byte
	for i := range tables {
		data, err := workbook([]page{tables[i].page(&planner.Input{}, false)})
		if err != nil {
			panic(err)
		}
		list = append(list, data)
	}
	return list
})

// part is one file of a workbook.
func part(t testing.TB, data []byte, name string) []byte {
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	f, err := r.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var b bytes.Buffer
	b.ReadFrom(f)
	return b.Bytes()
}

// withPart is a workbook with one of its files replaced.
func withPart(t testing.TB, data []byte, name string, content []byte) []byte {
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range r.File {
		o, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if f.Name == name {
			o.Write(content)
		} else {
			o.Write(part(t, data, f.Name))
		}
	}
	w.Close()
	return out.Bytes()
}
