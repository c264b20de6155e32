package cli

import (
	"context"
	"errors"
	"time"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/report"
	"feedline/planner/audit"
	"feedline/planner/estimates"
)

// errAudit ends a verify that found a plan wrong.
var errAudit = errors.New("the audit found the plan wrong")

func (a *app) verify() *cobra.Command {
	var asJSON bool
	var with string
	var limit time.Duration
	c := &cobra.Command{
		Use:   "verify",
		Short: "Audit the last plan independently: hours, dies, mass, stock, space, demand",
		Long: `verify computes the last plan of the book again from the plan's runs and the
book alone, without the planner's model, and compares: hours, dies, fitters,
crew, mass balance, stock, space, recipes, demand. It exits with 1 if anything
is wrong.

--with lets another solver that is installed here, glpsol, cbc or highs, work
on the very model of the plan: no proven bound may lie above what the other has
found.`,
		Example: "  feedline verify\n  feedline verify --with cbc --time 2m",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return a.runVerify(c.Context(), asJSON, with, limit)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the findings as JSON")
	c.Flags().StringVar(&with, "with", "", "confirm the bound with this `SOLVER`: glpsol, cbc or highs")
	c.Flags().DurationVar(&limit, "time", time.Minute, "longest time for it")
	return c
}

func (a *app) runVerify(ctx context.Context, asJSON bool, with string, limit time.Duration) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	in, _, version, err := b.Estimates(ctx, 0)
	if err != nil {
		return err
	}
	p, meta, err := b.LastPlan(ctx)
	if err != nil {
		return err
	}
	if meta.Input != version {
		a.say("feedline: note: the book has changed since the plan was made; differences may come from that")
	}
	released, err := heldAgainst(ctx, b, meta)
	if err != nil {
		return err
	}
	in = estimates.AsPlanned(in, p)
	if with != "" {
		return a.confirm(ctx, in, p, released, meta, with, limit)
	}
	rep := audit.Against(in, p, released)
	if asJSON {
		err = report.AuditJSON(a.Out, rep)
	} else {
		err = report.AuditText(a.Out, rep)
	}
	if err == nil && !rep.OK() {
		return errAudit
	}
	return err
}
