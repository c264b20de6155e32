package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/report"
	"feedline/cmd/internal/watch"
	"feedline/planner"
)

// watchFlags are the flags of watch.
type watchFlags struct {
	config               string
	check, status, json  bool
	example              bool
	service, serviceUser string
	once                 string
}

func (a *app) watch() *cobra.Command {
	var fl watchFlags
	c := &cobra.Command{
		Use:   "watch",
		Short: "Run by itself: plan on schedules, raise alerts, back up; Ctrl-C stops it",
		Long: `watch stays running. On schedules in the plant's time zone it plans anew, sends
a digest and reminders of loads to order, backs the book up and checks it; it
also plans when the book was changed and then left alone for a minute. Runs
that were missed are caught up; there is never more than one at once.

What it does and whom it tells stands in watch.toml beside the book, or in the
file named by --config; --example prints one explained. Passwords stand in
files that only you may read or in variables, never in it.`,
		Example: `  feedline watch --example > watch.toml
  feedline watch --check
  feedline watch
  feedline watch --status
  feedline watch --service systemd > feedline-watch.service`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			err := a.runWatch(c.Context(), c, fl)
			if c.Context().Err() != nil && errors.Is(err, context.Canceled) {
				a.say("stopped before it began")
				return nil
			}
			return err
		},
	}
	f := c.Flags()
	f.StringVar(&fl.config, "config", "", "configuration `file` (default watch.toml beside the book)")
	f.BoolVar(&fl.check, "check", false, "check the configuration and show the next runs, then end")
	f.BoolVar(&fl.status, "status", false, "say how the watch of this book does; exit code 1 if something is wrong")
	f.BoolVar(&fl.json, "json", false, "with --status: as JSON, schema "+watch.HealthSchema)
	f.BoolVar(&fl.example, "example", false, "print an explained configuration")
	f.StringVar(&fl.service, "service", "", "print what runs it as a service: `systemd` or windows")
	f.StringVar(&fl.serviceUser, "service-user", "feedline", "user of that service")
	f.StringVar(&fl.once, "once", "", "run one `job` now and end: plan, digest, reminder, backup, check, forecast")
	return c
}

func (a *app) runWatch(ctx context.Context, c *cobra.Command, fl watchFlags) error {
	if err := oneOf(c, "check", "status", "example", "service", "once"); err != nil {
		return err
	}
	switch {
	case fl.example:
		_, err := io.WriteString(a.Out, watch.Example)
		return err
	case fl.json && !fl.status:
		return usage(c, errors.New("--json goes with --status"))
	case fl.service != "":
		return a.printService(c, fl)
	}
	config, file, err := watch.FindConfig(fl.config, a.path())
	if err != nil {
		return err
	}
	if config.Health == "" {
		config.Health = a.path() + ".health.json"
	}
	if fl.status {
		return a.watchStatus(config, fl.json)
	}
	if err := config.Secrets(a.Getenv); err != nil {
		return err
	}
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	d := a.desk(b, config)
	if err := d.ReadZone(ctx); err != nil {
		return err
	}
	if fl.check {
		a.showRuns(d, file)
		return nil
	}
	if fl.once != "" {
		return a.runOnce(ctx, c, d, fl.once)
	}
	return a.keepWatch(ctx, d, config)
}

// wallClock is the environment's clock for the watch.
type wallClock struct {
	watch.System
	now func() time.Time
}

func (w wallClock) Now() time.Time { return w.now().Round(0) }

func (a *app) desk(b *book.Book, config watch.Config) *watch.Desk {
	return &watch.Desk{Book: b, Config: config, Clock: wallClock{now: a.Now}, Getenv: a.Getenv, Terminal: a.Out, Drifts: watch.BookDrifts, Forecast: watch.RunForecast,
		Summary: func(w io.Writer, in *planner.Input, p *planner.Plan) error {
			return report.Text(w, in, p, report.Options{Width: 78, Units: in.Plant.Units})
		}}
}

// keepWatch runs until it is told to stop.
func (a *app) keepWatch(ctx context.Context, d *watch.Desk, config watch.Config) error {
	w := &watch.Watch{Book: d.Book, Jobs: d.Jobs(), Clock: d.Clock, Zone: d.Zone, Log: a.Err, Quiet: config.Plan.Quiet.Duration, Health: config.Health,
		Ended: d.Ended, Unreached: d.Unreached, Changed: func(ctx context.Context) { _ = d.ReadZone(ctx) }} // a book that can't be read is said by the watch
	if a.quiet {
		w.Log = nil
	}
	sending, stop := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		d.Sender(sending, 5*time.Second, w.Say)
		close(done)
	}()
	err := w.Run(ctx)
	stop()
	<-done
	return err
}

// runOnce runs one job now, and sends what it posts.
func (a *app) runOnce(ctx context.Context, c *cobra.Command, d *watch.Desk, name string) error {
	var names []string
	for _, j := range d.Jobs() {
		names = append(names, j.Name)
		if j.Name != name {
			continue
		}
		word, err := j.Do(ctx, watch.Run{Due: a.Now(), Reason: "asked"})
		if err != nil {
			return err
		}
		a.say("%s: %s", name, word)
		sent, trouble, err := d.Deliver(ctx)
		for _, t := range trouble {
			a.say("feedline: warning: %s", t)
		}
		if sent > 0 {
			a.say("%d messages sent", sent)
		}
		return err
	}
	return usage(c, fmt.Errorf("--once %q, allowed: %s", name, strings.Join(names, ", ")))
}

// showRuns prints what the configuration comes to.
func (a *app) showRuns(d *watch.Desk, file string) {
	if file == "" {
		file = "none, the defaults hold"
	}
	zone, now := d.Zone(), a.Now()
	fmt.Fprintf(a.Out, "configuration: %s\nzone: %s, now %s\n", file, zone, now.In(zone).Format("Mon 2006-01-02 15:04 MST"))
	for _, j := range d.Jobs() {
		next := strings.Join(j.Schedule.NextRuns(now, zone, 3), ", ")
		if next == "" {
			next = "never"
		}
		fmt.Fprintf(a.Out, "%-9s %-18s %s\n", j.Name, j.Schedule, next)
	}
	fmt.Fprintf(a.Out, "after a change of the book: plan, once it was left alone for %s\n", d.Config.Plan.Quiet)
	for _, r := range d.Config.To {
		fmt.Fprintf(a.Out, "to %s <%s>: %s%s\n", r.Name, r.Email, orAll(r.Alerts), map[bool]string{true: ", digest"}[r.Digest])
	}
	for _, h := range d.Config.Webhooks {
		fmt.Fprintf(a.Out, "to webhook at %s: %s\n", watch.Host(h.URL), orAll(h.Alerts))
	}
	if d.Config.File.Path != "" {
		fmt.Fprintf(a.Out, "to file %s: all alerts\n", d.Config.File.Path)
	}
}

func orAll(kinds []string) string {
	if len(kinds) == 0 {
		return "all alerts"
	}
	return strings.Join(kinds, ", ")
}

// errUnwell ends a status that found something wrong.
var errUnwell = errors.New("the watch is not well")

func (a *app) watchStatus(config watch.Config, asJSON bool) error {
	alive, err := watch.Alive(a.path())
	if err != nil {
		return err
	}
	h, err := watch.ReadHealth(config.Health)
	if errors.Is(err, os.ErrNotExist) {
		return badInput{fmt.Errorf("no watch of %s has run yet: %s is not there", a.path(), config.Health), "start one with: feedline watch"}
	}
	if err != nil {
		return err
	}
	wrong := h.Verdict(alive, a.Now())
	if asJSON {
		doc := struct {
			watch.Health
			Alive bool     `json:"alive"`
			Wrong []string `json:"wrong"`
		}{h, alive, append([]string{}, wrong...)}
		e := json.NewEncoder(a.Out)
		e.SetIndent("", "  ")
		err = e.Encode(doc)
	} else {
		_, err = io.WriteString(a.Out, h.Text(alive, a.Now()))
	}
	if err == nil && len(wrong) > 0 {
		return fmt.Errorf("%w: %s", errUnwell, wrong[0])
	}
	return err
}

func (a *app) printService(c *cobra.Command, fl watchFlags) error {
	program, err := os.Executable()
	if err != nil {
		return err
	}
	s := watch.Service{Program: program, User: fl.serviceUser}
	if s.Book, err = filepath.Abs(a.path()); err != nil {
		return err
	}
	if fl.config != "" {
		if s.Config, err = filepath.Abs(fl.config); err != nil {
			return err
		}
	}
	if strings.ContainsAny(s.Program+s.Book+s.Config+s.User, "\r\n\x00") {
		return usage(c, errors.New("a path or the user's name holds a line break"))
	}
	switch fl.service {
	case "systemd":
		_, err = io.WriteString(a.Out, s.Systemd())
	case "windows":
		_, err = io.WriteString(a.Out, s.Windows())
	default:
		err = usage(c, fmt.Errorf("--service %q, allowed: systemd or windows", fl.service))
	}
	return err
}
