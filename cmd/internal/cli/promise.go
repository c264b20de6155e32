package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

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
are planned. Where more loads make it sooner it tells them, with the days to
order them by and what they cost, and where that comes sooner still, which
forecasts would be put off for it. With --by it exits with 3 if the day with the
loads as planned is after the day given.`,
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

	Currency string        `json:"currency"`
	Sooner   []soonerOffer `json:"sooner"`
}

type soonerOffer struct {
	Day       string      `json:"day"`
	Met       *bool       `json:"met"`
	Limit     string      `json:"limit"`
	Words     string      `json:"words"`
	Loads     []moreLoads `json:"loads"`
	Cost      float64     `json:"loads_money"`
	Displaced []displaced `json:"displaced"`
}

type moreLoads struct {
	Lane     string  `json:"lane"`
	Material string  `json:"material"`
	Loads    int     `json:"loads"`
	By       string  `json:"order_by"`
	Arrives  string  `json:"arrives"`
	Mass     float64 `json:"mass_kg"`
	Cost     float64 `json:"cost_money"`
	Landed   float64 `json:"landed_money_per_kg"`
}

type displaced struct {
	Profile string  `json:"profile"`
	Length  float64 `json:"length_m"`
	Until   string  `json:"until"`
	Never   float64 `json:"never_m"`
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
	in = estimates.AsPlanned(in, p)
	offer, err := planner.Promise(c.Context(), in, planner.Options{Now: a.Now(), Start: p.Start, Weeks: opt.Weeks, DailyDays: opt.Days}, p, args[0], length)
	if e := (*planner.EditError)(nil); errors.As(err, &e) {
		return badInput{err, e.Hint()}
	}
	if err != nil {
		return err
	}
	return a.printOffer(notPast(offer, planner.StartDay(in, planner.Options{Now: a.Now()})), in.Plant, asked, asJSON)
}

// notPast puts an offer's days that have passed, which a plan that began before today may have, on today.
func notPast(o planner.Offer, today calendar.Day) planner.Offer {
	if o.Day != 0 {
		o.Day = max(o.Day, today)
	}
	o.Wider = slices.Clone(o.Wider)
	for i := range o.Wider {
		o.Wider[i].Day = max(o.Wider[i].Day, today)
	}
	return o
}

func (a *app) printOffer(o planner.Offer, plant planner.Plant, asked calendar.Day, asJSON bool) error {
	var err error
	if asJSON {
		e := json.NewEncoder(a.Out)
		e.SetIndent("", "  ")
		err = e.Encode(documentOf(o, plant.Currency, asked))
	} else {
		_, err = io.WriteString(a.Out, offerText(o, plant.Currency, plant.Units))
	}
	if err == nil && asked != 0 && !metBy(o.Day, asked) {
		return errNotBy
	}
	return err
}

func metBy(day, asked calendar.Day) bool { return day != 0 && day <= asked }

func documentOf(o planner.Offer, currency string, asked calendar.Day) promiseDocument {
	text := func(d calendar.Day) *string {
		if d == 0 {
			return nil
		}
		s := d.String()
		return &s
	}
	met := func(day calendar.Day) *bool {
		if asked == 0 {
			return nil
		}
		m := metBy(day, asked)
		return &m
	}
	doc := promiseDocument{Schema: promiseSchema, Profile: o.Profile, Length: float64(o.Length), Day: text(o.Day), By: text(asked), Met: met(o.Day),
		Limit: string(o.Limit), Words: o.Words, Currency: currency, Sooner: []soonerOffer{}}
	for _, w := range o.Wider {
		s := soonerOffer{Day: w.Day.String(), Met: met(w.Day), Limit: string(w.Limit), Words: w.Words, Loads: []moreLoads{}, Cost: float64(w.Cost), Displaced: []displaced{}}
		for _, l := range w.Loads {
			s.Loads = append(s.Loads, moreLoads{l.Lane, l.Material, l.Loads, l.OrderBy.String(), l.Arrives.String(), float64(l.Mass), float64(l.Cost), float64(l.Landed)})
		}
		for _, d := range w.Displaced {
			s.Displaced = append(s.Displaced, displaced{d.Profile, float64(d.Length), d.Until.String(), float64(d.Never)})
		}
		doc.Sooner = append(doc.Sooner, s)
	}
	return doc
}

// offerText is an offer in lines: the day as planned, then each sooner one with what it takes.
func offerText(o planner.Offer, currency string, units quantity.System) string {
	length := func(l quantity.Length) string { return l.Format(units, 0) }
	day := "not within the plan"
	if o.Day != 0 {
		day = "by " + o.Day.String()
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %s: %s\nbound by %s\n", o.Profile, length(o.Length), day, o.Words)
	for _, w := range o.Wider {
		fmt.Fprintf(&b, "%s: by %s\n", widerWords(w), w.Day)
		for _, l := range w.Loads {
			fmt.Fprintf(&b, "  order %d × %s, %s, by %s, there by %s: %s %s, landed %s of pellets\n", l.Loads, l.Lane, l.Material, l.OrderBy, l.Arrives,
				quantity.Grouped(float64(l.Cost), 0), currency, l.Landed.Format(currency, units, 2))
		}
		for _, d := range w.Displaced {
			fmt.Fprintf(&b, "  puts off %s of the forecast of %s until after %s", length(d.Length), d.Profile, d.Until)
			if d.Never > 0 {
				fmt.Fprintf(&b, ", %s of it past the plan's end", length(d.Never))
			}
			fmt.Fprintln(&b)
		}
		fmt.Fprintf(&b, "  bound by %s\n", w.Words)
	}
	return b.String()
}

// widerWords says in what an offer goes beyond the plan.
func widerWords(w planner.WiderOffer) string {
	switch {
	case len(w.Displaced) == 0:
		return "with more loads"
	case len(w.Loads) == 0:
		return "with forecasts put off"
	}
	return "with more loads and forecasts put off"
}
