package xlsx

import (
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"feedline/cmd/internal/report/reporttest"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/yield"
)

// TestRecordsAreSheets: each estimate with its interval and number of records, and each control chart, is a row; names are no formulas.
func TestRecordsAreSheets(t *testing.T) {
	in, p := reporttest.Full()
	p.Estimates = []planner.Estimate{{Name: "yield PEL <INW>", Entered: 0.95, Value: 0.931, Low: 0.923, High: 0.939, Records: 42, Used: true},
		{Name: "set-up SK SK", Unit: "h", Entered: 2.75, Value: 2.5, Low: 2.1, High: 2.9, Records: 4, Note: "overruled"}}
	c := estimates.Chart{Name: "=yield PEL INW", Values: []float64{1, 1.1}, EWMA: []float64{1, 1.02}, Days: []calendar.Day{reporttest.Monday, reporttest.Monday + 1},
		Single: yield.Limits{Centre: 1, Low: 0.95, High: 1.05}, Smooth: yield.Limits{Centre: 1, Low: 0.99, High: 1.01}, Alarms: []estimates.Alarm{{Words: "it drifts"}}}
	var b bytes.Buffer
	if err := Write(&b, in, p, Options{Records: &estimates.Report{Charts: []estimates.Chart{c}}}); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet, excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			all.WriteString(strings.Join(row, "|") + "\n")
		}
	}
	for _, want := range []string{"yield PEL <INW>||0.95|0.931|0.923|0.939|42|yes", "set-up SK SK|h|2.75|2.5|2.1|2.9|4|no|overruled", "'=yield PEL INW|out|",
		"|2|1.1|1|0.95|1.05|1.02|0.99|1.01|it drifts"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("the workbook lacks %q", want)
		}
	}
}
