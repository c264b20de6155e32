package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/cmd/internal/report/csv"
	"feedline/cmd/internal/report/view"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
	"feedline/planner/records"
)

// recorded is the book's input as entered and all its entries that stand, with their moves.
func (a *app) recorded(c *cobra.Command) (*book.Book, *planner.Input, []records.Entry, error) {
	b, err := a.openBook()
	if err != nil {
		return nil, nil, nil, err
	}
	in, _, err := b.Load(c.Context())
	if err == nil {
		var list []records.Entry
		if list, err = b.Entries(c.Context(), book.Filter{Standing: true, Moves: true}); err == nil {
			return b, in, list, nil
		}
	}
	b.Close()
	return nil, nil, nil, err
}

func (a *app) lot() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "lot CODE",
		Short: "What became of a lot, from its receipt to the profiles",
		Long: `lot follows a lot: its receipt and results, the runs that drew of it, the
profiles that it is in and the orders they left for, and where the rest is. The
masses add up to what was received. Silos and racks are taken to be well mixed.`,
		Example: "  feedline lot A-2207\n  feedline lot A-2207 --json",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			b, in, list, err := a.recorded(c)
			if err != nil {
				return err
			}
			defer b.Close()
			g, ok := records.FollowLot(in, list, args[0])
			if !ok {
				return badInput{fmt.Errorf("lot %q: nothing is recorded of it", args[0]), nearLot(list, args[0])}
			}
			if asJSON {
				return report.LotJSON(a.Out, g)
			}
			return report.Lot(a.Out, g, a.look(in))
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print it as JSON, schema "+report.LotSchema)
	return c
}

func nearLot(list []records.Entry, code string) string {
	var codes []string
	for _, e := range list {
		if r, ok := e.Record.(records.Receipt); ok {
			codes = append(codes, r.Lot)
		}
	}
	if near, ok := planner.Nearest(code, codes); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "list the receipts with: feedline record list --kind receipt --all"
}

func (a *app) content() *cobra.Command {
	var asJSON bool
	var days period
	var order, table string
	c := &cobra.Command{
		Use:   "content",
		Short: "Recycled content of what was made in a period or left for an order",
		Long: `content states the recycled content of the profiles made in a period (by default
all that is recorded), with a mass balance by grade, or of what left for an
order: the shares of post- and pre-consumer material by the words of ISO 14021.
The statement carries the rule that it was made by. What may be claimed differs
by place and use. --csv prints the products as CSV for a spreadsheet, in
kilograms by source, --csv=balance the mass balance; the rule then goes to
stderr.`,
		Example: "  feedline content --from 2026-10-01 --to 2026-10-31\n  feedline content --order O-4101 --json\n  feedline content --from 2026-10-01 --to 2026-10-31 --csv > content.csv",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			span, err := days.span(c)
			if err != nil {
				return err
			}
			b, in, list, err := a.recorded(c)
			if err != nil {
				return err
			}
			defer b.Close()
			span = within(span, list)
			s := records.StateContent(in, list, span, order)
			if len(s.Products) == 0 {
				what := "no run is recorded in the period"
				if order != "" {
					what = fmt.Sprintf("no shipment is recorded for order %q", order)
				}
				return badInput{errors.New(what), "list what is recorded with: feedline record list"}
			}
			if table != "" {
				a.say("feedline: note: rule: %s", records.ContentRule)
				a.say("feedline: note: %s", records.ContentCaution)
				return a.tableCSV(c, view.Content(s, view.Options{Units: in.Plant.Units}), table)
			}
			if asJSON {
				return report.ContentJSON(a.Out, in.Plant.Name, s)
			}
			return report.Content(a.Out, in.Plant.Name, s, a.look(in))
		},
	}
	days.flags(c)
	c.Flags().StringVar(&order, "order", "", "of what left for this order")
	c.Flags().BoolVar(&asJSON, "json", false, "print it as JSON, schema "+report.ContentSchema)
	csvFlag(c, &table, "products", "products or balance")
	return c
}

// csvFlag adds the flag --csv, which takes the name of a table or stands for the first.
func csvFlag(c *cobra.Command, table *string, first, which string) {
	c.Flags().StringVar(table, "csv", "", "print a `TABLE` as CSV: "+which)
	c.Flags().Lookup("csv").NoOptDefVal = first
}

// tableCSV prints the table of that name.
func (a *app) tableCSV(c *cobra.Command, tables []view.Table, name string) error {
	if err := oneOf(c, "csv", "json"); err != nil {
		return err
	}
	var names []string
	for _, t := range tables {
		if t.Name == name {
			_, err := a.Out.Write(csv.File(t))
			return err
		}
		names = append(names, t.Name)
	}
	return usage(c, fmt.Errorf("--csv %q, allowed: %s", name, strings.Join(names, ", ")))
}

// within fills the ends of a span that were not given with those of the records.
func within(span calendar.Span, list []records.Entry) calendar.Span {
	if span.From == 0 {
		span.From = first(list)
	}
	if span.To == 0 {
		span.To = max(last(list), span.From) + 1
	}
	return span
}

func first(list []records.Entry) (d calendar.Day) {
	for _, e := range list {
		if e.Head.Kind == records.KindRun && (d == 0 || e.Head.Day < d) {
			d = e.Head.Day
		}
	}
	return d
}

func last(list []records.Entry) (d calendar.Day) {
	for _, e := range list {
		d = max(d, e.Head.Day)
	}
	return d
}

func (a *app) actuals() *cobra.Command {
	var asJSON, byDay bool
	var days period
	var name, table string
	c := &cobra.Command{
		Use:   "actuals",
		Short: "Plan against actual: metres, scrap and feed by line, profile and day",
		Long: `actuals sets what was recorded against a plan, the released one by default or
else the last: metres, scrap and feed by line and profile, by day with --days,
and the causes of the gap: hours given to a profile, changeovers, stops by
reason, rate and quality, which add up to it. The period is the plan's days up
to yesterday unless given, the last week of a plan that begins today. Of several
released plans each day counts against the one released last by then. --csv
prints lines and profiles as CSV for a spreadsheet, --csv=causes the causes of
each gap, --csv=days the days.`,
		Example: "  feedline actuals\n  feedline actuals --plan 12 --from 2027-01-11 --to 2027-01-17 --days\n  feedline actuals --csv=causes > causes.csv",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			span, err := days.span(c)
			if err != nil {
				return err
			}
			b, in, list, err := a.recorded(c)
			if err != nil {
				return err
			}
			defer b.Close()
			p, meta, err := a.planOrRelease(c, b, name)
			if err != nil {
				return err
			}
			promises, err := b.Promises(c.Context())
			if err != nil {
				return err
			}
			if name != "" || len(promises) == 0 {
				promises = []book.Promise{{Plan: meta.ID, Start: p.Start}}
			}
			today := planner.StartDay(in, planner.Options{Now: a.Now()})
			if span.From == 0 {
				span.From = p.Start
				if p.Start >= today { // nothing is over of it yet: the last week, of the plans before it
					span.From = min(p.Start, max(promises[0].Start, today-lookBack))
				}
			}
			if span.To == 0 {
				span.To = max(today, span.From+1)
			}
			parts, against, err := a.inForce(c.Context(), b, in, promises, span)
			if err != nil {
				return err
			}
			acts := records.AgainstEach(estimates.Apply(in, p.Estimates), parts, list, span)
			if table != "" {
				return a.tableCSV(c, view.Actuals(acts, against, view.Options{Units: in.Plant.Units}), table)
			}
			if asJSON {
				return report.ActualsJSON(a.Out, in, acts, against)
			}
			return report.Actuals(a.Out, in, acts, against, byDay, a.look(in))
		},
	}
	days.flags(c)
	c.Flags().StringVar(&name, "plan", "", "a plan's number, last or released (default released, else last)")
	c.Flags().BoolVar(&byDay, "days", false, "also by day")
	c.Flags().BoolVar(&asJSON, "json", false, "print it as JSON, schema "+report.ActualsSchema)
	csvFlag(c, &table, "lines", "lines, causes or days")
	return c
}

// lookBack is how many days are looked back on where the plan's own lie all ahead.
const lookBack = 7

// promiseOn is the number of the plan that was the promise of a day: of those that begin by then the one that was released last by then, or
// if all were released later, first; 0 if none begins by then.
func promiseOn(in *planner.Input, promises []book.Promise, d calendar.Day) (id int64) {
	for _, x := range promises {
		by := x.At.IsZero() || planner.StartDay(in, planner.Options{Now: x.At}) <= d
		if x.Start <= d && (by || id == 0) {
			id = x.Plan
		}
	}
	return id
}

// inForce says which plan each day of the period counts against, and how they are called.
func (a *app) inForce(ctx context.Context, b *book.Book, in *planner.Input, promises []book.Promise, span calendar.Span) (parts []records.Part, names string, err error) {
	plans := map[int64]*planner.Plan{}
	var ids []int64
	last := int64(0)
	for d := span.From; d < span.To; d++ {
		id := promiseOn(in, promises, d)
		switch {
		case id == 0:
		case id == last:
			parts[len(parts)-1].Span.To = d + 1
		default:
			if plans[id] == nil {
				if plans[id], _, err = b.Plan(ctx, id); err != nil {
					return nil, "", err
				}
				ids = append(ids, id)
			}
			parts = append(parts, records.Part{Plan: plans[id], Span: calendar.Span{From: d, To: d + 1}})
		}
		last = id
	}
	switch n := len(ids); n {
	case 0:
		names = "no plan: none begins by then"
	case 1:
		names = fmt.Sprintf("plan %d", ids[0])
	default:
		names = fmt.Sprintf("%d plans, %d to %d, each day the one released by then", n, ids[0], ids[n-1])
	}
	return parts, names, nil
}

func (a *app) planOrRelease(c *cobra.Command, b *book.Book, name string) (*planner.Plan, book.PlanMeta, error) {
	if name != "" {
		return findPlan(c.Context(), c, b, name)
	}
	p, meta, err := b.Released(c.Context())
	if errors.Is(err, book.ErrNotReleased) {
		return b.LastPlan(c.Context())
	}
	return p, meta, err
}
