package cli

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/sheets"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
)

// whatIfFlags are --set, --add, --drop, --if and --edits, in the order they were given.
type whatIfFlags struct{ given []whatIfFlag }

type whatIfFlag struct{ name, text string }

// editFlag is one of the flags as pflag sees it; all write to one list.
type editFlag struct {
	name, kind string
	to         *whatIfFlags
}

func (f editFlag) String() string { return "" }
func (f editFlag) Type() string   { return f.kind }
func (f editFlag) Set(s string) error {
	f.to.given = append(f.to.given, whatIfFlag{f.name, s})
	return nil
}

// whatIfHelp tells of the flags that addWhatIf adds.
const whatIfHelp = `With --set, --add, --drop, --if or --edits it is a what-if: the book is changed
for this alone and nothing is saved. A cell is named TABLE.KEY.COLUMN as in the
sheets; the parts of a key are joined by a slash, the words of a column by
underscores. They may be repeated and count in the order given.`

// addWhatIf adds the flags of a what-if to c.
func addWhatIf(c *cobra.Command, to *whatIfFlags) {
	f := c.Flags()
	f.Var(editFlag{"set", "TABLE.KEY.COLUMN=VALUE", to}, "set", "what-if: a cell has this value")
	f.Var(editFlag{"add", "TABLE:COLUMN=VALUE,…", to}, "add", "what-if: a row more")
	f.Var(editFlag{"drop", "TABLE.KEY", to}, "drop", "what-if: a row less")
	var verbs []string
	for _, v := range planner.EditVerbs {
		verbs = append(verbs, v.Name)
	}
	f.Var(editFlag{"if", "WORDS", to}, "if", `what-if in words, such as "down L4 2027-01-11..2027-01-15"; verbs: `+strings.Join(verbs, ", ")+"; see feedline edits")
	f.Var(editFlag{"edits", "FILE.json", to}, "edits", "what-if from a file, schema "+planner.EditSchema)
}

// any reports whether there is a what-if.
func (w whatIfFlags) any() bool { return len(w.given) > 0 }

// apply returns in with the what-if, and its edits; in itself when there is none. counted gives an input the figures that it is planned with;
// today is the first day of the plan.
func (w whatIfFlags) apply(in *planner.Input, counted func(*planner.Input) *planner.Input, today calendar.Day) (*planner.Input, []planner.Edit, error) {
	var all []planner.Edit
	for _, g := range w.given {
		list, err := g.edits(in, counted(in), today)
		if err == nil {
			in, err = sheets.Apply(in, list...)
		}
		var input *sheets.SetError
		var edit *planner.EditError
		if errors.As(err, &input) || errors.As(err, &edit) {
			err = badInput{fmt.Errorf("--%s %w", g.name, err), hintOf(err)}
		}
		if err != nil {
			return nil, nil, err
		}
		all = append(all, list...)
	}
	return in, all, nil
}

// edits reads the flag's text.
func (g whatIfFlag) edits(in, counted *planner.Input, today calendar.Day) ([]planner.Edit, error) {
	var e planner.Edit
	var err error
	switch g.name {
	case "if":
		return planner.EditWords(in, counted, today, g.text)
	case "edits":
		b, err := os.ReadFile(g.text)
		if err != nil {
			return nil, err
		}
		return planner.DecodeEdits(b)
	case "add":
		e, err = planner.ParseAdd(g.text)
	case "drop":
		e, err = planner.ParseDrop(g.text)
	default:
		e, err = planner.ParseSet(g.text)
	}
	return []planner.Edit{e}, err
}

// withEstimates is what gives an input the figures of a report in place of those entered.
func withEstimates(learned estimates.Report) func(*planner.Input) *planner.Input {
	return func(in *planner.Input) *planner.Input { return estimates.Apply(in, learned.FiguresFor(in)) }
}

func hintOf(err error) string {
	var h hinter
	if errors.As(err, &h) {
		return h.Hint()
	}
	return ""
}

// describe is the edits on one line.
func describe(list []planner.Edit) string {
	var s []string
	for _, e := range list {
		s = append(s, e.String())
	}
	return strings.Join(s, "; ")
}

// edits is a command that lists the verbs, and with words writes the edits that they stand for.
func (a *app) edits() *cobra.Command {
	var w whatIfFlags
	var fl planFlags
	c := &cobra.Command{
		Use:   "edits",
		Short: "What-ifs in words: list the verbs, or write the edits that they stand for",
		Long: `edits lists the verbs that --if of plan and other commands takes. With a what-if
it checks it against the book and prints its edits as JSON, which --edits reads.

` + whatIfHelp,
		Example: `  feedline edits
  feedline edits --if "down L4 2027-01-11..2027-01-15" --if "crew 8" >draft
  feedline plan --edits draft`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return fmt.Errorf("%q stands alone, write it as --if %q", args[0], args[0])
			}
			return nil
		},
	}
	addWhatIf(c, &w)
	c.Flags().StringVar(&fl.start, "start", "", "first day of the plan, `YYYY-MM-DD` (default today)")
	fl.gap = "0"
	c.RunE = func(c *cobra.Command, _ []string) error {
		if !w.any() {
			for _, v := range planner.EditVerbs {
				fmt.Fprintf(a.Out, "%-36s %s\n%-36s   %s\n", v.Name+" "+v.Args, v.Help, "", v.Example)
			}
			return nil
		}
		opt, err := a.options(c, fl)
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
		in, learned, _, err := b.Estimates(c.Context(), till)
		if err != nil {
			return err
		}
		start := planner.StartDay(in, opt)
		in, list, err := w.apply(in, withEstimates(learned), start)
		if err != nil {
			return err
		}
		found := in.Check(start)
		a.warnings(found)
		if bad := slices.DeleteFunc(found, func(p planner.Problem) bool { return p.Warning }); len(bad) > 0 {
			return setHint(&planner.InputError{Problems: bad}, w)
		}
		out, err := planner.EncodeEdits(list)
		if err == nil {
			_, err = fmt.Fprintf(a.Out, "%s\n", out)
		}
		return err
	}
	return c
}
