package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/planner"
	"feedline/planner/estimates"
)

// replanFlags are the flags of estimates --replan.
type replanFlags struct {
	on      bool
	against string
	only    []string
	limits  planFlags
}

// What estimates are held against.
const (
	againstLast    = "last"
	againstEntered = "entered"
)

func (r *replanFlags) add(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&r.on, "replan", false, "plan twice and print what the estimates do to the plan; --json: schema "+report.DiffSchema)
	f.StringVar(&r.against, "against", againstLast, "with --replan: `WHAT` the estimates are held against: last (those of the plan saved last) or entered")
	f.StringArrayVar(&r.only, "only", nil, "with --replan: let only this estimate change, by its `NAME`; may be repeated")
	addLimits(c, &r.limits)
}

// replanWith makes a plan with the estimates before and one with those of now, from the same first plan and under the same limits, and
// prints what the second does otherwise.
func (a *app) replanWith(c *cobra.Command, r replanFlags, asJSON bool) error {
	ctx := c.Context()
	opt, err := a.options(c, r.limits)
	if err != nil {
		return err
	}
	if r.against != againstLast && r.against != againstEntered {
		return usage(c, fmt.Errorf("--against %q, allowed: last, entered", r.against))
	}
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	till, err := a.waitedTill(ctx, b, opt.Start)
	if err != nil {
		return err
	}
	in, known, _, err := b.Estimates(ctx, till)
	if err != nil {
		return err
	}
	if err := a.worthPlanning(in); err != nil {
		return err
	}
	before, name, err := estimatesBefore(ctx, b, r.against)
	if err != nil {
		return err
	}
	now, err := onlyThese(before, known.Figures(), r.only)
	if err != nil {
		return err
	}
	moved := estimates.Changes(in, before, now)
	if len(moved) == 0 {
		a.say("feedline: note: no estimate differs from %s by as much as a plan would show", name)
	}
	if opt.Released, _, err = promiseOf(ctx, b); err != nil {
		return err
	}
	was, is, err := a.planTwice(ctx, estimates.Apply(in, before), estimates.Apply(in, now), opt)
	if err != nil {
		return err
	}
	heads := [2]report.PlanName{{Heading: "a plan with " + name}, {Heading: fmt.Sprintf("a plan with today's estimates, %d of them changed", len(moved))}}
	d := planner.Diff(was, is)
	if asJSON {
		return report.DiffJSON(a.Out, d, heads[0], heads[1])
	}
	for _, m := range moved[:min(len(moved), 10)] {
		fmt.Fprintln(a.Out, report.ChangeText(m))
	}
	if len(moved) > 0 {
		fmt.Fprintln(a.Out)
	}
	return report.Diff(a.Out, d, heads[0], heads[1], a.look(in))
}

// estimatesBefore is what estimates are held against, with a name for it.
func estimatesBefore(ctx context.Context, b *book.Book, against string) ([]planner.Estimate, string, error) {
	if against == againstEntered {
		return nil, "the figures entered", nil
	}
	last, meta, err := b.LastPlan(ctx)
	if errors.Is(err, book.ErrNoPlan) {
		return nil, "the figures entered, as no plan is saved", nil
	}
	if err != nil {
		return nil, "", err
	}
	return last.Estimates, fmt.Sprintf("the estimates of plan %d", meta.ID), nil
}

// onlyThese is before with the estimates of some names as they are now; all of now if no name is given.
func onlyThese(before, now []planner.Estimate, names []string) ([]planner.Estimate, error) {
	if len(names) == 0 {
		return now, nil
	}
	out := slices.Clone(before)
	for _, n := range names {
		at := func(list []planner.Estimate) int {
			return slices.IndexFunc(list, func(e planner.Estimate) bool { return strings.EqualFold(e.Name, n) })
		}
		i, j := at(now), at(out)
		switch {
		case i < 0:
			return nil, badInput{fmt.Errorf("--only %q is no estimate", n), "see their names: feedline estimates"}
		case j < 0:
			out = append(out, now[i])
		default:
			out[j] = now[i]
		}
	}
	return out, nil
}

// planTwice plans two inputs alike: a first plan of the one is the start of both, so that what differs is not the luck of the search.
func (a *app) planTwice(ctx context.Context, was, is *planner.Input, opt planner.Options) (first, second *planner.Plan, err error) {
	start, err := a.makePlan(ctx, was, opt)
	if err != nil {
		return nil, nil, err
	}
	opt.From = start
	if first, err = a.makePlan(ctx, was, opt); err != nil {
		return nil, nil, err
	}
	second, err = a.makePlan(ctx, is, opt)
	return first, second, err
}
