package html

import (
	"fmt"
	"strings"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// wall is a week on the wall: a row for each line, a column for each day.
type wall struct {
	ID, Title, Note string
	Days            []string
	Rows            []wallRow
	Small           bool // is kept on one page
}

type wallRow struct {
	Line  string
	Cells [][]cell
}

// mostDays is how many days a wall has side by side.
const mostDays = 7

// runParts is the run list: the daily part of the plan as walls of up to a week, then the weeks as a table.
func runParts(in *planner.Input, p *planner.Plan, opt Options) []part {
	daily := 0
	for daily < len(p.Buckets) && !p.Buckets[daily].Weekly() {
		daily++
	}
	var parts []part
	for from := 0; from < daily; {
		to := from + 1
		for to < daily && to-from < mostDays && p.Buckets[to].Span.From.Monday() == p.Buckets[from].Span.From.Monday() {
			to++
		}
		parts = append(parts, part{Wall: wallOf(in, p, from, to, opt)})
		from = to
	}
	return append(parts, part{Table: tableOf(view.WeeklyRuns(in, p, daily, opt.view()))})
}

func wallOf(in *planner.Input, p *planner.Plan, from, to int, opt Options) *wall {
	week := p.Buckets[from].Span.From
	w := &wall{ID: fmt.Sprintf("wall-%d", from), Title: "Run list, " + week.WeekLabel(),
		Note: "Good length a day, in the order to run. → marks a die that goes on, with the hours of the changeover; START a line that comes on."}
	for t := from; t < to; t++ {
		w.Days = append(w.Days, p.Buckets[t].Label())
	}
	for _, ln := range in.Lines {
		r := wallRow{Line: ln.Code}
		busy := false
		for t := from; t < to; t++ {
			c := dayCells(p, ln.Code, t, opt.Units)
			busy = busy || len(c) > 0
			r.Cells = append(r.Cells, c)
		}
		if busy {
			w.Rows = append(w.Rows, r)
		}
	}
	w.Small = len(w.Rows) <= smallRows
	if stand := view.Stand(in, p, from, to); len(stand) > 0 {
		w.Note += " Without work: " + strings.Join(stand, ", ") + "."
	}
	return w
}

// dayCells is what a line does in a bucket.
func dayCells(p *planner.Plan, line string, t int, sys quantity.System) []cell {
	var list []cell
	for _, u := range p.Lines {
		if u.Line == line && u.Bucket == t && u.Started {
			list = append(list, cell{Text: fmt.Sprintf("START %s h", view.Figure(float64(u.Startup), 1)), Class: "act"})
		}
	}
	for _, r := range p.Runs {
		if r.Line != line || r.Bucket != t {
			continue
		}
		if r.Changeover {
			list = append(list, cell{Text: fmt.Sprintf("→ %s, %s h", r.Profile, view.Figure(float64(r.Setup), 1)), Class: "set"})
		}
		if view.Worth(r.Length) {
			list = append(list, cell{Text: r.Profile + " " + strings.ReplaceAll(r.Length.Format(sys, 0), " ", "\u00a0")})
		}
	}
	return list
}
