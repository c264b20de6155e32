package watch

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/watch/alert"
	"feedline/cmd/internal/watch/notify"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/forecast"
)

// Forecaster computes uncertainty for the job "forecast". A context that ends leaves it the samples it has.
type Forecaster func(ctx context.Context, in *planner.Input, p *planner.Plan) (*forecast.Result, error)

// Drifts tells which yields are no longer what the plan counts with.
type Drifts func(ctx context.Context, b *book.Book, in *planner.Input) ([]alert.Drift, error)

// Desk does what the watch has to do: it plans, looks, tells, keeps backups.
type Desk struct {
	Book     *book.Book
	Config   Config
	Clock    Clock
	Getenv   func(string) string
	Terminal io.Writer // alerts are shown here too; nil = nowhere
	Forecast Forecaster
	Drifts   Drifts
	Summary  func(io.Writer, *planner.Input, *planner.Plan) error // the plan's answer for the digest

	mu        sync.Mutex
	zone      *time.Location
	unreached map[string]string // why messages do not arrive, by recipient
	screen    sync.Mutex        // guards Terminal
}

// Zone is the plant's time zone, as the book had it last.
func (d *Desk) Zone() *time.Location {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.zone == nil {
		return time.UTC
	}
	return d.zone
}

// ReadZone looks the plant's zone up in the book.
func (d *Desk) ReadZone(ctx context.Context) error {
	in, _, err := d.Book.Load(ctx)
	if err == nil {
		d.setZone(in)
	}
	return err
}

func (d *Desk) setZone(in *planner.Input) {
	z, err := time.LoadLocation(in.Plant.Zone)
	if err != nil || in.Plant.Zone == "" {
		z = time.UTC
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.zone = z
}

// today is the plant's date.
func (d *Desk) today() calendar.Day { return calendar.DayOf(d.Clock.Now().In(d.Zone())) }

// Jobs is the jobs with their schedules. The configuration has been checked.
func (d *Desk) Jobs() []Job {
	do := map[string]func(context.Context, Run) (string, error){"plan": d.plan, "digest": d.digest, "reminder": d.remind, "backup": d.backup, "check": d.check}
	if d.Forecast != nil {
		do["forecast"] = d.forecast
	}
	var list []Job
	for _, x := range d.Config.Schedule.list() {
		s, err := ParseSchedule(x[1])
		if err != nil {
			panic("watch: a schedule that was not checked")
		}
		if do[x[0]] == nil {
			continue
		}
		limit := time.Hour
		if x[0] == planJob {
			limit = 2*d.Config.Plan.Time.Duration + 10*time.Minute
		}
		list = append(list, Job{Name: x[0], Schedule: s, Limit: limit, Do: do[x[0]]})
	}
	return list
}

// ownPlans is how the notes of the watch's plans begin.
const ownPlans = "watch: "

// plan plans, saves the plan and looks at it.
func (d *Desk) plan(ctx context.Context, run Run) (string, error) {
	in, version, err := d.Book.LoadForPlan(ctx, book.PlanOptions{})
	if err != nil {
		return "", err
	}
	d.setZone(in)
	if len(in.Lines) == 0 || len(in.Profiles) == 0 {
		return "nothing to plan yet: the book has no lines or no profiles", nil
	}
	c := d.Config.Plan
	opt := planner.Options{Now: d.Clock.Now(), Time: c.Time.Duration, Work: c.Work, Gap: c.Gap / 100, Workers: 1}
	if c.Work > 0 {
		opt.Time = 0
	}
	promise, released, err := d.Book.Released(ctx)
	switch {
	case err == nil:
		opt.Released = promise
	case !errors.Is(err, book.ErrNotReleased):
		return "", err
	}
	p, err := planner.Make(ctx, in, opt)
	if err != nil {
		return "", err
	}
	settings := map[string]any{"start": p.Start.String(), "gap": opt.Gap, "time_s": opt.Time.Seconds(), "work": opt.Work}
	if opt.Released != nil {
		settings["released"] = released.ID
	}
	asked, err := json.Marshal(settings)
	if err != nil {
		return "", err
	}
	keep := context.WithoutCancel(ctx) // a search that was stopped still holds a whole plan
	id, err := d.Book.SavePlan(keep, p, book.PlanMeta{Input: version, Note: ownPlans + run.Reason, Options: asked})
	if err != nil {
		return "", err
	}
	if c.Keep > 0 {
		if _, err := d.Book.ThinPlans(keep, ownPlans, time.Duration(c.Keep)*24*time.Hour); err != nil {
			return "", err
		}
	}
	word := fmt.Sprintf("plan %d, cost %.0f, gap %.1f %%", id, float64(p.Objective), 100*p.Gap)
	n, err := d.look(keep, in, p, alert.PlanKinds)
	return joinWords(word, n), err
}

// look judges a plan and brings the alerts up to date.
func (d *Desk) look(ctx context.Context, in *planner.Input, p *planner.Plan, kinds []string) (string, error) {
	first, err := d.Book.FirstETAs(ctx)
	if err != nil {
		return "", err
	}
	v := alert.View{In: in, Plan: p, Today: d.today(), Rules: d.Config.Alerts, FirstETA: first}
	if d.Drifts != nil {
		if v.Drifts, err = d.Drifts(ctx, d.Book, in); err != nil {
			return "", err
		}
	}
	return d.tell(ctx, alert.Look(v), kinds, d.Config.Alerts)
}

// tell brings the alerts up to date with findings and posts what there is to say.
func (d *Desk) tell(ctx context.Context, found []alert.Finding, looked []string, rules alert.Rules) (string, error) {
	var events []alert.Event
	err := d.Book.ChangeAlerts(ctx, book.RightWatch, func(recent []book.StoredAlert) (book.AlertChange, error) {
		list, err := Decode(recent)
		if err != nil {
			return book.AlertChange{}, err
		}
		var changed []*alert.Alert
		changed, events = alert.Step(list, found, looked, rules, d.Clock.Now())
		return d.change(changed, events)
	})
	if err != nil || len(events) == 0 {
		return "", err
	}
	d.show(events)
	count := map[string]int{}
	for _, e := range events {
		count[e.What]++
	}
	var parts []string
	for _, what := range []string{alert.Raised, alert.Back, alert.Worse, alert.Again, alert.Gone} {
		if n := count[what]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, what))
		}
	}
	return "alerts: " + strings.Join(parts, ", "), nil
}

// Decode reads stored alerts.
func Decode(stored []book.StoredAlert) (list []*alert.Alert, err error) {
	for _, s := range stored {
		a := &alert.Alert{}
		if err := json.Unmarshal(s.Body, a); err != nil {
			return nil, fmt.Errorf("alert %d can't be read: %w", s.ID, err)
		}
		a.ID = s.ID
		list = append(list, a)
	}
	return list, nil
}

// Encode makes alerts ready to be stored.
func Encode(list []*alert.Alert) (stored []*book.StoredAlert, err error) {
	for _, a := range list {
		body, err := json.Marshal(a)
		if err != nil {
			return nil, fmt.Errorf("alert %s: %w", a.Key(), err)
		}
		stored = append(stored, &book.StoredAlert{ID: a.ID, Key: a.Key(), Open: a.IsOpen(), Body: body})
	}
	return stored, nil
}

func (d *Desk) change(changed []*alert.Alert, events []alert.Event) (book.AlertChange, error) {
	stored, err := Encode(changed)
	if err != nil {
		return book.AlertChange{}, err
	}
	c := book.AlertChange{Alerts: stored}
	c.Messages = func() ([]book.Outgoing, error) { // the numbers of new alerts are known by then
		for i, s := range stored {
			changed[i].ID = s.ID
		}
		return d.messages(events)
	}
	for _, e := range events {
		c.Deeds = append(c.Deeds, book.Deed{Deed: "alert " + e.What, Subject: e.Alert.Key(), Word: e.Alert.What})
	}
	return c, nil
}

// messages is what is sent of events: one message to each recipient, hook and file, of those kinds that it wants.
func (d *Desk) messages(events []alert.Event) (list []book.Outgoing, err error) {
	add := func(channel, to string, kinds []string) {
		var mine []alert.Event
		for _, e := range events {
			if len(kinds) == 0 || slices.Contains(kinds, e.Alert.Kind) {
				mine = append(mine, e)
			}
		}
		if len(mine) == 0 {
			return
		}
		o, e := d.outgoing(channel, to, subject(mine), bodyOf(mine), alertsOf(mine))
		list, err = append(list, o), errors.Join(err, e)
	}
	for _, r := range d.Config.To {
		if r.Email != "" {
			add("mail", r.Email, r.Alerts)
		}
	}
	for _, h := range d.Config.Webhooks {
		add("webhook", h.URL, h.Alerts)
	}
	if d.Config.File.Path != "" {
		add("file", "", nil)
	}
	return list, err
}

func alertsOf(events []alert.Event) (list []*alert.Alert) {
	for _, e := range events {
		list = append(list, e.Alert)
	}
	return list
}

// subject is the most urgent event, and how many more there are.
func subject(events []alert.Event) string {
	best := events[0]
	for _, e := range events {
		if e.What != alert.Gone && (best.What == alert.Gone || e.Alert.Urgent && !best.Alert.Urgent) {
			best = e
		}
	}
	s := "feedline: "
	if best.What != alert.Raised {
		s += best.What + ": "
	}
	s += best.Alert.What
	if n := len(events) - 1; n > 0 {
		s += fmt.Sprintf(" (and %d more)", n)
	}
	return s
}

func bodyOf(events []alert.Event) string {
	var b strings.Builder
	for _, e := range events {
		fmt.Fprintf(&b, "%s\n%s\n", strings.ToUpper(e.What), e.Alert.Text())
	}
	b.WriteString("Silence one: feedline alerts ack NUMBER, or feedline alerts snooze NUMBER 3d\n")
	return b.String()
}

// outgoing makes a message ready for the outbox.
func (d *Desk) outgoing(channel, to, subject, text string, alerts []*alert.Alert) (book.Outgoing, error) {
	id := make([]byte, 12)
	if _, err := rand.Read(id); err != nil {
		return book.Outgoing{}, err
	}
	m := notify.Message{ID: hex.EncodeToString(id), At: d.Clock.Now(), To: to, Subject: subject, Text: text}
	if len(alerts) > 0 {
		body, err := json.Marshal(alerts)
		if err != nil {
			return book.Outgoing{}, err
		}
		m.Alerts = body
	}
	body, err := json.Marshal(m)
	return book.Outgoing{Channel: channel, Body: body, Next: d.Clock.Now()}, err
}

// show prints events on the terminal.
func (d *Desk) show(events []alert.Event) {
	if d.Terminal == nil {
		return
	}
	d.screen.Lock()
	defer d.screen.Unlock()
	for _, e := range events {
		fmt.Fprintf(d.Terminal, "%s  %s\n", strings.ToUpper(e.What), e.Alert.Text())
	}
}

// Ended raises an alert for a job that failed and clears it once the job succeeds.
func (d *Desk) Ended(ctx context.Context, j book.JobState) error {
	f := alert.Finding{Kind: alert.Job, Subject: j.Name, Urgent: true, What: fmt.Sprintf("the job %s of the watch failed: %s", j.Name, j.Word),
		Why: "it ran at " + j.Started.In(d.Zone()).Format("2006-01-02 15:04 MST"), Do: "mend what it says; it is run again when it is due"}
	rules := d.Config.Alerts
	rules.ClearAfter = 1
	var found []alert.Finding
	switch j.Outcome {
	case "failed":
		found = append(found, f)
	case "done":
	default:
		return nil
	}
	_, err := d.tell(ctx, found, []string{f.Key()}, rules)
	return err
}

// lastPlan is the book with its last plan; the error is book.ErrNoPlan if it has none yet.
func (d *Desk) lastPlan(ctx context.Context) (in *planner.Input, p *planner.Plan, meta book.PlanMeta, err error) {
	if in, _, err = d.Book.Load(ctx); err != nil {
		return nil, nil, meta, err
	}
	d.setZone(in)
	p, meta, err = d.Book.LastPlan(ctx)
	return in, p, meta, err
}

// noPlan is how a job ends that has no plan to work on: without one yet there is nothing to do.
func noPlan(err error) (string, error) {
	if errors.Is(err, book.ErrNoPlan) {
		return "no plan yet", nil
	}
	return "", err
}

// openAlerts are the alerts that stand, newest first.
func (d *Desk) openAlerts(ctx context.Context) ([]*alert.Alert, error) {
	stored, err := d.Book.Alerts(ctx, true, 200)
	if err != nil {
		return nil, err
	}
	return Decode(stored)
}

// digest posts a summary to each recipient that wants one.
func (d *Desk) digest(ctx context.Context, _ Run) (string, error) {
	in, p, meta, err := d.lastPlan(ctx)
	if err != nil {
		return noPlan(err)
	}
	open, err := d.openAlerts(ctx)
	if err != nil {
		return "", err
	}
	var list []book.Outgoing
	for _, r := range d.Config.To {
		if !r.Digest || r.Email == "" {
			continue
		}
		text, err := d.digestText(in, p, meta, open, r)
		if err != nil {
			return "", err
		}
		o, err := d.outgoing("mail", r.Email, fmt.Sprintf("feedline: %s, %s", in.Plant.Name, d.today()), text, nil)
		if err != nil {
			return "", err
		}
		list = append(list, o)
	}
	return fmt.Sprintf("%d recipients", len(list)), d.Book.Post(ctx, list)
}

func (d *Desk) digestText(in *planner.Input, p *planner.Plan, meta book.PlanMeta, open []*alert.Alert, r Recipient) (string, error) {
	var b strings.Builder
	fmt.Fprintf(&b, "Good morning, %s.\n\nPlan %d, made %s.\n\n", r.Name, meta.ID, meta.Saved.In(d.Zone()).Format("Mon 2006-01-02 15:04 MST"))
	if d.Summary != nil {
		if err := d.Summary(&b, in, p); err != nil {
			return "", err
		}
		b.WriteString("\n")
	}
	n := 0
	for _, a := range open {
		if (len(r.Alerts) > 0 && !slices.Contains(r.Alerts, a.Kind)) || a.State == alert.Snoozed {
			continue
		}
		if n++; n == 1 {
			b.WriteString("Open alerts\n\n")
		}
		b.WriteString(a.Text())
	}
	if n == 0 {
		b.WriteString("No open alerts.\n")
	}
	return b.String(), nil
}

// BackupDir is where backups go.
func (d *Desk) BackupDir() string {
	if d.Config.Backup.Dir != "" {
		return d.Config.Backup.Dir
	}
	return filepath.Join(filepath.Dir(d.Book.Path()), "backups")
}

func (d *Desk) backup(ctx context.Context, _ Run) (string, error) {
	file, removed, err := d.Book.BackupInto(ctx, d.BackupDir(), d.Config.Backup.Keep)
	if err != nil {
		return "", err
	}
	if removed > 0 {
		return fmt.Sprintf("%s, %d old ones taken out", filepath.Base(file), removed), nil
	}
	return filepath.Base(file), nil
}

func (d *Desk) check(ctx context.Context, _ Run) (string, error) {
	r, err := book.Check(ctx, d.Book.Path())
	if err != nil {
		return "", err
	}
	if !r.OK() {
		return "", fmt.Errorf("the book is not whole: %s; see feedline check", strings.Join(slices.Concat(r.Wrong, r.Derived), "; "))
	}
	return fmt.Sprintf("whole: %d rows, %d revisions, %d plans", r.Rows, r.Revisions, r.Plans), nil
}

// forecast forecasts the last plan and keeps the forecast with it, for the console and reports.
func (d *Desk) forecast(ctx context.Context, _ Run) (string, error) {
	in, p, meta, err := d.lastPlan(ctx)
	if err != nil {
		return noPlan(err)
	}
	r, err := d.Forecast(ctx, in, p)
	if errors.Is(err, planner.ErrOtherBook) {
		return "the book has changed since the plan was made: there is nothing to forecast until the next plan", nil
	}
	if err != nil {
		return "", err
	}
	if r.Runs < r.Asked-r.Failed {
		return "", fmt.Errorf("stopped after %d of %d samples: the forecast is not kept", r.Runs, r.Asked)
	}
	return forecastWord(r), d.Book.SaveForecast(ctx, meta.ID, r)
}
