package cli

import (
	"encoding/json"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/estimates"
)

// promiseSchema names the JSON of an answered enquiry. Fields are only ever added under the same number.
const promiseSchema = "feedline.promise/1"

// errNotBy ends an enquiry that can't be met by the day asked for.
var errNotBy = errors.New("the enquiry can't be met by that day")

func (a *app) promise() *cobra.Command {
	var by string
	var asJSON bool
	c := &cobra.Command{
		Use:   "promise PROFILE METRES",
		Short: "Earliest day on which an enquiry can be met, and what bounds it",
		Long: `promise tells by which day so many metres of a profile can be complete without
making any order of the last plan later, with its lines, dies and loads as they
are planned. With --by it exits with 3 if that is after the day given.`,
		Example: "  feedline promise SK80 12000\n  feedline promise SK80 12km --by 2027-02-05 --json",
		Args:    cobra.ExactArgs(2),
		RunE:    func(c *cobra.Command, args []string) error { return a.runPromise(c, args, by, asJSON) },
	}
	c.Flags().StringVar(&by, "by", "", "the day asked for, `YYYY-MM-DD`")
	c.Flags().BoolVar(&asJSON, "json", false, "print it as JSON, schema "+promiseSchema)
	return c
}

type promiseDocument struct {
	Schema  string  `json:"schema"`
	Profile string  `json:"profile"`
	Length  float64 `json:"length_m"`
	Day     *string `json:"day"`
	By      *string `json:"asked_by"`
	Met     *bool   `json:"met"`
	Limit   string  `json:"limit"`
	Words   string  `json:"words"`
}

func (a *app) runPromise(c *cobra.Command, args []string, by string, asJSON bool) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	in, _, version, err := b.Estimates(c.Context(), 0)
	if err != nil {
		return err
	}
	length, err := quantity.ParseLength(args[1], in.Plant.Units)
	if err != nil {
		return usage(c, err)
	}
	var asked calendar.Day
	if by != "" {
		if asked, err = calendar.ParseDay(by); err != nil {
			return usage(c, err)
		}
	}
	p, meta, err := b.LastPlan(c.Context())
	if err != nil {
		return err
	}
	if meta.Input != version {
		a.say("feedline: note: the book has changed since the plan was made")
	}
	var opt savedOptions
	if meta.Options != nil {
		if err := json.Unmarshal(meta.Options, &opt); err != nil {
			return err
		}
	}
	in = estimates.Apply(in, p.Estimates)
	offer, err := planner.Promise(c.Context(), in, planner.Options{Now: p.Made, Start: p.Start, Weeks: opt.Weeks, DailyDays: opt.Days}, p, args[0], length)
	if e := (*planner.EditError)(nil); errors.As(err, &e) {
		return badInput{err, e.Hint()}
	}
	if err != nil {
		return err
	}
	return a.printOffer(offer, asked, asJSON)
}

func (a *app) printOffer(o planner.Offer, asked calendar.Day, asJSON bool) error {
	met := o.Day != 0 && o.Day <= asked
	text := func(d calendar.Day) *string {
		if d == 0 {
			return nil
		}
		s := d.String()
		return &s
	}
	var err error
	if asJSON {
		doc := promiseDocument{Schema: promiseSchema, Profile: o.Profile, Length: float64(o.Length), Day: text(o.Day), By: text(asked), Limit: string(o.Limit), Words: o.Words}
		if asked != 0 {
			doc.Met = &met
		}
		e := json.NewEncoder(a.Out)
		e.SetIndent("", "  ")
		err = e.Encode(doc)
	} else {
		day := "not within the plan"
		if o.Day != 0 {
			day = "by " + o.Day.String()
		}
		_, err = fmt.Fprintf(a.Out, "%s, %s m: %s\nbound by %s\n", o.Profile, quantity.Grouped(float64(o.Length), 0), day, o.Words)
	}
	if err == nil && asked != 0 && !met {
		return errNotBy
	}
	return err
}
