package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/cmd/internal/report/chart"
	"feedline/cmd/internal/report/csv"
	"feedline/cmd/internal/report/html"
	"feedline/cmd/internal/report/ics"
	"feedline/cmd/internal/report/view"
	"feedline/cmd/internal/report/xlsx"
	"feedline/cmd/internal/sheets"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/records"
)

// reportFlags are the flags of report, and of sheet as far as it has them.
type reportFlags struct {
	plan  string
	as    string
	view  string
	force bool
}

// reportKinds is the kinds of report by the ending of the file's name.
var reportKinds = []string{"html", "xlsx", "ics", "csv", "txt"}

func (a *app) report() *cobra.Command {
	var fl reportFlags
	c := &cobra.Command{
		Use:   "report OUT.html|OUT.xlsx|OUT.ics|OUT.csv|OUT.txt|-",
		Short: "Write the last plan as a page, workbook, calendar, CSV files or text",
		Long: `report writes the plan saved last, or the one named by --plan. The ending of the
name says how:

  .html  one page with charts, to read, send and print; it needs nothing else
  .xlsx  a workbook with a sheet for each view, totals and formulas
  .ics   days to order, arrivals and line starts for a calendar; importing a
         later one moves what is there
  .csv   a folder of that name with a CSV file for each view
  .txt   text

A - writes to stdout: text, or what --as says. With --view it is one view alone,
as CSV.`,
		Example: `  feedline report week.html
  feedline report orders.ics --force
  feedline report plan.xlsx --plan 12
  feedline report - --as html | lpr
  feedline report - --view need-have > need.csv`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return a.runReport(c.Context(), c, args[0], fl) },
	}
	f := c.Flags()
	f.StringVar(&fl.plan, "plan", planLast, "the `PLAN` to write: its number, last or released")
	f.StringVar(&fl.as, "as", "", "`KIND` to write where the name does not say: html, xlsx, ics, csv or txt")
	f.StringVar(&fl.view, "view", "", "with - or a .csv: one `VIEW` alone, such as runs or need-have")
	f.BoolVar(&fl.force, "force", false, "overwrite what is there")
	return c
}

// kindOf is what a report is to be written as.
func kindOf(dst, as string, kinds []string) (string, error) {
	if as != "" {
		if !slices.Contains(kinds, as) {
			return "", fmt.Errorf("--as %q, allowed: %s", as, strings.Join(kinds, ", "))
		}
		return as, nil
	}
	if dst == "-" {
		return "txt", nil
	}
	kind := strings.ToLower(strings.TrimPrefix(filepath.Ext(dst), "."))
	if kind == "htm" {
		kind = "html"
	}
	if !slices.Contains(kinds, kind) {
		return "", fmt.Errorf("%q does not end in one of .%s", dst, strings.Join(kinds, ", ."))
	}
	return kind, nil
}

func (a *app) runReport(ctx context.Context, c *cobra.Command, dst string, fl reportFlags) error {
	if fl.view != "" && fl.as == "" && dst == "-" {
		fl.as = "csv"
	}
	kind, err := kindOf(dst, fl.as, reportKinds)
	if err != nil {
		return usage(c, err)
	}
	switch {
	case kind == "csv" && dst == "-" && fl.view == "":
		return usage(c, errors.New("CSV is a file for each view: name one with --view for stdout"))
	case fl.view != "" && kind != "csv":
		return usage(c, errors.New("--view writes CSV: name a file that ends in .csv, or -"))
	}
	s, err := a.openSource(ctx, c, fl.plan)
	if err != nil {
		return err
	}
	defer s.b.Close()
	if kind == "csv" {
		return a.writeCSV(c, dst, fl, s)
	}
	var out bytes.Buffer
	if err := s.write(ctx, &out, kind, a.fileLook(s.in, dst)); err != nil {
		return err
	}
	return a.put(dst, out.Bytes(), fl.force)
}

// put writes to stdout or to a file, whole or not at all.
func (a *app) put(dst string, data []byte, force bool) error {
	if dst == "-" {
		_, err := a.Out.Write(data)
		return err
	}
	if err := sheets.PutFile(dst, data, force); err != nil {
		return err
	}
	a.say("wrote %s", dst)
	return nil
}

// fileLook is how text is written to a file, 100 columns wide and in UTF-8, or to stdout.
func (a *app) fileLook(in *planner.Input, dst string) report.Options {
	if dst == "-" {
		return a.look(in)
	}
	return report.Options{Width: 100, Units: in.Plant.Units}
}

// writeCSV writes every view to a folder, or one to stdout or to a file.
func (a *app) writeCSV(c *cobra.Command, dst string, fl reportFlags, s *source) error {
	if err := s.learn(c.Context()); err != nil {
		return err
	}
	files := csv.Files(s.in, s.p, view.Options{Units: s.in.Plant.Units, Moved: s.moved, Records: s.records})
	if fl.view != "" {
		data, ok := files[fl.view+".csv"]
		if !ok {
			var names []string
			for name := range files {
				names = append(names, strings.TrimSuffix(name, ".csv"))
			}
			slices.Sort(names)
			return usage(c, fmt.Errorf("--view %q, allowed: %s", fl.view, strings.Join(names, ", ")))
		}
		return a.put(dst, data, fl.force)
	}
	if err := sheets.PutFolder(dst, files, fl.force); err != nil {
		return err
	}
	a.say("wrote %d files to %s", len(files), dst)
	return nil
}

// source is what a report is made from: a stored plan with the book as it is now.
type source struct {
	b     *book.Book
	in    *planner.Input
	p     *planner.Plan
	meta  book.PlanMeta
	moved bool // the book has changed since the plan was made

	records *estimates.Report // what the records say by now; nil = not looked at
}

// mostWatched is how many control charts that signal are drawn on a page; its table has them all.
const mostWatched = 8

// openSource opens the book with the plan of that name. The caller closes the book.
func (a *app) openSource(ctx context.Context, c *cobra.Command, name string) (*source, error) {
	b, err := a.openBook()
	if err != nil {
		return nil, err
	}
	s := &source{b: b}
	if err = s.read(ctx, c, name); err != nil {
		b.Close()
		return nil, err
	}
	if s.moved {
		a.say("feedline: note: the book has changed since the plan was made")
	}
	return s, nil
}

func (s *source) read(ctx context.Context, c *cobra.Command, name string) (err error) {
	var version book.Version
	if s.in, version, err = s.b.Load(ctx); err != nil {
		return err
	}
	s.p, s.meta, err = findPlan(ctx, c, s.b, name)
	s.moved = s.meta.Input != version
	return err
}

// learn looks at what the records say.
func (s *source) learn(ctx context.Context) error {
	_, known, _, err := s.b.Estimates(ctx, 0)
	s.records = &known
	return err
}

// write writes a report of one file.
func (s *source) write(ctx context.Context, w *bytes.Buffer, kind string, look report.Options) error {
	if kind != "ics" {
		if err := s.learn(ctx); err != nil {
			return err
		}
	}
	o := view.Options{Units: look.Units, Moved: s.moved, Records: s.records}
	switch kind {
	case "html":
		entries, err := s.b.Entries(ctx, book.Filter{Kinds: []records.Kind{records.KindProcess, records.KindRun}, Standing: true})
		if err != nil {
			return err
		}
		likely, err := s.b.Forecast(ctx, s.meta.ID)
		if err != nil {
			return err
		}
		return html.Write(w, s.in, s.p, html.Options{Units: o.Units, Moved: s.moved, Number: s.meta.ID, Records: s.records, Forecast: likely,
			Controls: append(chart.Watched(*s.records, mostWatched), chart.Controls(s.in, entries)...)})
	case "xlsx":
		return xlsx.Write(w, s.in, s.p, o)
	case "ics":
		before, err := s.before(ctx)
		if err != nil {
			return err
		}
		return ics.Write(w, s.in, s.p, ics.Options{Units: o.Units, Number: s.meta.ID, Before: before})
	}
	return report.Full(w, s.in, s.p, look, o)
}

// plansBefore is how many plans back a calendar's events are looked for.
const plansBefore = 5

// before is the plans that were saved before this one, whose events a calendar may hold.
func (s *source) before(ctx context.Context) ([]*planner.Plan, error) {
	heads, err := s.b.Plans(ctx)
	if err != nil {
		return nil, err
	}
	var list []*planner.Plan
	for _, h := range heads {
		if h.ID >= s.meta.ID || len(list) == plansBefore {
			continue
		}
		p, _, err := s.b.Plan(ctx, h.ID)
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	return list, nil
}
