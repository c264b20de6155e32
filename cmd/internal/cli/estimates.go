package cli

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/planner"
	"feedline/planner/estimates"
)

func (a *app) estimates() *cobra.Command {
	var asJSON, charts bool
	var re replanFlags
	c := &cobra.Command{
		Use:   "estimates",
		Short: "What the records say: yields, rates, set-ups, lead times, OEE, drifts",
		Long: `estimates prints what the plant's records say of the figures that were entered:
yields by step and material, rates, availability and quality by line and
profile, set-up times and lead times, each with a 95 % interval and the number
of records; the OEE ratios of ISO 22400-2; past forecasts against shipments; and
what has drifted, by EWMA and individuals charts.

Loads that have not come have waited until today, or until --start if that is
past.

Plans are made with the estimates. One is overruled by a row of its name in the
sheet overrules, all by: feedline plan --as-entered

With --replan two plans are made, alike but for the estimates: one with those of
the plan saved last, or with the figures entered, and one with today's. What the
second does otherwise is printed as by feedline diff; nothing is saved.`,
		Example: `  feedline estimates
  feedline estimates --charts
  feedline estimates --json
  feedline estimates --replan
  feedline estimates --replan --against entered --only "yield PEL INW"`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if re.on {
				return a.replanWith(c, re, asJSON)
			}
			opt, err := a.options(c, re.limits)
			if err != nil {
				return err
			}
			b, err := a.openBook()
			if err != nil {
				return err
			}
			defer b.Close()
			till, err := a.waitedTill(c.Context(), b, opt.Start)
			if err != nil {
				return err
			}
			in, r, _, err := b.Estimates(c.Context(), till)
			if err != nil {
				return err
			}
			if asJSON {
				return report.EstimatesJSON(a.Out, in, r)
			}
			return report.Estimates(a.Out, in, r, charts, a.look(in))
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print them as JSON, schema "+report.EstimatesSchema)
	c.Flags().BoolVar(&charts, "charts", false, "also the control charts, one line each")
	re.add(c)
	return c
}

// compare notes which estimates are otherwise than in the plan saved last, and what that does; entered is the plant as entered. What a what-if
// enters otherwise is no estimate that has moved.
func (a *app) compare(ctx context.Context, b *book.Book, entered *planner.Input, now []planner.Estimate) error {
	last, meta, err := b.LastPlan(ctx)
	if errors.Is(err, book.ErrNoPlan) {
		return nil
	}
	if err != nil {
		return err
	}
	a.moved = estimates.Changes(entered, last.Estimates, now)
	if len(a.moved) > 0 {
		c := a.moved[0]
		a.say("feedline: note: %s moved since plan %d, most of all %s", counted(len(a.moved), "estimate"), meta.ID, report.ChangeText(c))
	}
	return nil
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
