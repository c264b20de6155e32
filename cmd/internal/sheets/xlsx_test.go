package sheets

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"feedline/cmd/internal/demo"
	"feedline/lines/calendar"
	"feedline/planner"
)

// sheetFile writes a workbook that has one sheet, orders unless named, made by fill.
func sheetFile(t *testing.T, fill func(f *excelize.File, sheet string)) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	f.SetSheetName("Sheet1", "orders")
	fill(f, "orders")
	name := filepath.Join(t.TempDir(), "plant.xlsx")
	if err := f.SaveAs(name); err != nil {
		t.Fatal(err)
	}
	return name
}

func row1(f *excelize.File, sheet string, row int, values ...any) {
	f.SetSheetRow(sheet, fmt.Sprintf("A%d", row), &values)
}

func readOrders(t *testing.T, name string) ([]planner.Order, Summary) {
	t.Helper()
	base := demo.Input(start)
	in, sum, err := Read(name, base, ReadOptions{Today: start})
	if err != nil {
		t.Fatal(err)
	}
	return in.Orders[len(base.Orders):], sum
}

func TestCellsOfAWorkbook(t *testing.T) {
	name := sheetFile(t, func(f *excelize.File, sheet string) {
		row1(f, sheet, 1, "code", "customer", "profile", "length [m]", "due", "priority", "price [/m]")
		row1(f, sheet, 2, 1001, "date cell", "SK80", 1500.5, time.Date(2027, 2, 1, 0, 0, 0, 0, time.UTC), 2, 1.25)
		row1(f, sheet, 3, "007", "numbers as text", "SK80", "1500.5", "2027-02-01", "2", "1.25")
		row1(f, sheet, 4, "# x", "a remark", nil, "what?")
		row1(f, sheet, 6, "F", "=not a formula", "SK80", nil, nil, 2, 1.25)
		f.SetCellFormula(sheet, "D6", "1000+500.5")
		f.SetCellInt(sheet, "E6", 46419)
		iso := "dd/mm/yyyy"
		style, _ := f.NewStyle(&excelize.Style{CustomNumFmt: &iso})
		f.SetCellStyle(sheet, "E6", "E6", style)
	})
	name = withCachedValue(t, name, "D6", "1500.5")
	got, sum := readOrders(t, name)
	want := func(code, customer string) planner.Order {
		return planner.Order{Code: code, Customer: customer, Profile: "SK80", Length: 1500.5, Due: calendar.Date(2027, 2, 1), Priority: 2, Price: 1.25}
	}
	if d := cmp.Diff([]planner.Order{want("1001", "date cell"), want("007", "numbers as text"), want("F", "=not a formula")}, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if d := cmp.Diff([]string{"plant.xlsx: sheet orders: 1 formula cells were read as the values they had when the workbook was saved"}, sum.Notes); d != "" {
		t.Error(d)
	}
}

// withCachedValue puts the value that a spreadsheet would store beside the formula of a cell.
func withCachedValue(t *testing.T, name, cell, value string) string {
	t.Helper()
	return rewritten(t, name, func(part string, data []byte) []byte {
		if part != "xl/worksheets/sheet1.xml" {
			return data
		}
		i := bytes.Index(data, []byte(`r="`+cell+`"`))
		j := bytes.Index(data[i:], []byte("</f>"))
		if i < 0 || j < 0 {
			t.Fatalf("no formula in %s", cell)
		}
		j += i + len("</f>")
		return append(append(append([]byte{}, data[:j]...), []byte("<v>"+value+"</v>")...), data[j:]...)
	})
}

// rewritten copies a workbook with its parts changed.
func rewritten(t *testing.T, name string, change func(part string, data []byte) []byte) string {
	t.Helper()
	r, err := zip.OpenReader(name)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, p := range r.File {
		in, err := p.Open()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		b.ReadFrom(in)
		in.Close()
		o, _ := w.Create(p.Name)
		o.Write(change(p.Name, b.Bytes()))
	}
	w.Close()
	if err := os.WriteFile(name, out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestDatesFrom1904 reads a workbook that counts its days from 1904, as those of old Macintoshes do.
func TestDatesFrom1904(t *testing.T) {
	name := sheetFile(t, func(f *excelize.File, sheet string) {
		yes := true
		f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes})
		row1(f, sheet, 1, "code", "profile", "length [m]", "due")
		row1(f, sheet, 2, "A", "SK80", 5)
		f.SetCellInt(sheet, "D2", 46419-1462) // Microsoft: the 1904 system's serial numbers are 1462 days less
		style, _ := f.NewStyle(&excelize.Style{NumFmt: 14})
		f.SetCellStyle(sheet, "D2", "D2", style)
	})
	if got, _ := readOrders(t, name); got[0].Due != calendar.Date(2027, 2, 1) {
		t.Errorf("due %v, want 2027-02-01", got[0].Due)
	}
}

// TestShiftTimesOfAWorkbook reads times of day that the spreadsheet keeps as parts of a day.
func TestShiftTimesOfAWorkbook(t *testing.T) {
	name := sheetFile(t, func(f *excelize.File, sheet string) {
		f.SetSheetName("orders", "shifts")
		row1(f, "shifts", 1, "code", "weekdays", "start", "end")
		row1(f, "shifts", 2, "x", "sat", 22.0/24, 6.0/24)
		style, _ := f.NewStyle(&excelize.Style{NumFmt: 20})
		f.SetCellStyle("shifts", "C2", "D2", style)
	})
	in, _, err := Read(name, demo.Input(start), ReadOptions{Today: start})
	if err != nil {
		t.Fatal(err)
	}
	if s := in.Calendar.Shifts[4]; s.Start != 22*time.Hour || s.End != 30*time.Hour {
		t.Errorf("shift %v to %v, want 22h to 30h", s.Start, s.End)
	}
}

// TestPercentCells reads cells that are shown as percentages, under either heading.
func TestPercentCells(t *testing.T) {
	for _, head := range []string{"availability", "availability [%]"} {
		name := sheetFile(t, func(f *excelize.File, sheet string) {
			f.SetSheetName("orders", "rates")
			row1(f, "rates", 1, "line", "profile", head)
			row1(f, "rates", 2, "L1", "SK80", 0.855)
			style, _ := f.NewStyle(&excelize.Style{NumFmt: 9})
			f.SetCellStyle("rates", "C2", "C2", style)
			row1(f, "rates", 3, "L2", "SK80", "90 %")
		})
		in, _, err := Read(name, demo.Input(start), ReadOptions{Today: start})
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]float64{}
		for _, x := range in.Fits {
			if x.Profile == "SK80" {
				got[x.Line] = float64(x.Availability)
			}
		}
		if got["L1"] != 0.855 || got["L2"] != 0.9 {
			t.Errorf("%s: L1 %v, want 0.855; L2 %v, want 0.9", head, got["L1"], got["L2"])
		}
	}
}

func TestBadWorkbooks(t *testing.T) {
	head := func(f *excelize.File, sheet string) {
		row1(f, sheet, 1, "code", "profile", "length [m]", "due")
		row1(f, sheet, 2, "A", "SK80", 5, "2027-02-01")
	}
	date := func(f *excelize.File, sheet, cell string) {
		f.SetCellInt(sheet, cell, 46419)
		style, _ := f.NewStyle(&excelize.Style{NumFmt: 14})
		f.SetCellStyle(sheet, cell, cell, style)
	}
	for _, c := range []struct {
		name string
		fill func(f *excelize.File, sheet string)
		want string
	}{
		{"formula without a value", func(f *excelize.File, s string) {
			head(f, s)
			f.SetCellValue(s, "C2", nil)
			f.SetCellFormula(s, "C2", "2+3")
		},
			`plant.xlsx, sheet orders, cell C2 (length [m]): "=2+3" holds a formula that was saved without its value; open and save the workbook in a spreadsheet, or write the value`},
		{"merged", func(f *excelize.File, s string) { head(f, s); f.MergeCell(s, "A2", "A3") },
			`plant.xlsx, sheet orders, cell A2: "A" is merged over A2:A3; unmerge the cells and fill in each`},
		{"date in a column of numbers", func(f *excelize.File, s string) { head(f, s); date(f, s, "C2") },
			`plant.xlsx, sheet orders, cell C2 (length [m]): "2027-02-01" was taken for a date by the spreadsheet; format the cell as a number and write it again`},
		{"date in a column of codes", func(f *excelize.File, s string) { head(f, s); date(f, s, "A2") },
			`plant.xlsx, sheet orders, cell A2 (code): "2027-02-01" was taken for a date by the spreadsheet; format the cell as text and write it again`},
		{"number in a column of days", func(f *excelize.File, s string) { head(f, s); f.SetCellInt(s, "D2", 46419) },
			`plant.xlsx, sheet orders, cell D2 (due): "46419" is a number, not a date; format the cell as a date, or write the day as YYYY-MM-DD`},
		{"day with a time", func(f *excelize.File, s string) {
			head(f, s)
			date(f, s, "D2")
			f.SetCellFloat(s, "D2", 46419.5, -1, 64)
		}, `plant.xlsx, sheet orders, cell D2 (due): "2027-02-01 12:00" has a time of day; write 2027-02-01`},
		{"unknown sheet", func(f *excelize.File, s string) { head(f, s); f.NewSheet("pin"); row1(f, "pin", 1, "code") },
			`plant.xlsx, sheet pin: is named after no table; did you mean "pins"?`},
		{"column far out", func(f *excelize.File, s string) { head(f, s); f.SetCellInt(s, "XFD2", 1) },
			`plant.xlsx: sheet orders has something in column XFD; the last one that is read is GR; split it, or take out what is no table`},
		{"nothing in it", func(f *excelize.File, s string) {},
			`plant.xlsx: has no sheets with anything in them; start from feedline template plant.xlsx`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := Read(sheetFile(t, c.fill), demo.Input(start), ReadOptions{Today: start})
			var e *Error
			if !errors.As(err, &e) || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

// TestRowFarDown refuses a sheet whose last cell is on the last row there can be, without making room for all rows above it.
func TestRowFarDown(t *testing.T) {
	name := sheetFile(t, func(f *excelize.File, s string) {
		row1(f, s, 1, "code", "profile", "length [m]", "due")
		row1(f, s, 3, "A")
	})
	name = rewritten(t, name, func(part string, data []byte) []byte {
		return bytes.ReplaceAll(bytes.ReplaceAll(data, []byte(`r="A3"`), []byte(`r="A1048576"`)), []byte(`<row r="3"`), []byte(`<row r="1048576"`))
	})
	_, _, err := Read(name, demo.Input(start), ReadOptions{Today: start})
	want := `plant.xlsx: sheet orders has more than 50000 rows; split it, or take out what is no table`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestErrorCells(t *testing.T) {
	name := sheetFile(t, func(f *excelize.File, s string) {
		row1(f, s, 1, "code", "profile", "length [m]", "due")
		row1(f, s, 2, "A", "SK80", "FAULT", "2027-02-01")
	})
	name = rewritten(t, name, func(part string, data []byte) []byte {
		if part != "xl/worksheets/sheet1.xml" {
			return data
		}
		i := bytes.Index(data, []byte(`<c r="C2"`))
		j := i + bytes.Index(data[i:], []byte("</c>")) + len("</c>")
		return append(append(append([]byte{}, data[:i]...), []byte(`<c r="C2" t="e"><f>B9/0</f><v>#REF!</v></c>`)...), data[j:]...)
	})
	_, _, err := Read(name, demo.Input(start), ReadOptions{Today: start})
	want := `plant.xlsx, sheet orders, cell C2 (length [m]): "#REF!" holds an error value; correct the formula or write the value`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestHiddenSheets(t *testing.T) {
	name := sheetFile(t, func(f *excelize.File, s string) {
		row1(f, s, 1, "code", "profile", "length [m]", "due")
		row1(f, s, 2, "A", "SK80", 5, "2027-02-01")
		f.NewSheet("scratch")
		row1(f, "scratch", 1, "nonsense")
		f.SetSheetVisible("scratch", false)
		f.NewSheet("# my remarks")
		row1(f, "# my remarks", 1, "nonsense")
		f.NewSheet("Sheet9")
	})
	got, sum := readOrders(t, name)
	if len(got) != 1 {
		t.Errorf("orders %v", got)
	}
	if d := cmp.Diff([]string{"plant.xlsx: sheet scratch is hidden and was passed over"}, sum.Notes); d != "" {
		t.Error(d)
	}
}

func TestNotAWorkbook(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x.xlsx")
	for what, data := range map[string][]byte{"text": []byte("code,profile\n"), "empty": nil, "cut off": cutOff(t)} {
		os.WriteFile(name, data, 0o644)
		_, _, err := Read(name, nil, ReadOptions{})
		var e *Error
		if !errors.As(err, &e) || !strings.HasPrefix(err.Error(), "x.xlsx: can't be read as a workbook: ") {
			t.Errorf("%s: %v", what, err)
		}
	}
}

func cutOff(t *testing.T) []byte {
	data, err := workbook([]page{tables[0].blank(false)})
	if err != nil {
		t.Fatal(err)
	}
	return data[:len(data)/2]
}

// TestZipBomb unpacks to more than is allowed: 300 MB of zeros in a workbook of 300 kB.
func TestZipBomb(t *testing.T) {
	if testing.Short() {
		t.Skip("writes 300 MB of zeros")
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	o, _ := w.Create("xl/worksheets/sheet1.xml")
	zeros := make([]byte, 1<<20)
	for range 300 {
		o.Write(zeros)
	}
	w.Close()
	name := filepath.Join(t.TempDir(), "bomb.xlsx")
	os.WriteFile(name, b.Bytes(), 0o644)
	_, _, err := Read(name, nil, ReadOptions{})
	if want := "bomb.xlsx: unpacks to more than 256 MB; split it, or take out what is no table"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}

// TestDateFormats knows which number formats show a date or a time.
func TestDateFormats(t *testing.T) {
	for format, want := range map[string]bool{
		"yyyy-mm-dd": true, "[h]:mm": true, "dd/mm/yyyy;@": true, "mm:ss.0": true, `[$-409]d-mmm-yy`: true, `"Tag" d`: true,
		"0.00": false, `#,##0 "days"`: false, "[Red]0": false, `0\d`: false, "General": false, "@": false, "[$€-407] 0.00": false, `0" m"`: false,
	} {
		if got := dateFormat(format); got != want {
			t.Errorf("format %q shows a date: %v, want %v", format, got, want)
		}
	}
}
