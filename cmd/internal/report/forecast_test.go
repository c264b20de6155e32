package report

import (
	"bytes"
	"fmt"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/report/reporttest"
	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/forecast"
	"feedline/planner/solve"
)

// someForecast is a forecast of two weeks with figures made up.
func someForecast() *forecast.Result {
	start := calendar.Date(2027, time.January, 4)
	band := func(x float64) forecast.Band {
		return forecast.Band{Plan: x, P10: 0.8 * x, P50: 0.95 * x, P90: 1.1 * x, Mean: 0.94 * x, MeanSE: 0.004 * x, P10SE: 0.01 * x, P90SE: 0.008 * x}
	}
	series := func(a, b float64) forecast.Series { return forecast.Series{band(a), band(b)} }
	some := []forecast.Chance{{P: 0.02, SE: 0.0044}, {P: 0.31, SE: 0.0146}}
	return &forecast.Result{Plant: "Harbour works", Currency: "EUR", Made: start.UTC().Add(6 * time.Hour), Start: start,
		Weeks: []calendar.Bucket{{Span: calendar.Span{From: start, To: start + 7}}, {Span: calendar.Span{From: start + 7, To: start + 14}}},
		Seed:  7, Asked: 1000, Runs: 990, Failed: 10, Stop: solve.Optimal, Metres: series(210000, 195000), Margin: series(118000, 97000), Cover: series(12, 7),
		Lines: series(5, 4), Late: series(1, 3), Feed: series(84, 61), TotalMetres: band(405000), TotalMargin: band(215000),
		Grades:    []forecast.GradeRisk{{Grade: "WH", Short: some, ByWeek: some, Committed: some, Tonnes: []float64{0.1, 2.4}, Worst: band(6)}},
		Drivers:   []forecast.Driver{{Kind: "delivery", Name: "D-108", Unit: "days late", Margin: -0.62, Metres: -0.55, Share: 0.48}},
		Orders:    []forecast.OrderRisk{{Order: "O-1", Profile: "SK80", Due: start + 9, Late: some[1]}},
		LoadWorth: []forecast.LoadWorth{{Code: "D-108", Material: "IMW", Kg: 99000, Week: 5200, WeekSE: 140, Value: 81000, ValueSE: 900, More: 30400, MoreSE: 700, Samples: 40}},
		OrderNow: &forecast.OrderNow{Scenarios: 5, Weeks: 4, Orders: []forecast.NearOrder{{Lane: "WH-ROAD", Day: start + 1, Loads: 2, Plan: 1, Mean: 1}}, Cost: 812000, Bound: 811500, PlanCost: 815300,
			MeanCost: 814100, Foresight: 809400, VSS: 2100, EVPI: 2600, Stop: solve.GapReached},
		Service: 0.95,
		OrderBy: []forecast.OrderBy{{Grade: "WH", Lane: "WH-SEA", By: start - 3, TooLate: true, SE: 0.7, Short: some[1], Formula: start - 5, Loads: 2}, {Grade: "WH", Lane: "WH-ROAD", Never: true, Loads: 1}},
		Loads:   []forecast.LoadRisk{{Code: "D-108", Material: "IMW", Planned: start + 5, P10: start + 2, P50: start + 5, P90: start + 11}}}
}

func TestForecastFiles(t *testing.T) {
	var text, doc bytes.Buffer
	if err := Forecast(&text, someForecast(), Options{}); err != nil {
		t.Fatal(err)
	}
	golden(t, "forecast.txt", text.String())
	if err := ForecastJSON(&doc, someForecast()); err != nil {
		t.Fatal(err)
	}
	golden(t, "forecast.json", doc.String())
}

// TestForecastUnits: every figure is in the unit that its heading names: 210,000 m are 689 thousand ft, 6 t are 6.6 short tons.
func TestForecastUnits(t *testing.T) {
	var b bytes.Buffer
	if err := Forecast(&b, someForecast(), Options{Units: quantity.US, Width: 120}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`Good ft made a week, thousands`, `2027-W01 .* 551 +655 +758\n`, `worst st P90\n.* 7\.3\n`} {
		if !regexp.MustCompile(want).MatchString(b.String()) {
			t.Errorf("%s is not in\n%s", want, b.String())
		}
	}
	if strings.Contains(b.String(), "Metres") {
		t.Error("metres in a forecast in feet")
	}
}

// TestForecastFitsTheWidth looks at every row at several widths.
func TestForecastFitsTheWidth(t *testing.T) {
	for _, width := range []int{40, 80, 120} {
		for _, ascii := range []bool{false, true} {
			var b bytes.Buffer
			if err := Forecast(&b, someForecast(), Options{Width: width, ASCII: ascii}); err != nil {
				t.Fatal(err)
			}
			for _, line := range strings.Split(b.String(), "\n") {
				if n := utf8.RuneCountInString(line); n > width {
					t.Errorf("width %d: %d characters: %s", width, n, line)
				}
				if ascii && len(line) != utf8.RuneCountInString(line) {
					t.Errorf("beyond ASCII: %s", line)
				}
			}
		}
	}
}

// TestFanRows holds the places of the signs: the plan's bar beside the dots from the tenth to the ninetieth percentile.
func TestFanRows(t *testing.T) {
	r := someForecast()
	r.Metres = forecast.Series{{Plan: 100, P10: 50, P50: 70, P90: 80}, {}}
	rows := FanRows(r, r.Metres, 1, 10+18+11)
	if want := "2027-W01       ··=·  |    50    70    80"; !strings.HasPrefix(rows[0], want[:21]) || len(rows) != 2 {
		t.Errorf("row %q, want %q", rows[0], want)
	}
	for _, w := range []int{1, 28, 29, 40} {
		FanRows(r, r.Metres, 1, w) // no width is too small
	}
	FanRows(r, forecast.Series{{}, {}}, 1, 60) // nothing to draw
}

// TestForecastSchemaIsDocumented holds the document's fields against the table of SCHEMA.md, both ways; bands and chances are told once.
func TestForecastSchemaIsDocumented(t *testing.T) {
	text, err := os.ReadFile("SCHEMA.md")
	if err != nil {
		t.Fatal(err)
	}
	for schema, doc := range map[string]reflect.Type{ForecastSchema: reflect.TypeFor[forecastDocument](), CurveSchema: reflect.TypeFor[curveDocument]()} {
		holdSchema(t, string(text), schema, doc)
	}
}

func holdSchema(t *testing.T, text, schema string, doc reflect.Type) {
	_, section, ok := strings.Cut(text, "## "+schema+"\n")
	if !ok {
		t.Fatalf("SCHEMA.md has no section %s", schema)
	}
	section, _, _ = strings.Cut(section, "\n## ")
	var documented []string
	for _, m := range regexp.MustCompile("(?m)^\\| `([^`]+)`").FindAllStringSubmatch(section, -1) {
		documented = append(documented, m[1])
	}
	var fields []string
	leaf := regexp.MustCompile(`\.(plan|p10|p50|p90|mean|mean_se|p10_se|p90_se|p_share|se_share)$`)
	for _, f := range fieldsOf(doc, "") {
		if !strings.HasPrefix(f, "loads[]") {
			f = leaf.ReplaceAllString(f, "")
		}
		if !slices.Contains(fields, f) {
			fields = append(fields, strings.TrimPrefix(f, "."))
		}
	}
	slices.Sort(documented)
	slices.Sort(fields)
	if d := cmp.Diff(documented, fields); d != "" {
		t.Errorf("%s: documented and written fields differ (-documented +written):\n%s", schema, d)
	}
}

// TestWeeksAreTheHorizons: the answer and the forecast of a plan that begins on a Wednesday name its weeks, not the
// calendar weeks that it touches.
func TestWeeksAreTheHorizons(t *testing.T) {
	in, p := sample()
	p.Start += 2
	p.Buckets = calendar.Buckets(p.Start, 7, 6)
	p.Shortages, p.OrderBy, p.LinesToRun = nil, nil, make([]int, len(p.Buckets))
	if n := len(weeksOf(p)); n != 7 {
		t.Fatalf("the plan touches %d calendar weeks, want 7", n)
	}
	for name, got := range map[string]string{"answer": write(t, Text, in, p, Options{}), "forecast": forecastHeading(reporttest.Forecast(p)),
		"short": fmt.Sprint(view.Answer(in, p, view.Options{}))} {
		if !strings.Contains(got, "6 weeks") || strings.Contains(got, "7 weeks") {
			t.Errorf("the %s does not name the 6 weeks of its plan:\n%s", name, got)
		}
	}
	if got := planner.Weeks(calendar.Buckets(p.Start, 1, 1)); got != "1 week" {
		t.Errorf("a plan of a week lasts %q", got)
	}
}
