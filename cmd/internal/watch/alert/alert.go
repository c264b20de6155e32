// Package alert tells what needs somebody's attention: it judges a plan by rules and gives what it finds a life. An alert is raised
// once, told again only when it is worse, cleared when it has been gone for long enough, and silent while it is acknowledged or snoozed.
// Everything here is a function of a plan, rules, a day and the alerts there are; storing and sending is for others.
package alert

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"feedline/lines/calendar"
)

// The kinds of alerts.
const (
	Short      = "short"       // a grade runs short
	OrderBy    = "order-by"    // a load must be ordered soon
	Slip       = "slip"        // a delivery that matters comes later
	Overdue    = "overdue"     // a delivery is past its day and not booked
	Cover      = "cover"       // pellets last for too few days
	Late       = "late"        // an order is late or not made
	YieldDrift = "yield drift" // a step yields other than it used to
	IdleLine   = "idle line"   // a line stands though there is feed and late demand for it
	Space      = "space"       // a silo, the yard or the rack is over its limit
	Job        = "job"         // a job of the watch failed
)

// Kinds lists them.
var Kinds = []string{Short, OrderBy, Slip, Overdue, Cover, Late, YieldDrift, IdleLine, Space, Job}

// Rules is when alerts are raised and cleared.
type Rules struct {
	OrderDays  int     `toml:"order_days"`  // raise order-by so many days ahead
	CoverDays  float64 `toml:"cover_days"`  // raise cover below so many days
	SlipDays   int     `toml:"slip_days"`   // raise slip from so many days
	IdleDays   int     `toml:"idle_days"`   // a line that stands for so many days
	Margin     float64 `toml:"margin"`      // an alert is cleared only once its figure is better than the limit by this share
	Worse      float64 `toml:"worse"`       // it is told again once its figure is worse by this share
	ClearAfter int     `toml:"clear_after"` // cleared once so many looks in a row do not show it
	YieldDrift bool    `toml:"yield_drift"`
}

// DefaultRules is what holds without a configuration.
func DefaultRules() Rules {
	return Rules{OrderDays: 7, CoverDays: 3, SlipDays: 3, IdleDays: 14, Margin: 0.2, Worse: 0.25, ClearAfter: 2, YieldDrift: true}
}

// Check says what is wrong, "" if nothing.
func (r Rules) Check() string {
	for _, x := range []struct {
		name        string
		is          float64
		least, most float64
	}{
		{"order_days", float64(r.OrderDays), 0, 365}, {"cover_days", r.CoverDays, 0, 365}, {"slip_days", float64(r.SlipDays), 1, 365},
		{"idle_days", float64(r.IdleDays), 1, 365}, {"margin", r.Margin, 0, 10}, {"worse", r.Worse, 0.01, 10}, {"clear_after", float64(r.ClearAfter), 1, 100},
	} {
		if !(x.is >= x.least && x.is <= x.most) {
			return fmt.Sprintf("alerts.%s = %v, allowed: %v to %v", x.name, x.is, x.least, x.most)
		}
	}
	return ""
}

// Finding is something that a look at a plan shows.
type Finding struct {
	Kind    string       `json:"kind"`
	Subject string       `json:"subject"` // what it is about, such as a grade's code
	Urgent  bool         `json:"urgent"`
	Hold    bool         `json:"-"`      // within the margin: keeps an alert that is there, raises none
	Amount  float64      `json:"amount"` // the more the worse, in Unit
	Unit    string       `json:"unit"`
	When    calendar.Day `json:"-"` // the earlier the worse; 0 = no day
	By      calendar.Day `json:"-"` // last day to act; 0 = none
	What    string       `json:"what"`
	Why     string       `json:"why"`
	Do      string       `json:"do"`
}

// Key tells alerts apart: of each key one at most is open.
func (f Finding) Key() string { return f.Kind + "/" + f.Subject }

// Schema names the form of an alert as JSON.
const Schema = "feedline.alert/1"

// Alert is a finding with its life.
type Alert struct {
	Finding
	Schema       string     `json:"schema"`
	ID           int64      `json:"id"`
	State        string     `json:"state"` // see State
	WhenDay      string     `json:"when,omitempty"`
	ByDay        string     `json:"by,omitempty"`
	Raised       time.Time  `json:"raised_at"`
	Updated      time.Time  `json:"updated_at"` // when its figures changed last
	Cleared      *time.Time `json:"cleared_at,omitempty"`
	Acknowledged *time.Time `json:"acknowledged_at,omitempty"`
	SnoozedUntil *time.Time `json:"snoozed_until,omitempty"`
	Who          string     `json:"who,omitempty"` // acknowledged or snoozed it
	Note         string     `json:"note,omitempty"`
	Gone         int        `json:"gone,omitempty"` // looks in a row that did not show it
	Times        int        `json:"times"`          // how often it was raised
	Told         float64    `json:"told_amount"`    // the figures when it was told last
	ToldWhen     string     `json:"told_when,omitempty"`
}

// The states.
const (
	Open         = "open"
	Acknowledged = "acknowledged"
	Snoozed      = "snoozed"
	Cleared      = "cleared"
)

// IsOpen reports whether it is not cleared.
func (a *Alert) IsOpen() bool { return a.State != Cleared }

// Event is what happened to an alert.
type Event struct {
	What  string // raised, worse, again, back, cleared
	Alert *Alert
}

// The events.
const (
	Raised = "raised"
	Worse  = "worse"
	Again  = "again" // its snooze is over
	Back   = "back"  // it was cleared not long ago
	Gone   = "cleared"
)

// comeback is how long after it was cleared an alert that shows again is the same one.
const comeback = 48 * time.Hour

// Step brings alerts up to date with what a look shows. recent is the alerts there are, newest first, cleared ones among them; looked says
// which kinds, or which keys, the look covers: other alerts are left as they are. changed is those that are new or changed.
func Step(recent []*Alert, found []Finding, looked []string, rules Rules, now time.Time) (changed []*Alert, events []Event) {
	shown := map[string]bool{}
	for _, f := range found {
		k := f.Key()
		if shown[k] || !covered(f, looked) {
			continue
		}
		shown[k] = true
		a := find(recent, k)
		switch {
		case a == nil || !a.IsOpen() && now.Sub(*a.Cleared) > comeback:
			if !f.Hold {
				a = &Alert{Schema: Schema, Raised: now, Times: 1}
				a.show(f, now)
				a.tell()
				a.State = Open
				changed, events = append(changed, a), append(events, Event{Raised, a})
			}
		case !a.IsOpen():
			if !f.Hold {
				a.State, a.Cleared, a.Gone = Open, nil, 0
				a.Times++
				a.show(f, now)
				a.tell()
				changed, events = append(changed, a), append(events, Event{Back, a})
			}
		default:
			ev, touched := a.update(f, rules, now)
			if touched {
				changed = append(changed, a)
			}
			if ev != "" {
				events = append(events, Event{ev, a})
			}
		}
	}
	for _, a := range recent {
		if a.IsOpen() && !shown[a.Key()] && covered(a.Finding, looked) {
			if a.Gone++; a.Gone >= rules.ClearAfter {
				a.State, a.Cleared, a.SnoozedUntil, a.Acknowledged = Cleared, &now, nil, nil
				events = append(events, Event{Gone, a})
			}
			changed = append(changed, a)
		}
	}
	return changed, events
}

func covered(f Finding, looked []string) bool {
	return slices.Contains(looked, f.Kind) || slices.Contains(looked, f.Key())
}

func find(recent []*Alert, key string) *Alert {
	for _, a := range recent {
		if a.Key() == key {
			return a
		}
	}
	return nil
}

// show takes over the figures of a finding.
func (a *Alert) show(f Finding, now time.Time) {
	a.Finding, a.Updated = f, now
	a.WhenDay, a.ByDay = dayText(f.When), dayText(f.By)
}

func dayText(d calendar.Day) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

// tell notes the figures that were told.
func (a *Alert) tell() { a.Told, a.ToldWhen = a.Amount, a.WhenDay }

// update takes over what a look shows of an open alert. It is told again if it is worse than when it was told last, even if it was
// acknowledged, and once a snooze is over. Amounts of two units do not compare: an order late by days that now lacks metres for good
// is worse, the other way round it is better.
func (a *Alert) update(f Finding, rules Rules, now time.Time) (event string, touched bool) {
	touched = a.Gone > 0 || a.What != f.What || a.Amount != f.Amount || a.WhenDay != dayText(f.When) || a.ByDay != dayText(f.By) || a.Do != f.Do || a.Why != f.Why
	a.Gone = 0
	urgent, other := a.Urgent, a.Unit != f.Unit
	if touched || other {
		touched = true
		a.show(f, now)
	}
	if a.State == Snoozed {
		if a.SnoozedUntil != nil && now.Before(*a.SnoozedUntil) {
			return "", touched
		}
		a.State, a.SnoozedUntil = Open, nil
		a.tell()
		return Again, true
	}
	if other && f.Unit == "days" { // an order that is made after all, if late
		a.tell()
		return "", true
	}
	if f.Hold || !other && !a.worse(rules) && (urgent || !f.Urgent) {
		return "", touched
	}
	a.State, a.Acknowledged = Open, nil
	a.tell()
	return Worse, true
}

// worse reports whether the figures are worse than those told last by enough to be worth a word.
func (a *Alert) worse(rules Rules) bool {
	if a.WhenDay != "" && a.ToldWhen != "" && a.WhenDay < a.ToldWhen { // days in this form sort as text
		return true
	}
	return a.Amount > a.Told+rules.Worse*math.Abs(a.Told)+1e-9
}

// Ack silences an alert until it is worse or cleared.
func (a *Alert) Ack(who, note string, now time.Time) {
	a.State, a.Acknowledged, a.SnoozedUntil, a.Who, a.Note = Acknowledged, &now, nil, who, note
}

// Snooze silences an alert for a while, however much worse it gets.
func (a *Alert) Snooze(who, note string, until time.Time) {
	a.State, a.SnoozedUntil, a.Acknowledged, a.Who, a.Note = Snoozed, &until, nil, who, note
}

// Line is the alert on one line.
func (a *Alert) Line() string {
	s := fmt.Sprintf("#%d %s", a.ID, a.What)
	if a.ByDay != "" {
		s += ", act by " + a.ByDay
	}
	return s
}

// Text is the alert in full: what, how much, when, why, what to do by when.
func (a *Alert) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "#%d  %s\n", a.ID, a.What)
	fmt.Fprintf(&b, "    why: %s\n", a.Why)
	fmt.Fprintf(&b, "    do:  %s", a.Do)
	if a.ByDay != "" {
		fmt.Fprintf(&b, " (by %s)", a.ByDay)
	}
	b.WriteString("\n")
	return b.String()
}
