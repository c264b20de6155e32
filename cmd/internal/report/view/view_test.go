package view

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"feedline/cmd/internal/demo"
	"feedline/cmd/internal/report/reporttest"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// TestTablesAreWhole: names and heads are unique, rows are as wide as the heads, formulas name columns, whatever the plan holds.
func TestTablesAreWhole(t *testing.T) {
	makers := map[string]func() (*planner.Input, *planner.Plan){"full": reporttest.Full, "hostile": reporttest.Hostile,
		"empty": func() (*planner.Input, *planner.Plan) { return &planner.Input{}, &planner.Plan{} },
		"demo": func() (*planner.Input, *planner.Plan) {
			_, p := reporttest.Full()
			return demo.Input(reporttest.Monday), p
		}}
	for name, make := range makers {
		in, p := make()
		tables := All(in, p, Options{Units: quantity.US})
		seen := map[string]bool{}
		for _, x := range append(tables, NeedHaveWeeks(in, p, Options{}), PelletWeeks(in, p, Options{}), WeeklyRuns(in, p, 0, Options{})) {
			if seen[x.Name] || !regexp.MustCompile(`^[a-z-]{1,31}$`).MatchString(x.Name) {
				t.Errorf("%s: a table named %q, again or not to be a sheet's name", name, x.Name)
			}
			seen[x.Name] = true
			var heads []string
			for _, c := range x.Columns {
				if slices.Contains(heads, c.Head) || c.Head == "" {
					t.Errorf("%s %s: column %q twice", name, x.Name, c.Head)
				}
				heads = append(heads, c.Head)
			}
			if x.Group != "" && !slices.Contains(heads, x.Group) {
				t.Errorf("%s %s: no column %q to group by", name, x.Name, x.Group)
			}
			for _, c := range x.Columns {
				for _, m := range regexp.MustCompile(`\{([^}]+)\}`).FindAllStringSubmatch(c.Formula, -1) {
					if !slices.Contains(heads, strings.TrimSuffix(m[1], "^")) {
						t.Errorf("%s %s: the formula %s names no column", name, x.Name, c.Formula)
					}
				}
			}
			for i, r := range x.Rows {
				if len(r) != len(x.Columns) {
					t.Fatalf("%s %s: row %d has %d cells, want %d", name, x.Name, i, len(r), len(x.Columns))
				}
			}
			if len(x.Rows) == 0 && name != "empty" && x.Empty == "" {
				t.Errorf("%s %s: nothing is said of an empty table", name, x.Name)
			}
		}
	}
}

func TestAnswer(t *testing.T) {
	in, p := reporttest.Full()
	var b strings.Builder
	for _, s := range Answer(in, p, Options{Moved: true}) {
		b.WriteString(s.Head + ": " + strings.ReplaceAll(s.Text, "\u00a0", " ") + "\n")
	}
	reporttest.Golden(t, "answer.txt", b.String())
	for _, x := range reporttest.OddFigures {
		in, p := reporttest.Odd(x)
		if len(Answer(in, p, Options{})) == 0 {
			t.Errorf("no answer with %v everywhere", x)
		}
	}
}

// TestGapSaysOfWhat: a gap can be computed anew from what stands beside it, where what is left at the end makes the cost less than what is
// spent; 6,000 is 40 % of the plan's 15,000, and 15 % of the 40,000 that it spends.
func TestGapSaysOfWhat(t *testing.T) {
	in, p := reporttest.Full()
	p.Costs = []planner.Cost{{Name: "crew", Amount: 40000}, {Name: "value of end stocks", Amount: -25000}}
	p.Objective, p.Bound, p.Gap = 15000, 9000, 0.15
	got := said(in, p, "How good")
	if want := "The plan costs 15 000 EUR; no plan can cost less than 9 000 EUR, a gap of 15.00 % of the 40 000 EUR that it spends before what is left at the end is taken off."; !strings.HasPrefix(got, want) {
		t.Errorf("%q, want it to begin with %q", got, want)
	}
}

// TestStepsThatWereTried: of steps with lines that there was no time for nothing is said, and what falls is not told as more.
func TestStepsThatWereTried(t *testing.T) {
	in, p := reporttest.Full()
	p.LineValues = []planner.LineValue{{Line: "L2", Do: planner.StartLine, Can: true, Gain: -5}}
	p.Missing = []planner.Missing{{Answer: planner.AnswerLines, Words: "1 of 3 steps tried: out of time"}}
	if got, want := said(in, p, "Lines"), "None of the steps with lines that were tried, 1 of those there are, would bring anything."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	p.LineValues[0].Gain, p.LineValues[0].Length, p.LineValues[0].Pellets, p.Missing = 700, -1200, 3000, nil
	if got, want := said(in, p, "Lines"), "the plan would cost 700 EUR less, with 1 200 m less and 3.0 t more of pellets."; !strings.HasSuffix(got, want) {
		t.Errorf("%q, want it to end with %q", got, want)
	}
}

// said is what the answer says under a heading.
func said(in *planner.Input, p *planner.Plan, head string) string {
	for _, s := range Answer(in, p, Options{}) {
		if s.Head == head {
			return strings.NewReplacer("\u00a0", " ", "\u202f", " ").Replace(s.Text)
		}
	}
	return ""
}

// TestStarts: a line is started on a day, or in a week.
func TestStarts(t *testing.T) {
	in, p := reporttest.Full()
	for i := range p.Lines {
		u := &p.Lines[i]
		u.Started = u.Line == "L2" && (u.Bucket == 0 || p.Buckets[u.Bucket].Weekly())
	}
	if p.Buckets[0].Weekly() {
		t.Fatal("the first bucket is no day")
	}
	got := strings.ReplaceAll(Answer(in, p, Options{})[1].Text, "\u00a0", " ")
	if want := "Start L2 on Mon 21 Dec, L2 in "; !strings.HasPrefix(got, want) {
		t.Errorf("%q, want it to begin with %q", got, want)
	}
}

// TestLate: an order that is never complete comes first, then the latest; one in time is none of them.
func TestLate(t *testing.T) {
	_, p := reporttest.Full()
	var codes []string
	for _, r := range Late(p) {
		codes = append(codes, r.Order)
	}
	if got := strings.Join(codes, " "); got != "O-3 O-2" {
		t.Errorf("late orders %s, want O-3 O-2", got)
	}
}

func TestInert(t *testing.T) {
	for s, want := range map[string]string{"SK80": "SK80", "": "", "=1+1": "'=1+1", " =1+1": "' =1+1", "-5": "'-5", "@x": "'@x", "＝1": "'＝1", "a=b": "a=b", "x\x1b[31m\r\ny": "x[31my", "\t=1": "'=1"} {
		if got := Inert(s); got != want {
			t.Errorf("Inert(%q) = %q, want %q", s, got, want)
		}
	}
}

// TestArrivals: received deliveries are left out, what is overdue is counted on from the plan's first day, the rest on the cautious
// side of its ETA: 2 days of spread at 80 % are 1.7 days (normal quantile 0.8416, NIST/SEMATECH e-Handbook, table 1.3.6.7.1), so 2.
func TestArrivals(t *testing.T) {
	in, p := reporttest.Full()
	var got []string
	for _, a := range Arrivals(in, p) {
		got = append(got, a.Code+a.Lane+" "+a.Planned.String()+strings.Replace(" "+a.remark(), " overdue", "!", 1))
	}
	want := []string{"D-8 2026-12-21!", "D-7WH-ROAD 2026-12-25 ", "WH-ROAD 2026-12-30 "}
	if !slices.Equal(got, want) {
		t.Errorf("arrivals %q, want %q", got, want)
	}
}
