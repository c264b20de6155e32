package linesheet

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"golang.org/x/net/html"

	"feedline/cmd/internal/report/reporttest"
	"feedline/inventory/quantity"
	"feedline/planner"
)

func text(t *testing.T, in *planner.Input, p *planner.Plan, opt Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, in, p, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func pageOf(t *testing.T, in *planner.Input, p *planner.Plan, opt Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(&b, in, p, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestText(t *testing.T) {
	in, p := reporttest.Full()
	reporttest.Golden(t, "days.txt", text(t, in, p, Options{}))
	reporttest.Golden(t, "weeks-us.txt", text(t, in, p, Options{Weekly: true, Days: 21, Units: quantity.US, Moved: true}))
	reporttest.Golden(t, "idle.txt", text(t, in, p, Options{Lines: []string{"L3"}, Days: 1}))
}

// TestEveryRunIsOnce: over all sheets every campaign, changeover and start of the plan is there once, and the pellets add up.
func TestEveryRunIsOnce(t *testing.T) {
	in, p := reporttest.Full()
	for _, weekly := range []bool{false, true} {
		jobs, pellets := map[Kind]int{}, quantity.Mass(0)
		for _, s := range Sheets(in, p, Options{Days: 100, Weekly: weekly}) {
			for _, j := range s.Jobs {
				jobs[j.Kind]++
			}
			for _, n := range s.Pellets {
				pellets += n.Mass
			}
		}
		want := quantity.Mass(0)
		for _, r := range p.Runs {
			want += r.Pellets
		}
		if jobs[Run] != 6 || jobs[Change] != 2 || jobs[Start] != 1 || math.Abs(float64(pellets-want)) > 1e-6 {
			t.Errorf("weekly %v: %v with %v kg of pellets, want 6 runs, 2 changeovers, 1 start with %v kg", weekly, jobs, pellets, want)
		}
	}
}

// TestDies: a changeover tells what comes off and what goes on, by profile and family, carried over from sheet to sheet.
func TestDies(t *testing.T) {
	in, p := reporttest.Full()
	var got []string
	for _, s := range Sheets(in, p, Options{Days: 21, Lines: []string{"L1"}}) {
		for _, j := range s.Jobs {
			if j.Kind == Change {
				got = append(got, fmt.Sprintf("%s %s→%s %s→%s", s.Span.From, j.Off, j.Profile, j.From, j.To))
			}
		}
	}
	want := []string{"2026-12-22 SK80→SL30 SK→SL", "2027-01-04 SL30→SK80 SL→SK"}
	if !slices.Equal(got, want) {
		t.Errorf("changeovers %q, want %q", got, want)
	}
}

// TestCautions: a start warns of lockout, guarding and a competent person, and gives the heat soak of the screw: 1.0 h at 120 mm,
// midway between half an hour up to 90 mm and an hour and a half from 150 mm on (see lines.HeatSoak for the source).
// TestChangeoverTakes: a changeover is told with the hours that it takes in the order of the sheet, and with those booked where they are more.
func TestChangeoverTakes(t *testing.T) {
	in, p := reporttest.Full()
	for i := range p.Runs {
		p.Runs[i].Takes = p.Runs[i].Setup / 2
	}
	n := 0
	for _, s := range Sheets(in, p, Options{Weekly: true, Days: 28}) {
		for _, j := range s.Jobs {
			if j.Kind == Change && j.Booked > 0 {
				n++
				if j.Hours != j.Booked/2 {
					t.Errorf("%s: %v h of %v h booked, want half", j.Profile, j.Hours, j.Booked)
				}
			}
		}
	}
	if n == 0 {
		t.Error("no changeover takes less than what is booked")
	}
}

func TestCautions(t *testing.T) {
	in, p := reporttest.Full()
	started := false
	for _, s := range Sheets(in, p, Options{}) {
		all := strings.Join(s.Cautions, " ")
		if !strings.Contains(all, "Guards") {
			t.Errorf("%s: no word of guards: %s", s.Line, all)
		}
		starts := slices.ContainsFunc(s.Jobs, func(j Job) bool { return j.Kind == Start })
		changes := slices.ContainsFunc(s.Jobs, func(j Job) bool { return j.Kind == Change })
		if starts != strings.Contains(all, "Lockout") || starts != strings.Contains(all, "heat soak of at least 1.0 h") || changes != strings.Contains(all, "locked out") {
			t.Errorf("%s %s: starts %v, changes %v, cautions %s", s.Line, s.Span.From, starts, changes, all)
		}
		started = started || starts
	}
	if !started {
		t.Error("no sheet with a start")
	}
}

// TestWidth: no line of text is wider than 80 columns, whatever the names, unless a single word is.
func TestWidth(t *testing.T) {
	in, p := reporttest.Full()
	in.Profiles[0].Name = strings.Repeat("a rather long name ", 12)
	for _, line := range strings.Split(text(t, in, p, Options{Days: 30}), "\n") {
		if utf8.RuneCountInString(line) > width {
			t.Errorf("%d columns: %s", utf8.RuneCountInString(line), line)
		}
	}
	in, p = reporttest.Hostile()
	if s := text(t, in, p, Options{Days: 30}); strings.ContainsAny(s, "\x1b\x00\r") {
		t.Error("a control character of a name is in the text")
	}
}

// TestPage: one section a sheet, headings with a scope, names inert, no figure that is none.
func TestPage(t *testing.T) {
	in, p := reporttest.Hostile()
	list := map[string]string{"hostile": pageOf(t, in, p, Options{Days: 30})}
	for _, x := range reporttest.OddFigures {
		in, p := reporttest.Odd(x)
		list[fmt.Sprint(x)] = pageOf(t, in, p, Options{Days: 30})
	}
	for name, s := range list {
		doc, err := html.Parse(strings.NewReader(s))
		if err != nil {
			t.Fatal(err)
		}
		sections := 0
		var walk func(*html.Node)
		walk = func(n *html.Node) {
			switch n.Data {
			case "script", "img", "link":
				t.Errorf("%s: element %s", name, n.Data)
			case "section":
				sections++
			case "th":
				if !slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == "scope" }) {
					t.Errorf("%s: heading without a scope", name)
				}
			}
			for c := n.FirstChild; c != nil; c = c.NextSibling {
				if n.Type == html.ElementNode || n.Type == html.DocumentNode {
					walk(c)
				}
			}
		}
		walk(doc)
		if name == "hostile" && sections != 5 {
			t.Errorf("%s: %d sections, want 5: L1 in three buckets, L2 in two", name, sections)
		}
		if m := regexp.MustCompile(`.{0,40}(NaN|[+-]Inf\b).{0,20}`).FindString(s[strings.Index(s, "</style>"):]); m != "" {
			t.Errorf("%s: shows %q", name, m)
		}
	}
	if s := pageOf(t, &planner.Input{}, &planner.Plan{}, Options{}); !strings.Contains(s, Nothing) {
		t.Error("nothing is said where there is no sheet")
	}
}
