package watch

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/gofrs/flock"

	"feedline/cmd/internal/beside"
)

// HealthSchema names the form of the health file.
const HealthSchema = "feedline.health/1"

// Health is what a watch says of itself: the health file, and the answer of watch --status.
type Health struct {
	Schema  string      `json:"schema"`
	State   string      `json:"state"` // waiting, running or stopped
	Book    string      `json:"book"`
	Zone    string      `json:"zone"`
	PID     int         `json:"pid"`
	Since   time.Time   `json:"since"`
	Beat    time.Time   `json:"beat"`   // when this was written
	BeatS   float64     `json:"beat_s"` // it is written at least so often, seconds
	Job     string      `json:"job,omitempty"`
	Trouble string      `json:"trouble,omitempty"` // why the book can't be read
	Unsent  []string    `json:"unsent,omitempty"`  // why messages do not arrive
	Jobs    []JobHealth `json:"jobs"`
}

// JobHealth is how a job stands.
type JobHealth struct {
	Name     string     `json:"name"`
	Schedule string     `json:"schedule"`
	Next     *time.Time `json:"next,omitempty"`
	Started  *time.Time `json:"started,omitempty"`
	Ended    *time.Time `json:"ended,omitempty"`
	Outcome  string     `json:"outcome,omitempty"`
	Word     string     `json:"word,omitempty"`
}

// beat writes the health file, if it is time or something happened.
func (w *Watch) beat(now bool) {
	t := w.Clock.Now()
	if w.Health == "" || !now && w.running == nil && t.Sub(w.beaten) < w.Beat && t.After(w.beaten) {
		return
	}
	if !now && t.Sub(w.beaten) < time.Second && t.After(w.beaten) {
		return
	}
	w.beaten = t
	text, err := json.MarshalIndent(w.health(t), "", "  ")
	if err != nil {
		panic("watch: health is no JSON")
	}
	if err := beside.Write(w.Health, append(text, '\n'), false); err != nil && w.trouble == "" {
		w.trouble = err.Error()
		w.say("the health file can't be written: %v", err)
	}
}

func (w *Watch) health(now time.Time) Health {
	h := Health{Schema: HealthSchema, State: "waiting", Book: w.Book.Path(), Zone: w.zone().String(), PID: os.Getpid(),
		Since: w.begun, Beat: now, BeatS: w.Beat.Seconds(), Trouble: w.trouble, Jobs: []JobHealth{}}
	if w.Unreached != nil {
		h.Unsent = w.Unreached()
	}
	if w.running != nil {
		h.State, h.Job = "running", w.running.Name
	}
	if w.stopped {
		h.State, h.Job = "stopped", ""
	}
	for _, j := range w.Jobs {
		s := w.states[j.Name]
		h.Jobs = append(h.Jobs, JobHealth{Name: s.Name, Schedule: s.job.Schedule.String(), Next: moment(s.job.Schedule.Next(later(s.Dealt, now), w.zone())),
			Started: moment(s.Started), Ended: moment(s.Ended), Outcome: s.Outcome, Word: s.Word})
	}
	return h
}

func moment(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// nextWords is which job comes first.
func (w *Watch) nextWords() string {
	var best time.Time
	name := ""
	for _, j := range w.Jobs {
		s := w.states[j.Name]
		if t := s.job.Schedule.Next(later(s.Dealt, w.Clock.Now()), w.zone()); !t.IsZero() && (best.IsZero() || t.Before(best)) {
			best, name = t, j.Name
		}
	}
	if name == "" {
		return "no job is scheduled"
	}
	return fmt.Sprintf("next: %s at %s", name, w.shown(best))
}

// AlreadyError says that another watch is at work on the book.
type AlreadyError struct{ Path string }

func (e *AlreadyError) Error() string { return "another watch is at work on " + e.Path }

// Hint is what to do.
func (e *AlreadyError) Hint() string {
	return "see how it does: feedline watch --status; stop it before starting another"
}

// LockFile is the file that a watch of a book keeps locked while it lives. The system lets go of it however the program ends.
func LockFile(book string) string { return book + ".watch" }

// lock keeps a second watch off the book.
func (w *Watch) lock() (*flock.Flock, error) {
	l := flock.New(LockFile(w.Book.Path()))
	ok, err := l.TryLock()
	if err != nil {
		return nil, fmt.Errorf("lock %s: %w", l.Path(), err)
	}
	if !ok {
		return nil, &AlreadyError{w.Book.Path()}
	}
	return l, nil
}

// Alive reports whether a watch is at work on a book.
func Alive(book string) (bool, error) {
	if _, err := os.Stat(LockFile(book)); errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	l := flock.New(LockFile(book), flock.SetFlag(os.O_RDONLY))
	ok, err := l.TryRLock()
	if err != nil {
		return false, fmt.Errorf("look at %s: %w", l.Path(), err)
	}
	if ok {
		return false, l.Unlock()
	}
	return true, nil
}

// ReadHealth reads a health file.
func ReadHealth(path string) (h Health, err error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return h, err
	}
	if err := json.Unmarshal(text, &h); err != nil || h.Schema != HealthSchema {
		return h, fmt.Errorf("%s is no health file of feedline watch", path)
	}
	return h, nil
}

// stale is how many beats a watch may miss before it counts as stuck.
const stale = 4

// Verdict is what is wrong with a watch, nothing if all is well: it does not run, is stuck, messages do not arrive, or a job failed.
func (h Health) Verdict(alive bool, now time.Time) (wrong []string) {
	if !alive {
		wrong = append(wrong, "it does not run")
	} else if late := now.Sub(h.Beat); late > time.Duration(stale*h.BeatS*float64(time.Second)) {
		wrong = append(wrong, fmt.Sprintf("it has given no sign for %s", late.Round(time.Second)))
	}
	if h.Trouble != "" {
		wrong = append(wrong, h.Trouble)
	}
	wrong = append(wrong, h.Unsent...)
	for _, j := range h.Jobs {
		if j.Outcome == "failed" {
			wrong = append(wrong, fmt.Sprintf("%s failed: %s", j.Name, j.Word))
		}
	}
	return slices.Clip(wrong)
}

// Text is the health in lines for people, times on the plant's clock.
func (h Health) Text(alive bool, now time.Time) string {
	zone, err := time.LoadLocation(h.Zone)
	if err != nil {
		zone = time.UTC
	}
	at := func(t *time.Time) string {
		if t == nil {
			return "-"
		}
		return t.In(zone).Format("Mon 2006-01-02 15:04 MST")
	}
	var b strings.Builder
	state := h.State
	if !alive {
		state = "not running"
	}
	fmt.Fprintf(&b, "watch of %s: %s", h.Book, state)
	if alive && h.Job != "" {
		fmt.Fprintf(&b, " %s", h.Job)
	}
	fmt.Fprintf(&b, ", since %s, last sign %s\n", at(&h.Since), at(&h.Beat))
	for _, j := range h.Jobs {
		fmt.Fprintf(&b, "%-10s next %-26s last %-26s %s\n", j.Name, at(j.Next), at(j.Started), joinColon(j.Outcome, j.Word))
	}
	for _, x := range h.Verdict(alive, now) {
		fmt.Fprintf(&b, "! %s\n", x)
	}
	return b.String()
}

func joinColon(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ": " + b
}
