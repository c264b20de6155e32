package rows_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"feedline/cmd/internal/console/rows"
	"feedline/cmd/internal/console/rows/rowstest"
	"feedline/cmd/internal/demo"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

var (
	monday  = calendar.Date(2027, 1, 4)
	tuesday = time.Date(2027, 1, 5, 6, 30, 0, 0, time.UTC)
)

func facts() (*planner.Input, *planner.Plan, *rows.Facts) {
	in := demo.Input(monday)
	p := rowstest.Plan(in, monday, tuesday.Add(-3*time.Hour))
	return in, p, rows.New(in, p, nil, tuesday)
}

// page is a screen's page.
func page(t *testing.T, f *rows.Facts, name string, at rows.Place) rows.Page {
	t.Helper()
	i := slices.IndexFunc(rows.Screens, func(s rows.Screen) bool { return s.Name == name })
	if i < 0 {
		t.Fatalf("no screen %s", name)
	}
	return rows.Screens[i].Page(f, at)
}

func table(t *testing.T, p rows.Page, name string) *rows.Table {
	t.Helper()
	for _, pane := range p.Panes {
		if pane.Table != nil && pane.Table.Name == name {
			return pane.Table
		}
	}
	if p.More != nil {
		for _, x := range p.More() {
			if x.Name == name {
				return x
			}
		}
	}
	t.Fatalf("%s has no table %s", p.Screen, name)
	return nil
}

// cell is the cell of a row and a column.
func cell(t *testing.T, x *rows.Table, row, column string) rows.Cell {
	t.Helper()
	i, j := x.Index(row), slices.IndexFunc(x.Columns, func(c rows.Column) bool { return c.Key == column })
	if i < 0 || j < 0 {
		t.Fatalf("%s has no row %q or no column %q", x.Name, row, column)
	}
	return x.Rows[i].Cells[j]
}

// TestTodaySays: the sentence has the lines to run, the first short grade with its day, mass and order, and the late orders, as
// they are in the plan.
func TestTodaySays(t *testing.T) {
	in, p, f := facts()
	lead := page(t, f, "today", rows.Place{}).Lead[0].String()
	s, way := p.Shortages[0], planner.OrderBy{}
	for _, o := range p.OrderBy {
		if o.Grade == s.Grade && !o.TooLate && (way.Lane == "" || o.Landed < way.Landed) {
			way = o
		}
	}
	late := 0
	for _, o := range p.Orders {
		if o.DaysLate > 0 || o.Unmet > 0 {
			late++
		}
	}
	for _, want := range []string{"Run 5 of 6 lines", in.Grades[0].Name + " pellets run out about " + s.LastsTill.UTC().Format("2 Jan"), "98 t short", way.Lane,
		"by " + way.By.UTC().Format("2 Jan"), "of 80 orders late"} {
		if !strings.Contains(lead, want) {
			t.Errorf("%q lacks %q", lead, want)
		}
	}
	if !strings.Contains(lead, "! 12 of") || late != 12 {
		t.Errorf("%q: %d orders are late", lead, late)
	}
	for day, want := range map[int]string{5: "Closed today; from Mon 11 Jan run 5 of 6 lines.", -9: "From Mon 4 Jan run 5 of 6 lines."} {
		if got := rows.Today(rows.New(in, p, nil, tuesday.AddDate(0, 0, day)), rows.Place{}).Lead[0].String(); !strings.HasPrefix(got, want) {
			t.Errorf("%d days on: %q, want it to begin with %q", day, got, want)
		}
	}
	p.Shortages, p.OrderBy = nil, nil
	for i := range p.Orders {
		p.Orders[i].DaysLate, p.Orders[i].Unmet = 0, 0
	}
	lead = rows.Today(rows.New(in, p, nil, tuesday), rows.Place{}).Lead[0].String()
	if !strings.Contains(lead, "No grade runs short before") || !strings.Contains(lead, "All 80 orders in time") {
		t.Errorf("%q", lead)
	}
}

// TestWeeksAddUp: the weeks of the chart hold all of the plan's need and have.
func TestWeeksAddUp(t *testing.T) {
	_, p, f := facts()
	weeks := table(t, page(t, f, "today", rows.Place{}), "weeks")
	sums := map[string]float64{}
	for _, r := range weeks.Rows {
		sums[r.Cells[3].Text] += r.Cells[4].Value.(float64) - r.Cells[5].Value.(float64)
	}
	for g, got := range sums {
		want := 0.0
		for _, n := range p.NeedHave {
			if n.Grade == g {
				want += n.Need.Tonnes() - n.Have.Tonnes()
			}
		}
		if math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: need less have %g t over the weeks, %g t in the plan", g, got, want)
		}
	}
}

// TestRunsAgainstRates: the rate of a run is lines.Rate over its crewed hours, and what a line made of full hours is all of it.
func TestRunsAgainstRates(t *testing.T) {
	in, p, f := facts()
	runs := table(t, page(t, f, "lines", rows.Place{}), "runs")
	if len(runs.Rows) != len(p.Runs) {
		t.Fatalf("%d rows of %d runs", len(runs.Rows), len(p.Runs))
	}
	for i, r := range p.Runs {
		if p.Buckets[r.Bucket].Weekly() || r.Changeover {
			continue
		}
		var rate lines.RateResult
		for _, fit := range in.Fits {
			for _, x := range in.Profiles {
				if fit.Line == r.Line && fit.Profile == r.Profile && x.Code == r.Profile {
					rate = lines.Rate(x, fit)
				}
			}
		}
		want := float64(rate.MetresPerDay(r.Hours))
		got := runs.Rows[i].Cells[slices.IndexFunc(runs.Columns, func(c rows.Column) bool { return c.Key == "rate_m_a_day" })].Value.(float64)
		if math.Abs(got-want) > 1e-6*want {
			t.Errorf("run %d, %s of %s: rate %g m a day, want %g", i, r.Line, r.Profile, got, want)
		}
	}
}

// TestSigns: starts, changeovers, pins, outages and idle lines have their sign in the lines' table.
func TestSigns(t *testing.T) {
	in, _, _ := facts()
	in.Pins = append(in.Pins, planner.Pin{Code: "P", Kind: planner.PinRun, Line: "L6", Profile: "SK60", From: monday + 2, To: monday + 4})
	in.Lines[4].State, in.Lines[4].DownUntil = lines.Down, monday+3
	p := rowstest.Plan(in, monday, tuesday)
	floor := table(t, rows.Lines(rows.New(in, p, nil, tuesday), rows.Place{}), "floor")
	for _, c := range []struct {
		line, day calendarCell
		want      string
	}{
		{"L6", "2027-01-06", "▲=SK60"},
		{"L5", "2027-01-04", "×"},
		{"L1", "2027-01-13", "»AR70"},
		{"L7", "2027-01-08", "×"},
		{"L6", "2027-01-05", "·"},
		{"L1", "2027-01-10", "closed"},
	} {
		if got := cell(t, floor, string(c.line), string(c.day)).Text; got != c.want {
			t.Errorf("%s on %s: %q, want %q", c.line, c.day, got, c.want)
		}
	}
	words := ""
	for _, pane := range rows.Lines(rows.New(in, p, nil, tuesday), rows.Place{Row: map[string]string{"floor": "L6"}, Column: map[string]string{"floor": "2027-01-06"}}).Panes {
		if pane.Draw != nil {
			for _, l := range pane.Draw(200, 9) {
				words += l.String() + "\n"
			}
		}
	}
	if !strings.Contains(words, rows.Caution) {
		t.Errorf("a line is started without the caution:\n%s", words)
	}
}

type calendarCell string

// TestIdleLine holds the break-even of an idle line against a calculation by hand from the demonstration plant's figures: L6 on wall
// slats, 24 h a day.
func TestIdleLine(t *testing.T) {
	in, _, f := facts()
	idle := table(t, page(t, f, "supply", rows.Place{}), "idle")
	profile := cell(t, idle, "L6", "profile").Text
	var x lines.Profile
	var fit lines.Fit
	for _, p := range in.Profiles {
		if p.Code == profile {
			x = p
		}
	}
	for _, y := range in.Fits {
		if y.Line == "L6" && y.Profile == profile {
			fit = y
		}
	}
	speed := math.Min(float64(fit.Melt)/float64(x.PerMetre), float64(fit.HaulOff)*60*float64(max(1, fit.Strands)))
	metres := speed * float64(fit.Availability) * float64(fit.Quality) * 24
	if got := cell(t, idle, "L6", "good_m_a_day").Value.(float64); math.Abs(got-metres) > 1e-6*metres {
		t.Errorf("L6 makes %g m of %s a day, want %g", got, profile, metres)
	}
	pellets := metres * float64(x.PerMetre) / float64(fit.Quality) / 1000
	if got := cell(t, idle, "L6", "feed_t_a_day").Value.(float64); math.Abs(got-pellets) > 1e-6*pellets {
		t.Errorf("L6 eats %g t a day, want %g", got, pellets)
	}
	earns, once := cell(t, idle, "L6", "earns_EUR_a_day").Value.(float64), cell(t, idle, "L6", "once_EUR").Value.(float64)
	if got := cell(t, idle, "L6", "break_even_d").Value.(float64); math.Abs(got-once/earns) > 1e-9 {
		t.Errorf("L6 pays in %g days, want %g ÷ %g", got, once, earns)
	}
}

// TestShortFromIsNoDayBeforeItRunsOut: a first short week is told as a week, so that it does not stand as a day before the day on which pellets
// run out; and what runs short next is told by that day.
func TestShortFromIsNoDayBeforeItRunsOut(t *testing.T) {
	in, p, _ := facts()
	weekly := slices.IndexFunc(p.Buckets, func(b calendar.Bucket) bool { return b.Weekly() })
	first := p.Buckets[weekly].Span.From
	p.Shortages = []planner.Shortage{{Grade: "WH", First: monday + 2, LastsTill: monday + 2, MassIn4Weeks: 9000}, {Grade: "GY", First: first, LastsTill: first + 3, MassIn4Weeks: 9000}}
	today := page(t, rows.New(in, p, nil, tuesday), "today", rows.Place{})
	cover := table(t, today, "cover")
	day := func(d calendar.Day) string { return d.UTC().Format("2 Jan") }
	for grade, want := range map[string]string{"WH": day(monday + 2), "GY": "wk " + day(first)} {
		if got := cell(t, cover, grade, "short_from").Text; got != want {
			t.Errorf("%s short from %q, want %q", grade, got, want)
		}
	}
	if lead, want := today.Lead[0].String(), "Then GY about "+day(first+3)+"."; !strings.Contains(lead, want) {
		t.Errorf("%q lacks %q", lead, want)
	}
}

// TestIdleLineFeed: an idle line pays for a blend that the recipe allows, by hand for black slats on L6: half mixed ingot, as it may be no
// more, three tenths HIPS flake at its book price, the rest black pellets.
func TestIdleLineFeed(t *testing.T) {
	in, p, _ := facts()
	in.Fits = slices.DeleteFunc(in.Fits, func(x lines.Fit) bool { return x.Line == "L6" && x.Profile != "SL60" })
	ingot := (0.58+620.0/21000)/(0.985*0.965) + (0.035+0.985*0.11)/(0.985*0.965)
	blend := 0.5*ingot + 0.3*(0.82/0.965+0.11/0.965) + 0.2*((0.98+540.0/20000)/0.998+0.01/0.998)
	const metres, pellets, powered = 122 / 0.32 * 0.86 * 0.96 * 24, 122 * 0.86 * 24, 22 * 24
	want := 1.2*metres - blend*pellets - 27*2*24 - 0.17*(powered+0.28*pellets)
	if got := cell(t, table(t, page(t, rows.New(in, p, nil, tuesday), "supply", rows.Place{}), "idle"), "L6", "earns_EUR_a_day").Value.(float64); math.Abs(got-want) > 0.5 {
		t.Errorf("L6 earns %.2f EUR a day on SL60, want %.2f: pellets at %.4f EUR/kg", got, want, blend)
	}
}

// TestSteps: each line of the plan's values has its row, with the figures of the plan, those that stand first; without any it says why.
func TestSteps(t *testing.T) {
	in, p, f := facts()
	steps := table(t, page(t, f, "supply", rows.Place{}), "steps")
	if len(steps.Rows) != len(p.LineValues) || steps.Rows[0].Key != "L6" {
		t.Fatalf("%d rows from %q on, want %d from L6 on", len(steps.Rows), steps.Rows[0].Key, len(p.LineValues))
	}
	for _, v := range p.LineValues {
		key := v.Line
		if v.Do == planner.IdleLine {
			key += " idle"
		}
		if got := cell(t, steps, key, "gain_EUR").Value; got != float64(v.Gain) {
			t.Errorf("%s: gain %v, want %v", key, got, v.Gain)
		}
		if got := cell(t, steps, key, "late_orders").Value; got != float64(v.LateOrders) {
			t.Errorf("%s: %v late orders more, want %d", key, got, v.LateOrders)
		}
	}
	q := *p
	q.LineValues, q.Missing = nil, []planner.Missing{{Answer: planner.AnswerLines, Words: "0 of 7 steps tried: out of time"}}
	steps = table(t, page(t, rows.New(in, &q, nil, tuesday), "supply", rows.Place{}), "steps")
	if steps.None != q.Missing[0].Words {
		t.Errorf("without values the table says %q", steps.None)
	}
}

// TestChangesAgainstReleased: an unchanged plan has no differences; a run pinned away has one, with its sums.
func TestChangesAgainstReleased(t *testing.T) {
	in, p, _ := facts()
	f := rows.New(in, p, p, tuesday)
	if d := f.Delta(); !d.Known || d.Cost != 0 || d.Runs != 0 {
		t.Errorf("a plan differs from itself: %+v", d)
	}
	other := demo.Input(monday)
	other.Pins = append(other.Pins, planner.Pin{Code: "P", Kind: planner.PinIdle, Line: "L1", From: monday + 2, To: monday + 3})
	q := rowstest.Plan(other, monday, tuesday)
	f = rows.New(other, q, p, tuesday)
	if d := f.Delta(); d.Runs != 1 || d.Cost != q.Objective-p.Objective {
		t.Errorf("%+v, want 1 run and %v", d, q.Objective-p.Objective)
	}
	found := false
	for _, r := range table(t, page(t, f, "changes", rows.Place{}), "changes").Rows {
		found = found || r.Cells[1].Text == "run" && strings.HasPrefix(r.Cells[3].Text, "L1 6 Jan")
	}
	if !found {
		t.Error("the run that is no longer made on L1 on 6 Jan is not among the changes")
	}
}

// TestSortAndFilter: by value, with nothing last either way; words in any cell, whatever the case.
func TestSortAndFilter(t *testing.T) {
	x := &rows.Table{Columns: []rows.Column{{Key: "a"}, {Key: "b"}}, Rows: []rows.Row{
		{Key: "1", Cells: []rows.Cell{{Text: "10", Value: 10.0}, {Text: "Ab", Value: "Ab"}}},
		{Key: "2", Cells: []rows.Cell{{Text: "–", Value: math.NaN()}, {Text: "ac", Value: "ac"}}},
		{Key: "3", Cells: []rows.Cell{{Text: "9", Value: 9.0}, {Text: "aa", Value: "aa"}}},
		{Key: "4", Cells: []rows.Cell{{Text: "–", Value: calendar.Day(0)}, {Text: "b", Value: "b"}}},
	}}
	keys := func(t *rows.Table) (s string) {
		for _, r := range t.Rows {
			s += r.Key
		}
		return s
	}
	for _, c := range []struct {
		column int
		down   bool
		want   string
	}{{0, false, "3124"}, {0, true, "1324"}, {1, false, "3124"}, {1, true, "4213"}, {9, false, "1234"}} {
		if got := keys(x.Sort(c.column, c.down)); got != c.want {
			t.Errorf("by %d, down %v: %s, want %s", c.column, c.down, got, c.want)
		}
	}
	if got := keys(x.Filter("A")); got != "123" {
		t.Errorf("filtered: %s", got)
	}
	if got := keys(x.Filter("10 ab")); got != "1" {
		t.Errorf("filtered by two words: %s", got)
	}
}

// TestTextsFit: every page at every width, and each of its rows, is no wider than asked, and ASCII where asked.
func TestTextsFit(t *testing.T) {
	_, _, f := facts()
	for _, s := range rows.Screens {
		for _, width := range []int{40, 60, 80, 120, 200} {
			var b bytes.Buffer
			if err := s.Page(f, rows.Place{}).Text(&b, width); err != nil {
				t.Fatal(err)
			}
			for _, line := range strings.Split(b.String(), "\n") {
				if rows.Width(line) > width {
					t.Errorf("%s at %d: %q", s.Name, width, line)
				}
			}
			if i := strings.IndexFunc(rows.ASCIIText(b.String()), func(r rune) bool { return r > 0x7f }); i >= 0 {
				t.Errorf("%s: not ASCII at %d", s.Name, i)
			}
		}
	}
}

// TestJSONAndCSV: both hold each row of a table, by the same keys, with values that read back.
func TestJSONAndCSV(t *testing.T) {
	_, _, f := facts()
	for _, s := range rows.Screens {
		p := s.Page(f, rows.Place{})
		var b bytes.Buffer
		if err := p.JSON(&b, f); err != nil {
			t.Fatal(err)
		}
		var d struct {
			Schema, Screen string
			Tables         map[string][]map[string]any
		}
		if err := json.Unmarshal(b.Bytes(), &d); err != nil || d.Schema != rows.Schema || d.Screen != s.Name {
			t.Fatalf("%s: %v, %s", s.Name, err, d.Schema)
		}
		for name, list := range d.Tables {
			x := table(t, p, name)
			b.Reset()
			if err := x.CSV(&b); err != nil {
				t.Fatal(err)
			}
			lines, err := csv.NewReader(&b).ReadAll()
			if err != nil || len(lines) != 1+len(list) || len(list) != len(x.Rows) {
				t.Fatalf("%s: %d lines of CSV and %d objects of %d rows, %v", name, len(lines), len(list), len(x.Rows), err)
			}
			for _, o := range list {
				if len(o) != len(lines[0]) {
					t.Errorf("%s: %d fields in JSON, %d in CSV", name, len(o), len(lines[0]))
				}
			}
		}
	}
}

// TestFormulasAreText: a text that a spreadsheet would take for a formula is exported as text.
func TestFormulasAreText(t *testing.T) {
	x := &rows.Table{Columns: []rows.Column{{Key: "a"}}, Rows: []rows.Row{{Key: "1", Cells: []rows.Cell{{Text: "=1+1", Value: "=1+1"}}}}}
	var b bytes.Buffer
	if err := x.CSV(&b); err != nil || b.String() != "a\n'=1+1\n" {
		t.Errorf("%q, %v", b.String(), err)
	}
}

// TestWrap: no line is wider than asked, no word is lost.
func TestWrap(t *testing.T) {
	l := rows.Line{{Text: "eins zwei drei "}, {Text: "vier 東京発泡 fünf"}}
	for width := 4; width < 40; width++ {
		text := ""
		for _, w := range rows.Wrap(l, width) {
			if rows.Width(w.String()) > width {
				t.Errorf("at %d: %q", width, w.String())
			}
			text += w.String() + " "
		}
		if width >= 8 && strings.Join(strings.Fields(text), " ") != "eins zwei drei vier 東京発泡 fünf" {
			t.Errorf("at %d: %q", width, text)
		}
	}
}
