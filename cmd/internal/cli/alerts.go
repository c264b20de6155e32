package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/watch"
	"feedline/cmd/internal/watch/alert"
)

// alertsSchema names the form of alerts --json.
const alertsSchema = "feedline.alerts/1"

func (a *app) alerts() *cobra.Command {
	var asJSON, all bool
	c := &cobra.Command{
		Use:   "alerts",
		Short: "List the alerts that feedline watch has raised",
		Long: `alerts lists what needs attention: what, how much, when, why, what to do by
when. An alert is raised once, told again when it is worse, and cleared when it
has been gone for long enough. ack silences one until it is worse, snooze for a
while.`,
		Example: "  feedline alerts\n  feedline alerts --json\n  feedline alerts ack 12 --note \"ordered today\"\n  feedline alerts snooze 12 3d",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return a.listAlerts(c.Context(), asJSON, all) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "as JSON, schema "+alertsSchema)
	c.Flags().BoolVar(&all, "all", false, "also those that were cleared")
	c.AddCommand(a.ackAlert(), a.snoozeAlert())
	return c
}

func (a *app) listAlerts(ctx context.Context, asJSON, all bool) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	stored, err := b.Alerts(ctx, !all, 500)
	if err != nil {
		return err
	}
	list, err := watch.Decode(stored)
	if err != nil {
		return err
	}
	if asJSON {
		if list == nil {
			list = []*alert.Alert{}
		}
		e := json.NewEncoder(a.Out)
		e.SetIndent("", "  ")
		return e.Encode(struct {
			Schema string         `json:"schema"`
			Alerts []*alert.Alert `json:"alerts"`
		}{alertsSchema, list})
	}
	zone, err := b.Zone(ctx)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		fmt.Fprintln(a.Out, "No alerts.")
	}
	for _, x := range list {
		fmt.Fprintf(a.Out, "%s%s\n", x.Text(), "    "+alertState(x, zone))
	}
	return nil
}

// clockTime is how a time is shown: by the plant's clock, which the machine's need not be, with its zone.
const clockTime = "2006-01-02 15:04 MST"

// alertState is how an alert stands, on one line, by the plant's clock.
func alertState(x *alert.Alert, zone *time.Location) string {
	s := "since " + x.Raised.In(zone).Format(clockTime) + ", " + x.State
	if x.State == alert.Snoozed && x.SnoozedUntil != nil {
		s += " until " + x.SnoozedUntil.In(zone).Format(clockTime)
	}
	if x.Who != "" && x.State != alert.Open {
		s += " by " + x.Who
	}
	if x.Note != "" && x.State != alert.Open {
		s += ": " + x.Note
	}
	return s
}

func (a *app) ackAlert() *cobra.Command {
	var note string
	c := &cobra.Command{
		Use:   "ack NUMBER…",
		Short: "Acknowledge alerts: silence until worse",
		Args:  cobra.MinimumNArgs(1),
	}
	c.Flags().StringVar(&note, "note", "", "what is being done about it")
	c.RunE = func(c *cobra.Command, args []string) error {
		return a.answerAlerts(c, args, "alert acknowledged", func(x *alert.Alert) { x.Ack(a.who(), note, a.Now()) })
	}
	return c
}

func (a *app) snoozeAlert() *cobra.Command {
	var note string
	c := &cobra.Command{
		Use:   "snooze NUMBER… TIME",
		Short: "Silence alerts for a while, such as 4h, 3d or 2w, or until a day",
		Args:  cobra.MinimumNArgs(2),
	}
	c.Flags().StringVar(&note, "note", "", "why")
	c.RunE = func(c *cobra.Command, args []string) error {
		zone, err := a.plantZone(c.Context())
		if err != nil {
			return err
		}
		until, err := snoozeTime(args[len(args)-1], a.Now().In(zone))
		if err != nil {
			return usage(c, err)
		}
		return a.answerAlerts(c, args[:len(args)-1], "alert snoozed until "+until.Format(clockTime), func(x *alert.Alert) { x.Snooze(a.who(), note, until) })
	}
	return c
}

// plantZone is the zone of the book's plant.
func (a *app) plantZone(ctx context.Context) (*time.Location, error) {
	b, err := a.openBook()
	if err != nil {
		return nil, err
	}
	defer b.Close()
	return b.Zone(ctx)
}

// longestSnooze is the longest that an alert may be silenced for: a year.
const longestSnooze = 366 * 24 * time.Hour

// snoozeTime reads 4h, 3d, 2w or a day, which begins at midnight in now's zone.
func snoozeTime(s string, now time.Time) (time.Time, error) {
	wrong := fmt.Errorf("%q is no time to come of at most a year; write it as 4h, 3d, 2w or 2027-01-20", s)
	until := time.Time{}
	if day, err := time.ParseInLocation(time.DateOnly, s, now.Location()); err == nil {
		until = day
	} else {
		unit := map[byte]time.Duration{'h': time.Hour, 'd': 24 * time.Hour, 'w': 7 * 24 * time.Hour}
		if s == "" || unit[s[len(s)-1]] == 0 {
			return until, wrong
		}
		n, err := strconv.ParseFloat(s[:len(s)-1], 64)
		if err != nil || !(n > 0 && n < 1e6) {
			return until, wrong
		}
		until = now.Add(time.Duration(n * float64(unit[s[len(s)-1]])))
	}
	if !until.After(now) || until.Sub(now) > longestSnooze {
		return until, wrong
	}
	return until, nil
}

// answerAlerts changes open alerts by number.
func (a *app) answerAlerts(c *cobra.Command, numbers []string, deed string, change func(*alert.Alert)) error {
	want := map[int64]bool{}
	for _, s := range numbers {
		n, err := strconv.ParseInt(strings.TrimPrefix(s, "#"), 10, 64)
		if err != nil {
			return usage(c, fmt.Errorf("%q is no number of an alert", s))
		}
		want[n] = true
	}
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	var done []*alert.Alert
	err = b.ChangeAlerts(c.Context(), book.RightAlerts, func(recent []book.StoredAlert) (out book.AlertChange, err error) {
		list, err := watch.Decode(recent)
		if err != nil {
			return out, err
		}
		for _, x := range list {
			if !want[x.ID] || !x.IsOpen() {
				continue
			}
			delete(want, x.ID)
			change(x)
			done = append(done, x)
			out.Deeds = append(out.Deeds, book.Deed{Deed: deed, Subject: x.Key(), Word: x.Note})
		}
		for n := range want {
			return out, badInput{fmt.Errorf("there is no open alert #%d", n), "see their numbers: feedline alerts"}
		}
		out.Alerts, err = watch.Encode(done)
		return out, err
	})
	if err != nil {
		return err
	}
	for _, x := range done {
		a.say("%s: %s", x.State, x.Line())
	}
	return nil
}
