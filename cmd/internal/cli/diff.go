package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/planner"
)

func (a *app) diff() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "diff [PLAN [PLAN]]",
		Short: "Explain one plan by another: made, run, bought, late and earned otherwise",
		Long: `diff compares two plans of the book, by their numbers in feedline plan --list or
as "last" and "released". Without any it compares the last plan with the
released one, with one the last plan with that.`,
		Example: "  feedline diff\n  feedline diff 12 14\n  feedline diff released last --json",
		Args:    cobra.MaximumNArgs(2),
		RunE:    func(c *cobra.Command, args []string) error { return a.runDiff(c, args, asJSON) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print it as JSON, schema "+report.DiffSchema)
	return c
}

// The names of plans beside their numbers.
const (
	planLast     = "last"
	planReleased = "released"
)

func (a *app) runDiff(c *cobra.Command, args []string, asJSON bool) error {
	names := []string{planReleased, planLast}
	copy(names, args)
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	var plans [2]*planner.Plan
	var heads [2]report.PlanName
	for i, name := range names {
		p, meta, err := findPlan(c.Context(), c, b, name)
		if errors.Is(err, book.ErrNotReleased) && len(args) == 0 {
			return badInput{errors.New("no plan is released yet to compare with"), "feedline release makes the last plan the promise; feedline plan --list shows those there are"}
		}
		if err != nil {
			return err
		}
		plans[i], heads[i] = p, report.PlanName{ID: meta.ID, Heading: p.Heading(), Released: meta.Released()}
	}
	d := planner.Diff(plans[0], plans[1])
	if asJSON {
		return report.DiffJSON(a.Out, d, heads[0], heads[1])
	}
	in, _, err := b.Load(c.Context())
	if err != nil {
		return err
	}
	return report.Diff(a.Out, d, heads[0], heads[1], a.look(in))
}

// findPlan is the plan of a number, the last or the released one.
func findPlan(ctx context.Context, c *cobra.Command, b *book.Book, name string) (*planner.Plan, book.PlanMeta, error) {
	switch name {
	case planLast:
		return b.LastPlan(ctx)
	case planReleased:
		return b.Released(ctx)
	}
	id, err := strconv.ParseInt(name, 10, 64)
	if err != nil || id < 1 {
		return nil, book.PlanMeta{}, usage(c, fmt.Errorf("%q names no plan, allowed: a number of feedline plan --list, last, released", name))
	}
	return b.Plan(ctx, id)
}

func (a *app) release() *cobra.Command {
	c := &cobra.Command{
		Use:   "release [PLAN]",
		Short: "Make the last plan, or the one named, the promise",
		Long: `release makes a plan the promise that later plans are held against: near days
are frozen to it (the plant's frozen days) and changes to it cost (the plant's
change cost). The book keeps who released it when.`,
		Example: "  feedline release\n  feedline release 12",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			name := planLast
			if len(args) > 0 {
				name = args[0]
			}
			return a.runRelease(c, name)
		},
	}
	return c
}

func (a *app) runRelease(c *cobra.Command, name string) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	p, meta, err := findPlan(c.Context(), c, b, name)
	if err != nil {
		return err
	}
	_, version, err := b.Load(c.Context())
	if err != nil {
		return err
	}
	if meta.Input != version {
		a.say("feedline: note: the book has changed since the plan was made")
	}
	if err := b.Release(c.Context(), meta.ID, a.who()); err != nil {
		return err
	}
	a.say("released plan %d, %s", meta.ID, p.Heading())
	return nil
}

// promiseOf is the released plan with its number; nil and 0 if there is none.
func promiseOf(ctx context.Context, b *book.Book) (*planner.Plan, int64, error) {
	p, meta, err := b.Released(ctx)
	if errors.Is(err, book.ErrNotReleased) {
		return nil, 0, nil
	}
	return p, meta.ID, err
}

// heldAgainst is the released plan that a stored plan was made under, as its options say; nil if there was none.
func heldAgainst(ctx context.Context, b *book.Book, meta book.PlanMeta) (*planner.Plan, error) {
	var asked savedOptions
	if meta.Options == nil || json.Unmarshal(meta.Options, &asked) != nil || asked.Released == 0 {
		return nil, nil
	}
	p, _, err := b.Plan(ctx, asked.Released)
	return p, err
}

// printPlans lists the stored plans, newest first.
func (a *app) printPlans(ctx context.Context, b *book.Book, in *planner.Input, asJSON bool) error {
	heads, err := b.Plans(ctx)
	if err != nil {
		return err
	}
	_, promise, err := b.Released(ctx)
	if err != nil && !errors.Is(err, book.ErrNotReleased) {
		return err
	}
	var rows []report.PlanRow
	for _, h := range heads {
		rows = append(rows, report.PlanRow{ID: h.ID, Saved: h.Saved, Start: h.Start.String(), Stop: h.Stop, Objective: h.Objective, Gap: h.Gap, Note: h.Note,
			ReleasedAt: h.ReleasedAt, ReleasedBy: h.ReleasedBy, Promise: h.ID == promise.ID && h.Released()})
	}
	if asJSON {
		return report.PlansJSON(a.Out, rows)
	}
	return report.Plans(a.Out, rows, a.look(in))
}
