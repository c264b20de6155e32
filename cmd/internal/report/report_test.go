package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/demo"
	"feedline/cmd/internal/report/reporttest"
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/audit"
)

func golden(t *testing.T, name, got string) { t.Helper(); reporttest.Golden(t, name, got) }

type writer func(io.Writer, *planner.Input, *planner.Plan, Options) error

var texts = map[string]writer{"answer": Text, "runs": Runs, "feed": Feed, "orders": Orders, "why": Why}

func write(t *testing.T, f writer, in *planner.Input, p *planner.Plan, opt Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := f(&b, in, p, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestTexts(t *testing.T) {
	in, p := sample()
	for name, f := range texts {
		golden(t, name+".txt", write(t, f, in, p, Options{}))
		golden(t, name+"-us-ascii.txt", write(t, f, in, p, Options{ASCII: true, Units: quantity.US}))
	}
}

// TestWidth holds every text to the width asked for, at the widths that screens are designed for.
func TestWidth(t *testing.T) {
	for _, make := range []func() (*planner.Input, *planner.Plan){sample, crowded} {
		in, p := make()
		for name, f := range texts {
			for _, width := range []int{0, 40, 60, 80, 120, 200} {
				want := width
				if width == 0 {
					want = 80
				}
				for _, line := range strings.Split(write(t, f, in, p, Options{Width: width}), "\n") {
					if n := utf8.RuneCountInString(line); n > want {
						t.Errorf("%s at width %d: line of %d characters: %q", name, width, n, line)
					}
				}
			}
		}
	}
}

// TestAnswerFitsAScreen: 24 rows less the prompt, whatever the plant.
func TestAnswerFitsAScreen(t *testing.T) {
	for name, make := range map[string]func() (*planner.Input, *planner.Plan){"sample": sample, "crowded": crowded} {
		in, p := make()
		text := write(t, Text, in, p, Options{})
		if n := strings.Count(text, "\n"); n > 23 {
			t.Errorf("%s: %d rows, want 23 or fewer:\n%s", name, n, text)
		}
		for _, want := range []string{"Lines to run", "This week", "SHORT", "Orders:", "Cost", "competent person"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the answer lacks %q:\n%s", name, want, text)
			}
		}
	}
	in, p := crowded()
	for i := range 12 {
		in.Deliveries = append(in.Deliveries, inventory.Delivery{Code: fmt.Sprintf("D-1%02d", i), Status: inventory.OnRoad, ETA: p.Start - 1})
	}
	in.Deliveries = append(in.Deliveries, inventory.Delivery{Code: "D-here", Status: inventory.Received, ETA: p.Start - 1}, inventory.Delivery{Code: "D-ahead", Status: inventory.OnRoad, ETA: p.Start})
	text := write(t, Text, in, p, Options{})
	if n := strings.Count(text, "\n"); n > 23 {
		t.Errorf("with overdue deliveries: %d rows, want 23 or fewer:\n%s", n, text)
	}
	for _, want := range []string{"lines more", "more, see the feed", "\n! Overdue and counted on at once: D-100, D-101, ", ", D-104 and 7 more\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("the crowded answer does not say that it leaves something out (%q):\n%s", want, text)
		}
	}
}

// TestColour: escapes only where asked for, and nothing said by colour alone.
func TestColour(t *testing.T) {
	in, p := sample()
	escape := regexp.MustCompile("\x1b\\[[0-9;]*m")
	for name, f := range texts {
		plain, coloured := write(t, f, in, p, Options{}), write(t, f, in, p, Options{Color: true})
		if strings.Contains(plain, "\x1b") {
			t.Errorf("%s: an escape without colour", name)
		}
		if !escape.MatchString(coloured) {
			t.Errorf("%s: no escape with colour", name)
		}
		if got := escape.ReplaceAllString(coloured, ""); got != plain {
			t.Errorf("%s: colour changes the text:\n%s", name, cmp.Diff(plain, got))
		}
	}
	env := func(name, value string) func(string) string {
		return func(k string) string {
			if k == name {
				return value
			}
			return ""
		}
	}
	for _, c := range []struct {
		terminal bool
		env      func(string) string
		want     bool
	}{{true, env("", ""), true}, {false, env("", ""), false}, {true, env("NO_COLOR", "1"), false}, {true, env("TERM", "dumb"), false}, {true, env("TERM", "xterm"), true}} {
		if got := Colour(c.terminal, c.env); got != c.want {
			t.Errorf("Colour(terminal %v, NO_COLOR %q, TERM %q) = %v", c.terminal, c.env("NO_COLOR"), c.env("TERM"), got)
		}
	}
}

func TestASCII(t *testing.T) {
	in, p := sample()
	for name, f := range texts {
		for _, r := range write(t, f, in, p, Options{ASCII: true, Width: 50}) {
			if r > unicode.MaxASCII {
				t.Errorf("%s: %q is not ASCII", name, r)
			}
		}
	}
}

// TestAnswerWithoutNeed: a plan that was stopped before need against have says so.
func TestAnswerWithoutNeed(t *testing.T) {
	in, p := sample()
	p.NeedHave, p.Shortages, p.OrderBy, p.Bound = nil, nil, nil, quantity.Money(math.Inf(-1))
	text := write(t, Text, in, p, Options{})
	for _, want := range []string{"not worked out", "bound none", "gap not known"} {
		if !strings.Contains(text, want) {
			t.Errorf("the answer lacks %q:\n%s", want, text)
		}
	}
	in, p = sample()
	p.Shortages, p.OrderBy, p.Orders = nil, nil, p.Orders[:1]
	text = write(t, Text, in, p, Options{})
	for _, want := range []string{"No grade runs short", "Orders: all 1 in time"} {
		if !strings.Contains(text, want) {
			t.Errorf("the answer lacks %q:\n%s", want, text)
		}
	}
}

func TestJSON(t *testing.T) {
	in, p := sample()
	var b bytes.Buffer
	if err := JSON(&b, in, p); err != nil {
		t.Fatal(err)
	}
	golden(t, "plan.json", b.String())
	// The example can be read back by its own types, without a field left over.
	var d document
	dec := json.NewDecoder(&b)
	dec.DisallowUnknownFields()
	if err := dec.Decode(&d); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(documentOf(in, p), d); diff != "" {
		t.Errorf("reading the document back changes it:\n%s", diff)
	}
}

// TestJSONOfOddPlans: no NaN or infinity reaches the document, whatever the field, and an empty plan is a document too.
func TestJSONOfOddPlans(t *testing.T) {
	for _, odd := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		in, p := sample()
		spoil(reflect.ValueOf(p).Elem(), odd)
		var b bytes.Buffer
		if err := JSON(&b, in, p); err != nil {
			t.Fatalf("with %v everywhere: %v", odd, err)
		}
		if !bytes.Contains(b.Bytes(), []byte(`"objective_money": null`)) {
			t.Error("an objective that is no number should be null")
		}
		for name, f := range texts {
			if text := write(t, f, in, p, Options{}); text == "" {
				t.Errorf("%s of a plan with %v everywhere is empty", name, odd)
			}
		}
	}
	var b bytes.Buffer
	if err := JSON(&b, &planner.Input{}, &planner.Plan{}); err != nil || bytes.Contains(b.Bytes(), []byte(`"runs": null`)) {
		t.Errorf("empty plan: %v\n%s", err, b.String())
	}
}

func TestTextsOfAnEmptyPlan(t *testing.T) {
	for name, f := range texts {
		if err := f(io.Discard, &planner.Input{}, &planner.Plan{}, Options{}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// spoil sets every float of v to x.
func spoil(v reflect.Value, x float64) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Field(i).CanSet() {
				spoil(v.Field(i), x)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			spoil(v.Index(i), x)
		}
	case reflect.Float64:
		v.SetFloat(x)
	}
}

func TestAudit(t *testing.T) {
	in, p := sample()
	r := audit.Plan(in, p)
	if r.OK() {
		t.Fatal("the sample is no real plan, the audit should say so")
	}
	var text, doc bytes.Buffer
	if err := AuditText(&text, r); err != nil {
		t.Fatal(err)
	}
	if text.String() != r.String() {
		t.Error("the text is not the report's")
	}
	example := audit.Report{
		Rules: []audit.Tally{{Rule: audit.Hours, Checked: 37, Found: 1}, {Rule: audit.Pins, Checked: 4, Found: 1}},
		Findings: []audit.Finding{
			{Rule: audit.Hours, Place: "line L1", Bucket: 3, Day: monday + 14, Want: 24, Have: 24.5, Unit: "h", Note: "run, set-up and start-up hours"},
			{Rule: audit.Pins, Severity: audit.Doubtful, Place: "pin P1, line L2", Bucket: -1, Note: "not kept"},
		},
		Recosted: 1000.5, Difference: 0.5,
	}
	if err := AuditJSON(&doc, example); err != nil {
		t.Fatal(err)
	}
	golden(t, "audit.json", doc.String())
}

// TestSchemaIsDocumented holds the fields of both documents against the tables of SCHEMA.md, both ways.
func TestSchemaIsDocumented(t *testing.T) {
	text, err := os.ReadFile("SCHEMA.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		schema string
		doc    any
	}{{Schema, document{}}, {AuditSchema, auditDocument{}}, {EntriesSchema, entriesDoc{}}, {EstimatesSchema, estimatesDoc{}},
		{LotSchema, lotDoc{}}, {ContentSchema, contentDoc{}}, {ActualsSchema, actualsDoc{}}} {
		_, section, ok := strings.Cut(string(text), "## "+c.schema+"\n")
		if !ok {
			t.Fatalf("SCHEMA.md has no section %s", c.schema)
		}
		section, _, _ = strings.Cut(section, "\n## ")
		var documented []string
		for _, m := range regexp.MustCompile("(?m)^\\| `([^`]+)`").FindAllStringSubmatch(section, -1) {
			documented = append(documented, m[1])
		}
		fields := fieldsOf(reflect.TypeOf(c.doc), "")
		slices.Sort(documented)
		slices.Sort(fields)
		if d := cmp.Diff(documented, fields); d != "" {
			t.Errorf("%s: documented and written fields differ (-documented +written):\n%s", c.schema, d)
		}
	}
}

// fieldsOf lists the paths of a document type.
func fieldsOf(t reflect.Type, path string) []string {
	switch t.Kind() {
	case reflect.Pointer:
		return fieldsOf(t.Elem(), path)
	case reflect.Slice:
		return fieldsOf(t.Elem(), path+"[]")
	case reflect.Struct:
		var list []string
		for i := range t.NumField() {
			name := t.Field(i).Tag.Get("json")
			if path != "" {
				name = path + "." + name
			}
			list = append(list, fieldsOf(t.Field(i).Type, name)...)
		}
		return list
	}
	return []string{path}
}

// TestDemoTexts writes the demonstration plant with nothing planned: no text may fail on a real book.
func TestDemoTexts(t *testing.T) {
	in := demo.Input(monday)
	_, p := sample()
	for name, f := range texts {
		if text := write(t, f, in, p, Options{Width: 100}); !strings.Contains(text, "Tolverdale") {
			t.Errorf("%s lacks the plant's name", name)
		}
	}
}

// TestJSONDeliveries: what is on its way stands in the document by the day that the plan counts on it, what came or never comes does not.
// Worked by hand: 80 of a hundred loads come by 0.8416 standard deviations after the ETA.
func TestJSONDeliveries(t *testing.T) {
	in, p := reporttest.Full()
	in.Deliveries = append(in.Deliveries, inventory.Delivery{Code: "D-9", Material: "INM", Mass: 9000, ETA: monday + 1, Status: inventory.Rejected})
	var b bytes.Buffer
	if err := JSON(&b, in, p); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Deliveries []map[string]any `json:"deliveries"`
	}
	if err := json.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	want := []map[string]any{
		{"delivery": "D-8", "lane": "", "material": "INM", "status": "at port", "mass_kg": 18000.0, "ordered": nil, "eta": "2026-12-20", "spread_d": 0.0, "planned": "2026-12-21", "late": true, "overdue": true},
		{"delivery": "D-7", "lane": "WH-ROAD", "material": "INW", "status": "on the road", "mass_kg": 21000.0, "ordered": "2026-12-12", "eta": "2026-12-23", "spread_d": 2.0, "planned": "2026-12-25", "late": false, "overdue": false},
	}
	if d := cmp.Diff(want, got.Deliveries); d != "" {
		t.Errorf("deliveries (-want +got):\n%s", d)
	}
	in.Deliveries = nil
	b.Reset()
	if err := JSON(&b, in, p); err != nil || !strings.Contains(b.String(), `"deliveries": []`) {
		t.Errorf("no deliveries are no empty list, %v", err)
	}
}
