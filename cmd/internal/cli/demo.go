package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/demo"
	"feedline/lines/calendar"
	"feedline/planner"
)

// demoBook is where demo keeps its book unless --book says otherwise.
const demoBook = "demo.book"

func (a *app) demo() *cobra.Command {
	var fl planFlags
	c := &cobra.Command{
		Use:   "demo",
		Short: "Build a demonstration book in an invented plant, plan it and print the answer",
		Long: `demo fills the book ` + demoBook + ` (or the one named by --book) with an invented
plant, plans it and prints the answer. Its dates are counted from the Monday of
this week, or from --start. Run again, it sets the demonstration book back. On
a terminal it offers the console at the end.`,
		Example: `  feedline demo
  feedline plan --book demo.book --last --show runs
  feedline export --book demo.book sheets`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.runDemo(c.Context(), c, fl) },
	}
	c.Flags().BoolVar(&fl.json, "json", false, "print the plan as JSON")
	c.Flags().StringVar(&fl.show, "show", "answer", "what to print: answer, runs, feed, orders, why, estimates or all")
	addLimits(c, &fl)
	c.Flags().Lookup("start").Usage = "first day of the plan, `YYYY-MM-DD` (default Monday of this week)"
	return c
}

func (a *app) runDemo(ctx context.Context, c *cobra.Command, fl planFlags) error {
	opt, err := a.options(c, fl)
	if err != nil {
		return err
	}
	if err := knownView(fl.show); err != nil {
		return usage(c, err)
	}
	if opt.Start == 0 {
		opt.Start = calendar.DayOf(a.Now()).Monday()
	}
	in := demo.Input(opt.Start)
	if a.bookPath == "" && a.Getenv("FEEDLINE_BOOK") == "" {
		a.bookPath = demoBook
	}
	b, err := a.demoBook(ctx, in.Plant.Name)
	if err != nil {
		return err
	}
	defer b.Close()
	if _, err := b.Import(ctx, in, book.RecordOptions{Note: "demonstration plant", History: true}, demo.History(in, opt.Start, demo.HistoryWeeks)...); err != nil {
		return err
	}
	in, version, err := b.LoadForPlan(ctx, book.PlanOptions{Today: opt.Start})
	if err != nil {
		return err
	}
	a.say("made %s. Afterwards: feedline plan --book %s --last --show runs\n", a.path(), a.path()) // before: the answer fills a screen
	p, err := a.makePlan(ctx, in, opt)
	if err != nil {
		return err
	}
	if err := savePlan(context.WithoutCancel(ctx), b, p, version, opt, fl); err != nil {
		return err
	}
	if err := a.printPlan(in, p, fl); err != nil || fl.json || ctx.Err() != nil {
		return err
	}
	return a.offerConsole(ctx, b)
}

// offerConsole asks on a terminal whether to go on in the console. Elsewhere it does nothing.
func (a *app) offerConsole(ctx context.Context, b *book.Book) error {
	if a.quiet || !a.terminal(a.In) || !a.terminal(a.Out) || !a.terminal(a.Err) || a.Getenv("TERM") == "dumb" {
		return nil
	}
	fmt.Fprint(a.Err, "Look around in the console? [Y/n] ")
	answered := make(chan string, 1)
	go func() {
		line, err := bufio.NewReader(a.In).ReadString('\n')
		if err != nil {
			line = "n"
		}
		answered <- line
	}()
	select {
	case <-ctx.Done():
		fmt.Fprintln(a.Err)
		return nil
	case line := <-answered:
		if s := strings.ToLower(strings.TrimSpace(line)); s != "" && s != "y" && s != "yes" {
			return nil
		}
	}
	return a.runConsole(ctx, b, planner.Options{Now: a.Now(), Gap: 0.001}, "auto")
}

// demoBook opens or creates the demonstration book; a book of another plant is refused.
func (a *app) demoBook(ctx context.Context, plant string) (*book.Book, error) {
	b, err := a.openBook()
	if errors.Is(err, fs.ErrNotExist) {
		return book.Create(a.path())
	}
	if err != nil {
		return nil, err
	}
	in, _, err := b.Load(ctx)
	if err == nil && in.Plant.Name != plant && in.Plant.Name != "" {
		err = badInput{fmt.Errorf("%s is the book of %s, not of the demonstration plant", a.path(), in.Plant.Name), "name another file with --book"}
	}
	if err != nil {
		b.Close()
		return nil, err
	}
	return b, nil
}

// who is the name that changes are entered under: the operating system's user.
func (a *app) who() string { return book.Me().Name }
