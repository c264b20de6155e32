package cli

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/sheets"
	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/records"
)

func (a *app) initBook() *cobra.Command {
	return &cobra.Command{
		Use:     "init",
		Short:   "Make a new, empty plant book",
		Example: "  feedline init\n  feedline init --book north.book",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			b, err := book.Create(a.path())
			if err != nil {
				return err
			}
			a.say("made %s. Next: feedline template sheets, fill them in, feedline import sheets", a.path())
			return b.Close()
		},
	}
}

// unitsFlag adds --units to c and returns its value once parsed.
func unitsFlag(c *cobra.Command) func() (quantity.System, error) {
	s := c.Flags().String("units", "metric", "units of the headings: metric or us")
	return func() (quantity.System, error) {
		switch *s {
		case "metric":
			return quantity.Metric, nil
		case "us":
			return quantity.US, nil
		}
		return 0, usage(c, errUnits(*s))
	}
}

func (a *app) template() *cobra.Command {
	var force, describe, forRecords bool
	c := &cobra.Command{
		Use:     "template DIR|FILE.xlsx",
		Short:   "Write blank sheets to fill in, explained, with an example row",
		Example: "  feedline template sheets\n  feedline template plant.xlsx --units us\n  feedline template --records shift\n  feedline template --describe > sheets.md",
		Args: func(c *cobra.Command, args []string) error {
			if describe && len(args) > 0 {
				return fmt.Errorf("--describe and %q, allowed: one of both", args[0])
			}
			if describe {
				return nil
			}
			return cobra.ExactArgs(1)(c, args)
		},
	}
	units := unitsFlag(c)
	c.Flags().BoolVar(&force, "force", false, "overwrite sheets that are there")
	c.Flags().BoolVar(&forRecords, "records", false, "write the sheets to record receipts, runs, counts and the like on, not the plant's")
	c.Flags().BoolVar(&describe, "describe", false, "print what each sheet and column holds, as Markdown, and write no sheets")
	c.RunE = func(c *cobra.Command, args []string) error {
		sys, err := units()
		if err != nil {
			return err
		}
		if describe {
			return sheets.Describe(a.Out, sys)
		}
		write := sheets.Template
		if forRecords {
			write = sheets.RecordTemplate
		}
		if err := write(args[0], sheets.WriteOptions{Units: sys, Force: force}); err != nil {
			return err
		}
		a.say("wrote %s. Fill it in, rows that start with # are comments; then: feedline import %s", args[0], args[0])
		return nil
	}
	return c
}

func (a *app) importSheets() *cobra.Command {
	var replace, dry, history bool
	c := &cobra.Command{
		Use:   "import DIR|FILE.xlsx|TABLE.csv",
		Short: "Read sheets into the book: all or nothing, every bad cell named",
		Long: `import reads the sheets of a folder of CSV files or of a workbook, or one CSV
file named after its table, into the book. It is all or nothing.

Rows are matched by their key: those that the book has are updated, new ones
added. Sheets that are missing leave the book's table as it is. With --replace,
rows that a sheet does not hold are taken out of the book.

Sheets of records (receipts, tests, process_runs, runs, counts, eta_changes,
shipments) are added to what is recorded and booked against stock, lots,
deliveries and orders. One that was recorded before, by its number, is passed
over. Beside sheets of lots, stock, deliveries or orders, which state what there
is, or with --history, they are remembered and nothing is booked.`,
		Example: "  feedline import sheets --check\n  feedline import sheets\n  feedline import orders.csv --replace",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return a.runImport(c.Context(), args[0], replace, dry, history)
		},
	}
	c.Flags().BoolVar(&replace, "replace", false, "take rows that a sheet does not hold out of its table")
	c.Flags().BoolVar(&dry, "check", false, "only check the sheets, change nothing")
	c.Flags().BoolVar(&history, "history", false, "remember records of the past, book nothing against stock")
	return c
}

func (a *app) runImport(ctx context.Context, src string, replace, dry, history bool) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	base, version, err := b.Load(ctx)
	if err != nil {
		return err
	}
	today := planner.StartDay(base, planner.Options{Now: a.Now()})
	in, sum, err := sheets.Read(src, base, sheets.ReadOptions{Replace: replace, Today: today})
	if err != nil {
		return err
	}
	for _, w := range sum.Notes {
		a.say("feedline: note: %s", w)
	}
	a.warnings(sum.Warnings)
	if sum.States && !history {
		a.say("feedline: note: the sheets state what there is, so that their records are remembered as history and book nothing")
	}
	opt := book.RecordOptions{Who: a.who(), Note: "import " + src, Expect: version, History: history || sum.States, Check: dry}
	out, err := b.Import(ctx, in, opt, sum.Records...)
	var refused *records.Refused
	if errors.As(err, &refused) {
		return sum.Refused(refused)
	}
	if err != nil {
		return err
	}
	a.warnings(out.Warnings)
	if out.Already > 0 {
		a.say("feedline: note: %d of the records are in the book already", out.Already)
	}
	if dry {
		a.say("%s can be imported: %s", src, sum)
		return nil
	}
	a.say("imported %s into %s: %s", src, a.path(), sum)
	return nil
}

func (a *app) exportSheets() *cobra.Command {
	var force bool
	c := &cobra.Command{
		Use:     "export DIR|FILE.xlsx",
		Short:   "Write the book back out as sheets; importing them changes nothing",
		Example: "  feedline export sheets\n  feedline export plant.xlsx --force",
		Args:    cobra.ExactArgs(1),
	}
	units := unitsFlag(c)
	c.Flags().BoolVar(&force, "force", false, "overwrite sheets that are there")
	c.RunE = func(c *cobra.Command, args []string) error {
		sys, err := units()
		if err != nil {
			return err
		}
		b, err := a.openBook()
		if err != nil {
			return err
		}
		defer b.Close()
		in, _, err := b.Load(c.Context())
		if err != nil {
			return err
		}
		entries, err := b.Entries(c.Context(), book.Filter{Standing: true})
		if err != nil {
			return err
		}
		opt := sheets.WriteOptions{Units: sys, Force: force}
		for _, e := range entries {
			opt.Records = append(opt.Records, e.Record)
		}
		if err := sheets.Write(args[0], in, opt); err != nil {
			return err
		}
		a.say("wrote %s", args[0])
		return nil
	}
	return c
}
