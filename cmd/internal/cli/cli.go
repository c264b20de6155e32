// Package cli is the command line: one file per subcommand, flags → call → text or JSON, and the map from errors to exit codes.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/planner/estimates"
)

// Env is what a command touches beside its arguments, so that a test can hand in its own.
type Env struct {
	In       io.Reader
	Out, Err io.Writer
	Getenv   func(string) string
	Now      func() time.Time
}

// The exit codes, a contract with scripts.
const (
	exitDone  = 0
	exitFail  = 1
	exitUsage = 2 // wrong usage or bad input
	exitShort = 3 // planned, but short or late where --fail-on-short asks
)

// app is one run of the program.
type app struct {
	Env
	bookPath string
	quiet    bool
	moved    []estimates.Change // what estimates did to the plan being printed, against the one before
}

// Run runs the command line args and returns the exit code.
func Run(ctx context.Context, args []string, env Env) int {
	out := &heeded{Writer: env.Out}
	env.Out = out
	a := &app{Env: env}
	root := a.root()
	root.SetArgs(args)
	root.SetIn(env.In)
	root.SetErr(env.Err)
	err := root.ExecuteContext(ctx)
	if out.err != nil && (err == nil || isVerdict(err)) {
		err = out.err
	}
	if err == nil {
		return exitDone
	}
	return a.fail(err)
}

// heeded remembers the first error of writing, so that no answer is cut short and said to be done; the library that
// writes the help passes none on.
type heeded struct {
	io.Writer
	err error
}

func (h *heeded) Write(b []byte) (int, error) {
	n, err := h.Writer.Write(b)
	if h.err == nil {
		h.err = err
	}
	return n, err
}

func (a *app) root() *cobra.Command {
	c := &cobra.Command{
		Use:   "feedline",
		Short: "Plan extrusion lines that run on recycled polystyrene",
		Long: `feedline tells how many extrusion lines the feedstock can carry, what each
should run, when which pellet grade runs short, and what must be ordered by
which date.

Start with:  feedline demo
Your plant:  feedline init, feedline template sheets, fill them in,
             feedline import sheets, feedline plan`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.SetOut(a.Out) // before the completions, which keep it
	c.AddCommand(a.console(), a.show(), a.guardTerminal())
	c.PersistentFlags().StringVar(&a.bookPath, "book", "", "the plant book (default plant.book here, or $FEEDLINE_BOOK)")
	c.PersistentFlags().BoolVarP(&a.quiet, "quiet", "q", false, "no progress on stderr")
	c.SetFlagErrorFunc(func(c *cobra.Command, err error) error { return usage(c, err) })
	c.AddCommand(a.demo(), a.initBook(), a.template(), a.importSheets(), a.exportSheets(), a.plan(), a.edits(), a.diff(), a.release(), a.promise(), a.verify(), a.forecast(), a.curve(), a.report(), a.sheet(), a.solve(),
		a.record(), a.estimates(), a.actuals(), a.lot(), a.content())
	c.AddCommand(a.watch(), a.alerts(), a.backup(), a.restore(), a.check(), a.roles(), a.log(), a.licences())
	c.InitDefaultCompletionCmd("completion")
	a.wrapArgs(c)
	return c
}

// usageError is a mistake on the command line: exit code 2 and a hint to the help.
type usageError struct {
	err  error
	path string
}

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

func usage(c *cobra.Command, err error) error { return &usageError{err, c.CommandPath()} }

// wrapArgs makes wrong arguments of c and of its subcommands a usageError that says what is allowed.
func (a *app) wrapArgs(c *cobra.Command) {
	if c.HasSubCommands() && !c.Runnable() { // else a subcommand that there is not would print the help as if all were well
		c.Args = cobra.NoArgs
		c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
	}
	check := c.Args
	c.Args = func(c *cobra.Command, args []string) error {
		if check == nil {
			return nil
		}
		if err := check(c, args); err != nil {
			return usage(c, argsError(c, args, err))
		}
		return nil
	}
	for _, sub := range c.Commands() {
		a.wrapArgs(sub)
	}
}

// argsError says how c is written where the number of its arguments is wrong.
func argsError(c *cobra.Command, args []string, err error) error {
	if c.HasSubCommands() && len(args) > 0 || !strings.Contains(err.Error(), "arg(s)") && !strings.HasPrefix(err.Error(), "unknown command") {
		return err
	}
	given := "no argument"
	if n := len(args); n == 1 {
		given = "1 argument"
	} else if n > 1 {
		given = fmt.Sprintf("%d arguments", n)
	}
	_, names, _ := strings.Cut(c.Use, " ")
	if names == "" {
		names = "none"
	}
	return fmt.Errorf("%s given, allowed: %s", given, names)
}

// oneOf refuses flags that were given together and stand for different things.
func oneOf(c *cobra.Command, flags ...string) error {
	var given []string
	for _, name := range flags {
		if c.Flags().Changed(name) {
			given = append(given, "--"+name)
		}
	}
	if len(given) > 1 {
		return usage(c, fmt.Errorf("%s, allowed: one of them", strings.Join(given, " and ")))
	}
	return nil
}

// path is the book named by --book, by $FEEDLINE_BOOK or by default.
func (a *app) path() string {
	if a.bookPath != "" {
		return a.bookPath
	}
	if p := a.Getenv("FEEDLINE_BOOK"); p != "" {
		return p
	}
	return "plant.book"
}

func (a *app) openBook() (*book.Book, error) { return book.Open(a.path()) }

// colour reports whether out may carry colour: a terminal, NO_COLOR unset, not a dumb one.
func (a *app) colour() bool {
	return report.Colour(a.terminal(a.Out), a.Getenv)
}

// terminal reports whether a stream is a terminal.
func (a *app) terminal(stream any) bool {
	f, ok := fileOf(stream)
	return ok && term.IsTerminal(int(f.Fd()))
}

// fileOf is the file that a stream is, if it is one.
func fileOf(stream any) (*os.File, bool) {
	if h, ok := stream.(*heeded); ok {
		stream = h.Writer
	}
	f, ok := stream.(*os.File)
	return f, ok
}

// ascii reports whether the locale is not UTF-8.
func (a *app) ascii() bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := a.Getenv(name); v != "" {
			v = strings.ToLower(v)
			return !strings.Contains(v, "utf-8") && !strings.Contains(v, "utf8")
		}
	}
	return false
}

// width is the columns of the terminal that out is, or 80.
func (a *app) width() int {
	if f, ok := fileOf(a.Out); ok {
		if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 0 {
			return w
		}
	}
	return 80
}

// say writes a message to stderr unless --quiet.
func (a *app) say(format string, args ...any) {
	if !a.quiet {
		fmt.Fprintf(a.Err, format+"\n", args...)
	}
}

// errShort ends a plan that is short or late where --fail-on-short asked.
var errShort = errors.New("the plan is short or late")
