package cli

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/report/linesheet"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
)

// sheetFlags are the flags of sheet.
type sheetFlags struct {
	reportFlags
	lines []string
	from  string
	days  int
	each  string
}

func (a *app) sheet() *cobra.Command {
	var fl sheetFlags
	c := &cobra.Command{
		Use:   "sheet OUT.html|OUT.txt|-",
		Short: "Write line sheets for the floor: what each line runs, day by day",
		Long: `sheet writes a sheet of paper for each line and day, or each line and week: what
to run in which order, how many metres, which pellets, which die goes on and how
long that takes, with room to write down what was made.`,
		Example: `  feedline sheet -
  feedline sheet monday.html --days 1
  feedline sheet l3.html --line L3 --each week
  feedline sheet floor.txt --from 2027-01-18 --days 5`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dst := "-"
			if len(args) > 0 {
				dst = args[0]
			}
			return a.runSheet(c.Context(), c, dst, fl)
		},
	}
	f := c.Flags()
	f.StringVar(&fl.plan, "plan", planLast, "the `PLAN` to take: its number, last or released")
	f.StringVar(&fl.as, "as", "", "`KIND` to write where the name does not say: html or txt")
	f.StringSliceVar(&fl.lines, "line", nil, "only this `LINE`; may be repeated (default all with work)")
	f.StringVar(&fl.from, "from", "", "first day, `YYYY-MM-DD` (default today, or the plan's first if that is to come)")
	f.IntVar(&fl.days, "days", 7, "how many days")
	f.StringVar(&fl.each, "each", "day", "a sheet for each day or week")
	f.BoolVar(&fl.force, "force", false, "overwrite what is there")
	return c
}

// options are the sheets asked for.
func (fl sheetFlags) options() (opt linesheet.Options, err error) {
	if fl.each != "day" && fl.each != "week" {
		return opt, fmt.Errorf("--each %q, allowed: day or week", fl.each)
	}
	if fl.days < 1 || fl.days > 366 {
		return opt, fmt.Errorf("--days %d, allowed: 1 to 366", fl.days)
	}
	opt = linesheet.Options{Lines: fl.lines, Days: fl.days, Weekly: fl.each == "week"}
	if fl.from != "" {
		opt.From, err = calendar.ParseDay(fl.from)
	}
	return opt, err
}

func (a *app) runSheet(ctx context.Context, c *cobra.Command, dst string, fl sheetFlags) error {
	opt, err := fl.options()
	if err != nil {
		return usage(c, err)
	}
	kind, err := kindOf(dst, fl.as, []string{"html", "txt"})
	if err != nil {
		return usage(c, err)
	}
	s, err := a.openSource(ctx, c, fl.plan)
	if err != nil {
		return err
	}
	defer s.b.Close()
	if err := knownLines(s.in.Lines, fl.lines); err != nil {
		return usage(c, err)
	}
	if opt.From == 0 {
		opt.From = s.firstSheet(planner.StartDay(s.in, planner.Options{Now: a.Now()}))
	}
	if err := s.holds(opt); err != nil {
		return usage(c, err)
	}
	opt.Units, opt.Moved = s.in.Plant.Units, s.moved
	write := linesheet.Text
	if kind == "html" {
		write = linesheet.HTML
	}
	var out bytes.Buffer
	if err := write(&out, s.in, s.p, opt); err != nil {
		return err
	}
	return a.put(dst, out.Bytes(), fl.force)
}

// knownLines is an error that lists the lines if one that is asked for is not among them.
func knownLines(all []lines.Line, asked []string) error {
	var codes []string
	for _, l := range all {
		codes = append(codes, l.Code)
	}
	for _, l := range asked {
		if !slices.Contains(codes, l) {
			return fmt.Errorf("--line %q, allowed: %s", l, strings.Join(codes, ", "))
		}
	}
	return nil
}

// firstSheet is today if the plan tells of it, else the plan's first day: what is over is not handed out again.
func (s *source) firstSheet(today calendar.Day) calendar.Day {
	if _, ok := calendar.BucketOf(s.p.Buckets, today); ok {
		return today
	}
	return s.p.Start
}

// holds is an error if the plan has none of the days asked for.
func (s *source) holds(opt linesheet.Options) error {
	n := len(s.p.Buckets)
	if opt.From == 0 || n == 0 {
		return nil
	}
	all := calendar.Span{From: s.p.Buckets[0].Span.From, To: s.p.Buckets[n-1].Span.To}
	if all.Overlap(calendar.Span{From: opt.From, To: opt.From + calendar.Day(opt.Days)}).Days() == 0 {
		return fmt.Errorf("--from %s lies outside of the plan, which holds %s to %s", opt.From, all.From, all.To-1)
	}
	return nil
}
