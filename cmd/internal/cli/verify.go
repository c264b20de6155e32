package cli

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/report"
	"feedline/planner/audit"
	"feedline/planner/estimates"
)

// errAudit ends a verify that found a plan wrong.
var errAudit = errors.New("the audit found the plan wrong")

func (a *app) verify() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "verify",
		Short: "Audit the last plan independently: hours, dies, mass, stock, space, demand",
		Long: `verify computes the last plan of the book again from the plan's runs and the
book alone, without the planner's model, and compares: hours, dies, fitters,
crew, mass balance, stock, space, recipes, demand. It exits with 1 if anything
is wrong.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.runVerify(c.Context(), asJSON) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the findings as JSON")
	return c
}

func (a *app) runVerify(ctx context.Context, asJSON bool) error {
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
	rep := audit.Against(estimates.Apply(in, p.Estimates), p, released)
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
