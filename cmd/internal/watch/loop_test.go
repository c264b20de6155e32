package watch

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"feedline/cmd/internal/book"
)

// handClock is a clock that a test sets. After never fires: tests turn the loop by hand.
type handClock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *handClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *handClock) After(time.Duration) <-chan time.Time { return make(chan time.Time) }

func (c *handClock) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = t
}

// bench is a watch on a new book, whose jobs only note that they ran.
type bench struct {
	*Watch
	t     *testing.T
	clock *handClock
	log   *bytes.Buffer
	ran   []string
	fail  error
	hold  chan bool // a job waits for it, if it is there
}

var bg = context.Background()

// at is a time on the plant's clock.
func at(t *testing.T, s string) time.Time {
	t.Helper()
	z := zone(t, "Europe/Berlin")
	v, err := time.ParseInLocation("2006-01-02 15:04:05", s, z)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// onBook makes a bench with jobs by name and schedule on the book at path.
func onBook(t *testing.T, path, now string, jobs ...string) *bench {
	t.Helper()
	b, err := book.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	x := &bench{t: t, clock: &handClock{now: at(t, now)}, log: &bytes.Buffer{}}
	z := zone(t, "Europe/Berlin")
	x.Watch = &Watch{Book: b, Clock: x.clock, Zone: func() *time.Location { return z }, Log: x.log, Health: path + ".health"}
	for i := 0; i < len(jobs); i += 2 {
		name := jobs[i]
		x.Jobs = append(x.Jobs, Job{Name: name, Schedule: schedule(t, jobs[i+1]), Do: func(ctx context.Context, r Run) (string, error) {
			x.ran = append(x.ran, fmt.Sprintf("%s %s %d", name, r.Reason, r.Missed))
			if x.hold != nil {
				select {
				case <-x.hold:
				case <-ctx.Done():
					return "", ctx.Err()
				}
			}
			return "well", x.fail
		}})
	}
	x.defaults()
	if err := x.begin(bg); err != nil {
		t.Fatal(err)
	}
	return x
}

func newBook(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "plant.book")
	b, err := book.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// until turns the loop at a time and lets what it starts end, until nothing more is due.
func (x *bench) until(when string) {
	x.t.Helper()
	x.clock.set(at(x.t, when))
	for {
		x.turn(bg)
		if x.running == nil {
			return
		}
		x.finish(<-x.ended)
	}
}

func (x *bench) want(list ...string) {
	x.t.Helper()
	if got := strings.Join(x.ran, "; "); got != strings.Join(list, "; ") {
		x.t.Errorf("ran %q, want %q\n%s", x.ran, list, x.log)
	}
	x.ran = nil
}

func TestJobsRunWhenDue(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 04:00:00", "backup", "0 5 * * *", "digest", "0 6 * * *")
	x.planned = x.seen
	x.until("2027-01-04 04:59:59")
	x.want()
	x.until("2027-01-04 05:00:01")
	x.want("backup scheduled 0")
	x.until("2027-01-04 06:00:00")
	x.want("digest scheduled 0")
	x.until("2027-01-04 06:00:30")
	x.want()
}

// Runs missed while the machine was off or asleep are made good once, by the program that starts or wakes.
func TestMissedRunsAreCaughtUpOnce(t *testing.T) {
	path := newBook(t)
	x := onBook(t, path, "2027-01-04 04:00:00", "backup", "0 5 * * *")
	x.until("2027-01-04 05:00:00")
	x.want("backup scheduled 0")
	x.until("2027-01-07 09:00:00") // asleep for three days
	x.want("backup caught up 2")
	y := onBook(t, path, "2027-01-10 12:00:00", "backup", "0 5 * * *") // off for three days
	y.until("2027-01-10 12:00:05")
	y.want("backup caught up 2")
	y.until("2027-01-10 12:00:10")
	y.want()
	if !strings.Contains(y.log.String(), "2 earlier runs were missed") {
		t.Errorf("the log does not say so:\n%s", y.log)
	}
}

// A new watch starts from now: nothing was missed before it was there.
func TestFirstStartCatchesNothingUp(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 05:30:00", "backup", "0 5 * * *")
	x.until("2027-01-04 05:31:00")
	x.want()
}

// Two jobs never work at once: the second waits. A job that comes due while it is at work is skipped, and that is said.
func TestNeverTwoAtOnce(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 04:59:00", "backup", "*/10 * * * *", "digest", "5 5 * * *")
	x.hold = make(chan bool)
	x.clock.set(at(t, "2027-01-04 05:00:00"))
	x.turn(bg)
	for _, now := range []string{"2027-01-04 05:05:00", "2027-01-04 05:10:00", "2027-01-04 05:10:05", "2027-01-04 05:20:00"} {
		x.clock.set(at(t, now))
		x.turn(bg)
	}
	if got := strings.Count(x.log.String(), "skipped the run due"); got != 2 {
		t.Errorf("%d runs were said to be skipped, want those of 05:10 and 05:20\n%s", got, x.log)
	}
	x.hold <- true
	x.finish(<-x.ended)
	x.hold = nil
	x.until("2027-01-04 05:21:00")
	x.want("backup scheduled 0", "digest caught up 0")
	x.until("2027-01-04 05:30:00")
	x.want("backup scheduled 0")
}

// A run that takes longer than its limit is stopped, and counts as failed.
func TestOverrunIsStopped(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 04:59:00", "backup", "0 5 * * *")
	x.Clock = &quickClock{x.clock}
	x.hold = make(chan bool)
	x.until("2027-01-04 05:00:00")
	s := x.states["backup"]
	if s.Outcome != "failed" || !strings.Contains(s.Word, "longer than its limit") {
		t.Errorf("the run is %s: %s", s.Outcome, s.Word)
	}
}

// quickClock lets every wait end at once.
type quickClock struct{ *handClock }

func (c *quickClock) After(time.Duration) <-chan time.Time {
	ch := make(chan time.Time, 1)
	ch <- c.Now()
	return ch
}

func change(t *testing.T, b *book.Book, name string) {
	t.Helper()
	in, _, err := b.Load(bg)
	if err != nil {
		t.Fatal(err)
	}
	in.Plant.Name = name
	if _, err := b.Save(bg, in, book.SaveOptions{}); err != nil {
		t.Fatal(err)
	}
}

// A changed book is planned anew once it was left alone for a minute, and not again.
func TestChangedBookIsPlannedAfterAQuietMinute(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 12:00:00", "plan", "0 5 * * *")
	x.planned = x.seen
	x.until("2027-01-04 12:10:00")
	x.want()
	change(t, x.Book, "a")
	x.until("2027-01-04 12:10:05")
	x.until("2027-01-04 12:10:50")
	change(t, x.Book, "b") // not quiet yet
	x.until("2027-01-04 12:10:55")
	x.until("2027-01-04 12:11:10")
	x.want()
	x.until("2027-01-04 12:11:55")
	x.want("plan book changed 0")
	x.fail = errors.New("no plan can be made")
	change(t, x.Book, "c")
	x.until("2027-01-04 13:00:00")
	x.until("2027-01-04 13:01:00")
	x.want("plan book changed 0")
	x.until("2027-01-04 14:00:00") // the same book is not tried again
	x.want()
	x.until("2027-01-05 05:00:00")
	x.want("plan scheduled 0")
}

// The clock set back by an hour repeats nothing; set back by days, the days that come again are planned again.
func TestClockSetBack(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 04:59:00", "backup", "0 5 * * *")
	x.until("2027-01-04 05:00:30")
	x.want("backup scheduled 0")
	x.until("2027-01-04 04:30:00")
	x.until("2027-01-04 05:00:30")
	x.want()
	x.until("2027-01-05 05:00:30")
	x.want("backup scheduled 0")
	x.until("2026-06-01 12:00:00")
	x.until("2026-06-02 05:00:10")
	x.want("backup scheduled 0")
	if n := strings.Count(x.log.String(), "the clock was set back"); n != 2 {
		t.Errorf("said %d times that the clock was set back, want 2\n%s", n, x.log)
	}
}

// The plant's zone may change while the watch runs.
func TestZoneChanges(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 04:00:00", "backup", "0 5 * * *")
	x.until("2027-01-04 05:00:00")
	x.want("backup scheduled 0")
	chicago := zone(t, "America/Chicago")
	x.Zone = func() *time.Location { return chicago }
	x.until("2027-01-04 11:59:00")
	x.want()
	x.until("2027-01-04 12:00:00") // 05:00 in Chicago
	x.want("backup scheduled 0")
}

// A run that the end of the program cut off is made again, once.
func TestCutOffRunIsMadeAgain(t *testing.T) {
	path := newBook(t)
	x := onBook(t, path, "2027-01-04 04:59:00", "backup", "0 5 * * *")
	x.hold = make(chan bool)
	x.clock.set(at(t, "2027-01-04 05:00:00"))
	x.turn(bg) // and then the program is killed
	y := onBook(t, path, "2027-01-04 05:02:00", "backup", "0 5 * * *")
	y.until("2027-01-04 05:02:00")
	y.want("backup cut off before 0")
	y.until("2027-01-04 05:03:00")
	y.want()
	x.running.stop()
	<-x.ended
}

// SIGTERM, which ends the context, stops the run that is at work, and the next watch makes it again.
func TestStopIsClean(t *testing.T) {
	path := newBook(t)
	x := onBook(t, path, "2027-01-04 04:59:00", "backup", "@every 1s")
	x.Clock, x.Poll = System{}, 5*time.Millisecond
	started := make(chan bool)
	x.Jobs[0].Do = func(ctx context.Context, r Run) (string, error) {
		close(started)
		<-ctx.Done()
		return "half way", ctx.Err()
	}
	ctx, stop := context.WithCancel(bg)
	over := make(chan error)
	go func() { over <- x.Run(ctx) }()
	<-started
	alive, err := Alive(path)
	if err != nil || !alive {
		t.Errorf("alive: %v, %v", alive, err)
	}
	var already *AlreadyError
	if err := (&Watch{Book: x.Book}).Run(ctx); !errors.As(err, &already) {
		t.Errorf("a second watch: %v", err)
	}
	stop()
	if err := <-over; err != nil {
		t.Error(err)
	}
	if alive, err := Alive(path); err != nil || alive {
		t.Errorf("alive after the end: %v, %v", alive, err)
	}
	h, err := ReadHealth(path + ".health")
	if err != nil || h.State != "stopped" || h.Jobs[0].Outcome != "stopped" {
		t.Errorf("health %+v, %v", h, err)
	}
	if s, _, err := x.Book.Job(bg, "backup"); err != nil || s.Outcome != "stopped" || s.Ended.IsZero() {
		t.Errorf("state %+v, %v", s, err)
	}
}

// A bug in a job ends its run, not the watch; the next is made.
func TestPanicEndsTheRunAlone(t *testing.T) {
	x := onBook(t, newBook(t), "2027-01-04 04:59:00", "backup", "0 * * * *")
	n := 0
	x.states["backup"].job.Do = func(context.Context, Run) (string, error) {
		if n++; n == 1 {
			panic("boom")
		}
		return "well", nil
	}
	x.until("2027-01-04 05:00:00")
	if s := x.states["backup"]; s.Outcome != "failed" || !strings.Contains(s.Word, "boom") {
		t.Errorf("the run is %s: %s", s.Outcome, s.Word)
	}
	x.until("2027-01-04 06:00:00")
	if s := x.states["backup"]; s.Outcome != "done" {
		t.Errorf("the next run is %s: %s", s.Outcome, s.Word)
	}
}

func TestVerdictOfHealth(t *testing.T) {
	now := at(t, "2027-01-04 05:00:00")
	h := Health{Beat: now.Add(-time.Minute), BeatS: 30, Jobs: []JobHealth{{Name: "plan", Outcome: "done"}}}
	if w := h.Verdict(true, now); len(w) != 0 {
		t.Errorf("a healthy watch: %q", w)
	}
	if w := h.Verdict(false, now); len(w) != 1 || !strings.Contains(w[0], "not run") {
		t.Errorf("one that does not run: %q", w)
	}
	if w := h.Verdict(true, now.Add(time.Hour)); len(w) != 1 || !strings.Contains(w[0], "no sign") {
		t.Errorf("one that is stuck: %q", w)
	}
	h.Jobs[0].Outcome, h.Jobs[0].Word = "failed", "disk full"
	if w := h.Verdict(true, now); len(w) != 1 || !strings.Contains(w[0], "disk full") {
		t.Errorf("one whose job failed: %q", w)
	}
}
