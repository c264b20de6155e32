package rows_test

import (
	"fmt"
	"strings"
	"testing"

	"feedline/cmd/internal/console/rows"
	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/cmd/internal/demo"
	"feedline/lines"
	"feedline/planner"
)

// said is all that a screen says in words and tables.
func said(t *testing.T, f *rows.Facts, name string) string {
	t.Helper()
	var b strings.Builder
	if err := page(t, f, name, rows.Place{}).Text(&b, 200); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func mustSay(t *testing.T, text string, want, lacks []string) {
	t.Helper()
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("%q is not in\n%s", w, text)
		}
	}
	for _, w := range lacks {
		if strings.Contains(text, w) {
			t.Errorf("%q is in\n%s", w, text)
		}
	}
}

// TestPlanThatIsOver: a plan whose last day is past is not told as today's, nothing of it is to be done, and its days have their year.
func TestPlanThatIsOver(t *testing.T) {
	in := demo.Input(monday)
	start := monday - 400
	f := rows.New(in, rowstest.Plan(in, start, tuesday.AddDate(0, 0, -400)), nil, tuesday)
	mustSay(t, said(t, f, "today"), []string{"! The plan's last day was 31 May", "plan again"}, []string{"Run 6 of 6", "order 1 load", "run out about", "2 Dec "})
	mustSay(t, said(t, f, "lines"), []string{"! The plan's last day was 31 May"}, []string{"6 of 6 lines run"})
	mustSay(t, said(t, f, "feed"), []string{"In the yard", "2025-12-02", "! The plan's last day was 31 May"}, []string{"run out about"})
	f = rows.New(in, rowstest.Plan(in, monday-7*26+2, tuesday.AddDate(0, 0, -180)), nil, tuesday)
	mustSay(t, said(t, f, "today"), []string{"plan again"}, []string{"last day was", "order 1 load on WH-ROAD"})
}

// TestPlanThatBeginsLater: what Today says is of the plan's first day, and that day is named.
func TestPlanThatBeginsLater(t *testing.T) {
	in := demo.Input(monday)
	mustSay(t, said(t, rows.New(in, rowstest.Plan(in, monday+7, tuesday), nil, tuesday), "today"), []string{"Begins 11 Jan."}, nil)
	_, _, f := facts()
	mustSay(t, said(t, f, "today"), nil, []string{"Begins"})
}

// TestLinesOfAnotherBook: lines that the plan has and the book no longer does are not counted, on any screen.
func TestLinesOfAnotherBook(t *testing.T) {
	in := demo.Input(monday)
	p := rowstest.Plan(in, monday, tuesday)
	less := *in
	less.Lines, less.Profiles = in.Lines[:2], in.Profiles[:1]
	f := rows.New(&less, p, nil, tuesday)
	mustSay(t, said(t, f, "today"), []string{"Run 2 of 2 lines."}, []string{"Run 5"})
	mustSay(t, said(t, f, "lines"), []string{"2 of 2 lines run."}, nil)
	if n := cell(t, table(t, page(t, f, "today", rows.Place{}), "weeks"), "WH"+monday.String(), "lines_to_run").Value; n != 2 {
		t.Errorf("%v lines to run in the first week, want 2", n)
	}
	mustSay(t, said(t, f, "orders"), []string{"which is not in the book"}, []string{"()"})
}

// TestBackByNow: a line that was down until a day that is past is not told as out of work.
func TestBackByNow(t *testing.T) {
	in := demo.Input(monday)
	in.Lines[0].State, in.Lines[0].DownUntil = lines.Down, monday-30
	p := rowstest.Plan(in, monday, tuesday)
	for i := range p.Lines {
		p.Lines[i].On = p.Lines[i].On && p.Lines[i].Line != in.Lines[0].Code
	}
	f := rows.New(in, p, nil, tuesday)
	mustSay(t, said(t, f, "lines"), []string{"4 of 6 lines run", in.Lines[0].Code + " (back by now)"}, []string{"down till"})
	mustSay(t, said(t, f, "today"), []string{"Run 4 of 6 lines"}, nil)
}

// TestNoOrders: no order is not all orders.
func TestNoOrders(t *testing.T) {
	in := demo.Input(monday)
	in.Orders = nil
	f := rows.New(in, rowstest.Plan(in, monday, tuesday), nil, tuesday)
	mustSay(t, said(t, f, "orders"), []string{"The plan has no orders."}, []string{"All 0 orders"})
}

// TestPlansOfOtherDays: plans without a day in common do not differ by 0 runs.
func TestPlansOfOtherDays(t *testing.T) {
	in := demo.Input(monday)
	was, now := rowstest.Plan(in, monday-400, tuesday), rowstest.Plan(in, monday, tuesday)
	f := rows.New(in, now, was, tuesday)
	mustSay(t, f.Status().String()+said(t, f, "changes"), []string{"cost", "the days differ"}, []string{"0 runs"})
	for _, same := range []*planner.Plan{now, rowstest.Plan(in, monday, tuesday)} {
		mustSay(t, said(t, rows.New(in, now, same, tuesday), "changes"), []string{"0 runs differ"}, nil)
	}
}

// TestYesterdayOfThePromise: a plan that begins today knows nothing of yesterday's runs, the plan that was yesterday's promise does.
func TestYesterdayOfThePromise(t *testing.T) {
	in := demo.Input(monday)
	f := rows.New(in, rowstest.Plan(in, monday+1, tuesday), nil, tuesday)
	const unknown = "The plan does not reach back to that day"
	mustSay(t, said(t, f, "records"), []string{unknown}, nil)
	f.Known.Promised = rowstest.Plan(in, monday, tuesday)
	want := fmt.Sprintf(" 0 of %d runs recorded.", len(runsOn(f.Known.Promised, 0)))
	mustSay(t, said(t, f, "records"), []string{want}, []string{unknown})
}

// runsOn is the runs of a bucket.
func runsOn(p *planner.Plan, bucket int) (list []planner.Run) {
	for _, r := range p.Runs {
		if r.Bucket == bucket && r.Length > 0 {
			list = append(list, r)
		}
	}
	return list
}

// TestPlanOfASunday: a plan that begins on the week's last day, which is closed, tells of the week to come, not of lines that stop.
func TestPlanOfASunday(t *testing.T) {
	in := demo.Input(monday)
	sunday := rowstest.Plan(in, monday+6, tuesday.AddDate(0, 0, 5))
	_, next := (monday + 7).ISOWeek()
	mustSay(t, said(t, rows.New(in, sunday, nil, tuesday.AddDate(0, 0, 5)), "lines"), []string{fmt.Sprintf("W%02d: ", next)}, []string{": 0 of"})
}

// TestLongWords: a text without blanks is broken, not cut: where a row is read in full nothing of it is lost.
func TestLongWords(t *testing.T) {
	text := "an " + strings.Repeat("港の内装株式会社", 12) + " end"
	for _, width := range []int{1, 2, 9, 40} {
		all := ""
		for _, l := range rows.Wrap(rows.Line{{Text: text}}, width) {
			all += l.String()
			if w := rows.Width(l.String()); w > width {
				t.Errorf("%q is %d wide, %d were asked for", l.String(), w, width)
			}
		}
		if width > 1 && strings.ReplaceAll(all, " ", "") != strings.ReplaceAll(text, " ", "") {
			t.Errorf("at %d it is %q, want %q", width, all, text)
		}
	}
}

// TestLongCodeOfLine: beside a line with a very long code there is room for a day at least.
func TestLongCodeOfLine(t *testing.T) {
	in := demo.Input(monday)
	in.Lines[0].Code = strings.Repeat("LINE-", 20)
	board := table(t, page(t, rows.New(in, rowstest.Plan(in, monday, tuesday), nil, tuesday), "lines", rows.Place{}), "floor")
	for _, width := range []int{20, 40, 80} {
		widths, _ := board.Fit(width)
		for i, w := range widths[1:] {
			if widths[0]+2+w > width || w < 4 {
				t.Errorf("at %d the code has %d columns, %s %d", width, widths[0], board.Columns[i+1].Key, w)
			}
		}
	}
}

// TestLongCodes: in tables that do not move, too, a very long code leaves room for the columns beside it that always stay.
func TestLongCodes(t *testing.T) {
	in := demo.Input(monday)
	old, long := in.Lines[0].Code, strings.Repeat("LINE-", 20)
	in.Lines[0].Code = long
	for i := range in.Fits {
		if in.Fits[i].Line == old {
			in.Fits[i].Line = long
		}
	}
	made := table(t, page(t, rows.New(in, rowstest.Plan(in, monday, tuesday), nil, tuesday), "records", rows.Place{}), "made")
	widths, keep := made.Fit(80)
	sum := -2
	for i, w := range widths {
		if keep[i] {
			sum += w + 2
		}
	}
	if sum > 80 {
		t.Errorf("%d columns are taken of 80: %v", sum, widths)
	}
}

// TestDraftWithoutPlan: edits that are not planned yet are not said to cost 0 and to change nothing.
func TestDraftWithoutPlan(t *testing.T) {
	in := demo.Input(monday)
	p := rowstest.Plan(in, monday, tuesday)
	f := rows.New(in, p, p, tuesday)
	f.Edits = []rows.EditLine{{Key: "1", Text: "crew 8", Cost: rows.EditCost(p, nil)}}
	mustSay(t, f.Status().String()+said(t, f, "changes"), []string{"Draft not planned yet: the stored plan is shown", "It is not planned yet"}, []string{"Cost 0", "0 runs"})
}
