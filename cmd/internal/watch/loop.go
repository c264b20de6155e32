package watch

import (
	"context"
	"errors"
	"fmt"
	"time"

	"feedline/cmd/internal/book"
)

// planJob is the name of the job that a changed book starts.
const planJob = "plan"

// backwards is how far the clock may be set back without a word, and stepBack how far without repeating runs that were
// dealt with already: what a time service corrects and a clock change done by hand. Beyond, those days come again.
const (
	backwards = time.Minute
	stepBack  = 3 * time.Hour
)

// defaults fills in what was left zero.
func (w *Watch) defaults() {
	if w.Clock == nil {
		w.Clock = System{}
	}
	for _, d := range []struct {
		at *time.Duration
		d  time.Duration
	}{{&w.Quiet, time.Minute}, {&w.Poll, 5 * time.Second}, {&w.Beat, 30 * time.Second}, {&w.Grace, 30 * time.Second}} {
		if *d.at <= 0 {
			*d.at = d.d
		}
	}
}

// Run runs the jobs until the context ends; then it stops the one that is at work and returns nil.
// An error that keeps the book from being used for a moment, such as a full disk, does not end it.
func (w *Watch) Run(ctx context.Context) error {
	w.defaults()
	lock, err := w.lock()
	if err != nil {
		return err
	}
	defer lock.Unlock()
	if err := w.begin(ctx); err != nil {
		return err
	}
	w.say("watching %s in %s; %s", w.Book.Path(), w.zone(), w.nextWords())
	for ctx.Err() == nil {
		w.turn(ctx)
		w.beat(false)
		select {
		case <-ctx.Done():
		case e := <-w.ended:
			w.stopped = ctx.Err() != nil
			w.finish(e)
		case <-w.Clock.After(w.pause()):
		}
	}
	w.end()
	return nil
}

// begin reads what the book knows of the jobs.
func (w *Watch) begin(ctx context.Context) error {
	now := w.Clock.Now()
	w.begun, w.last, w.ended = now, now, make(chan ending, 1)
	w.states = map[string]*state{}
	for _, j := range w.Jobs {
		kept, ok, err := w.Book.Job(ctx, j.Name)
		if err != nil {
			return err
		}
		s := &state{job: j, JobState: kept}
		w.states[j.Name] = s
		if !ok {
			s.JobState = book.JobState{Name: j.Name, Dealt: now}
			if err := w.Book.KeepJob(ctx, s.JobState); err != nil {
				return err
			}
		}
		if s.Dealt.Sub(now) > stepBack {
			w.say("%s: the clock was set back while no watch ran", j.Name)
			s.Dealt = now
		}
		s.again = !s.Started.IsZero() && s.Ended.IsZero() || s.Outcome == "stopped"
	}
	var err error
	if w.planned, err = w.Book.PlannedVersion(ctx); err != nil {
		return err
	}
	if w.seen, err = w.Book.Version(ctx); err != nil {
		return err
	}
	w.seenAt = now
	return nil
}

// turn looks at the clock and the book and starts what is due.
func (w *Watch) turn(ctx context.Context) {
	now := w.Clock.Now()
	w.lookAtClock(now)
	w.lookAtBook(ctx, now)
	for _, j := range w.Jobs {
		s := w.states[j.Name]
		run, due := w.due(s, now)
		if !due {
			continue
		}
		switch {
		case w.running == nil:
			w.start(ctx, s, run)
		case w.running.state == s && run.Reason != Changed:
			w.skip(ctx, s, run)
		}
	}
}

// due reports whether a job is to be run, and why.
func (w *Watch) due(s *state, now time.Time) (Run, bool) {
	if last, n := s.job.Schedule.Missed(s.Dealt, now, w.zone()); n > 0 {
		late := n > 1 || now.Sub(last) > 2*w.Poll+time.Minute
		if late && w.running == nil {
			return Run{Due: last, Reason: CaughtUp, Missed: n - 1}, true
		}
		return Run{Due: last, Reason: Scheduled, Missed: n - 1}, true
	}
	if s.again {
		return Run{Due: now, Reason: CutOff}, true
	}
	if s.Name == planJob && w.seen != w.planned && now.Sub(w.seenAt) >= w.Quiet {
		return Run{Due: now, Reason: Changed}, true
	}
	return Run{}, false
}

// start starts a run. That its job was due is entered first, so that a run that kills the program is not tried for ever: it
// is tried again once, when the watch starts.
func (w *Watch) start(ctx context.Context, s *state, run Run) {
	s.again = false
	now := w.Clock.Now()
	s.Started, s.Ended, s.Outcome, s.Word = now, time.Time{}, "", run.Reason
	s.Dealt = later(s.Dealt, run.Due)
	if s.Name == planJob {
		w.planned = w.seen // whatever comes of it: the same book is not tried over and over
	}
	w.keep(ctx, s)
	limit := s.job.Limit
	if limit <= 0 {
		limit = time.Hour
	}
	runCtx, stop := context.WithCancelCause(ctx)
	w.running = &running{state: s, Run: run, stop: func() { stop(context.Canceled) }}
	note := run.Reason
	if run.Missed > 0 {
		note = fmt.Sprintf("%s; %d earlier runs were missed", note, run.Missed)
	}
	w.say("%s: started (%s, due %s)", s.Name, note, w.shown(run.Due))
	go func() {
		overrun := w.Clock.After(limit)
		done := make(chan ending, 1)
		go func() { done <- doIt(runCtx, s.job, run) }()
		for {
			select {
			case <-overrun:
				stop(fmt.Errorf("%w of %s", errOverrun, limit))
				overrun = nil
			case e := <-done:
				if cause := context.Cause(runCtx); errors.Is(cause, errOverrun) {
					e.err = errors.Join(e.err, cause)
				}
				stop(nil)
				w.ended <- e
				return
			}
		}
	}()
}

// doIt does the job; a bug in it ends the run, not the watch.
func doIt(ctx context.Context, j Job, run Run) (e ending) {
	defer func() {
		if r := recover(); r != nil {
			e = ending{err: fmt.Errorf("a bug ended the run: %v", r)}
		}
	}()
	word, err := j.Do(ctx, run)
	return ending{word, err}
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// skip passes over a run of the job that is at work already.
func (w *Watch) skip(ctx context.Context, s *state, run Run) {
	s.Dealt = later(s.Dealt, run.Due)
	w.keep(ctx, s)
	w.say("%s: skipped the run due %s, the one started %s is still at work", s.Name, w.shown(run.Due), w.shown(s.Started))
	w.running.said = true
}

// finish enters how a run ended.
func (w *Watch) finish(e ending) {
	s := w.running.state
	s.Ended = w.Clock.Now()
	took := s.Ended.Sub(s.Started).Round(time.Second)
	s.Word = e.word
	switch {
	case w.stopped && e.err != nil:
		s.Outcome = "stopped"
	case e.err != nil:
		s.Outcome = "failed"
		s.Word = joinWords(e.word, e.err.Error())
	default:
		s.Outcome = "done"
	}
	w.running = nil
	w.say("%s: %s after %s: %s", s.Name, s.Outcome, took, s.Word)
	w.keep(context.Background(), s)
	if w.Ended != nil {
		if err := w.Ended(context.Background(), s.JobState); err != nil {
			w.say("%s: how it ended can't be told: %v", s.Name, err)
		}
	}
	w.beat(true)
}

func joinWords(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// keep enters a job's state into the book. If that fails it is said; the run goes on.
func (w *Watch) keep(ctx context.Context, s *state) {
	if err := w.Book.KeepJob(context.WithoutCancel(ctx), s.JobState); err != nil {
		w.say("%s: its state can't be kept: %v", s.Name, err)
	}
}

// lookAtClock says when the clock was set back, and lets days that come again be planned again.
func (w *Watch) lookAtClock(now time.Time) {
	back := w.last.Sub(now)
	w.last = now
	if back <= backwards {
		return
	}
	w.say("the clock was set back by %s", back.Round(time.Second))
	if w.seenAt.After(now) {
		w.seenAt = now
	}
	w.beaten = time.Time{}
	if back <= stepBack {
		return
	}
	for _, s := range w.states {
		if s.Dealt.After(now) {
			s.Dealt = now
		}
	}
}

// lookAtBook notes when the book changes.
func (w *Watch) lookAtBook(ctx context.Context, now time.Time) {
	v, err := w.Book.Version(ctx)
	if err != nil {
		if ctx.Err() == nil && err.Error() != w.trouble {
			w.trouble = err.Error()
			w.say("the book can't be read: %v", err)
		}
		return
	}
	if w.trouble != "" {
		w.trouble = ""
		w.say("the book can be read again")
	}
	if v != w.seen {
		w.seen, w.seenAt = v, now
		if w.Changed != nil {
			w.Changed(ctx)
		}
	}
}

// pause is how long to wait before the next look.
func (w *Watch) pause() time.Duration {
	now := w.Clock.Now()
	d := w.Poll
	for _, s := range w.states {
		if next := s.job.Schedule.Next(later(s.Dealt, now), w.zone()); !next.IsZero() {
			d = min(d, next.Sub(now))
		}
	}
	return max(d, 10*time.Millisecond)
}

// end stops the run that is at work and gives it the grace to do so.
func (w *Watch) end() {
	w.stopped = true
	if w.running != nil {
		w.say("%s: told to stop", w.running.Name)
		w.running.stop()
		select {
		case e := <-w.ended:
			w.finish(e)
		case <-w.Clock.After(w.Grace):
			w.say("%s: did not stop within %s and is left; it will be run again", w.running.Name, w.Grace)
		}
	}
	w.say("stopped")
	w.beat(true)
}
