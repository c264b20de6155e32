package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/lines/calendar"
	"feedline/planner/records"
)

// period is --from and --to, the last day included.
type period struct{ from, to string }

func (p *period) flags(c *cobra.Command) {
	c.Flags().StringVar(&p.from, "from", "", "first day, `YYYY-MM-DD`")
	c.Flags().StringVar(&p.to, "to", "", "last day, `YYYY-MM-DD`")
}

// span is the days as a half-open span; 0 for what is not given.
func (p *period) span(c *cobra.Command) (s calendar.Span, err error) {
	if p.from != "" {
		if s.From, err = calendar.ParseDay(p.from); err != nil {
			return s, usage(c, fmt.Errorf("--from: %w", err))
		}
	}
	if p.to != "" {
		if s.To, err = calendar.ParseDay(p.to); err != nil {
			return s, usage(c, fmt.Errorf("--to: %w", err))
		}
		s.To++
	}
	if p.from != "" && p.to != "" && s.To <= s.From {
		return s, usage(c, fmt.Errorf("--to %s lies before --from %s", p.to, p.from))
	}
	return s, nil
}

func (a *app) recordList() *cobra.Command {
	var kind string
	var days period
	var all, asJSON bool
	var last int
	c := &cobra.Command{
		Use:     "list",
		Short:   "List what is recorded, with who and when",
		Example: "  feedline record list --kind run --from 2027-01-11 --to 2027-01-17\n  feedline record list --all --json",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			f := book.Filter{Moves: true}
			if kind != "" {
				if !slices.Contains(records.Kinds, records.Kind(kind)) && records.Kind(kind) != records.KindReversal {
					return usage(c, fmt.Errorf("--kind %q, allowed: %s", kind, kindWords()))
				}
				f.Kinds = []records.Kind{records.Kind(kind)}
			}
			span, err := days.span(c)
			if err != nil {
				return err
			}
			f.From, f.To = span.From, span.To
			b, err := a.openBook()
			if err != nil {
				return err
			}
			defer b.Close()
			in, _, err := b.Load(c.Context())
			if err != nil {
				return err
			}
			list, err := b.Entries(c.Context(), f)
			if err != nil {
				return err
			}
			if !all && len(list) > last {
				a.say("feedline: note: the last %d of %d entries; all with --all", last, len(list))
				list = list[len(list)-last:]
			}
			return a.printEntries(in, list, asJSON)
		},
	}
	c.Flags().StringVar(&kind, "kind", "", "only of this kind: "+kindWords())
	days.flags(c)
	c.Flags().BoolVar(&all, "all", false, "all of them")
	c.Flags().IntVar(&last, "last", 50, "so many of the last")
	c.Flags().BoolVar(&asJSON, "json", false, "print them as JSON, schema "+report.EntriesSchema)
	return c
}

func kindWords() string {
	var list []string
	for _, k := range records.Kinds {
		list = append(list, string(k))
	}
	return strings.Join(append(list, string(records.KindReversal)), ", ")
}
