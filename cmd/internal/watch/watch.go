// Package watch runs feedline by itself: it plans on schedules and after changes of the book, tells of what needs doing, keeps
// backups and checks the book.
//
// Schedules are cron expressions, read and computed by robfig/cron, in the plant's time zone; see Schedule for clock changes. The
// loop is this package's own because its clock is injected, because runs that were missed while the program was off or the
// machine asleep are caught up, once, and because there is never more than one job at work: a job that comes due while another is at work waits
// for it, one that comes due while it is at work itself is skipped, and that is said. Up to when each job's runs are dealt with
// is kept in the book, before the run starts, so that a watch that is killed loses none and repeats only the one that it was at.
package watch

import (
	"context"
	"fmt"
	"io"
	"sync"
	"time"

	"feedline/cmd/internal/book"
)

// Clock is the time. Wall-clock values count: they may jump either way.
type Clock interface {
	Now() time.Time
	After(time.Duration) <-chan time.Time
}

// System is the machine's clock.
type System struct{}

// Now is the wall-clock time, without Go's monotonic part, which would hide that somebody set the clock.
func (System) Now() time.Time { return time.Now().Round(0) }

// After is time.After.
func (System) After(d time.Duration) <-chan time.Time { return time.After(d) }

// Reasons of a run.
const (
	Scheduled = "scheduled"
	CaughtUp  = "caught up"
	Changed   = "book changed"
	CutOff    = "cut off before"
)

// Run is a run of a job that is due.
type Run struct {
	Due    time.Time
	Reason string // one of those above
	Missed int    // runs that were due and are dealt with by this one, beside itself
}

// Job is something that is done on a schedule. Do returns what to say of the run, with or without an error; it stops when the
// context ends.
type Job struct {
	Name     string
	Schedule Schedule
	Limit    time.Duration // longest run; it is stopped then
	Do       func(context.Context, Run) (word string, err error)
}

// Watch runs jobs. All fields but Book and Jobs may be left zero.
type Watch struct {
	Book   *book.Book
	Jobs   []Job
	Clock  Clock                 // System if nil
	Zone   func() *time.Location // the plant's; UTC if nil
	Log    io.Writer             // a line for whatever happens; nil for none
	Quiet  time.Duration         // the job "plan" runs when the book has changed and been left alone for so long; 0 = a minute
	Poll   time.Duration         // how often to look whether it has; 0 = five seconds
	Beat   time.Duration         // how often to write the health file when nothing happens; 0 = half a minute
	Grace  time.Duration         // how long a job may take to stop; 0 = half a minute
	Health string                // the health file; "" for none

	// Unreached lists what keeps messages from arriving; it may be nil.
	Unreached func() []string
	// Changed is called when the book has changed; it may be nil.
	Changed func(context.Context)
	// Ended is told how a run ended; it may be nil.
	Ended func(context.Context, book.JobState) error

	mu      sync.Mutex // guards Log
	states  map[string]*state
	running *running
	ended   chan ending
	seen    book.Version // of the book's records, when looked at last
	seenAt  time.Time    // since when it is so
	planned book.Version // of the last plan, or of the last try
	last    time.Time    // the clock, when looked at last
	begun   time.Time
	beaten  time.Time
	stopped bool
	trouble string // why the book can't be read
}

// state is a job with what the book knows of it.
type state struct {
	book.JobState
	job   Job
	again bool // to be run at once: it was cut off
}

// running is the run that is at work.
type running struct {
	*state
	Run
	stop context.CancelFunc
	said bool // that it was skipped
}

// ending is how a run ended.
type ending struct {
	word string
	err  error
}

// Say writes a line to the log.
func (w *Watch) Say(line string) { w.say("%s", line) }

// say writes a line to the log, with the time in the plant's zone.
func (w *Watch) say(format string, args ...any) {
	if w.Log == nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	fmt.Fprintf(w.Log, "%s  %s\n", w.shown(w.Clock.Now()), fmt.Sprintf(format, args...))
}

// shown is a time on the plant's clock.
func (w *Watch) shown(t time.Time) string { return t.In(w.zone()).Format("2006-01-02 15:04:05 MST") }

func (w *Watch) zone() *time.Location {
	if w.Zone != nil {
		if z := w.Zone(); z != nil {
			return z
		}
	}
	return time.UTC
}
