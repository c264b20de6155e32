package cli

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/console"
	"feedline/cmd/internal/console/rows"
	"feedline/planner"
)

// show prints what a screen of the console says.
func (a *app) show() *cobra.Command {
	var asJSON bool
	var names []string
	for _, s := range rows.Screens {
		names = append(names, s.Name)
	}
	c := &cobra.Command{
		Use:       "show SCREEN",
		Short:     "Print what a screen of the console says, of the plan saved last",
		Long:      "show prints a screen of the console:\n" + strings.Join(names, ", ") + ".\nIt does not plan: it shows the plan saved last against the one released.",
		Example:   "  feedline show today\n  feedline show orders --json",
		ValidArgs: names,
	}
	c.Args = func(c *cobra.Command, args []string) error {
		if err := cobra.ExactArgs(1)(c, args); err != nil {
			return err
		}
		if !slices.Contains(names, args[0]) {
			return fmt.Errorf("no screen %q, allowed: %s", args[0], strings.Join(names, ", "))
		}
		return nil
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print it as JSON, schema "+rows.Schema)
	c.RunE = func(c *cobra.Command, args []string) error {
		b, err := a.openBook()
		if err != nil {
			return err
		}
		defer b.Close()
		f, err := a.showFacts(c, &consoleBook{a, b, planner.Options{}})
		if err != nil {
			return err
		}
		s := rows.Screens[slices.Index(names, args[0])]
		page := s.Page(f, rows.Place{})
		if asJSON {
			return page.JSON(a.Out, f)
		}
		return a.printASCII(func(w io.Writer) error { return page.Text(w, a.width()) })
	}
	return c
}

// showFacts is what the book has for the screens; the error is book.ErrNoPlan where there is no plan.
func (a *app) showFacts(c *cobra.Command, k *consoleBook) (*rows.Facts, error) {
	ctx := c.Context()
	s, err := k.Load(ctx)
	if err != nil {
		return nil, err
	}
	if s.Plan == nil {
		_, _, err := k.b.LastPlan(ctx)
		return nil, err
	}
	if s.Of != s.Version {
		a.say("feedline: note: the book has changed since the plan was made")
	}
	was := s.Plan
	if s.Release.ID != 0 && s.Release.ID != s.PlanID {
		if was, err = k.PlanOf(ctx, s.Release.ID); err != nil {
			return nil, err
		}
	}
	f := rows.New(s.In, s.Plan, was, a.Now())
	f.Ref = rows.Ref{Released: s.Release.ID != 0, At: s.Release.At, By: s.Release.By}
	f.Likely = s.Likely
	records := &consoleRecorder{a, k.b}
	if f.Known.Actual, err = records.Recorded(ctx, f.Yesterday()); err != nil {
		return nil, err
	}
	if f.Known.Promised, err = records.Promised(ctx, f.Yesterday()); err != nil {
		return nil, err
	}
	f.Known.Entries, err = records.Entries(ctx, f.Today()-console.Lately)
	return f, err
}

// printASCII prints what write writes, in ASCII where the locale is not UTF-8.
func (a *app) printASCII(write func(io.Writer) error) error {
	if !a.ascii() {
		return write(a.Out)
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	_, err := io.WriteString(a.Out, rows.ASCIIText(b.String()))
	return err
}
