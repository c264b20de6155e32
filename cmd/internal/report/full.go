package report

import (
	"fmt"
	"io"
	"strings"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// Full writes the whole report as text: the answer in words, then each view that a person reads, one under another. Units are those of opt.
func Full(w io.Writer, in *planner.Input, p *planner.Plan, opt Options, v view.Options) error {
	pg := page{opt: opt}
	pg.add(heading, "%s", p.Heading())
	pg.add(normal, "Made %s", p.Made.Format("2006-01-02 15:04 MST"))
	o := v
	o.Units = opt.Units
	for _, s := range view.Answer(in, p, o) {
		st := normal
		if s.Warn {
			st = warning
		}
		pg.add(normal, "")
		pg.add(st, "%s", mark(s.Warn)+s.Head)
		pg.wrap(normal, s.Text)
	}
	pg.add(normal, "")
	for _, c := range view.Cautions {
		pg.wrap(normal, c)
	}
	for _, t := range view.Readable(in, p, o) {
		pg.view(t)
	}
	if err := pg.writeTo(w); err != nil {
		return err
	}
	for _, f := range []func(io.Writer, *planner.Input, *planner.Plan, Options) error{Runs, Feed} {
		if _, err := io.WriteString(w, "\n"); err != nil {
			return err
		}
		if err := f(w, in, p, opt); err != nil {
			return err
		}
	}
	return nil
}

func mark(warn bool) string {
	if warn {
		return "! "
	}
	return ""
}

// view appends a table with its title and what it says. Of columns that do not fit the last go first.
func (p *page) view(t view.Table) {
	p.add(normal, "")
	p.add(heading, "%s", t.Title)
	if len(t.Rows) == 0 {
		p.wrap(normal, t.Empty)
		return
	}
	p.wrap(normal, t.Note)
	g := grid{}
	for i, c := range t.Columns {
		head := strings.TrimSpace(c.Head + " " + c.Unit)
		g.columns = append(g.columns, column{head: head, left: c.Kind != view.Number, rank: i})
	}
	for _, r := range t.Rows {
		cells := make([]string, len(r))
		for i, x := range r {
			cells[i] = cellText(t.Columns[i], x)
		}
		g.add(cells...)
	}
	p.table(g)
}

func cellText(c view.Column, x view.Cell) string {
	s := x.Text
	switch {
	case x.None:
		return ""
	case c.Kind == view.Number:
		s = quantity.Grouped(x.Number, c.Decimals)
	case c.Kind == view.Day:
		s = fmt.Sprint(x.Day)
	}
	return mark(x.Warn) + s
}
