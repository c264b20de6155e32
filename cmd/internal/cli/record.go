package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/cmd/internal/sheets"
	"feedline/inventory/quantity"
	"feedline/planner"
	"feedline/planner/records"
)

// recordCommand is a kind's command: what it says and which fields may be given without their flag, in order.
type recordCommand struct {
	kind    records.Kind
	short   string
	args    []string // fields
	example string
}

var recordCommands = []recordCommand{
	{records.KindReceipt, "A weighed load: makes its lot and its delivery received", []string{"ticket"},
		"  feedline record receipt T-20931 --delivery D-101 --gross 36.5t --tare 14.7t --hbcdd 12"},
	{records.KindTest, "Results of a lot, a hold or a release", []string{"lot"},
		"  feedline record test A-2215 --hbcdd 38 --decision release\n  feedline record test A-2207 --decision hold --reason \"smells of solvent\""},
	{records.KindProcess, "A run of a step before extrusion: lots in, pellets out", []string{"step"},
		"  feedline record process PEL --lots \"A-2207 1200; A-2211 800\" --grade WH --out 1905 --filter-loss 22 --hours 5.5"},
	{records.KindRun, "What a line did of one profile, a shift as a rule", []string{"line", "profile", "good metres"},
		"  feedline record run L1 SK80 2150 --scrap 31 --run-time 6.6 --set-up-time 0.9 --stops \"DIE 0.5\" --shift early"},
	{records.KindCount, "Stock found by counting or weighing", []string{"counted", "item", "amount"},
		"  feedline record count pellets WH 14.25t\n  feedline record count profile SK80 9800m"},
	{records.KindETA, "A delivery's new date or status", []string{"delivery", "ETA"},
		"  feedline record eta D-108 2027-02-15 --note \"missed its transhipment\""},
	{records.KindShipment, "Profile that left the rack for an order", []string{"order", "length"},
		"  feedline record shipment O-4101 6000m"},
}

func (a *app) record() *cobra.Command {
	c := &cobra.Command{
		Use:   "record",
		Short: "Record receipts, tests, runs, counts, new ETAs and shipments",
		Long: `record enters what happened: stock, lots, deliveries, orders and what is on the
lines follow. Every entry keeps who made it and when; nothing is changed or
deleted afterwards: a wrong one is reversed. Many at once are recorded from
sheets:

  feedline template --records shift
  feedline import shift

Amounts may have a unit behind them; a bare number is in the plant's units.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	for _, k := range recordCommands {
		c.AddCommand(a.recordOne(k))
	}
	c.AddCommand(a.recordReverse(), a.recordList())
	return c
}

// flagOf is the flag of a field: --good-metres.
func flagOf(field string) string { return strings.ToLower(strings.ReplaceAll(field, " ", "-")) }

func (a *app) recordOne(k recordCommand) *cobra.Command {
	use := string(k.kind)
	for _, f := range k.args {
		use += " [" + strings.ToUpper(f) + "]"
	}
	c := &cobra.Command{Use: use, Short: k.short, Example: k.example, Args: cobra.MaximumNArgs(len(k.args))}
	values := map[string]*string{}
	for _, f := range sheets.RecordFields(k.kind, quantity.Metric) {
		explain := f.Explain
		if f.Day && f.Name == "day" {
			explain += " (default today)"
		}
		if f.Choices != nil {
			explain += ": " + strings.Join(f.Choices, ", ")
		}
		values[f.Name] = c.Flags().String(flagOf(f.Name), "", strings.ReplaceAll(explain, "`", ""))
	}
	var asJSON bool
	var opt book.RecordOptions
	c.Flags().BoolVar(&asJSON, "json", false, "print the entry as JSON, schema "+report.EntriesSchema)
	c.Flags().BoolVar(&opt.Check, "check", false, "only check, record nothing")
	c.Flags().BoolVar(&opt.History, "history", false, "remember it, book nothing against stock")
	c.RunE = func(c *cobra.Command, args []string) error {
		given := map[string]string{}
		for name, v := range values {
			if c.Flags().Changed(flagOf(name)) {
				given[name] = *v
			}
		}
		if err := k.place(c, args, given); err != nil {
			return err
		}
		return a.runRecord(c.Context(), k.kind, given, opt, asJSON)
	}
	return c
}

// place takes arguments for the fields that they stand for.
func (k recordCommand) place(c *cobra.Command, args []string, given map[string]string) error {
	for i, s := range args {
		field := k.args[i]
		if field == "amount" {
			field = "mass"
			if given["counted"] == string(records.InProfile) {
				field = "length"
			}
		}
		if _, twice := given[field]; twice {
			return usage(c, fmt.Errorf("%s is given twice: %q, and by --%s", field, s, flagOf(field)))
		}
		given[field] = s
	}
	return nil
}

func (a *app) runRecord(ctx context.Context, k records.Kind, given map[string]string, opt book.RecordOptions, asJSON bool) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	in, _, err := b.Load(ctx)
	if err != nil {
		return err
	}
	r, err := sheets.ParseRecord(k, given, in, planner.StartDay(in, planner.Options{Now: a.Now()}))
	if err != nil {
		return err
	}
	out, err := b.Record(ctx, opt, r)
	if err != nil {
		return err
	}
	a.warnings(out.Warnings)
	if out.Already > 0 {
		a.say("feedline: note: it is in the book already, the same in all that it says")
	}
	if opt.Check {
		a.say("it can be recorded; nothing was")
	}
	return a.printEntries(in, out.Entries, asJSON)
}

func (a *app) printEntries(in *planner.Input, list []records.Entry, asJSON bool) error {
	values := func(r records.Record) map[string]string { return sheets.RecordValues(r, in) }
	if asJSON {
		return report.EntriesJSON(a.Out, list, values)
	}
	return report.Entries(a.Out, list, values, a.look(in))
}

func (a *app) recordReverse() *cobra.Command {
	var why string
	var asJSON bool
	c := &cobra.Command{
		Use:   "reverse ENTRY",
		Short: "Take an entry back, by an entry of its own",
		Long: `reverse undoes what an entry did to stock, lots, deliveries and orders. The
entry stays, marked as reversed; what is right is then recorded anew. It is
refused where something later stands on the entry, such as a run that drew of
the lot that a receipt made.`,
		Example: "  feedline record list --kind run\n  feedline record reverse 312 --why \"metres of the wrong line\"",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			id, err := strconv.ParseInt(args[0], 10, 64)
			if err != nil {
				return usage(c, fmt.Errorf("entry %q, allowed: the number of an entry, as record list prints it", args[0]))
			}
			if strings.TrimSpace(why) == "" {
				return usage(c, fmt.Errorf("--why is blank, allowed: the reason, which is kept with the entry"))
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
			out, err := b.Reverse(c.Context(), id, "", why)
			if err != nil {
				return err
			}
			a.warnings(out.Warnings)
			return a.printEntries(in, out.Entries, asJSON)
		},
	}
	c.Flags().StringVar(&why, "why", "", "the reason; needed")
	c.Flags().BoolVar(&asJSON, "json", false, "print the entry as JSON, schema "+report.EntriesSchema)
	return c
}
