package cli

import (
	"context"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/report"
	"feedline/planner/forecast"
)

func (a *app) curve() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "curve",
		Short: "Output and margin against feed supplied, and what an idle line is worth",
		Long: `curve prints what the plant makes and earns a month against the tonnes of feed
supplied a month, with what binds between the breaks and what a further tonne is
worth; and for each line that stands or is not set up the supply from which it
pays, what it adds, and in how many months it pays back. It is worked out for
the demand of the horizon of the plan saved last, with set-ups as one for each
campaign of a fortnight.`,
		Example: "  feedline curve\n  feedline curve --json > curve.json",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return a.runCurve(c.Context(), asJSON) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print it as JSON, schema "+report.CurveSchema)
	return c
}

func (a *app) runCurve(ctx context.Context, asJSON bool) error {
	in, p, _, err := a.lastPlan(ctx)
	if err != nil {
		return err
	}
	c, err := forecast.CurveOf(ctx, in, p)
	if err != nil {
		return forecastHint(err)
	}
	if asJSON {
		return report.CurveJSON(a.Out, in.Plant.Name, c)
	}
	return report.Curve(a.Out, in.Plant.Name, c, a.look(in))
}
