package cli

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/console"
	"feedline/planner"
)

func (a *app) console() *cobra.Command {
	var fl planFlags
	var colour string
	c := &cobra.Command{
		Use:   "console",
		Short: "The terminal console: where we stand, lines, feed, orders, supply, records",
		Long: `console shows the plan saved last, and what to do today. Each change is a draft
that is planned in the background and can be undone; nothing is saved before it
is accepted on the screen of changes. ? lists the keys.`,
		Example: "  feedline console\n  feedline console --book demo.book --time 20s",
		Args:    cobra.NoArgs,
	}
	f := c.Flags()
	f.DurationVar(&fl.time, "time", 0, "longest search for a what-if (default 15s)")
	f.Int64Var(&fl.work, "work", 0, "limit of a search in work units instead of seconds")
	f.StringVar(&fl.gap, "gap", "0.1%", "stop once the plan is proven this close to the best")
	f.StringVar(&colour, "color", "auto", "colour: auto, never or always")
	c.RunE = func(c *cobra.Command, _ []string) error {
		opt, err := a.options(c, fl)
		if err != nil {
			return err
		}
		if colour != "auto" && colour != "never" && colour != "always" {
			return usage(c, errors.New("--color is auto, never or always"))
		}
		b, err := a.openBook()
		if err != nil {
			return err
		}
		defer b.Close()
		return a.runConsole(c.Context(), b, opt, colour)
	}
	return c
}

// errNoTerminal is returned where the console has nothing to be shown on.
var errNoTerminal = badInput{errors.New("the console needs a terminal, and this is none"), "feedline show today prints what its first screen says"}

// runConsole shows the console on an open book until it is left.
func (a *app) runConsole(ctx context.Context, b *book.Book, opt planner.Options, colour string) error {
	if !a.terminal(a.In) || !a.terminal(a.Out) || a.Getenv("TERM") == "dumb" {
		return errNoTerminal
	}
	n := a.consoleNeeds(b, opt)
	look := console.Look{Colour: colour == "always" || colour != "never" && a.colour(), ASCII: a.ascii()}
	return console.Run(ctx, console.Options{Needs: n, Look: look, Guard: guard()})
}
