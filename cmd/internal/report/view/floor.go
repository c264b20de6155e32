package view

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/planner"
)

// LeastLength, in metres, is the least good length that is worth a word.
const LeastLength quantity.Length = 0.5

// linesToRun is the count by bucket, with which lines.
func (m *maker) linesToRun() Table {
	t := Table{Name: "lines-to-run", Title: "Lines to run", Note: "Lines on, by period; start is a line that comes on in it.", Empty: "Nothing is planned.",
		Columns: slices.Concat(periodColumns(), []Column{count("lines", ""), words("which"), words("start")})}
	on, start := make([][]string, len(m.p.Buckets)), make([][]string, len(m.p.Buckets))
	for _, u := range m.p.Lines {
		if u.Bucket < 0 || u.Bucket >= len(on) {
			continue
		}
		if u.On {
			on[u.Bucket] = append(on[u.Bucket], u.Line)
		}
		if u.Started {
			start[u.Bucket] = append(start[u.Bucket], u.Line)
		}
	}
	for i := range m.p.Buckets {
		n := 0
		if i < len(m.p.LinesToRun) {
			n = m.p.LinesToRun[i]
		}
		t.Rows = append(t.Rows, slices.Concat(m.period(i), []Cell{whole(n), text(strings.Join(on[i], ", ")), text(strings.Join(start[i], ", "))}))
	}
	return t
}

func (m *maker) runs() Table {
	t := Table{Name: "runs", Title: "Run list", Group: "line", Empty: "No line runs.",
		Note: "Each line's campaigns in the order to run. Hours are crewed hours without the set-up; pellets and scrap include those of changeovers.",
		Columns: slices.Concat([]Column{words("line")}, periodColumns(), []Column{words("profile"), words("name"), words("grade"), hourColumn("run").summed(), m.lengthColumn("good").summed(),
			{Head: "rate", Unit: m.unit(quantity.KindLength).Symbol + "/h", Kind: Number, Formula: `IF({run}>0,{good}/{run},"")`}, words("die on"), hourColumn("set-up").summed(),
			m.massColumn("pellets").summed(), m.massColumn("scrap").summed()})}
	for _, r := range m.p.Runs {
		pr, on, rate := m.profiles[r.Profile], "", math.NaN()
		if r.Changeover {
			on = "yes"
		}
		good := m.length(r.Length)
		if r.Hours > 0 {
			rate = good.Number / float64(r.Hours)
		}
		t.Rows = append(t.Rows, slices.Concat([]Cell{text(r.Line)}, m.period(r.Bucket), []Cell{text(r.Profile), text(pr.Name), text(pr.Grade), number(float64(r.Hours)), good,
			number(rate), text(on), number(float64(r.Setup)), m.mass(r.Pellets), m.mass(r.Scrap)}))
	}
	return t
}

func (m *maker) lineUse() Table {
	t := Table{Name: "line-use", Title: "Use of the lines", Group: "line", Note: "Crewed hours of each line and what they go to.", Empty: "Nothing is planned.",
		Columns: slices.Concat([]Column{words("line")}, periodColumns(), []Column{words("on"), words("start"), hourColumn("available").summed(), hourColumn("run").summed(), hourColumn("set-up").summed(),
			hourColumn("start-up").summed(), hourColumn("left").summed().by("{available}-{run}-{set-up}-{start-up}"), words("die at end")})}
	for _, u := range m.p.Lines {
		start := ""
		if u.Started {
			start = "start"
		}
		t.Rows = append(t.Rows, slices.Concat([]Cell{text(u.Line)}, m.period(u.Bucket), []Cell{yes(u.On), text(start), number(float64(u.Available)), number(float64(u.Run)),
			number(float64(u.Setup)), number(float64(u.Startup)), number(float64(u.Available - u.Run - u.Setup - u.Startup)), text(u.Mounted)}))
	}
	return t
}

// Campaigns is what a line does in the buckets [from, to): the profiles in their order, each with its good length, such as
// "SK80 39 600 m → PK140 288 m", "START" before them where the line comes on; "" if it does nothing.
func Campaigns(p *planner.Plan, line string, from, to int, sys quantity.System) string {
	type campaign struct {
		profile string
		length  quantity.Length
	}
	var list []campaign
	var parts []string
	for _, u := range p.Lines {
		if u.Line == line && u.Started && from <= u.Bucket && u.Bucket < to {
			parts = append(parts, "START")
			break
		}
	}
	for _, r := range p.Runs { // sorted by line, then bucket
		if r.Line != line || r.Bucket < from || r.Bucket >= to {
			continue
		}
		if n := len(list); n > 0 && list[n-1].profile == r.Profile {
			list[n-1].length += r.Length
			continue
		}
		list = append(list, campaign{r.Profile, r.Length})
	}
	for _, c := range list {
		if Worth(c.length) { // else its die goes on, for what comes after
			parts = append(parts, c.profile+" "+c.length.Format(sys, 0))
		}
	}
	return strings.Join(parts, " → ")
}

// StateWord says why a line stands in the buckets [from, to).
func StateWord(p *planner.Plan, ln lines.Line, from, to int) string {
	for _, u := range p.Lines {
		if u.Line == ln.Code && u.On && from <= u.Bucket && u.Bucket < to {
			return "on without work"
		}
	}
	switch ln.State {
	case lines.Ready:
		return "ready"
	case lines.Down:
		return "down till " + ln.DownUntil.UTC().Format("2 Jan")
	case lines.Uncommissioned:
		return "not set up"
	}
	return "stopped"
}

// WeeklyRuns is the run list of the weeks from a bucket on, a row for each week and line with work.
func WeeklyRuns(in *planner.Input, p *planner.Plan, from int, opt Options) Table {
	t := Table{Name: "weekly-runs", Title: "Run list, weeks after", Note: "Good length a week, in the order to run; a die is changed between. Set-up hours include starts.", Empty: "The plan ends before.", Group: "week",
		Columns: []Column{words("week"), date("from"), words("line"), prose("campaigns, in the order to run"), hourColumn("run"), hourColumn("set-up")}}
	for _, w := range Weeks(p) {
		for _, ln := range in.Lines {
			what := Campaigns(p, ln.Code, max(w.From, from), w.To, opt.Units)
			if w.To <= from || what == "" {
				continue
			}
			run, setup := 0.0, 0.0
			for _, u := range p.Lines {
				if u.Line == ln.Code && w.Has(u.Bucket) && u.Bucket >= from {
					run, setup = run+float64(u.Run), setup+float64(u.Setup+u.Startup)
				}
			}
			t.Rows = append(t.Rows, []Cell{text(w.Label()), day(w.Monday), text(ln.Code), text(what), number(run), number(setup)})
		}
	}
	return t
}

// Stand lists the lines without work in the buckets [from, to), each with why.
func Stand(in *planner.Input, p *planner.Plan, from, to int) []string {
	var list []string
	for _, ln := range in.Lines {
		if Campaigns(p, ln.Code, from, to, quantity.Metric) == "" {
			list = append(list, fmt.Sprintf("%s %s", ln.Code, StateWord(p, ln, from, to)))
		}
	}
	return list
}
